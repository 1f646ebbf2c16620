"""Wrong files: every fault at once, each with place, value and remedy; never anything else."""

from __future__ import annotations

import os
import random
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from impact.design.reader import read
from impact.errors import DesignError

EXAMPLE = (Path(__file__).parents[2] / "examples" / "01_basement_rental.toml").read_text("utf-8")


def faults(tmp_path, text) -> dict[str, str]:
    """Fault texts of a file by key path; the message must name the file and hold them all."""
    path = tmp_path / "wrong.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(DesignError) as caught:
        read(path)
    message = str(caught.value)
    assert message.startswith(f"{path}: {len(caught.value.faults)} fault")
    assert "Traceback" not in message
    for fault in caught.value.faults:
        assert str(fault) in message
    return {fault.where: fault.what for fault in caught.value.faults}


# One change of the example, where the fault lies, what the message must hold.
def _patches(kind, *lengths, more=""):
    """Patches in the room's corner, before the prices."""
    at = f'[[room.{kind}]]\nx = "0 m"\ny = "0 m"\nwidth = "1 m"\n{more}'
    return "".join(f'{at}\nlength = "{length}"\n' for length in lengths) + "[prices]"


ONE = [
    ('length = "16 ft"', "length = 16", "room.length", "no unit"),
    ('length = "16 ft"', 'length = "16"', "room.length", "no unit"),
    ('length = "16 ft"', 'length = "4,9 m"', "room.length", "comma"),
    ('length = "16 ft"', 'length = "16 psf"', "room.length", "no unit of length"),
    ('length = "16 ft"', 'length = "900 m"', "room.length", "1 m to 60 m"),
    ('length = "16 ft"', "", "room.length", "missing"),
    ('length = "16 ft"', "length = true", "room.length", "no unit"),
    ('length = "16 ft"', "length = []", "room.length", "several values"),
    ('length = "16 ft"', 'length = {low = "1 m"}', "room.length", "'value'"),
    ('length = "16 ft"', 'length = {value = "5 m", low = "6 m", high = "7 m"}', "room.length",
     "do not rise"),
    ('length = "16 ft"', 'length = {value = "5 m", low = "4 m"}', "room.length", "both low and"),
    ('width = "13 ft"\nheight', 'width = "13 ft"\nheigth = "2 m"\nheight', "room.heigth",
     "'height'"),
    ('background = "NC 25"', 'background = "quiet"', "room.background", "NC 25"),
    ('background = "NC 25"', 'background = "NC 5"', "room.background", "NC 15"),
    ('background = "NC 25"', "background = {51 = 30, 63 = 30}", "room.background.51", "nominal"),
    ('units = "imperial"', 'units = "us"', "project.units", "'metric', 'imperial'"),
    ('material = "softwood"\n', 'material = "sofftwood"\n', "floor.joists.material",
     "did you mean 'softwood'"),
    ('spacing = "16 in"', 'spacing = "16 in"\nkind = "i-joist"', "floor.joists.material", "class"),
    ('span = "13 ft"', 'span = "12 ft"', "floor.joists.span", "shorter than the room"),
    ("blocking_rows = 1", "blocking_rows = 1.5", "floor.joists.blocking_rows", "whole number"),
    ("blocking_rows = 1", 'blocking_rows = "1"', "floor.joists.blocking_rows", "whole number"),
    ('material = "oak strip"', 'material = "oak stripp"', "floor.layers[1].material",
     "did you mean 'oak strip'"),
    ('material = "oak strip"', 'material = "mineral wool"', "floor.layers[1].material",
     "board or slab or timber"),
    ('thickness = "3/4 in"\nbond = "nailed"', 'thickness = "3/4 in"\nbond = "floating"',
     "floor.layers[1].mat", "missing"),
    ('thickness = "6 in"', 'thickness = "20 in"', "cavity.fill.thickness", "does not fit"),
    ('clear_depth = "7 3/4 in"', 'clear_depth = "1/2 in"', "cavity.clear_depth", "channel's own"),
    ('hanger_spacing = "48 in"', 'hanger_spacing = "50 in"', "hangers.hanger_spacing",
     "48 in or 64 in"),
    ('class = "rubber-in-shear clip"', 'class = "ruber in shear clip"', "hangers.class",
     "did you mean 'rubber-in-shear clip'"),
    ('class = "rubber-in-shear clip"', "", "hangers.class", "missing"),
    ('class = "rubber-in-shear clip"', 'class = "softwood"', "hangers.class",
     "wanted is a name of kind hanger"),
    ('width = "1 1/2 in"', 'class = "2x10"', "floor.joists.class", "'width' and 'depth', like"),
    ('edge_distance = "8 in"', 'load_minimum = "50 lb"', "hangers.load_minimum", "not below"),
    ('edge_distance = "8 in"', 'load_deflection = [["9 N", "1 mm"], ["8 N", "2 mm"]]',
     "hangers.load_deflection[1]", "rise"),
    ('edge_distance = "8 in"', "load_deflection = 3", "hangers.load_deflection", "pairs"),
    ('edge_distance = "8 in"', 'positions = [["1 ft", "90 ft"]]', "hangers.positions[0]",
     "outside the room"),
    ('edge_distance = "8 in"', "loss_factor = 3", "hangers.loss_factor", "0.0005 to 1"),
    ('edge_distance = "8 in"', 'edge_distance = "80 in"', "hangers.edge_distance",
     "'80 in' lies outside 0 in to 23 5/8 in (0 mm to 600 mm)"),
    ("count = 2", "count = 99", "ceiling.layers[0].count", "1 to 8"),
    ('kind = "sealed"', 'kind = "touching"\nbead_depth = "3 mm"', "ceiling.perimeter.bead_depth",
     "'sealed'"),
    ('gap = "1/4 in"', 'gap = "0 in"', "ceiling.perimeter.gap", "touching"),
    ('gap = "1/4 in"', 'touching_walls = ["up"]', "ceiling.perimeter.touching_walls", "west"),
    ('kind = "sealed"', 'kind = "touching"\ntouching_walls = []',
     "ceiling.perimeter.touching_walls", "touch all four"),
    ('units = "imperial"', 'units = "American"', "project.units", "did you mean 'imperial'"),
    ('quantity = "IIC"', 'quantity = "ICC"', "target.quantity", "did you mean 'IIC'"),
    ("limit = 55", "limit = 55\nband_hz = 63", "target.band_hz", "rating"),
    ("hanger = 6.0", 'hanger = "6 USD"', "prices.hanger", "pure number"),
    ("hanger = 6.0", "hanger = nan", "prices.hanger", "finite"),
    ("[prices]", '[direct_fixing]\nclass = "screws"\n[prices]', "direct_fixing", "exactly one"),
    ("[prices]", "[tapping]\nrebound = 1.2\n[prices]", "tapping.rebound", "0 to 1"),
    ("[prices]", "[limit]\n[prices]", "limit", "did you mean 'limits'"),
    ("[prices]", '[tapping]\nclear_depth = "3 in"\n[prices]', "tapping.clear_depth",
     "it is a key of [cavity]"),
    ('kind = "sealed"', 'kind = "sealed"\nloss_factor = 0.02', "ceiling.perimeter.loss_factor",
     "it is a key of [ceiling]"),
    ("[cavity]", '[floor.slab]\nkind = "concrete"\nthickness = "9 in"\n[cavity]', "floor",
     "keep one"),
    ("[prices]", '[materials.mine]\ndensity = "600 kg/m3"\n[prices]',
     "materials.mine.youngs_modulus", "missing"),
    ("[prices]", '[[flanking]]\narea = "9 m2"\nlength = "4 m"\n[prices]',
     "flanking[0].mass_per_area", "missing"),
    ("[prices]", _patches("bulkheads", "9 m", more='drop = "0.3 m"'), "room.bulkheads[0]",
     "beyond the room"),
    ("[prices]", _patches("bulkheads", "1 m"), "room.bulkheads[0].drop", "missing"),
    ("[prices]", _patches("openings", "0 m"), "room.openings[0]", "above 0"),
    ("[prices]", _patches("openings", "1 m", "0.5 m"), "room.openings[1]",
     "lies over openings[0]"),
]  # fmt: skip


def patch(kind, x="1 m", y="1 m", length="0.5 m", width="0.5 m", more=""):
    """One patch as a table."""
    at = f'x = "{x}"\ny = "{y}"\nlength = "{length}"\nwidth = "{width}"\n'
    return f"[[room.{kind}]]\n{at}{more}\n"


BOX = 'drop = "0.3 m"'
ON_ONE_SPOT = [
    (patch("notches") + patch("openings", x="1.3 m"), "openings", "lies over notches[0], where"),
    (patch("notches") + patch("bulkheads", more=BOX), "bulkheads", "lies over notches[0], where"),
    (patch("notches") + patch("fixtures", x="1.2 m", y="1.2 m", length="0 m", width="0 m"),
     "fixtures", "lies over notches[0], where there is no ceiling"),
    (patch("bulkheads", more=BOX) + patch("openings", x="1.3 m"), "openings",
     "lies partly over bulkheads[0]"),
    (patch("openings") + patch("fixtures", x="1.1 m", length="0.2 m"), "fixtures",
     "lies in openings[0], where no boards carry it; give its mass to the opening"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "kind", "what"), ON_ONE_SPOT)
def test_what_cannot_share_a_place_is_told(tmp_path, text, kind, what):
    found = faults(tmp_path, EXAMPLE.replace("[prices]", text + "[prices]", 1))
    assert list(found) == [f"room.{kind}[0]"]
    assert what in found[f"room.{kind}[0]"]


def test_what_may_share_a_place_does(tmp_path):
    """A lamp over a hatch's edge, a notch that shares another edge of it, and a grille and a lamp
    in a bulkhead."""
    text = (patch("openings") + patch("fixtures", x="0.8 m") + patch("notches", x="1.5 m")
            + patch("bulkheads", y="2 m", more='drop = "0.3 m"')
            + patch("openings", x="1.1 m", y="2.1 m", length="0.2 m", width="0.2 m")
            + patch("fixtures", x="1.4 m", y="2.2 m", length="0 m", width="0 m"))  # fmt: skip
    path = tmp_path / "design.toml"
    path.write_text(EXAMPLE.replace("[prices]", text + "[prices]", 1))
    room = read(path).room
    assert (len(room.openings), len(room.fixtures)) == (2, 2)


@pytest.mark.parametrize(("old", "new", "where", "what"), ONE)
def test_one_fault_is_one_fault(tmp_path, old, new, where, what):
    assert EXAMPLE.count(old) >= 1
    found = faults(tmp_path, EXAMPLE.replace(old, new, 1))
    assert list(found) == [where]
    assert what in found[where]


def test_spacings_may_say_that_they_run_from_centre_to_centre(tmp_path):
    """As trades write them; of a depth it is refused with what to write."""
    text = EXAMPLE.replace('spacing = "16 in"', 'spacing = "16 in o.c."').replace(
        'channel_spacing = "24 in"', 'channel_spacing = "24 in on center"')  # fmt: skip
    path = tmp_path / "spaced.toml"
    path.write_text(text)
    made = read(path)
    assert made.floor.joists.spacing == pytest.approx(0.4064)
    assert made.hangers.channel_spacing == pytest.approx(0.6096)
    wrong = faults(tmp_path, EXAMPLE.replace('depth = "9 1/4 in"', 'depth = "9 1/4 in o.c."'))
    assert wrong == {"floor.joists.depth": "'9 1/4 in o.c.' has words that belong to a spacing; "
                                           "write '9 1/4 in'"}  # fmt: skip


def test_all_faults_come_at_once(tmp_path):
    """Ten independent changes of the table above, one message with ten faults."""
    text, wanted = EXAMPLE, set()
    for old, new, where, _ in (ONE[i] for i in (3, 12, 15, 19, 21, 27, 35, 37, 39, 41)):
        text = text.replace(old, new, 1)
        wanted.add(where)
    assert set(faults(tmp_path, text)) == wanted
    assert len(wanted) == 10


def test_no_joists_no_layers_no_fixing_no_boards(tmp_path):
    found = faults(tmp_path, '[room]\nlength = "5 m"\nwidth = "4 m"\nheight = "2 m"\n[floor]\n')
    assert set(found) == {"floor.joists", "hangers", "ceiling"}
    assert "[resilient_channels]" in found["hangers"]


FILES = [
    (b"a = 5 m\n", "line 1", "quotes"), (b"[room]\nx = 1\n[room]\n", "line 3", "a second time"),
    (b'[room]\nx = "1\xff"\n', "line 2", "UTF-8"), (b"\x00\x01\x02", "file", "text"),
    ('[room]\nx = "1 m"\n'.encode("utf-16"), "file", "UTF-16"), (b"x" * 1_000_001, "file", "bytes"),
    (b"a = " + b"[" * 5000, "file", "TOML"), (b'a = "1', "line 1", "TOML"),
    (b"a = 1\na = 2\n", "line 2", "keep one of both"),
]  # fmt: skip


@pytest.mark.parametrize(("content", "where", "what"), FILES)
def test_what_is_no_design_file(tmp_path, content, where, what):
    found = faults(tmp_path, content)
    assert list(found) == [where]
    assert what in found[where]


@pytest.mark.parametrize("path", ["", ".", os.devnull, "no/such/file.toml", "a\0b.toml"])
def test_what_is_no_file(path):
    with pytest.raises(DesignError) as caught:
        read(path)
    assert len(caught.value.faults) == 1


def test_every_table_of_the_wrong_type(tmp_path):
    from impact.design.schema_room import TOP

    text = "\n".join(f"{key.name} = 7" for key in TOP)
    found = faults(tmp_path, text)
    only_one = {"resilient_channels", "direct_fixing", "independent_joists"}
    assert {key.name for key in TOP} - only_one <= set(found)


VALUES = ["7", "-1", "0", "nan", "inf", "true", '""', '"1 in"', '"-5 mm"', '"1e300 m"', "[]", "{}",
          '[["1 mm"]]', '{value = "1 m"}', "1979-05-27", '"gypsum board"', "1e400",
          '{value = "1 in", low = "1 in", high = "2 in"}', "[1, [2]]", '"\\u0000"']  # fmt: skip


def mutated(seed: int) -> str:
    """The example with a few lines dropped, doubled, moved or given another value."""
    chance = random.Random(seed)
    lines = EXAMPLE.splitlines()
    for _ in range(chance.randint(1, 4)):
        place = chance.randrange(len(lines))
        kind = chance.randrange(4)
        if kind == 0:
            del lines[place]
        elif kind == 1:
            lines.insert(chance.randrange(len(lines)), lines[place])
        elif "=" in lines[place]:
            name = lines[place].split("=")[0].strip()
            lines[place] = f"{name} = {chance.choice(VALUES)}"
    return "\n".join(lines)


@settings(
    max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(seed=st.integers(0, 10**9))
def test_no_change_of_a_file_gets_past_the_door(tmp_path, seed):
    """Whatever is done to a file: a design, or a DesignError; any other error fails this test."""
    path = tmp_path / "changed.toml"
    path.write_text(mutated(seed), "utf-8")
    try:
        design, found = read(path), ()
    except DesignError as error:
        design, found = None, error.faults
    assert design is not None or found, "refused without saying why"
    if design is not None:
        assert min(design.room.length, design.room.width, design.room.height) > 0
        assert design.ceiling.layers
