"""Halves of a symmetric stack against the whole of it: the same system, so equal but for rounding.

That even and odd motions do not couple is linear algebra; the whole stack's own answer is checked
against closed forms and finite elements elsewhere.
"""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from texts import FEWEST, SLAB

from impact.base import bands
from impact.design.reader import read
from impact.link.joint import fixed
from impact.motion import mirror, sizes, striking
from impact.motion import stack as stacks
from impact.motion.assemble import assemble, permitted
from impact.motion.stack import Stack

LOW, HIGH = bands.edges(bands.CENTRES[bands.index(80.0)])
OMEGA = 2 * np.pi * np.geomspace(LOW * 1.01, HIGH / 1.01, 3)
FEET = np.array([[1.2, 0.9], [2.9, 3.3]])
SQUARE = SLAB.format(slab='kind = "concrete"\nthickness = "140 mm"').replace('"5 m"', '"4 m"')
LOPSIDED = FEWEST + '[ceiling.perimeter]\nkind = "touching"\ntouching_walls = ["west"]\n'


def built(text: str):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "one.toml"
        path.write_text(text, encoding="utf-8")
        design = read(path)
    return assemble(design, 100.0).whole, permitted(design)


def one_hanger_fewer(stack: Stack) -> Stack:
    """The same with the first hanger gone, so that the hangers have no mirror image."""
    joints = []
    for joint in stack.joints:
        if joint.name == "hangers":
            value = joint.compliance(1.0)[1:]
            joint = replace(
                joint, shapes={i: rows[1:] for i, rows in joint.shapes.items()},
                compliance=fixed(value), wavenumber=joint.wavenumber[1:],
                beyond={i: values[1:] for i, values in joint.beyond.items()},
            )  # fmt: skip
        joints.append(joint)
    return replace(stack, joints=tuple(joints))


def compared(stack: Stack, area, lacking) -> tuple[tuple, tuple, int, tuple]:
    """Answers of the parts, those of the whole, the number of area columns and the parts."""
    reduced = stacks.reduce(stack, LOW, HIGH)
    groups = mirror.split(reduced, lacking, area, worth=0)
    struck = mirror.over_area(groups, area, FEET)
    parts = mirror.answers(reduced, groups, OMEGA, struck, lacking)
    phi = np.hstack([striking.over_area(reduced, *area), striking.at_points(reduced, FEET)])
    at = stacks.line(reduced, OMEGA, phi)
    stays = ~np.isin(reduced.names, list(lacking))
    whole = stacks.answer_both(reduced, at, stays) if lacking else (stacks.answer(reduced, at),) * 2
    return parts, whole, struck.count, groups


# parts without hangers held apart, and with
CASES = {
    "hangers lopsided across the joists": (lambda: built(FEWEST), 2, 4),
    "hangers without mirror": (lambda: one(built(FEWEST)), 1, 4),
    "repeated roots": (lambda: built(SQUARE), 4, 4),
    "touching one wall": (lambda: built(LOPSIDED), 2, 2),
}


def one(pair):
    return one_hanger_fewer(pair[0]), pair[1]


@pytest.mark.parametrize("lacking", [("hangers",), ()])
@pytest.mark.parametrize("case", CASES)
def test_parts_answer_as_the_whole(case, lacking):
    make, *counts = CASES[case]
    stack, area = make()
    parts, whole, columns, groups = compared(stack, area, lacking)
    assert sum(len(group) for group in groups) == counts[len(lacking)]
    for found, known in zip(parts, whole, strict=True):
        many = known.power.shape[1] - len(FEET)
        # over the floor only sums mean something: the columns differ by a rotation
        assert found.power[:, :columns].sum(1) == pytest.approx(
            known.power[:, :many].sum(1), rel=1e-8)  # fmt: skip
        assert found.mobility[:, :columns].sum(1) == pytest.approx(
            known.mobility[:, :many].sum(1), rel=1e-8)  # fmt: skip
        assert found.power[:, columns:] == pytest.approx(known.power[:, many:], rel=1e-8)
        assert found.mobility[:, columns:] == pytest.approx(known.mobility[:, many:], rel=1e-8)
        for leaf in range(len(known.inverse)):
            motion = known.of(leaf)
            size = np.abs(motion).max()
            assert np.abs(found.of(leaf)[..., columns:] - motion[..., many:]).max() < 1e-8 * size


def test_a_rectangle_beside_the_middle_is_not_split():
    stack, ((x_low, x_high), y) = built(FEWEST)
    parts, whole, columns, groups = compared(stack, ((x_low, x_high - 0.8), y), ("hangers",))
    assert sum(len(group) for group in groups) == 2
    many = whole[0].power.shape[1] - len(FEET)
    assert parts[0].power[:, :columns].sum(1) == pytest.approx(
        whole[0].power[:, :many].sum(1), rel=1e-8)  # fmt: skip


def test_several_lines_answer_as_each_alone():
    stack, _ = built(FEWEST)
    reduced = stacks.reduce(stack, LOW, HIGH)
    phi = striking.at_points(reduced, FEET)
    many = stacks.answer(reduced, stacks.line(reduced, OMEGA, phi))
    for number, omega in enumerate(OMEGA):
        alone = stacks.answer(reduced, stacks.line(reduced, float(omega), phi))
        assert many.power[number] == pytest.approx(alone.power, rel=1e-8)
        assert many.mobility[number] == pytest.approx(alone.mobility, rel=1e-8)


def test_each_place_has_its_own_compliance():
    """Foot places are kept with the leaf: another set of places must not get the first one's."""
    stack, _ = built(FEWEST)
    reduced = stacks.reduce(stack, LOW, HIGH)
    first = striking.compliance_at(reduced, FEET, 300.0)
    assert striking.compliance_at(reduced, FEET[::-1].copy(), 300.0) == pytest.approx(first[::-1])


@pytest.mark.parametrize("lacking", [(), ("hangers",)])
def test_what_rests_is_the_same_begun_with_a_richer_size(lacking):
    """Modes at rest add up in any order: those of the richer size, then those in between."""
    stack, area = built(SQUARE)
    lean, rich = (stacks.reduce(stack, LOW, HIGH, size) for size in sizes.LADDER[:2])
    groups = mirror.split(rich, lacking, area, worth=0)
    for own, begun in zip(mirror.split(lean, lacking, area, worth=0),
                          mirror.split(lean, lacking, area, worth=0, richer=groups),
                          strict=True):  # fmt: skip
        for part, other in zip(own, begun, strict=True):
            assert other.reduced.richer is not None
            for found, plain in zip(other.reduced.residual, part.reduced.residual, strict=True):
                assert found == pytest.approx(plain, abs=1e-12 * np.abs(plain).max())
