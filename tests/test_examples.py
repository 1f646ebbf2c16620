"""Every design under examples/ reads and predicts, and shows what it says."""

from __future__ import annotations

import json
import math

import pytest
from texts import EXAMPLES

from impact.base.bands import NOMINAL

NAMES = sorted(path.name for path in EXAMPLES.glob("*.toml"))
BASEMENT, OLD_CEILING = "01_basement_rental.toml", "02_old_ceiling_left.toml"
KEYS = {
    "bands_hz", "levels_db", "levels_bare_db", "levels_best_case_db", "resonances_hz",
    "stiffness_per_area_n_m3", "mass_per_area_kg_m2", "governing_spring", "coupled_modes",
    "warnings", "levers", "cautions", "defaults_used", "version", "ratings",
}  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_example_predicts(name, predicted):
    answer = json.loads(json.dumps(predicted(name).as_dict(), allow_nan=False))
    assert set(answer) >= KEYS
    for key in ("levels_db", "levels_bare_db", "levels_best_case_db"):
        assert set(answer[key]) >= {"tapping_machine", "rubber_ball", "walker_barefoot"}
        for levels in answer[key].values():
            assert len(levels) == len(NOMINAL)
    for mode in answer["coupled_modes"]:
        assert 0 < mode["frequency_hz"] <= 100
        assert sum(mode["share"].values()) == pytest.approx(1, abs=1e-6)  # shares of one energy


@pytest.mark.parametrize("name", NAMES)
def test_mass_spring_mass_follows_from_what_is_printed(name, predicted):
    # ISO 12354-1: f = (1/2 pi) sqrt(s (1/m1 + 1/m2)), with all springs side by side.
    answer = predicted(name).as_dict()
    spring = sum(value or 0 for value in answer["stiffness_per_area_n_m3"].values())
    masses = answer["mass_per_area_kg_m2"]
    by_hand = math.sqrt(spring * (1 / masses["floor"] + 1 / masses["ceiling"])) / (2 * math.pi)
    assert answer["resonances_hz"]["mass_spring_mass"] == pytest.approx(by_hand, rel=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_example_says_that_it_is_invented(name):
    assert "invented" in (EXAMPLES / name).read_text(encoding="utf-8").lower()


def test_an_old_ceiling_left_in_place_hurts(predicted):
    # By hand for 41 mm of air instead of 197 mm filled (1.42e5/0.041 = 3.5 MN/m3 against
    # 1.0e5/0.197 = 0.5 MN/m3): the air's spring is at least five times as stiff, the resonance
    # rises by more than half, and no band from 63 to 400 Hz of the tapping machine gets quieter.
    good, bad = predicted(BASEMENT).as_dict(), predicted(OLD_CEILING).as_dict()
    springs = [each["stiffness_per_area_n_m3"]["air"] for each in (bad, good)]
    assert springs[0] > 5 * springs[1]
    found = [each["resonances_hz"]["mass_spring_mass"] for each in (bad, good)]
    assert found[0] > 1.5 * found[1]
    places = [NOMINAL.index(band) for band in (63, 80, 100, 125, 160, 200, 250, 315, 400)]
    levels = [each["levels_db"]["tapping_machine"] for each in (bad, good)]
    assert all(levels[0][i] > levels[1][i] for i in places)
