"""How much of a stack is kept: the estimate of what is missing, and what lies beyond all modes.

The estimate compares a size with the next richer one in a few lines and at a few places; here it
stands against the whole band in a much richer size, on floors it was not made on.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import predictions
import pytest
from designs import GYPSUM, basement, l_shaped

from impact.base import air, bands
from impact.design.parts import Design, Layer, OldCeiling
from impact.design.reader import read
from impact.heard import joined
from impact.leaf import beyond
from impact.leaf.plate import Plate, Ribs, modes
from impact.motion import lowband, mirror, sizes
from impact.motion import stack as stacks
from impact.motion.assemble import assemble
from impact.motion.sizes import Size

BANDS = [bands.CENTRES[bands.index(f)] for f in (12.5, 25.0, 40.0, 63.0, 100.0)]
RICH = Size(3.2, 3.0)


def old_ceiling_left() -> Design:
    """The basement with a single old board on screws close together: where much must be kept."""
    board = Layer(GYPSUM, 0.0127, "nailed", "across")
    return replace(basement(), old_ceiling=OldCeiling((board,), "nailed", 0.2, 2e6, None))


def solved(design: Design, size: Size | None) -> lowband.Transfers:
    made = assemble(design, bands.edges(BANDS[-1])[1])
    return lowband.transfers(made, made.whole, BANDS, feet=True, size=size)


@pytest.mark.parametrize("design", [basement(), l_shaped(), old_ceiling_left()],
                         ids=["basement", "l_shaped", "old_ceiling_left"])  # fmt: skip
def test_what_is_missing_is_known(design):
    """The difference between two sizes of a series that converges as they do: what remains is at
    most twice it, and 0.05 dB for lines and places that were not looked at."""
    found, rich = solved(design, None), solved(design, RICH)
    for ours, theirs in ((found.power["design"], rich.power["design"]),
                         (found.mobility.real, rich.mobility.real)):  # fmt: skip
        off = np.abs(10 * np.log10(ours / theirs))
        assert np.all(off <= 2 * found.missing + 0.05), (off, found.missing)
        assert off.max() < 0.3


SHORT = """
[room]
length = "4 m"
width = "2 m"
height = "2.6 m"
[floor.joists]
width = "38 mm"
depth = "400 mm"
spacing = "400 mm"
span = "2 m"
along = "width"
youngs_modulus = "10 GPa"
shear_modulus = "0.63 GPa"
deck_fastening = "none"
[[floor.layers]]
material = "OSB"
thickness = "18 mm"
youngs_modulus = "5 GPa"
[direct_fixing]
class = "screws"
[[ceiling.layers]]
material = "gypsum board"
thickness = "12.5 mm"
"""


def test_a_short_floor_on_deep_joists_sounds_by_the_volume_it_displaces(tmp_path):
    """Its lowest modes are those of joists that roll and displace none; it bends from 70 Hz up. Far
    below, a force F displaces F w/p, w the deflection there under an even pressure p (Maxwell,
    Betti): of a row of simply supported beams of B = EI/s and shear S = 5/6 GA/s, and of the deck
    of D = E h³/12 from joist to joist, which is a clamped strip,

        w/p = x (L³ - 2 L x² + x³)/(24 B) + x (L - x)/(2 S) + y² (s - y)²/(24 D)

    (any text on beams), and radiates rho c k² |Q|²/(2 pi), Q = omega F w/p (a small piston in a
    baffle). 1 dB: edges of the deck, and 0.3 dB by which the floor moves more than at rest."""
    file = tmp_path / "short.toml"
    file.write_text(SHORT)
    made, low = assemble(read(file), 112.0), bands.CENTRES[:4]
    found = lowband.transfers(made, made.bare, low, feet=True, size=None).power["design"]
    length, spacing, x = 2.0, 0.4, np.linspace(0.5, 1.5, 201)
    y = np.linspace(0, spacing, 201)[:, None]
    bending, shear = 10e9 * 0.038 * 0.4**3 / 12 / spacing, 5 / 6 * 0.63e9 * 0.038 * 0.4 / spacing
    bent = x * (length**3 - 2 * length * x**2 + x**3) / (24 * bending)
    sheared, sunk = x * (length - x) / (2 * shear), y**2 * (spacing - y) ** 2 / (2 * 5e9 * 0.018**3)
    omega = 2 * np.pi * np.array(low)
    volume = omega**2 * np.mean((bent + sheared + sunk) ** 2)
    expected = air.IMPEDANCE * (omega / air.SPEED) ** 2 * volume / (2 * np.pi)
    assert 10 * np.log10(found / expected) == pytest.approx(np.zeros(4), abs=1.0)


def test_too_little_is_noticed(monkeypatch):
    """With modes to four fifths of the band and a third of the air, single lines are off by more
    than a decibel: no such size may be taken for enough."""
    enough = sizes.ENOUGH
    monkeypatch.setattr(sizes, "ENOUGH", np.inf)
    monkeypatch.setattr(sizes, "LADDER", (Size(0.8, 0.3), Size(1.1, 0.6)))
    assert np.sum(solved(old_ceiling_left(), None).missing > 2 * enough) >= 3


ON_SCREWS = """
[room]
length = "3.7 m"
width = "2.9 m"
height = "2.6 m"
[floor.joists]
material = "spruce"
width = "45 mm"
depth = "195 mm"
spacing = "291.5 mm"
span = "2.9 m"
along = "width"
blocking_rows = 1
[[floor.layers]]
material = "OSB"
thickness = "18 mm"
[floor.infill]
material = "sand"
thickness = "40 mm"
[direct_fixing]
class = "screws"
[[ceiling.layers]]
material = "fire-type gypsum board"
thickness = "15.9 mm"
count = 2
[ceiling.perimeter]
kind = "touching"
"""


def test_boards_without_their_screws_are_judged_by_themselves(tmp_path):
    """At 200 Hz the lean size is enough for such boards on their screws; without these it was 12 dB
    off, and told 0.1, in a stack that reaches to 250 Hz. Beside a richer size: 0.5 dB."""
    path = tmp_path / "design.toml"
    path.write_text(ON_SCREWS)
    made = assemble(read(path), bands.edges(bands.CENTRES[14])[1])
    found, rich = (
        lowband.transfers(made, made.whole, [bands.CENTRES[13]], best=("hangers",), feet=True,
                          size=size).power["best"][0]
        for size in (None, sizes.LADDER[2])
    )  # fmt: skip
    assert abs(10 * np.log10(found / rich)) < 0.5


def test_lines_one_by_one_are_the_lines_together(monkeypatch):
    """A size that is not enough is left after the line that tells it, and what is found is the
    same: to 1e-9, since ways to radiate 1e-10 of the strongest are left out of several lines
    otherwise than of one. No value of ours is expected, but that both ways agree."""
    few = [bands.CENTRES[bands.index(63.0)]]
    made = assemble(basement(), bands.edges(few[0])[1])
    monkeypatch.setattr(sizes, "LADDER", sizes.LADDER[:3])
    monkeypatch.setattr(sizes, "ENOUGH", 0.0)  # the second of three is taken
    answered = []  # lines of each solution
    answers = mirror.answers

    def counted(reduced, groups, omega, struck, lacking, **how):
        answered.append(len(omega))
        return answers(reduced, groups, omega, struck, lacking, **how)

    monkeypatch.setattr(mirror, "answers", counted)
    together = lowband.transfers(made, made.whole, few, (10, 5), feet=True, size=None)
    assert answered == [10, 2, 10, 2]  # both sizes whole, and what each is held against
    answered.clear()
    monkeypatch.setattr(mirror, "AT_ONCE", 1)
    alone = lowband.transfers(made, made.whole, few, (10, 5), feet=True, size=None)
    assert answered == [1, 1, 2, 1, 1, 2, *[1] * 8]
    assert alone.size == together.size == (sizes.LADDER[1],)
    for ours, theirs in zip(
        (alone.power["design"], alone.mobility, alone.underfoot["design"].squares["power"]),
        (
            together.power["design"],
            together.mobility,
            together.underfoot["design"].squares["power"],
        ),
        strict=True,
    ):
        assert ours == pytest.approx(theirs, rel=1e-9)
    assert np.array_equal(alone.underfoot["design"].frequency,
                          together.underfoot["design"].frequency)  # fmt: skip


def test_dimple_under_a_point_load():
    """Middle of a square plate on supports all round under a point load: w = 0.01160 F a²/D
    (Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, table 23), printed to 0.04 %.
    Eight functions each way lack 0.9 % of it; with what lies beyond them 0.1 % may be off."""
    side, bending = 2.0, 500.0
    square = Plate(
        "square", side, side, 10.0, bending, bending, 0.3 * bending, 0.35 * bending, 0.0,
        "supported",
    )  # fmt: skip
    leaf = modes(square, 5.0)
    middle = np.array([[side / 2, side / 2]])
    held = float(np.sum(leaf.shapes(middle) ** 2 / leaf.omega**2))
    book = 0.01160 * side**2 / bending
    assert held < 0.995 * book
    assert held + beyond.compliance(leaf, middle)[0].real == pytest.approx(book, rel=1e-3)


def test_a_rib_makes_no_dimple():
    ribs = Ribs(np.array([0.5, 1.5]), lambda k2: np.full_like(k2, 1e5), 10.0, 0.0, 1.0, 0.01)
    plate = Plate("ribbed", 3.0, 2.0, 10.0, 500.0, 500.0, 150.0, 175.0, 0.02, "free", ribs_x=ribs)
    leaf = modes(plate, 60.0)
    on, beside = beyond.compliance(leaf, np.array([[1.1, 0.5], [1.1, 0.8]]))
    assert on == 0
    assert beside.real > 0
    assert beside.imag == pytest.approx(-0.02 * beside.real)


def test_modes_at_rest_follow_their_slope_and_loss():
    """Against each mode at both edges of the band. The nearest mode at rest stands at 1.8 of the
    upper edge, so that a constant is off by 0.26/(1.8² 1.26 - 1) = 8 % of its share there and
    the slope by the square of that: less than 15 % of what a constant misses."""
    low, high = bands.edges(bands.CENTRES[bands.index(50.0)])
    made = assemble(basement(), high)
    reduced = stacks.reduce(made.whole, low, high, Size(1.6, 1.1))
    at_centre, slope = reduced.residual
    for frequency in (low, high):
        square = (2 * np.pi * frequency) ** 2
        exact = np.diag(reduced.beyond)
        for leaf, rest, shapes, rows in zip(
            reduced.stack.leaves, reduced.rest, reduced.resting, reduced.touched, strict=True
        ):
            exact[rows, rows] += (shapes / (leaf.squares[rest] - square)) @ shapes.T
        ours = at_centre + (square - reduced.centre**2) * slope
        static = np.linalg.norm(at_centre - exact)
        assert np.linalg.norm(ours - exact) < 0.15 * static


def test_the_estimate_is_told():
    """In JSON, in the dataset up to the last band solved, and as one line of the notes."""
    made = predictions.by_hand()
    assert made.as_dict()["truncation_error_db"] == {"ceiling": [0.05] * 13, "bare": [0.02] * 13}
    told = made.to_dataset()["truncation_error_ceiling"]
    assert told.attrs["units"] == "dB"
    assert np.flatnonzero(np.isnan(told)).tolist() == list(range(13, 28))
    missing = {"ceiling": np.array([0.05, 0.11, 0.02]), "bare": np.array([0.01, 0.04, 0.03])}
    known = SimpleNamespace(missing=missing, crossover=11, wanted=11, mismatch_db={})
    (note,) = joined.Joined.notes.fget(known)
    assert "0.11 dB at 12.5 Hz (with the ceiling)" in note


def test_methods_that_disagree_are_told():
    """Bands 125, 160, 200 Hz; what perfect hangers differ by is another matter."""
    missing = {"ceiling": np.array([0.05])}
    apart = {"design": [0.4, -5.6, 2.0], "bare": [1.9, 2.04, -2.0], "best": [9.0, 9.0, 9.0]}
    known = SimpleNamespace(
        missing=missing, crossover=12, wanted=12,
        mismatch_db={name: np.array(each) for name, each in apart.items()},
    )  # fmt: skip
    _, note = joined.Joined.notes.fget(known)
    assert "are 5.6 dB at 160 Hz with the ceiling apart" in note
    assert "Take levels from 125 Hz to 200 Hz" in note
