"""The modal stack against the stored finite-element reference, same numbers, same forces."""

from __future__ import annotations

import pytest

from validation.finite_elements import compare


@pytest.mark.parametrize("case", ["bare_joists", "hung_ceiling", "hung_ceiling_sealed"])
def test_radiated_power_and_ceiling_velocity(case):
    rows = compare.differences(case, (10.0, 16.0, 31.5, 63.0, 125.0, 200.0, 250.0))
    assert len(rows) == 7
    for row in rows:
        # the reference's own mesh error is 0.04 dB in power and 0.15 dB in velocity
        assert abs(row["power_db"]) < 0.25, row
        assert abs(row["velocity_db"]) < 0.4, row
        # 0.03 dB in mobility; at 10 Hz its loss lies in modes that only answer statically
        assert abs(row["mobility_db"]) < 0.25, row


def test_old_ceiling_left_in_place():
    for row in compare.differences("old_ceiling", (63.0, 100.0, 160.0, 250.0)):
        assert abs(row["power_db"]) < 0.5, row
