"""Designs side by side: no difference from itself, and a published useless improvement."""

import json
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner

from impact import gravity
from impact.cli.compare import compare as command
from impact.report import comparison
from impact.study import compare
from impact.study.changed import changed

SWISS = ((50, 7.5), (63, 3.5), (80, 1.6), (100, 1.1), (125, 5.5), (160, 3.1), (200, 1.2))


def test_identical_designs_differ_by_nothing(predicted):
    one = predicted("01_basement_rental.toml")
    found = compare.compare(one, one)
    assert all(value == 0.0 for row in found["difference_db"].values() for value in row)
    assert found["alarms"] == []
    json.dumps(found)


def test_the_published_improvement_that_nobody_heard():
    # Swiss timber association: 11 dB better in the single number, 50-200 Hz worse as listed
    band, change = zip(*SWISS, strict=True)
    found = compare.alarm({"Ln_w": 70}, {"Ln_w": 59}, band, change)
    assert found is not None
    assert found.points == 11
    assert found.rise_db == pytest.approx(23.5 / 7)  # mean of the seven, by hand
    assert (found.worst_hz, found.worst_db) == (50, 7.5)
    assert "no audible benefit" in found.message


def test_no_alarm_when_the_low_bands_improve_too():
    band, change = zip(*SWISS, strict=True)
    better = [-c for c in change]
    assert compare.alarm({"Ln_w": 70}, {"Ln_w": 59}, band, better) is None
    assert compare.alarm({"Ln_w": 59}, {"Ln_w": 70}, band, change) is None


def test_second_minus_first(predicted):
    hung, left = predicted("01_basement_rental.toml"), predicted("02_old_ceiling_left.toml")
    found = compare.compare(hung, left)
    ball = found["difference_db"]["rubber_ball"]
    i = found["bands_hz"].index(80.0)
    assert ball[i] == pytest.approx(
        left.levels["rubber_ball"][i] - hung.levels["rubber_ball"][i], abs=1e-4
    )
    assert ball[i] > 0  # the old ceiling left in place is louder there


def test_one_design_is_too_few():
    result = CliRunner().invoke(command, ["only.toml"])
    assert result.exit_code == 2
    assert "two design files" in result.output


def test_copies_of_one_design_are_told_apart_by_their_files(predicted):
    one = predicted("01_basement_rental.toml")
    other = replace(one, design=replace(one.design, path="elsewhere/copy.toml"))
    found = compare.compare(one, other)
    assert "01_basement_rental.toml" in found["first"]
    assert found["second"] == f"{one.design.name} (copy.toml)"


def test_regions_are_compared_as_they_are_heard(predicted):
    """63 Hz raised from 47.5 to 57.5 dB, 10 and 20 dB over the 37.5 dB of ISO 226:2023 Table 1,
    and 20 Hz by 10 dB to 78.1 dB, its threshold, all else silent: 10 lg((100 + 1)/(10 + 0.1)) =
    10.0 dB. A plain sum would be ruled by 20 Hz alone. No other region changes."""
    quiet = np.full(28, -200.0)
    loud = quiet.copy()
    quiet[[3, 8]], loud[[3, 8]] = (68.1, 47.5), (78.1, 57.5)
    one = predicted("01_basement_rental.toml")
    first, second = (replace(one, levels={**one.levels, "walker_barefoot": level})
                     for level in (quiet, loud))  # fmt: skip
    found = compare.heard(first, second)["walker_barefoot"]
    assert found == pytest.approx({"thud": 10.0, "knock": 0.0, "click": 0.0}, abs=1e-9)
    lines = comparison.page(compare.compare(first, second)).splitlines()
    row = next(line for line in lines if line.split()[:1] == ["thud"] and "->" not in line)
    assert row.split() == ["thud", "+10.0", "0.0", "0.0"]
    assert row.index("+10.0") > 24  # below the barefoot column, not the tapping machine's


def test_long_heights_do_not_run_together(predicted):
    """12 characters each."""
    one = predicted("01_basement_rental.toml")
    pair = compare.compare(one, one) | {"finished_height_m": [2.367, 2.4369]}  # 7' 9 3/16"
    row = next(x for x in comparison.page(pair).splitlines() if x.startswith("finished height"))
    assert row.split() == ["finished", "height", "7'", "9", '3/16"', "7'", "11", '15/16"']


def test_the_text_is_in_the_units_of_the_design(predicted):
    """Example 01: 2 boards of 5/8 in below a clear depth of 7 3/4 in, by hand 9 in."""
    imperial = predicted("01_basement_rental.toml")
    text = comparison.page(compare.compare(imperial, imperial))
    assert "height used 9 in 9 in" in " ".join(text.split())
    assert " psf" in text
    assert "mm" not in text


def test_cost_follows_the_prices_and_loads_are_those_of_the_check(predicted):
    one = predicted("01_basement_rental.toml")
    checked = gravity.loads(one.design)  # anew: what the check itself says

    def at(prices: dict[str, float]):
        return replace(one, loads=checked, design=replace(one.design, prices=prices))

    # with one price alone the cost is that price times a count: twice the price, twice the cost
    pair = compare.compare(at({"hanger": 6.0}), at({"hanger": 12.0}))
    assert pair["cost"][0] > 0
    assert pair["cost"][1] == pytest.approx(2 * pair["cost"][0])
    assert compare.compare(at({}), at({}))["cost"] == [None, None]
    most = max(hanger.load for hanger in checked.hangers)
    assert pair["worst_hanger_load_n"] == pytest.approx([most, most])
    page = " ".join(comparison.page(pair).split())
    assert (
        "Cost leaves out, for want of a price: channel, board, screw, sealant, fill in both" in page
    )
    # what is counted in the one and not in the other is no saving
    uneven = compare.compare(at({"hanger": 6.0}), at({"hanger": 6.0, "channel_per_m": 2.0}))
    assert [len(names) for names in uneven["cost_without"]] == [5, 4]
    page = " ".join(comparison.page(uneven).split())
    assert "fill in the first, board, screw, sealant, fill in the second." in page
    table = " ".join(comparison.overview([at({"hanger": 6.0}), at({})]).split())
    assert table.count("; cost without channel, board, screw, sealant, fill") == 1


def with_steps(prediction, name, **excess):
    """The prediction under another name, two walkers in it standing out by so much [dB]."""
    people = {
        who: {"bars": {region: {compare.OUT: values[place]} for region, values in excess.items()}}
        for place, who in enumerate(("walker_barefoot", "child_running"))
    }
    return replace(prediction, extras={"people": people},
                   design=replace(prediction.design, name=name, path=""))  # fmt: skip


def test_in_short_tells_what_a_listener_makes_of_it(predicted):
    """By hand: thud 27 dB (the child's) to 21 (the walker's) is 6 less, noticeable from 4.7 dB up;
    knock 12 to 0.4 is not heard any more, as half a decibel is printed 0; click is in neither."""
    one = predicted("01_basement_rental.toml")
    first = with_steps(one, "a", thud=(22, 27), knock=(12, 3), click=(-9, -20))
    second = with_steps(one, "b", thud=(21, 20), knock=(0.4, -1), click=(0.2, -20))
    found = compare.loudest(first, second)
    assert found["thud"] == {"first_db": 27, "second_db": 21, "words": "noticeably quieter"}
    assert found["knock"]["words"] == "no longer heard"
    assert found["click"]["words"] == "not heard in either"
    text = comparison.page(compare.compare(first, second))
    assert "thud       loud +27 -> loud +21       noticeably quieter" in text
    assert "knock      clear +12 -> not heard      no longer heard" in text


def test_all_designs_stand_in_one_table_quietest_first(predicted):
    one = predicted("01_basement_rental.toml")
    made = [with_steps(one, name, thud=(thud, 0), knock=(5, 5), click=(-1, -1))
            for name, thud in (("oak", 30), ("elm", 18), ("ash", 24))]  # fmt: skip
    lines = comparison.overview(made).splitlines()
    rows = [line.split() for line in lines[3:6]]
    assert [row[:4] for row in rows] == [["2", "18", "5", "-"], ["3", "24", "5", "-"],
                                         ["1", "30", "5", "-"]]  # fmt: skip
    below = [line.split()[:2] for line in lines[7:10]]
    assert below == [["2", "elm;"], ["3", "ash;"], ["1", "oak;"]]  # cost without ...
    assert max(map(len, lines)) <= 80


def test_what_two_files_say_differently(tmp_path):
    one, other = tmp_path / "one.toml", tmp_path / "other.toml"
    one.write_text('[project]\nname = "a"\n[cavity]\nclear_depth = "4 in"\n'
                   '[[ceiling.layers]]\nmaterial = "OSB"\ncount = 2\n')  # fmt: skip
    other.write_text('[project]\nname = "b"\n[cavity]\nclear_depth = "6 in"\nfill = {}\n'
                     '[[ceiling.layers]]\nmaterial = "OSB"\n'
                     '[[ceiling.layers]]\ncount = 1\n')  # fmt: skip
    found = [(row["key"], row["first"], row["second"]) for row in changed(str(one), str(other))]
    assert found == [
        ("cavity.clear_depth", "4 in", "6 in"), ("ceiling.layers[0].count", "2", None),
        ("cavity.fill", None, "{}"), ("ceiling.layers[1].count", None, "1"),
    ]  # fmt: skip
    assert changed(str(one), "") == changed(str(one), str(tmp_path / "gone.toml")) == []
    one.write_text('[cavity]\nclear_depth = {value = "4 in", low = "3 in", high = "5 in"}\n')
    other.write_text('[cavity]\nclear_depth = "6 in"\n')
    assert changed(str(one), str(other)) == [  # a range is one value, not a table that is not given
        {"key": "cavity.clear_depth", "first": "4 in (3 in to 5 in)", "second": "6 in"}
    ]


def test_what_one_file_alone_says_of_a_table_stands_in_one_line(predicted):
    one = predicted("01_basement_rental.toml")
    rows = [
        ("room.width", "3 m", "4 m"), ("room.openings[0].name", "hatch", None),
        ("room.openings[0].x", "1 m", None), ("floor.covering.material", None, "carpet"),
        ("cavity.clear_depth", "4 in", None), ("hangers.mass", "1 kg", "2 kg"),
        ("hangers.class", "a", "b"),
    ]  # fmt: skip
    told = [dict(zip(("key", "first", "second"), row, strict=True)) for row in rows]
    text = comparison.page(compare.compare(one, one) | {"changed": told})
    part = text.split("What the files say differently:")[1].split("Change of the level")[0]
    assert [line.strip() for line in part.splitlines() if line] == [
        "room.width: 3 m -> 4 m", "room.openings[0]: name hatch, x 1 m -> not given",
        "floor.covering.material: not given -> carpet", "cavity.clear_depth: 4 in -> not given",
        "hangers.mass: 1 kg -> 2 kg", "hangers.class: a -> b",
    ]  # fmt: skip
