"""The printed page of a prediction put together by hand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import designs
import numpy as np
import predictions
import pytest

from impact import gravity, read
from impact.advice import target
from impact.design.parts import Flank, IndependentJoists, Target
from impact.report import bandtable, lines, page_engineer, page_pictures, page_tables, tables
from impact.report.page_blocks import Answer, plain


@pytest.fixture(scope="module")
def page() -> str:
    return tables.page(predictions.by_hand())


def line(text: str, start: str) -> str:
    """The only line of `text` that begins so."""
    (found,) = [each for each in text.splitlines() if each.startswith(start)]
    return found


def test_page_fits_80_columns(page):
    assert max(map(len, page.splitlines())) <= 80


def test_a_ceiling_on_joists_of_its_own_is_not_held_against_hangers():
    """Where no points hold it, perfect ones are no other case: nothing stands there twice."""
    design = replace(
        designs.basement(), hangers=None, independent=IndependentJoists(designs.joists()),
        target=Target("IIC", 70, None, "at least"),
    )  # fmt: skip
    found = replace(predictions.RESONANCES, hanger_only=None, hanger_spring=0.0)
    made = predictions.by_hand()
    own = replace(made, design=design, resonances=found, best=made.levels)
    text = tables.page(own)
    assert "perfect" not in text.lower()
    assert "best" not in text.lower()
    assert "60.3  50.3" in line(text, "    63 ")
    assert "on joists of their own, leave 19 dB" in " ".join(text.split())
    answer = Answer(own.as_dict(), "metric")
    parts = (page_engineer._ratings(own, answer), page_engineer._target(own, answer),
             page_tables._bands(own, answer))  # fmt: skip
    for blocks in parts:
        table = blocks[0]
        cells = [plain(cell) for row in table.rows for cell in row]
        assert not [each for each in (*table.head, table.caption, *cells) if "best" in each.lower()]
    spoken = [page_pictures.spectrum(own, source).alt for source in own.levels]
    spoken += [page_pictures.spectrum_key(own).alt, line(text, "air only")]
    assert not [each for each in spoken if "hangers" in each]
    assert "perfect hangers" in page_pictures.spectrum(made, "rubber_ball").alt
    assert "perfect hangers" in page_pictures.spectrum_key(made).alt


def test_steps_are_graded_over_the_threshold_of_iso_226(page):
    # Flat 50.3 dB less ISO 226:2023 Table 1, lowest threshold of each region: 31.5 dB at 80 Hz,
    # 8.6 at 315 Hz, -6.0 at 3150 Hz: 18.8, 41.7 and 56.3 dB over; no background is given.
    row = line(page, "walker, barefoot    ")
    assert " ".join(row.split()) == "walker, barefoot clear +19 dB extreme +42 dB extreme +56 dB"
    assert "no background noise" in page


def test_words_change_at_the_printed_limits(page):
    # 31.5 dB is the threshold at 80 Hz (ISO 226:2023 Table 1); flat levels above it are graded.
    for excess, word in ((0.5, "faint"), (10.5, "clear"), (20.5, "loud"), (30.5, "very loud"),
                         (40.5, "extreme"), (-0.5, "not heard")):  # fmt: skip
        graded = tables.page(predictions.by_hand(levels=predictions.flat(31.5 + excess)))
        row = line(graded.split("Warnings")[0], "walker, barefoot    ")
        assert row[22:41].startswith(word), excess
    said = " ".join(page.split())
    assert "faint: up to 10; clear: up to 20; loud: up to 30; very loud: up to 40" in said


def test_maxima_of_steps_and_what_feet_feel_are_printed():
    names = ("LAFmax_bare_db", "LAFmax_db", "LAFmax_90_percent_db", "LAFmax_best_case_db")
    people = {"walker_barefoot": dict(zip(names, (62.0, 55.8, 58.7, 55.5), strict=True))}
    both = {"bare": {"response_factor_floor": 53.4, "response_factor_foot": 89.3},
            "ceiling": {"response_factor_floor": 38.2, "response_factor_foot": 65.4}}  # fmt: skip
    one = {"f1": 7.9, "velocity": 0.0248, "velocity_limit": 0.0233, "deflection": 1.24,
           "deflection_limit": 1.0, "applies": False, "clause": "a clause"}  # fmt: skip
    feel = {"walkers": {"walker_barefoot": both}, "timber": {"bare": one, "ceiling": one},
            "factors": {"residence, day": 4.0, "residence, night": 1.4}}  # fmt: skip
    extras = {"people": people, "not_predicted": {"dragged chair": "why"}, "feel": feel}
    page = tables.page(predictions.by_hand(extras=extras))
    assert max(map(len, page.splitlines())) <= 80
    maxima = page.split("LAFmax, dB(A)")[1].split("Warnings")[0]
    assert line(maxima, "walker").split()[2:] == [
        "62.0",
        "55.8",
        "58.7",
        "55.5",
    ]
    assert "Not predicted: dragged chair (why)." in " ".join(page.split())
    felt = page.split("What feet feel")[1]
    assert line(felt, "R, walker, barefoot, over").split()[-2:] == ["53", "38"]
    assert line(felt, "v of a unit impulse").split()[-2:] == ["0.0248", "0.0248"]
    assert "special investigation" in " ".join(felt.split())


def test_thud_is_the_energy_of_seven_bands_over_threshold(page):
    # 20 to 80 Hz, all 60.3 dB, less 78.1, 68.7, 59.5, 51.1, 44.0, 37.5, 31.5 dB (ISO 226:2023
    # Table 1): 10 lg of the sum of 10^(-1.78), 10^(-0.84) ... 10^2.88 is 30.0 dB.
    part = page.split("What hangers can do")[1].split("Resonances")[0]
    assert line(part, "bare floor").split()[2] == "30.0"
    assert "20.0 dB  -10.0 dB: about half as loud or less" in line(part, "this ceiling")
    assert "perfect hangers   10.0 dB  -20.0 dB: about half" in part.splitlines()[4]


@pytest.mark.parametrize(("rated", "said"), [(24, True), (25, False), (None, False)])
def test_ratings_that_no_meter_finds_are_said_to_be_of_the_path_alone(rated, said):
    ratings = {**predictions.RATINGS, "Ln_w": rated}
    text = " ".join(tables.page(predictions.by_hand(ratings=ratings)).split())
    assert ("no meter finds it" in text) is said


def test_what_a_ceiling_alone_cannot_do(page):
    # Best case 40.3 dB less 31.5 dB of threshold at 80 Hz: 8.8 dB stay.
    assert "A ceiling alone cannot silence the thud" in page
    text = " ".join(page.split())
    assert "perfect hangers leave 9 dB over what can just be heard at 80 Hz" in text
    silent = predictions.by_hand(best=predictions.flat(20.0))
    assert "With perfect hangers the thud would not be heard." in tables.page(silent)


def test_a_best_case_that_is_worse_is_said_so():
    worse = predictions.by_hand(best=predictions.flat(55.3))
    worse.best["walker_barefoot"][4] = 60.3
    text = " ".join(tables.page(worse).split())
    assert "and 25 Hz rises by 10.0 dB" in text


def test_resonances_and_governing_spring(page):
    # Shares by hand: 300 of 400 kN/m3 is 75 %; 40 kg/m2 is 8.19 psf, 20 kg/m2 4.10 psf.
    assert line(page, "mass-spring-mass").split()[1] == "26.0"
    text = " ".join(page.split())
    assert "The air governs: 75% of the stiffness" in text
    assert "8.19 psf and ceiling 4.1 psf" in text
    soft_air = replace(predictions.RESONANCES, air_spring=100e3, hanger_spring=300e3)
    text = " ".join(tables.page(predictions.by_hand(resonances=soft_air)).split())
    # (1/2 pi) sqrt(300e3 (1/40 + 1/20)) = 23.87 Hz is left when the air is soft.
    assert "The hangers govern: 75%" in text
    assert "not below 23.9 Hz" in text


def test_modes_shown_heave_or_are_the_floors(page):
    listed = page.split("matter most")[1].split("heave:")[0]
    assert "12.0" in listed
    assert "20.0" in listed
    assert "15.0" not in listed


def test_band_table_has_every_band_and_marks_what_is_outside_the_standard(page):
    table = page.split("third octave\n")[1].split("Ratings of")[0]
    rows = [row for row in table.splitlines() if row.count(".3") >= 9]
    assert len(rows) == 28
    assert [row.split()[0] for row in rows if "*" in row][-1] == "40*"
    assert "outside its standards" in page
    # Ball at 20 Hz: 50.3 - 78.1 is below the threshold, as is all that weak below 20 Hz.
    assert rows[3].split()[7] == "-"
    assert rows[0].split()[7] == "-"


def test_ratings_have_clauses(page):
    assert "80       50" in line(page, "Ln,w   ")
    assert "ISO 717-2:2020, 4.3" in line(page, "Ln,w   ")
    assert "E989-21" in line(page, "IIC ")


@pytest.mark.parametrize(
    ("name", "said"),
    [("independent_joists", "joists of its own"), ("direct", "no rated load is known")],
)
def test_loads_held_against_nothing_are_not_called_checked(name, said):
    """Where no load is judged, nobody may think that one was: in print and in JSON."""
    design = read(Path(__file__).parents[2] / "validation" / "constructions" / f"{name}.toml")
    held = replace(predictions.by_hand(), design=design, loads=gravity.loads(design))
    line = tables.load_line(held)
    assert line.startswith("Loads not checked.")
    assert said in line
    assert held.told[0] == "Loads not checked."
    absent = held.as_dict()["stiffness_per_area_n_m3"]["hangers"] is None
    assert absent is (name == "independent_joists")


def test_hangers_within_their_loads_do_not_hide_what_must_be_mended():
    """A fastener given for 10 N is torn out by any hanger that carries at least its rated 45 N; who
    reads the summary alone must not think that all is well."""
    base = designs.basement()
    weak = replace(base, hangers=replace(base.hangers, withdrawal_capacity=10.0))
    lines = [
        tables.load_line(replace(predictions.by_hand(), design=design,
                                 loads=gravity.loads(design, coupled=False)))
        for design in (weak, base)
    ]  # fmt: skip
    assert "within their rated load; to be mended first: fasteners overloaded." in lines[0].replace(
        "; the ceiling cannot lose a hanger", ""
    )
    assert "mended" not in lines[1]


def test_defaults_remarks_cautions_and_unchecked_loads_are_listed(page):
    assert "floor.loss_factor = 0.06 [from memory]" in page
    assert "an invented remark" in page
    assert "Loads not checked." in page
    assert "licensed engineer" in page
    for word in ("compliant", "soundproof"):
        assert word not in page.lower()


@pytest.mark.parametrize(
    ("wanted", "margins"),
    [
        (Target("walker_barefoot", 45.0, 31.5, "at most"), (-15.3, -5.3, 4.7)),
        (Target("Ln_w_CI_50_2500", 53.0, None, "at most"), (-32.0, -2.0, None)),  # 80+5, 50+5
        (Target("IIC", 55.0, None, "at least"), (3.0, 3.0, None)),
    ],
)
def test_margin_is_positive_on_the_good_side(wanted, margins):
    found = predictions.by_hand(wanted).target["margin_db"]
    for name, margin in zip(("bare", "ceiling", "best_case"), margins, strict=True):
        if margin is not None:
            assert found[name] == pytest.approx(margin), name


def test_a_target_out_of_reach_is_named_and_an_unknown_one_owned_up_to():
    far = tables.page(predictions.by_hand(Target("walker_barefoot", 30.0, 31.5, "at most")))
    assert "A ceiling alone cannot reach this target" in far
    assert "Target: walker, barefoot at 31.5 Hz at most 30 dB\n" in far  # a level, no rating
    bare = predictions.by_hand(Target("walker_barefoot", 30.0, 31.5, "at most"))
    edge = replace(bare.design.ceiling.perimeter, kind="free")
    design = replace(
        bare.design, cavity=replace(bare.design.cavity, fill=None),
        ceiling=replace(bare.design.ceiling, perimeter=edge),
    )  # fmt: skip
    left = " ".join(tables.page(replace(bare, design=design)).split())
    assert "A ceiling alone cannot reach" not in left  # wool and sealant have not been tried
    assert "an empty cavity and an open edge. Try a porous fill and a sealed edge first." in left
    near = tables.page(predictions.by_hand(Target("walker_barefoot", 45.0, 31.5, "at most")))
    assert "cannot reach this target" not in near
    lost = tables.page(predictions.by_hand(Target("ISR", 50.0, None, "at least")))
    assert "not predicted here" in lost  # a prediction by hand has no levels in the building
    assert "Target: ISR at least 50" in lost
    assert target.against(None, {}) is None


@pytest.mark.parametrize(
    ("wanted", "named"),
    [
        (Target("walker_barefoot", 45.0, 31.5, "at most"), "walker, barefoot at 31.5 Hz"),
        (Target("Ln_w", 53.0, None, "at most"), "Ln,w"),
        (Target("Ln_w_CI_50_2500", 53.0, None, "at most"), "Ln,w + CI,50-2500"),
        (Target("LnT_w_CI", 53.0, None, "at most"), "L'nT,w + CI"),
        (Target("LiA_Fmax", 53.0, None, "at most"), "LiA,Fmax"),
    ],
)
def test_a_target_is_named_as_the_standards_write_it(wanted, named):
    """Symbols of ISO 717-2:2020; a source by its name and band, with the unit of its level."""
    title = f"Target: {named} at most {wanted.limit:g}{' dB' if wanted.band_hz else ''}"
    assert title in tables.page(predictions.by_hand(wanted)).splitlines()
    made = predictions.by_hand(wanted)
    (block,) = page_engineer._target(made, Answer(made.as_dict(), "metric"))
    if named.startswith("L'nT,w"):  # of a building; without levels there it is not predicted
        assert plain(block.runs) == f"{title}. {tables.UNKNOWN_TARGET}"
    else:
        assert block.caption.startswith(f"{title}: the ceiling's path alone.")


def test_walls_that_are_described_count_against_a_target():
    """55 dB wanted: 50.3 dB through the ceiling keep it, 70.3 dB with the walls do not."""
    made = predictions.by_hand(Target("walker_barefoot", 55.0, 31.5, "at most"))
    assert "in the building" not in " ".join(tables.wanted(made))
    wall = Flank("north", 200.0, 10.0, 4.0, "T", None)
    made = replace(made, design=replace(made.design, flanks=(wall,)),
                   building=predictions.flat(70.3))  # fmt: skip
    assert "in the building    70.3   margin -15.3" in tables.wanted(made)
    (table,) = page_engineer._target(made, Answer(made.as_dict(), "metric"))
    assert [plain(cell) for cell in table.rows[-1]] == ["in the building", "70.3", "−15.3"]


@pytest.mark.parametrize(("count", "said"), [(1, "1 flanking wall ("), (2, "2 flanking walls (")])
def test_walls_are_counted_in_words(count, said):
    made = predictions.by_hand(building=predictions.flat(70.3))
    walls = [{"name": "north", "given": True, "mass_per_area_kg_m2": 200.0, "Ln_w": 60.0}] * count
    assert said in tables._walls(replace(made, walls=walls))


def test_a_target_for_the_loudest_walker():
    """50.1 dB(A) barefoot and 55.2 in heels: the heels count."""
    people = {
        who: {"LAFmax_db": level, "LAFmax_bare_db": level + 9, "LAFmax_best_case_db": level,
              "LAFmax_90_percent_db": level}
        for who, level in (("walker_barefoot", 50.1), ("walker_hard_heel", 55.2))
    }  # fmt: skip
    wanted = Target("LAFmax", 60.0, None, "at most")
    made = predictions.by_hand(wanted, extras={"people": people})
    assert "this ceiling       55.2   margin +4.8" in tables.wanted(made)
    assert "bare floor         64.2   margin -4.2" in tables.wanted(made)
    assert "Target: LAFmax of the loudest walker at most 60" in tables.wanted(made)


def test_a_target_of_the_building_is_set_beside_the_building():
    """The number itself is checked with `impact.rating.onsite.field_ratings`."""
    made = predictions.by_hand(Target("LnT_w", 60.0, None, "at most"),
                               building=predictions.flat(60.0))  # fmt: skip
    value = made.ratings_on_site["LnT_w"]
    text = " ".join(tables.wanted(made))
    assert f"in the building {value:7.1f}   margin {60 - value:+.1f}" in text
    assert "usual walls, which are rough" in text
    assert "this ceiling" not in text


def test_rows_of_csv():
    rows = bandtable.rows(predictions.by_hand(), ["rubber_ball"])
    assert len(rows) == 28
    assert rows[3] == {
        "band_hz": "20", "rubber_ball_bare_db": "60.30", "rubber_ball_ceiling_db": "50.30",
        "rubber_ball_best_case_db": "40.30", "threshold_db": "78.10", "background_db": "",
    }  # fmt: skip
    assert rows[0]["threshold_db"] == ""


def test_signs_and_rounding():
    assert [lines.signed(x, 1) for x in (2.04, -0.04, 0.0, -3.26)] == ["+2.0", "0.0", "0.0", "-3.3"]
    assert np.all([len(each) <= 80 for each in lines.wrapped("word " * 60, "  - ")])
