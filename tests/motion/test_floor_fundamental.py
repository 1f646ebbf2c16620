"""The floor's fundamental among the coupled modes: by hand, and against all modes solved.

Designs are invented.
"""

from __future__ import annotations

from dataclasses import replace

import designs
import numpy as np
import pytest

from impact import gravity
from impact.gravity.loads import HIGHEST
from impact.motion import fundamental as made
from impact.motion.assemble import assemble


def test_the_floor_gets_a_lower_fundamental():
    """A ceiling tied to the floor by very stiff points without bead is dead mass: f falls by
    sqrt(m1/(m1 + m2)); 10 %, as the ceiling sags between hangers 1.2 m apart, which lowers it more,
    and has some stiffness, which raises it."""
    base = designs.basement()
    hangers = replace(base.hangers, dynamic_stiffness=1e8, static_stiffness=1e8)
    perimeter = replace(base.ceiling.perimeter, kind="free", gap=0.0)
    design = replace(base, hangers=hangers, ceiling=replace(base.ceiling, perimeter=perimeter))
    checked = gravity.loads(design)
    parts = assemble(design, HIGHEST)
    ratio = np.sqrt(parts.floor_mass / (parts.floor_mass + parts.ceiling_mass))
    found = checked.above.fundamental / checked.above.fundamental_before
    assert found == pytest.approx(ratio, rel=0.1)


TWO_PI = 2 * np.pi


@pytest.mark.parametrize(("own", "hung", "lower"), [(10.0, 40.0, True), (10.0, 3.0, False)])
def test_two_equal_masses_by_hand(own, hung, lower):
    """A held mass a with an equal one b on a spring below it, as any textbook of vibration has it:
    omega² = s -+ sqrt(s² - a b), s = a/2 + b, a and b the squares of both alone. A stiff spring
    makes them one mass, so that the lower mode has most of the floor; hung softly, the lower is the
    other mass's own. 1e-9: rounding."""
    a, b = (TWO_PI * own) ** 2, (TWO_PI * hung) ** 2
    half = a / 2 + b
    root = np.sqrt(half**2 - a * b)
    expected = np.sqrt(half - root if lower else half + root) / TWO_PI
    stiffness = np.array([[a + b, -b], [-b, b]])
    found = made.lowest_part(lambda f: np.linalg.solve(stiffness, f), np.array([1.0, 0.0]), 60.0)
    assert found == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("at_rest", [False, True])
def test_when_to_stop(at_rest):
    """Against all modes of 200 systems of 80 masses, the start scattered over few or many modes.
    The answer is the definition's or none; it is one for nearly all, as 80 steps tell all of them.
    Shares that are equal to a part in 1e6 are a matter of definition and left out."""
    rng = np.random.default_rng(5)
    told = 0
    for _ in range(200):
        frequency = np.sort(rng.uniform(4.0, 150.0, 80))
        start = rng.standard_normal(80) * np.exp(rng.uniform(0, 4) * rng.standard_normal(80))
        start /= np.linalg.norm(start)
        share = np.where(frequency < 60.0, start**2, 0.0) / (frequency**2 if at_rest else 1.0)
        half = share.max() / 2
        if np.abs(share / half - 1).min() < 1e-6:
            continue
        give = 1 / (TWO_PI * frequency) ** 2
        found = made.lowest_part(lambda f, give=give: give * f, start, 60.0, at_rest)
        if found is not None:
            told += 1
            assert found == pytest.approx(frequency[share >= half][0], rel=1e-9)
    assert told > 180


@pytest.mark.parametrize("design", [designs.basement(), designs.on_slab(), designs.l_shaped()])
def test_one_mode_equals_all_modes_solved(design):
    """The same number from every coupled mode, 1e-9; it was found without them."""
    stack = assemble(design, HIGHEST).whole
    floor = [leaf.name for leaf in stack.leaves].index("floor")
    held = made._held(stack, TWO_PI * 30.0, 150.0)
    assert held is not None
    found = made.lowest_part(held.solve, held.first(floor), 60.0)
    in_full = made.all_modes(stack, floor, TWO_PI * 30.0, 150.0, 60.0)
    assert found == pytest.approx(in_full, rel=1e-9)
    assert made.fundamental(stack) == found


def test_a_ceiling_on_one_line_is_solved_in_full():
    """It turns about the line at rest, so that the inverse does not exist; the modes do."""
    base = designs.basement()
    hangers = replace(base.hangers, channel=None, mass=0.0,
                      positions=tuple((2.1, y) for y in (0.4, 1.2, 2.0, 2.8)))  # fmt: skip
    perimeter = replace(base.ceiling.perimeter, kind="free", gap=0.0)
    design = replace(base, hangers=hangers, ceiling=replace(base.ceiling, perimeter=perimeter))
    stack = assemble(design, HIGHEST).whole
    assert made._held(stack, TWO_PI * 30.0, 150.0) is None
    assert 5 < made.fundamental(stack) < 60
