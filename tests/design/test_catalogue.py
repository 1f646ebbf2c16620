"""The catalogue against the tables it cites, and its promises: spread, source, no substitute."""

from __future__ import annotations

import itertools
import math
import tomllib
from importlib import resources

import numpy as np
import pytest

from impact.design import catalogue, materials

# Hopkins 2007, Sound Insulation, Table A2: density [kg/m3], quasi-longitudinal wave speed [m/s] and
# Poisson's ratio as printed; E = rho cL^2 (1 - nu^2) worked out here. 1 %: cL has three digits.
HOPKINS_A2 = [
    ("concrete", 2200, 3800, 0.2), ("sand-cement screed", 2000, 3250, 0.2),
    ("birch plywood", 710, 3850, 0.3), ("glass-fibre gypsum board", 800, 2010, 0.3),
]  # fmt: skip


@pytest.mark.parametrize(("name", "density", "speed", "poisson"), HOPKINS_A2)
def test_moduli_of_hopkins_table_a2(name, density, speed, poisson):
    entry = catalogue.find(name)
    modulus = density * speed**2 * (1 - poisson**2)
    assert entry.value("youngs_modulus") == pytest.approx(modulus, rel=0.01)
    assert entry.properties["density"].low <= density <= entry.properties["density"].high


# Modulus [GPa] at density [kg/m3]: Hopkins 2007 Table A2 twice, Bies/Hansen/Howard Table C.1,
# Vigran 2008 Table 3.1 (800 to 900).
GYPSUM = (
    (1.74, 860), (2.03, 680), (2.1, 760), (4.1, 850),
)  # fmt: skip


@pytest.mark.parametrize("name", [
    "gypsum board", "fire-type gypsum board", "light gypsum board", "dense gypsum board",
    "gypsum plasterboard 12.5 mm",
])  # fmt: skip
def test_gypsum_boards_have_the_published_moduli_over_density(name):
    """Value the mean of the four, 3.1 MN m/kg, 3 % as it has two digits; the range holds all."""
    over = [modulus * 1e9 / density for modulus, density in GYPSUM]
    entry = catalogue.find(name)
    modulus, density = entry.properties["youngs_modulus"], entry.value("density")
    assert modulus.value / density == pytest.approx(sum(over) / 4, rel=0.03)
    assert modulus.low / density <= min(over)
    assert modulus.high / density >= max(over)
    assert modulus.low / density == pytest.approx(min(over), rel=0.08)  # one digit behind the point
    assert modulus.high / density == pytest.approx(max(over), rel=0.08)


@pytest.mark.parametrize(
    ("name", "thickness", "psf"),
    [("gypsum board", 0.0127, 1.6), ("fire-type gypsum board", 0.015875, 2.2)],
)
def test_boards_weigh_what_the_trade_says(name, thickness, psf):
    """Weights table of the trade: 1/2 in 1.6 psf, 5/8 in 2.2 psf, printed to two digits: 3 %."""
    mass = catalogue.find(name).value("density") * thickness
    assert mass / 4.88242764 == pytest.approx(psf, rel=0.03)


# Hopkins 2007 Table A3: name, density [kg/m3], thickness [mm], s' [MN/m3].
HOPKINS_A3 = [
    ("rock wool", 60, 30, 10), ("rock wool", 80, 30, 11), ("rock wool", 100, 30, 14),
    ("rock wool", 140, 30, 19), ("glass wool", 36, 13, 28), ("glass wool", 36, 25, 11),
    ("glass wool", 75, 25, 12), ("glass wool", 75, 40, 7), ("rebond foam", 64, 15, 12),
    ("rebond foam", 64, 20, 9), ("rebond foam", 64, 25, 7), ("rebond foam", 96, 15, 16),
    ("PE foam", 45, 5, 115), ("EPS", 14, 50, 78), ("pre-compressed EPS", 10, 50, 68),
]  # fmt: skip


@pytest.mark.parametrize(("name", "density", "millimetres", "stiffness"), HOPKINS_A3)
def test_mats_of_hopkins_table_a3(name, density, millimetres, stiffness):
    entry = catalogue.find(f"{name} mat {density} kg/m3, {millimetres} mm", "mat")
    assert entry.value("stiffness_per_area") == pytest.approx(stiffness * 1e6, rel=1e-9)
    assert entry.value("thickness") == pytest.approx(millimetres / 1000, rel=1e-9)


@pytest.mark.parametrize(
    ("name", "cut_off", "mass"), [("carpet", 100.0, 0.5), ("thin hard vinyl", 2300.0, 0.5)]
)
def test_coverings_cut_off_where_hopkins_says(name, cut_off, mass):
    """Hopkins 2007 ch. 3.6: cut-off sqrt(K/m)/2pi, K = (E/d) pi r2, r 15 mm; printed to 1-2 %."""
    stiffness = catalogue.find(name).value("contact_stiffness") * math.pi * 0.015**2
    assert math.sqrt(stiffness / mass) / (2 * math.pi) == pytest.approx(cut_off, rel=0.02)


def test_hanger_classes_ring_where_the_trade_says():
    """Common practice: rubber clips 8-15 Hz, neoprene 8-20 Hz, springs 2.5-5 Hz, at loads within
    the rated range; f = sqrt(k g / W) / 2pi, dynamic stiffness, one hanger alone."""
    expected = {"rubber-in-shear clip": (8, 15), "neoprene hanger": (8, 20),
                "spring hanger 25 mm": (2.5, 5)}  # fmt: skip
    for name, (low, high) in expected.items():
        entry = catalogue.find(name)
        load = entry.value("load_maximum") * 0.9
        found = math.sqrt(entry.value("dynamic_stiffness") * 9.80665 / load) / (2 * math.pi)
        assert low <= found <= high, name


def test_spring_hanger_deflects_an_inch_at_its_rated_load():
    entry = catalogue.find("spring hanger 25 mm")
    static = entry.value("dynamic_stiffness") / entry.value("dynamic_to_static")
    assert entry.value("load_maximum") / static == pytest.approx(0.0254, rel=0.05)


def strips(section, count=20000):
    """Second moment of a hat section [m4] by adding up small pieces of its centre line."""
    depth, top, flange, width, thickness = (x / 1000 for x in section)
    run = (width - 2 * flange - top) / 2
    corners = [(-width / 2, 0), (-width / 2 + flange, 0), (-top / 2, depth), (top / 2, depth),
               (width / 2 - flange, 0), (width / 2, 0)]  # fmt: skip
    assert run >= 0
    areas, heights = [], []
    for (x0, y0), (x1, y1) in itertools.pairwise(corners):
        t = (np.arange(count) + 0.5) / count
        areas.append(np.full(count, math.hypot(x1 - x0, y1 - y0) / count * thickness))
        heights.append(y0 + t * (y1 - y0))
    area, height = np.concatenate(areas), np.concatenate(heights)
    middle = (area * height).sum() / area.sum()
    return (area * (height - middle) ** 2).sum(), area.sum()


def sections():
    raw = resources.files("impact.design").joinpath("data/channels.toml").read_text("utf-8")
    return [(n, t["section"]) for n, t in tomllib.loads(raw).items() if "section" in t]


@pytest.mark.parametrize(("name", "section"), sections())
def test_channels_follow_from_their_section(name, section):
    """Numerical integration over the walls; 0.2 %: four digits in the file, E 203 GPa."""
    second_moment, area = strips(section)
    entry = catalogue.find(name, "channel")
    assert entry.value("bending_stiffness") == pytest.approx(203e9 * second_moment, rel=2e-3)
    assert entry.value("mass_per_length") == pytest.approx(7850 * area, rel=3e-3)


# Depth, leg and thickness of the angles, diameter of the web bar, in mm, as `about` has them.
BARS = {"10 in": (254, 32, 2.8, 13), "14 in": (355.6, 32, 3.0, 14),
        "18 in": (457.2, 38, 3.2, 16), "24 in": (609.6, 44, 3.6, 19)}  # fmt: skip


@pytest.mark.parametrize("name", BARS)
def test_steel_bar_joists_follow_from_chords_and_web(name):
    """Parallel axes of both chords, the angles cut into thin strips, E 203 GPa; a bar at 45 degrees
    under unit shear: 0.2 %, four digits in the file."""
    entry = catalogue.find(f"steel bar joist {name}")
    depth, leg, thick, bar = BARS[name]
    assert f"{leg} x {leg} x {thick:g} mm" in entry.about
    assert f"bar of {bar} mm" in entry.about
    y = (np.arange(200_000) + 0.5) * leg / 200_000  # from the back of a lying leg, mm
    wide = np.where(y < thick, leg, thick)
    area, middle = wide.sum() * leg / 200_000, (wide * y).sum() / wide.sum()
    arm = depth / 2 - middle
    assert entry.value("bending_stiffness") == pytest.approx(203e3 * 4 * area * arm**2 * 1e-6,
                                                             rel=2e-3)  # fmt: skip
    assert entry.value("axial_stiffness") == pytest.approx(203e3 * 4 * area, rel=2e-3)
    # Unit shear pulls a bar at 45 degrees by sqrt 2; over a panel as long as it is high, h, it gets
    # sqrt 2 * sqrt 2 h / (E A) longer and the panel sinks by sqrt 2 as much.
    steel = 203e3 * np.pi * bar**2 / 4
    assert entry.value("shear_stiffness") == pytest.approx(steel / (2 * np.sqrt(2)), rel=2e-3)
    volume = 4 * area + np.sqrt(2) * np.pi * bar**2 / 4
    assert entry.value("mass_per_length") == pytest.approx(7850e-6 * volume, rel=2e-3)


def test_light_bar_joists_weigh_what_the_trade_says():
    """From memory, load tables of steel joists: 5 lb/ft at 10 and 14 in, 6.6 at 18, 8.4 at 24."""
    for name, told in zip(BARS, (5.0, 5.2, 6.6, 8.4), strict=True):
        found = catalogue.find(f"steel bar joist {name}").properties["mass_per_length"]
        assert found.low <= told * 0.45359 / 0.3048 <= found.high


def test_thin_channel_spans_what_the_trade_says():
    """Common practice, no source: 18 mil, 7/8 in, 24 in lines, 6 psf, L/240: 3 ft 7 in single span.

    L from 5 w L^4 / (384 EI) = L/240. The full section is a little stiffer than the buckling one
    that span tables use, so the low end of the spread must reach down to it and the value may lie
    above by some per cent (L goes with the cube root of EI).
    """
    bending = catalogue.find("furring channel 7/8 in, 18 mil").properties["bending_stiffness"]
    load = 6 * 47.88026 * 24 * 0.0254  # N/m
    needed = 5 * load * (43 * 0.0254) ** 3 * 240 / 384
    assert bending.low <= needed <= bending.high
    span = (384 * bending.value / (5 * load * 240)) ** (1 / 3)
    assert span == pytest.approx(43 * 0.0254, rel=0.07)


def test_every_number_has_a_spread_and_a_source():
    seen = 0
    for entry in catalogue.entries():
        assert entry.about
        for key, found in entry.properties.items():
            assert 0 <= found.low <= found.value <= found.high, (entry.name, key)
            assert math.isfinite(found.high)
            assert found.source, (entry.name, key)
            seen += 1
    assert seen > 400


ABOUT_AN_ENTRY = {"kind", "about", "channel", "section"}  # all else must be a property


def test_no_property_of_a_data_file_is_misspelt_or_missing():
    """A word that no one reads would be passed over, and its value missed only in a prediction."""
    for stem in dict.fromkeys(catalogue.FILES.values()):
        raw = resources.files("impact.design").joinpath(f"data/{stem}.toml").read_text("utf-8")
        for name, table in tomllib.loads(raw).items():
            unknown = set(table) - ABOUT_AN_ENTRY - set(catalogue.PROPERTIES)
            assert not unknown, f"{name} in {stem}.toml: {sorted(unknown)}"
    for entry in catalogue.entries():
        needed, rest = materials.NEEDS.get(entry.kind, ((), {}))
        wanted = {*needed} if entry.kind == "direct fixing" else {*needed, *rest}  # no creep there
        lacking = wanted - set(entry.properties)
        assert not lacking, f"{entry.name}: {sorted(lacking)}"


def test_names_are_unique_without_regard_to_case_and_spaces():
    for kinds in catalogue.FILES.values():
        assert kinds
    names = [catalogue.plain(entry.name) for entry in catalogue.entries()]
    assert len(set(names)) == len(names)


def test_look_up_forgives_case_and_spaces_but_never_substitutes():
    assert catalogue.find(" Rubber in SHEAR clip", "hanger").name == "rubber-in-shear clip"
    assert catalogue.find("rubber-in-shear clips") is None
    assert catalogue.suggest("rubber-in-shear clips") == "rubber-in-shear clip"
    assert catalogue.find("rubber-in-shear clip", "board") is None
    assert catalogue.suggest("oriented strand board", "board") == "OSB"  # what the letters mean
    assert catalogue.suggest("chipboard") == "particleboard"  # and not what is written much alike
    assert catalogue.suggest("chipbord") == "particleboard"
    assert catalogue.suggest("parquet", "board", "slab", "timber") == "oak strip"
    for short, timber in (("SPF", "spruce-pine-fir No. 2"), ("LVL", "laminated veneer lumber"),
                          ("DF", "Douglas fir")):  # fmt: skip
        assert catalogue.suggest(short, "timber") == timber  # by its first letters
    assert catalogue.suggest("XYZ", "timber") is None
    assert catalogue.suggest("open-web steel joist") == "steel bar joist 10 in"
    layer = ("board", "slab", "timber")
    assert catalogue.suggest("oak flooring", *layer) == "oak strip"  # not laminate flooring
    assert catalogue.suggest("pine boards", *layer) == "softwood boards"  # not particleboard
    assert catalogue.suggest("plaster", *layer) == "gypsum plaster"  # the word, not plasterboard
    assert catalogue.suggest("fiberglass batts", "fill") == "glass wool"
    assert catalogue.suggest("glas wool", "fill") == "glass wool"  # a slip, though mineral has wool
    assert catalogue.suggest("Southern pine No. 2", "timber") == "spruce-pine-fir No. 2"
    assert catalogue.suggest("blue cheese", *layer) is None
    assert catalogue.suggest("screed", "board", "slab") == "sand-cement screed"
    assert catalogue.suggest("screeed", "board", "slab") == "sand-cement screed"
    assert catalogue.suggest("plasterbord", "board") == "gypsum plasterboard 12.5 mm"
    assert catalogue.suggest("plywod", "board") == "softwood plywood"
    assert catalogue.suggest("minral wool", "fill") == "mineral wool"  # a name is nearer
    assert catalogue.suggest("oriented strand board", "hanger") is None
    assert catalogue.suggest("qqqqqqqq") is None
    assert catalogue.suggest("") is None


def test_channels_of_hanger_classes_exist():
    for entry in catalogue.entries("hanger", "resilient channel"):
        assert catalogue.find(entry.channel, "channel"), entry.name
