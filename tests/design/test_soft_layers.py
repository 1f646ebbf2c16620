"""Soft boards between the boards of a floor: found by mass on spring, and told."""

import math

import pytest

import impact
from tests.texts import WALKED

PLYWOOD = ("softwood plywood", "16 mm", "nailed")
BOARD = ("soft fibreboard", "12.5 mm", "nailed")
TOP = ("softwood plywood", "12.5 mm", "nailed")


def told(tmp_path, *layers, covering=""):
    rows = "".join(
        f'[[floor.layers]]\nmaterial = "{name}"\nthickness = "{thick}"\nbond = "{bond}"\n'
        for name, thick, bond in layers
    )
    path = tmp_path / "soft.toml"
    path.write_text(WALKED.format(floor="") + rows + covering)
    return [line for line in impact.read(path).warnings if "so soft" in line]


def test_plywood_on_soft_fibreboard_moves_by_itself(tmp_path):
    """By hand: 10 MPa over 12.5 mm is 800 MN/m3; plywood of 560 kg/m3 and 12.5 mm has 7 kg/m2, and
    sqrt(8e8/7)/2 pi is 1701 Hz (ISO 12354-2 eq. C.2, 160 sqrt(800/7) = 1710). Carpet of 2.9 kg/m2
    on it: 1431 Hz."""
    assert math.sqrt(8e8 / 7) / 2 / math.pi == pytest.approx(1701, abs=1)
    (line,) = told(tmp_path, PLYWOOD, BOARD, TOP)
    assert "soft fibreboard" in line
    assert "about 1701 Hz" in line
    assert "800 MN/m3" in line
    carpet = '[floor.covering]\nmaterial = "carpet and pad"\n'
    (line,) = told(tmp_path, PLYWOOD, BOARD, TOP, covering=carpet)
    assert "about 1431 Hz" in line


@pytest.mark.parametrize(
    "layers",
    [
        (PLYWOOD, ("particleboard", "12.5 mm", "nailed"), TOP),  # as firm as its neighbours
        (PLYWOOD, BOARD),  # nothing lies on it
        (BOARD, TOP),  # the deck itself
        (PLYWOOD, (*BOARD[:2], "glued"), (*TOP[:2], "glued")),  # holds both in shear
        (PLYWOOD, BOARD, ("hardboard", "0.5 mm", "nailed")),  # 0.5 kg/m2: 6.4 kHz, beyond range
    ],
)
def test_of_others_nothing_is_said(tmp_path, layers):
    assert told(tmp_path, *layers) == []
