"""Laws of physics, held against designs drawn at random; none of them knows our code.

Reciprocity, passivity and energy balance, interlacing and monotony of frequencies (Rayleigh; e.g.
L. Meirovitch, Fundamentals of Vibrations, 2001, ch. 5), mirror symmetry, independence of units and
of the names of the axes, bounds of the mass-spring-mass resonance. Designs pass through the reader.
"""

from __future__ import annotations

import dataclasses
import math
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from impact.advice import resonance
from impact.base import bands
from impact.design.lines import joist_lines
from impact.design.parts import Design
from impact.design.placing import place
from impact.design.reader import read
from impact.link import springs
from impact.motion import mirror, striking, whole
from impact.motion import stack as stacks
from impact.motion.assemble import assemble, permitted
from impact.motion.stack import Stack

TOP = 63.0  # Hz: links and leaves are solved to here, which keeps one design under a second

few = settings(
    max_examples=6, deadline=None, derandomize=True, database=None,
    phases=[Phase.explicit, Phase.generate], suppress_health_check=[HealthCheck.too_slow],
)  # fmt: skip
many = settings(few, max_examples=60)

# Sizes in whole millimetres, so that both systems of units can write them exactly.
rooms = st.fixed_dictionaries({
    "length": st.integers(2000, 3600), "width": st.integers(2000, 3400),
    "height": st.integers(2100, 3000), "joist_width": st.integers(38, 80),
    "depth": st.integers(140, 260), "spacing": st.sampled_from((400, 450, 600)),
    "deck": st.integers(15, 28), "clear": st.integers(30, 400), "board": st.integers(9, 18),
    "layers": st.integers(1, 3), "lines": st.integers(400, 610),
    "stiffness": st.floats(10.0, 2000.0), "loss": st.floats(0.005, 0.5),
    "fill": st.one_of(st.none(), st.integers(20, 200)),
    "old": st.booleans(), "edge": st.sampled_from(("free", "sealed", "touching")),
})  # fmt: skip

LENGTHS = ("height", "joist_width", "depth", "spacing", "deck", "clear", "board", "lines")
TEXT = """
[room]
length = "{length}"
width = "{width}"
height = "{height}"
[floor.joists]
material = "softwood"
along = "{along}"
width = "{joist_width}"
depth = "{depth}"
spacing = "{spacing}"
span = "{span}"
[[floor.layers]]
material = "particleboard"
thickness = "{deck}"
[cavity]
clear_depth = "{clear}"
{fill}
{old}
[hangers]
class = "rubber-in-shear clip"
dynamic_stiffness = "{stiffness}"
loss_factor = {loss!r}
channel_spacing = "{lines}"
hanger_spacing = "{spacing2}"
[[ceiling.layers]]
material = "gypsum board"
thickness = "{board}"
count = {layers}
[ceiling.perimeter]
kind = "{edge}"
"""
OLD = '[old_ceiling]\n[[old_ceiling.layers]]\nmaterial = "gypsum board"\nthickness = "{}"\n'
FILL = '[cavity.fill]\nmaterial = "mineral wool"\nthickness = "{}"\n'


def metric(mm: float) -> str:
    return f"{mm!r} mm"


def imperial(mm: float) -> str:
    return f"{mm / 25.4!r} in"  # 1 in = 25.4 mm exactly, NIST SP 811


def text_of(drawn: dict, length=metric, along: str = "length", turned: bool = False) -> str:
    """The design file; `turned` swaps length and width and what the joists run along."""
    sides = ("width", "length") if turned else ("length", "width")
    lengths = {key: length(drawn[key]) for key in LENGTHS}
    if length is metric:
        spring = f"{drawn['stiffness']!r} N/mm"
    else:  # 1 lbf = 0.45359237 kg x 9.80665 m/s2 exactly
        spring = f"{drawn['stiffness'] * 25.4 / (0.45359237 * 9.80665)!r} lbf/in"
    fill = min(drawn["fill"] or 0, drawn["clear"])
    return TEXT.format(**{
        **drawn, **lengths, "stiffness": spring,
        "length": length(drawn[sides[0]]), "width": length(drawn[sides[1]]),
        "along": {"length": "width", "width": "length"}[along] if turned else along,
        "span": length(drawn[along]),
        "spacing2": length(2 * drawn["spacing"]),
        "fill": FILL.format(length(fill)) if fill else "",
        "old": OLD.format(length(13)) if drawn["old"] else "",
    })  # fmt: skip


def made(text: str) -> Design:
    """The design of a text, through the reader."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "drawn.toml"
        path.write_text(text, encoding="utf-8")
        return read(path)


def numbers(part, name: str = "") -> dict[str, float]:
    """Every number of a design by its place."""
    if isinstance(part, bool) or part is None or isinstance(part, str):
        return {}
    if isinstance(part, int | float):
        return {name: float(part)}
    if dataclasses.is_dataclass(part):
        items = [(f.name, getattr(part, f.name)) for f in dataclasses.fields(part)]
    else:
        items = list(part.items() if isinstance(part, dict) else enumerate(part))
    found: dict[str, float] = {}
    for key, value in items:
        found |= numbers(value, f"{name}.{key}")
    return found


def solved(
    stack: Stack, points: np.ndarray, frequency: float
) -> tuple[np.ndarray, stacks.Answer, np.ndarray]:
    """Shapes at the points, the answer to unit forces there and what is lost."""
    near = min(bands.CENTRES, key=lambda centre: abs(centre - frequency))
    reduced = stacks.reduce(stack, *bands.edges(near))
    struck = striking.at_points(reduced, points)
    at = stacks.line(reduced, 2 * np.pi * frequency, struck)
    found = stacks.answer(reduced, at)
    return struck, found, stacks.dissipated(reduced, at, found)


def modes(stack: Stack) -> np.ndarray:
    return np.array([mode.frequency for mode in whole.coupled_modes(stack, TOP)])


@given(rooms, st.floats(10, 60), st.lists(st.floats(0.02, 0.98), min_size=4, max_size=4))
@few
def test_reciprocity_and_passivity(drawn, frequency, places):
    design = made(text_of(drawn))
    sides = np.array([design.floor.length, design.floor.width])
    points = np.array(places).reshape(2, 2) * sides
    parts = assemble(design, TOP)
    for stack in (parts.whole, parts.bare):
        struck, found, lost = solved(stack, points, frequency)
        transfer = struck.T @ found.of(stack.walked)
        # exact laws of a linear passive system; rounding of a solve of some hundred unknowns
        scale = np.sqrt(abs(transfer[0, 0] * transfer[1, 1]))
        assert abs(transfer[0, 1] - transfer[1, 0]) < 1e-8 * scale
        assert np.all(found.mobility.real > 0)
        assert np.all(found.power >= 0)
        assert np.all(lost > 0)
        # the sound's reaction is part of the motion, so nothing of the power is left over
        assert found.power + lost == pytest.approx(found.mobility.real, rel=1e-7)


@given(rooms, st.integers(12, 18))
@few
def test_symmetric_or_not_the_parts_answer_as_the_whole(drawn, number):
    design = made(text_of(drawn))
    low, high = bands.edges(bands.CENTRES[number - 10])
    omega = 2 * np.pi * np.array([low * 1.05, high / 1.05])
    stack = assemble(design, TOP).whole
    reduced = stacks.reduce(stack, low, high)
    points = np.array([[0.31, 0.22], [0.74, 0.55]]) * (design.floor.length, design.floor.width)
    at = stacks.line(reduced, omega, striking.at_points(reduced, points))
    whole_of_it = stacks.answer_both(reduced, at, reduced.names != "hangers")
    groups = mirror.split(reduced, ("hangers",), worth=0)
    parts = mirror.answers(reduced, groups, omega, mirror.at_points(groups, points), ("hangers",))
    for found, known in zip(parts, whole_of_it, strict=True):
        assert found.power == pytest.approx(known.power, rel=1e-7)
        assert found.mobility == pytest.approx(known.mobility, rel=1e-7)


@given(rooms, st.floats(0.05, 0.95), st.floats(0.05, 0.95), st.floats(4, 7))
@few
def test_one_more_spring_interlaces_and_softer_hangers_lower_every_mode(drawn, u, v, power):
    design = made(text_of(drawn))
    parts = assemble(design, TOP)
    before = modes(parts.whole)
    pair = (len(parts.whole.leaves) - 2, len(parts.whole.leaves) - 1)
    at = np.array([[u * design.room.length, v * design.room.width]])
    shapes = tuple(parts.whole.leaves[i].shapes(at) for i in pair)
    extra = springs.points("extra", pair, shapes, np.array([10.0**power]), 0.0)
    after = modes(replace(parts.whole, joints=(*parts.whole.joints, extra)))
    count = min(len(before), len(after)) - 1
    slack = 1e-6 * before[:count] + 1e-6  # rounding of the eigenvalues
    assert count > 2
    assert np.all(after[:count] >= before[:count] - slack)
    assert np.all(after[:count] <= before[1 : count + 1] + slack)
    softer = replace(design.hangers, dynamic_stiffness=design.hangers.dynamic_stiffness / 3)
    soft = modes(assemble(replace(design, hangers=softer), TOP).whole)
    count = min(len(before), len(soft))
    assert np.all(soft[:count] <= before[:count] * (1 + 1e-6) + 1e-6)


def with_first(design, first):
    """The same with a joist `first` [m] from the floor's edge."""
    joists = replace(design.floor.joists, first=first)
    return replace(design, floor=replace(design.floor, joists=joists))


@given(
    rooms,
    st.floats(10, 60),
    st.floats(0.05, 0.95),
    st.floats(0.05, 0.95),
    st.booleans(),
    st.one_of(st.none(), st.floats(0.03, 1.0)),
)
@few
def test_the_mirrored_building_answers_at_mirrored_places(drawn, frequency, u, v, across, first):
    """Boards stand symmetric about both middle lines; hangers, and joists of which one is known
    (`first`, of a spacing), need not, so they are mirrored as well."""
    drawn = drawn | {"edge": "sealed" if drawn["edge"] == "touching" else drawn["edge"]}
    design = made(text_of(drawn))
    if first is not None:
        design = with_first(design, first * design.floor.joists.spacing)
    length, width = design.floor.length, design.floor.width
    points = place(design).points
    here = np.array([(u * length, v * width)])
    answers = []
    for mirrored in (False, True):
        axis = 1 if across else 0
        side = (length, width)[axis]
        turn = [tuple(side - c if mirrored and i == axis else c for i, c in enumerate(p))
                for p in points]  # fmt: skip
        at = here.copy()
        at[0, axis] = side - at[0, axis] if mirrored else at[0, axis]
        hung = replace(design, hangers=replace(design.hangers, positions=tuple(turn)))
        if mirrored and across and first is not None:
            hung = with_first(hung, width - joist_lines(design.floor)[-1])
        answers.append(solved(assemble(hung, TOP).whole, at, frequency)[1])
    # an exact law; two different solves of some hundred unknowns
    assert answers[1].power == pytest.approx(answers[0].power, rel=1e-6)
    assert np.abs(answers[1].mobility) == pytest.approx(np.abs(answers[0].mobility), rel=1e-6)


@given(rooms)
@many
def test_units_make_no_difference(drawn):
    """The same building in inches and in millimetres is the same design to 1e-12."""
    one, other = (numbers(made(text_of(drawn, length))) for length in (metric, imperial))
    assert one.keys() == other.keys()
    for where, value in one.items():
        assert other[where] == pytest.approx(value, rel=1e-12, abs=1e-300), where


@given(rooms)
@many
def test_turned_by_a_quarter_it_is_the_same_building(drawn):
    """Swap the room's length and width, and what the joists run along: nothing else changes."""
    one, other = (made(text_of(drawn, turned=turned)) for turned in (False, True))
    assert other.floor.joists.along != one.floor.joists.along  # as the file names it
    assert sorted(other.ceiling.perimeter.touching_walls) == sorted(
        one.ceiling.perimeter.touching_walls
    )
    joists = replace(other.floor.joists, along=one.floor.joists.along)
    other = replace(
        other, floor=replace(other.floor, joists=joists),
        ceiling=replace(other.ceiling, perimeter=one.ceiling.perimeter),
    )  # fmt: skip
    assert numbers(made(text_of(drawn, turned=True)).ceiling.perimeter) == numbers(
        one.ceiling.perimeter
    )
    blank = {"path": "", "digest": "", "defaults": (), "warnings": ()}
    assert replace(one, **blank) == replace(other, **blank)


@given(rooms, st.floats(10, 60))
@few
def test_levels_do_not_depend_on_units(drawn, frequency):
    powers = []
    for length in (metric, imperial):
        design = made(text_of(drawn, length))
        (x0, x1), (y0, y1) = permitted(design)
        points = np.array([(x0, y0), ((x0 + x1) / 2, (y0 + 2 * y1) / 3)])
        powers.append(solved(assemble(design, TOP).whole, points, frequency)[1].power)
    # the designs agree to 1e-12; a resonance and the solve may multiply that by a thousand or two
    assert powers[1] == pytest.approx(powers[0], rel=1e-7)


@given(rooms)
@few
def test_bounds_of_the_resonances(drawn):
    """Springs in parallel: stiffnesses add, so that of N hangers is N k over the room's area; f²
    adds, so f(msm)² = f(air)² + f(hangers between both masses)²; air is stiffer than isothermal and
    softer than adiabatic (101 and 142 kPa over the depth)."""
    design = made(text_of(drawn))
    parts = assemble(design, 40.0)
    found = resonance.resonances(parts)
    m1, m2 = found.floor_mass, found.ceiling_mass
    together = len(place(design).points) * drawn["stiffness"] * 1e3  # N/m
    area = drawn["length"] * drawn["width"] * 1e-6  # m2
    assert found.hanger_spring == pytest.approx(together / area, rel=1e-12)
    alone = math.sqrt(found.hanger_spring / m2) / (2 * math.pi)
    assert found.hanger_only == pytest.approx(alone, rel=1e-12)
    on_hangers = math.sqrt(found.hanger_spring * (1 / m1 + 1 / m2)) / (2 * math.pi)
    total = math.hypot(found.air_only, on_hangers)
    assert found.mass_spring_mass == pytest.approx(total, rel=1e-12)
    assert found.hanger_only < on_hangers
    low, high = (bulk / parts.gap.depth for bulk in (101325.0, 1.4 * 101325.0))  # N/m3
    # a fill's frame and the loss in it move the real part by some per cent at 25 Hz
    assert 0.97 * low <= found.air_spring <= 1.001 * high
    low_f, high_f = (
        math.sqrt((s + found.hanger_spring) * (1 / m1 + 1 / m2)) / (2 * math.pi)
        for s in (0.97 * low, 1.001 * high)
    )
    assert low_f <= found.mass_spring_mass <= high_f
