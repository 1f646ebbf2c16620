"""What the search for a fault prints and draws, and its command, with faults put down by hand."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import predictions
import pytest
from click.testing import CliRunner
from designs import basement
from weighed import BANDS, ERROR, by_hand, measured

from impact import chain, gravity
from impact.base import bands
from impact.cli.diagnose import KEYS
from impact.cli.diagnose import diagnose as command
from impact.cli.main import main
from impact.design import reader
from impact.report import diagnosis as pages
from impact.report import style
from impact.site import diagnose_beside, diagnose_cases, faults
from impact.site import diagnose_measured as measured_search
from impact.site.diagnose_beside import Beside
from impact.site.diagnose_cases import Ensemble
from impact.site.faults import Member


@pytest.fixture(autouse=True)
def stated_error(monkeypatch):
    """Predictions by hand state no band: the search then takes the models' own error."""
    monkeypatch.setattr(measured_search, "PredictionError", lambda *given: ERROR)


@pytest.fixture
def searched():
    known, places = by_hand(), [bands.index(band) for band in BANDS]
    level = predictions.CEILING + known.shifts["bridged"][0][places]
    return measured_search.search(predictions.by_hand(), measured(level), known=known)


def test_page_and_tests(searched):
    text = pages.page(searched)
    assert max(map(len, text.splitlines())) <= 80
    assert "Most likely hangers bridged by screw or strap (probability " in text
    assert "), best fit: case 1." in " ".join(text.split())
    assert "push test" in text
    assert "Would not show here at all: ceiling out of level." in text
    assert "licensed engineer" in text
    assert "No explanation fits well" not in text
    efforts = [faults.FAULTS[key].effort for key, _ in searched.tests]
    assert efforts == sorted(efforts)


def test_page_where_nothing_shows():
    level = np.full(len(BANDS), predictions.CEILING)
    text = pages.page(
        measured_search.search(predictions.by_hand(), measured(level), known=by_hand())
    )
    assert "Cannot tell from this: as designed fits best" in text
    # nothing points to a fault: what such a measurement cannot show is looked for, and no
    # signature of an unlikely fault stands beside the differences
    assert "Nothing here points to a fault." in text
    assert "1. ceiling out of level: laser or water level" in text
    assert "push test" not in text
    assert all(line.endswith(" -") for line in text.splitlines() if line.startswith("    50  "))


def test_page_where_faint_faults_fit_as_well(searched):
    """A fault that is not named is set against what is likely: not against nothing, where the
    ranking gives nothing less than 1 %."""
    ranked = searched.found.ranked
    said = []
    for chance in (0.2, 0.002):
        weighed = tuple(replace(one, probability=chance) if one.key == "as designed" else one
                        for one in ranked)  # fmt: skip
        found = replace(searched.found, ranked=weighed, verdict="cannot tell")
        said.append(" ".join(pages.page(replace(searched, found=found)).split()))
    assert "but not clearly better than nothing" in said[0]
    assert "As designed it would hardly sound so" in said[1]
    assert "not clearly better" not in said[1]


def test_page_where_no_fault_stands_out():
    # two faults with one signature between them
    known = by_hand()
    same = known.shifts["bridged"][:2]
    known = Ensemble(
        30, dict.fromkeys(("bridged", "overloaded", "fixture"), known.members["bridged"][:2]),
        {"bridged": same, "overloaded": same, "fixture": same},
    )  # fmt: skip
    level = predictions.CEILING + same[1]
    search = measured_search.search(predictions.by_hand(), measured(level[7:20]), known=known)
    said = " ".join(pages.page(search).split())
    assert "Something is wrong, but no fault stands out. First of them: " in said
    assert "(probability 33 %)" in said
    assert said.count("(33 %)") == 2  # each of those it is not told from, with its own
    assert "Hangers stiffer than drawn, whatever the cause, together: 67 %." in said
    assert search.as_dict()["stiffer_hangers"] == pytest.approx(2 / 3, abs=0.01)
    assert {key for key, _ in search.tests} == {"bridged", "overloaded", "fixture"}


@pytest.mark.parametrize(("sizes", "counts"), [((3.0, 5.0), True), ((0.3, 5.0), False)])
def test_another_type_counts_as_stiffer_where_no_softer_one_fits(sizes, counts):
    # two faults with one signature; of the other type two sizes that fit alike
    known = by_hand()
    same = known.shifts["bridged"][[1, 1]]
    first = known.members["bridged"][:2]
    made = {"bridged": first, "wrong hanger": [
        Member(size, one.words, one.change) for size, one in zip(sizes, first, strict=True)
    ]}  # fmt: skip
    known = Ensemble(30, made, dict.fromkeys(made, same))
    search = measured_search.search(
        predictions.by_hand(), measured(predictions.CEILING + same[0][7:20]), known=known
    )
    assert search.suspects == [one.key for one in search.found.ranked[:2]]
    if counts:
        both = sum(one.probability for one in search.found.ranked[:2])
        assert search.stiffer == pytest.approx(both)
    else:
        assert search.stiffer is None


def test_picture_shows_measurement_and_faults(searched):
    with style.look():
        figure = pages.picture(searched)
    labels = [text.get_text() for text in figure.axes[0].get_legend().get_texts()]
    assert labels[1] == "measured minus predicted"
    assert any("hangers bridged by screw or strap" in label for label in labels)


def with_fault(tmp_path, monkeypatch, key, prediction):
    """A command line for a spectrum with a fault put down by hand, without anything slow."""
    known = by_hand()
    level = predictions.CEILING + known.shifts[key][0]
    rows = [f"{band:g},{level[bands.index(band)]:.1f}" for band in BANDS]
    path = put(tmp_path, "site.csv", "band_hz,level_db\n" + "\n".join(rows) + "\n")
    monkeypatch.setattr(reader, "read", lambda name: basement())
    monkeypatch.setattr(chain, "predict", lambda design: prediction)
    monkeypatch.setattr(diagnose_cases, "ensemble", lambda *given: known)
    return ["diagnose", "x.toml", path, "--source", "tapping_machine", "--metric", "ln"]


def test_command(tmp_path, monkeypatch):
    asked = with_fault(tmp_path, monkeypatch, "fill missing", predictions.by_hand())
    result = CliRunner().invoke(main, [*asked, "--format", "json"])
    assert result.exit_code == 0, result.output
    given = json.loads(result.stdout)
    assert given["verdict"] == "fill missing"
    assert given["ranked"][0]["key"] == "fill missing"
    assert given["bands_hz"] == [float(band) for band in BANDS]
    assert given["floors"] == 1
    assert given["nearer_to"] is None
    floors = next(each for each in command.params if each.name == "floors")
    assert floors.default == diagnose_cases.FLOORS
    known_of = ["--weight", "fill missing = 0", "--weight", "bridged=2.5"]
    told = CliRunner().invoke(main, [*asked, *known_of])
    assert told.exit_code == 0, told.output
    said = " ".join(told.stdout.split())
    assert "Most likely cavity fill missing" not in said
    assert (
        "held beforehand, as told: cavity fill missing ruled out; hangers bridged by screw or "
        "strap 2.5 times as likely" in said
    )
    missing = CliRunner().invoke(main, ["diagnose", "x.toml", str(tmp_path / "none.csv")])
    assert missing.exit_code == 2
    assert "Traceback" not in missing.stderr


def test_page_of_another_source():
    levels = {**predictions.flat(50.3), "rubber_ball": np.full(28, 80.0)}
    prediction = predictions.by_hand(levels=levels)
    level = measured(np.full(len(BANDS), 79.0))  # by hand: 1.0 dB from the ball, 28.7 dB as named
    found = measured_search.search(prediction, level, known=by_hand())
    assert found.as_dict()["nearer_to"] == "rubber ball below the ceiling"
    text = pages.page(found)
    assert "rubber ball below the ceiling (1 dB apart, rms)" in " ".join(text.split())
    assert "tapping machine below the ceiling (29 dB)" in " ".join(text.split())
    near = measured(np.full(len(BANDS), 53.0))  # 2.7 dB as named
    text = pages.page(measured_search.search(predictions.by_hand(), near, known=by_hand()))
    assert "ANOTHER MEASUREMENT" not in text


@pytest.fixture
def site(tmp_path, monkeypatch):
    """As `with_fault`, under screws that bridge hangers."""
    prediction = predictions.by_hand(design=basement())
    return with_fault(tmp_path, monkeypatch, "bridged", prediction)


def put(tmp_path, name, text):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_deflections_go_in(site, tmp_path):
    drawn = [1000 * each.by_boards for each in gravity.loads(basement(), coupled=False).hangers]
    rows = [f"{n},{0.1 if n == 3 else value:.2f}" for n, value in enumerate(drawn, start=1)]
    path = put(tmp_path, "hangers.csv", "hanger,deflection [mm]\n" + "\n".join(rows) + "\n")
    asked = [*site, "--deflections", path, "--deflection-error", "0.1 mm"]
    result = CliRunner().invoke(main, asked)
    assert result.exit_code == 0, result.output
    said = " ".join(result.stdout.split())
    assert f"Deflections of {len(drawn)} hangers were weighed too" in said
    assert "1.00 times those drawn, 1 of them more than 20 % off: 3 (" in said
    assert "standard uncertainty of a deflection 0.1 mm" in said
    assert "read the deflections of" not in said
    given = json.loads(CliRunner().invoke(main, [*asked, "--format", "json"]).stdout)
    assert given["beside"]["deflections"]["outliers"] == [3]
    assert given["beside"]["deflections"]["standard_uncertainty_mm"] == pytest.approx(0.1)
    assert given["beside"]["bare_floor"] is None
    assert given["next_reading"] is None
    assert given["next_bands_hz"] is None  # deflections tell more


def test_bare_floor_goes_in(site, tmp_path):
    text = "band_hz,level_db\n" + "".join(f"{band:g},76.0\n" for band in BANDS)
    result = CliRunner().invoke(
        main, [*site, "--bare", put(tmp_path, "bare.csv", text), "--format", "json"]
    )
    assert result.exit_code == 0, result.output
    given = json.loads(result.stdout)
    assert given["beside"]["bare_floor"]["level_db"] == [76.0] * len(BANDS)
    plain = json.loads(CliRunner().invoke(main, [*site, "--format", "json"]).stdout)
    assert given["measured_minus_predicted_db"] == plain["measured_minus_predicted_db"]
    assert min(map(abs, given["expected_from_bare_floor_db"])) > 0
    assert plain["expected_from_bare_floor_db"] == [0.0] * len(BANDS)
    assert plain["beside"] == {"deflections": None, "bare_floor": None}


def test_bare_floor_that_looks_like_another_is_told():
    """By hand: the file of the ceiling, at the very levels predicted below it, given as that below
    the bare floor, which is 10 dB louder."""
    prediction = predictions.by_hand(design=basement())
    below = prediction.levels["tapping_machine"][7:20]
    spectrum = measured(np.full(len(BANDS), predictions.CEILING))
    told = [
        measured_search.search(
            prediction, spectrum, known=by_hand(), beside=Beside(bare=measured(np.array(level)))
        )
        for level in (below, prediction.bare["tapping_machine"][7:20])
    ]
    assert told[0].as_dict()["bare_nearer_to"] == "tapping machine below the ceiling"
    assert "than of the tapping machine below the floor without" in " ".join(
        pages.page(told[0]).split()
    )
    assert told[1].as_dict()["bare_nearer_to"] is None
    assert "ANOTHER MEASUREMENT" not in pages.page(told[1])


@pytest.mark.parametrize(("given", "words"), [
    (("--deflection-error", "0.5"), "--deflection-error"),
    (("--deflection-error", "20 mm"), "20 mm lies outside 0.01 to 10 mm"),
    (("--deflections", "hanger,mm\n99,2.5\n"), "hanger 99: no such hanger; the design has 1 to"),
    (("--deflections", "1,2.5\n2,3.0\n"), "--deflection-unit mm"),
    (("--bare", "band_hz,level_db\n63,70\n80,70\n100,-\n125,-\n"), "2 third octaves are usable"),
    (("--bare", "band_hz,level_db\n63,70\n125,70\n250,70\n"), "these are octaves"),
])  # fmt: skip
def test_wrong_evidence_is_refused(site, tmp_path, given, words):
    option, text = given
    value = text if "error" in option else put(tmp_path, "beside.csv", text)
    result = CliRunner().invoke(main, [*site, option, value])
    assert result.exit_code == 2
    assert "Traceback" not in result.output
    assert words in " ".join(result.output.split()), result.output


def test_page_says_which_deflections_to_read():
    """Two faults with one signature, of which deflections tell one from the other: hangers spread
    over the ceiling, what they give as drawn, and with what it is read."""
    known = by_hand()
    same = known.shifts["bridged"][:2]
    keys = ("bridged", "touching")
    known = Ensemble(
        30, dict.fromkeys(keys, known.members["bridged"][:2]), dict.fromkeys(keys, same)
    )
    prediction = predictions.by_hand(design=basement())
    found = measured_search.search(
        prediction, measured(predictions.CEILING + same[1][7:20]), known=known
    )
    worth = found.next_reading
    assert worth is not None
    assert worth.suspects == ("bridged",)
    drawn = [each.by_boards for each in gravity.loads(basement(), coupled=False).hangers]
    assert worth.numbers[0] == 1
    assert worth.numbers[-1] == len(drawn)
    assert worth.expected == pytest.approx([drawn[n - 1] for n in worth.numbers])
    said = " ".join(pages.page(found).split())
    assert (
        f"3. or first read the deflections of hangers {', '.join(map(str, worth.numbers))}" in said
    )
    assert ("by ruler" in said) == (np.median(drawn) >= 0.002)
    ends = f"{bands.named(BANDS[0])} to {bands.named(BANDS[-1])}"
    assert "4. or first measure again from 25 Hz to 5 kHz, where" in said
    assert f"(used here: {ends})" in said
    assert found.as_dict()["next_bands_hz"] == [25, 5000]
    alone = diagnose_beside.worth_reading(basement(), ["bridged"])
    assert alone is None  # nothing to tell it from
    assert diagnose_beside.worth_reading(basement(), ["touching", "flanking"]) is None


def test_bands_worth_measuring():
    worth, narrow, hung = diagnose_beside.worth_bands, (50.0, 3150.0), ["overloaded", "bridged"]
    assert worth(narrow, hung) == (25.0, 5000.0)
    assert worth((20.0, 3150.0), hung) == (25.0, 5000.0)
    assert worth((25.0, 5000.0), hung) is None  # they are there
    assert worth(narrow, hung[:1]) is None  # nothing to tell it from
    assert worth(narrow, ["touching", "flanking"]) is None  # no fault of hangers


def test_wrong_weights_are_all_named_at_once():
    assert tuple(faults.FAULTS) == KEYS  # the command names them without loading numpy
    given = ("rust=2", "bridged=-1", "level=many", "fixture=1", "fixture=2", "touching")
    asked = [part for text in given for part in ("--weight", text)]
    result = CliRunner().invoke(main, ["diagnose", "x.toml", "y.csv", *asked])
    assert result.exit_code == 2
    said = " ".join(result.stderr.split())
    for words in (
        "'rust=2' names no fault; known: bridged, missing,",
        "'bridged=-1': times must be a number from 0 to 100",
        "'level=many': times must be a number from 0 to 100",
        "'fixture=2': fixture is given twice",
        "'touching' names no fault",
    ):
        assert words in said, said
