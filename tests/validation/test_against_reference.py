"""The modal stack against the stored finite-element reference, same numbers, same forces."""

from __future__ import annotations

import pytest

from validation.finite_elements import compare


@pytest.mark.parametrize(
    "case", ["bare_joists", "hung_ceiling", "hung_ceiling_sealed", "hung_ceiling_gas"]
)
def test_power_velocity_and_mobility(case):
    rows = compare.differences(case, (10.0, 16.0, 31.5, 63.0, 125.0, 200.0, 250.0))
    assert len(rows) == 7
    for row in rows:
        # the reference's own mesh error is 0.04 dB in power, 0.15 dB in velocity and 0.03 dB in
        # mobility; ours may miss 0.15 dB by its own estimate
        for name in ("power_db", "velocity_db", "mobility_db"):
            assert abs(row[name]) < 0.3, row


def test_old_ceiling_left_in_place():
    """Where much must be kept: 0.5 dB is the aim, 0.24 dB of it the reference's own mesh."""
    for row in compare.differences("old_ceiling", (16.0, 25.0, 40.0, 50.0, 63.0, 160.0)):
        for name in ("power_db", "velocity_db", "mobility_db"):
            assert abs(row[name]) < 0.5, row


@pytest.mark.parametrize("case", ["thin_gap_slab", "thin_gap_deck"])
def test_thin_gap(case):
    """Air that flows in a thin gap, into the bands where averages begin. 0.4 dB: mesh 0.01 dB in
    power, our own estimate 0.1 dB; the slab's two modes a band move by less than is resolved."""
    for row in compare.differences(case, (200.0, 400.0)):
        for name in ("power_db", "velocity_db", "mobility_db"):
            assert abs(row[name]) < 0.4, row


def test_heavy_boards_at_their_coincidence():
    """Boards, air and slab that ring together, far above where averages begin. 0.5 dB in power, of
    which the mesh is 0.2 dB and our own estimate 0.14; mobility as in thin gaps."""
    for row in compare.differences("heavy_boards_slab", (500.0, 630.0, 800.0)):
        assert abs(row["power_db"]) < 0.5, row
        assert abs(row["mobility_db"]) < 0.4, row
