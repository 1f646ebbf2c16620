"""Symbols of ISO 16283, status columns, marks of no data and decimal marks in meter files.

What counts is what a wrong reading would do: each test says which spectrum of `meter_files` is the
truth and which must not come back.
"""

from __future__ import annotations

import re

import meter_files as files
import numpy as np
import pytest

from impact.errors import InputError
from impact.site import corrections, measured, meter, meter_words

TAPPING = {"source": "tapping_machine"}


def write(folder, content, name="file.csv"):
    path = folder / name
    path.write_text(content)
    return str(path)


def table(header, *shifts, separator=";"):
    """LEQ moved by each of `shifts` [dB] under a header."""
    rows = [separator.join([band, *(f"{x + shift:.1f}" for shift in shifts)])
            for band, x in zip(files.NOMINAL, files.LEQ, strict=True)]  # fmt: skip
    return "\n".join([header, *rows]) + "\n"


BESIDE = ("room_symbols.csv", "room_symbols_with_times.tsv", "room_symbols_across.csv",
          "room_symbols_as_titles.csv")  # fmt: skip


@pytest.mark.parametrize("metric", [None, "leq"])
@pytest.mark.parametrize("name", BESIDE)
def test_b2_is_the_background_and_never_the_level(tmp_path, name, metric):
    path = write(tmp_path, files.FILES[name][0], name)
    level = measured.read(path, metric=metric, **TAPPING)
    assert list(level.level_db) == list(files.LEQ)
    quiet = measured.read_beside(path, level, "background", own=False)
    np.testing.assert_allclose(quiet.level_db, np.array(files.LEQ) - 30, atol=1e-9)


@pytest.mark.parametrize(("level", "background", "times"), [
    ("Leq [dB]", "Hintergrund [dB]", "Nachhallzeit [s]"), ("LZeq", "Störpegel", "Nachhall T20"),
    ("Leq", "LZeq Fremdgeräusch", "T20"), ("LZeq", "Bruit de fond", "Temps de réverbération"),
])  # fmt: skip
def test_german_and_french_words_beside_the_level(tmp_path, level, background, times):
    rows = [f"{band};{x:.1f};{x - 30:.1f};0.50" for band, x in
            zip(files.NOMINAL, files.LEQ, strict=True)]  # fmt: skip
    path = write(tmp_path, "\n".join([f"Hz;{level};{background};{times}", *rows]) + "\n")
    found = measured.read(path, **TAPPING)
    assert list(found.level_db) == list(files.LEQ)
    quiet = measured.read_beside(path, found, "background", own=False)
    np.testing.assert_allclose(quiet.level_db, np.array(files.LEQ) - 30, atol=1e-9)
    assert set(corrections.read_reverberation(path, own=False).values()) == {0.5}


@pytest.mark.parametrize(("words", "source"), [
    ("Norm-Hammerwerk, Pos. 1", "tapping_machine"), ("Gummiball", "rubber_ball"),
    ("machine à chocs", "tapping_machine"), ("barfuß", "walker_barefoot"),
])  # fmt: skip
def test_sources_in_german_and_french(words, source):
    assert meter_words.source_of(words) == source


def test_a_number_holds_whatever_is_settled_beside_it(tmp_path):
    """The question lists LAeq as 1 and LZeq as 2; LAeq falls away by itself before 2 is looked for,
    which is LZeq all the same, and 1 is never LZeq."""
    path = write(tmp_path, table("Hz;LAeq;LZeq", -10, 0))
    with pytest.raises(meter.Question, match=r"1: LAeq.*\n.*2: LZeq"):
        measured.read(path)
    assert list(measured.read(path, profile="2", **TAPPING).level_db) == list(files.LEQ)
    with pytest.raises(meter.Question, match=r"'1' fits none of these.*\n *2: LZeq"):
        measured.read(path, profile="1", **TAPPING)


def test_b2_alone_is_no_level(tmp_path):
    path = write(tmp_path, table("Hz;B2 [dB]", -30))
    with pytest.raises(InputError, match="no level spectrum, only: background"):
        measured.read(path, metric="leq", **TAPPING)


def test_t2_is_the_reverberation_time(tmp_path):
    path = write(tmp_path, files.room_symbols_with_times())
    times = corrections.read_reverberation(path)
    assert [times[50], times[3150]] == [0.40, 0.58]


def test_t2_and_b2_are_names_where_others_are_counted(tmp_path):
    path = write(tmp_path, table("Hz;T1;T2;B1;B2", 1, 0, 2, 3))
    found = measured.read(path, metric="leq", profile="T2", **TAPPING)
    assert list(found.level_db) == list(files.LEQ)
    assert measured.read_beside(path, found, "background", own=False) is None
    path = write(tmp_path, "Room B2\n" + table("Hz;Leq", 0))
    assert list(measured.read(path, **TAPPING).level_db) == list(files.LEQ)


@pytest.mark.parametrize("header", ["Hz;L2", "Hz;Li [dB]", "Hz;L_2 (dB)", "L2\nHz;dB"])
def test_the_receiving_room_alone_is_an_energy_average(tmp_path, header):
    found = measured.read(write(tmp_path, table(header, 0)), **TAPPING)
    assert list(found.level_db) == list(files.LEQ)
    assert any("energy average" in line for line in found.what_was_taken)


def test_a_ball_has_no_energy_average(tmp_path):
    path = write(tmp_path, table("Hz;L2", 0))
    with pytest.raises(meter.Question, match="--metric lfmax"):
        measured.read(path, source="rubber_ball")
    found = measured.read(write(tmp_path, table("Hz;Li,Fmax;B2", 0, -9)), source="rubber_ball")
    assert list(found.level_db) == list(files.LEQ)


@pytest.mark.parametrize("profile", [None, "all"])
@pytest.mark.parametrize("header", ["Hz;L1", "Hz;L1 Leq [dB]", "Hz;L1;L2", "Hz;L1 Leq;L2 Leq"])
def test_a_source_room_is_asked_about(tmp_path, header, profile):
    path = write(tmp_path, table(header, *(0, -25)[: header.count(";")]))
    with pytest.raises(meter.Question, match=r"source room.*--profile"):
        measured.read(path, metric="leq", profile=profile, **TAPPING)


def test_the_answer_names_the_level(tmp_path):
    path = write(tmp_path, table("Hz;L1;L2;B2", 25, 0, -30))
    for answer in ("L2", "2"):
        found = measured.read(path, profile=answer, **TAPPING)
        assert list(found.level_db) == list(files.LEQ)
    path = write(tmp_path, table("Hz;L1 Leq", 0))
    assert list(measured.read(path, profile="L1", **TAPPING).level_db) == list(files.LEQ)


def test_a_source_room_beside_the_level_is_left_aside(tmp_path):
    for header, *shifts in (("Hz;L1;Leq", 25, 0), ("Hz;L1;Li", 25, 0), ("Hz;L1;L2;Leq", 9, 7, 0)):
        found = measured.read(write(tmp_path, table(header, *shifts)), **TAPPING)
        assert list(found.level_db) == list(files.LEQ)
        assert any("source room" in line for line in found.what_was_taken)


@pytest.mark.parametrize("header", ["Hz;L10", "Hz;L2,A", "Hz;LAF1", "Hz;LZ90"])
def test_percentile_levels_stay_percentile_levels(tmp_path, header):
    path = write(tmp_path, table(header, 0))
    with pytest.raises(meter.Question, match="none of these is Leq"):
        measured.read(path, metric="leq", **TAPPING)


def test_weighted_levels_of_a_room_stay_weighted(tmp_path):
    path = write(tmp_path, table("Hz;L2 dB(A)", 0))
    with pytest.raises(meter.Question, match="A weighted"):
        measured.read(path, metric="leq", **TAPPING)


# ---------------------------------------------------------------- status


def test_what_a_status_did_is_told(tmp_path):
    found = measured.read(write(tmp_path, files.status_down()), **TAPPING)
    said = " ".join(found.what_was_taken)
    assert "'Overload' at 50 Hz, 'invalid' at 160 Hz, 'Underrange' at 3150 Hz" in said
    assert "gaps at 50, 160, 3150 Hz" in said


def with_words(header, words):
    rows = [f"{b};{x};{words.get(b, '')}" for b, x in zip(files.NOMINAL, files.LEQ, strict=True)]
    return header + "\n" + "\n".join(rows) + "\n"


def test_words_not_understood_are_named_and_change_nothing(tmp_path):
    words = {"63": "wind 2", "80": "n/a", "100": "ok"}
    found = measured.read(write(tmp_path, with_words("Hz;LZeq;Status", words)), **TAPPING)
    assert list(np.flatnonzero(np.isnan(found.level_db))) == [2]
    assert any("not understood, values kept: 'wind 2' at 63 Hz" in s for s in found.what_was_taken)
    words = {"63": "door", "80": "carpet under foot", "100": "range"}
    found = measured.read(write(tmp_path, with_words("Hz;LZeq;Remark", words)), **TAPPING)
    assert np.all(np.isfinite(found.level_db))
    assert any("Remark: 'door', 'carpet under foot', 'range'" in s for s in found.what_was_taken)


def test_an_empty_column_of_levels_is_no_status(tmp_path):
    words = dict.fromkeys(files.NOMINAL, "n/a")
    for header in ("Hz;LZeq;LZFmax", "Hz;LZeq;x"):
        found = measured.read(write(tmp_path, with_words(header, words)), **TAPPING)
        assert list(found.level_db) == list(files.LEQ)


@pytest.mark.parametrize(("header", "bad"), [("Valid", "0"), ("Overload", "1"), ("Clipped", "Yes")])
def test_flags_count_under_a_label_that_says_what_they_mean(tmp_path, header, bad):
    good = {"0": "1", "1": "0", "Yes": "No"}[bad]
    words = dict.fromkeys(files.NOMINAL, good) | {"100": bad}
    found = measured.read(write(tmp_path, with_words(f"Hz;LZeq;{header}", words)), **TAPPING)
    assert list(np.flatnonzero(np.isnan(found.level_db))) == [3]


def test_a_row_that_is_no_measurement_is_left_out(tmp_path):
    head = "Time;Status;" + ";".join(f"{b} Hz" for b in files.NOMINAL) + "\n"
    rows = [f"10:0{i};{word};" + ";".join(f"{x + 9 * i:.1f}" for x in files.LEQ) + "\n"
            for i, word in enumerate(("OK", "Overload", "Under range"))]  # fmt: skip
    found = measured.read(write(tmp_path, head + "".join(rows)), metric="leq", **TAPPING)
    assert list(found.level_db) == list(files.LEQ)
    assert sum("by their status" in line for line in found.what_was_taken) == 2


def test_a_status_beside_the_levels_across(tmp_path):
    head = [f"LZeq {b} Hz" for b in files.NOMINAL] + [f"Status {b} Hz" for b in files.NOMINAL[2:]]
    words = ["over" if b == "80" else "OK" for b in files.NOMINAL[2:]]
    text = ";".join(head) + "\n" + ";".join([*map(str, files.LEQ), *words]) + "\n"
    found = measured.read(write(tmp_path, text), **TAPPING)
    assert list(np.flatnonzero(np.isnan(found.level_db))) == [2]


def test_a_status_below_two_metrics_across(tmp_path):
    bands = files.NOMINAL
    head = ";".join(["Row", *(f"LZeq {b} Hz" for b in bands), *(f"LZFmax {b} Hz" for b in bands)])
    levels = ";".join(["values", *map(str, (*files.LEQ, *files.LMAX))])
    words = ["OK"] * 38
    words[4], words[19 + 6] = "Overload", "Underrange"
    text = f"{head}\n{levels}\nStatus;{';'.join(words)}\n"
    for source, gap in (("tapping_machine", 4), ("rubber_ball", 6)):
        found = measured.read(write(tmp_path, text), source=source)
        assert list(np.flatnonzero(np.isnan(found.level_db))) == [gap]


def test_a_short_name_is_no_status(tmp_path):
    head = "Place;" + ";".join(f"LZeq {b} Hz" for b in files.NOMINAL) + "\n"
    text = head + "UR;" + ";".join(map(str, files.LEQ)) + "\n"
    assert list(measured.read(write(tmp_path, text), **TAPPING).level_db) == list(files.LEQ)


def test_a_file_whose_status_leaves_nothing_says_so(tmp_path):
    words = dict.fromkeys(files.NOMINAL, "Overload")
    with pytest.raises(InputError, match="no levels by their status"):
        measured.read(write(tmp_path, with_words("Hz;LZeq;Status", words)), **TAPPING)


# ---------------------------------------------------------------- no data, decimal marks


def test_marks_of_no_data_are_told(tmp_path):
    found = measured.read(write(tmp_path, files.marks_of_no_data()), **TAPPING)
    said = " ".join(found.what_was_taken)
    assert "'-99.9' at 50 Hz, '-999' at 160 Hz, '999.9' at 3150 Hz" in said


def test_a_nought_among_loud_bands_is_no_level(tmp_path):
    """Some meters write 0.0 where nothing was measured; the levels about it lie over 20 dB. In a
    quiet background that ends at 12 and 4 dB a nought is one."""
    text = table("Hz;LZeq", 0).replace(f"\n100;{files.LEQ[3]}\n", "\n100;0.0\n")
    found = measured.read(write(tmp_path, text), **TAPPING)
    assert np.isnan(found.level_db[3])
    assert "marks of no data, left as gaps: '0.0' at 100 Hz" in " ".join(found.what_was_taken)
    quiet = "Hz;LZeq\n" + "".join(f"{b};{v}\n" for b, v in zip(
        files.NOMINAL, [40 - 2 * i for i in range(17)] + [4.0, 0.0], strict=True))  # fmt: skip
    assert measured.read(write(tmp_path, quiet), **TAPPING).level_db[-1] == 0.0


@pytest.mark.parametrize("cell", ["99.9", "-9.9", "99.0"])
def test_levels_of_nines_are_levels(tmp_path, cell):
    text = table("Hz;LZeq", 0).replace(f"\n100;{files.LEQ[3]}\n", f"\n100;{cell}\n")
    found = measured.read(write(tmp_path, text), **TAPPING)
    assert found.level_db[3] == float(cell)


WHOLE = {
    "down": (files.whole_levels(), "rubber_ball", 31.5, 92),
    "across": (files.whole_levels_across(), "rubber_ball", 31.5, 92),
    "at the end": ("Hz;LZeq\n16;40\n20;41\n25;42\n31,5;43\n", "tapping_machine", 16.0, 40),
}


@pytest.mark.parametrize("name", WHOLE)
def test_bands_settle_the_decimal_mark(tmp_path, name):
    text, source, band, level = WHOLE[name]
    found = measured.read(write(tmp_path, text), source=source)
    assert (found.bands_hz[0], found.level_db[0]) == (band, level)
    assert 31.5 in found.bands_hz
    assert any("decimal comma" in line for line in found.what_was_taken)


def test_a_band_of_the_other_mark_is_not_passed_over(tmp_path):
    text = "Hz;LZeq\n31,5;92.5\n40;85.1\n50;70.2\n63;55.3\n"
    with pytest.raises(InputError, match="line 2"):
        measured.read(write(tmp_path, text), **TAPPING)


@pytest.mark.parametrize(
    ("cell", "value"),
    [("1'250", 1250.0), ("1'250,5", 1250.5), ("'67,3", 67.3), ("4',9", None), ("6'7,3", None),
     ("12'50", None)],
)  # fmt: skip
def test_apostrophes_part_thousands_and_nothing_else(cell, value):
    """As written in Switzerland; a slip of the pen inside a level is no number (found by fuzz)."""
    assert meter_words.number(cell, ",") == value


@pytest.mark.parametrize(
    ("head", "metric"),
    [
        ("Rubber ball L'i,Fmax,V,T [dB]", "lfmaxvt"),  # symbols of ISO 16283-2
        ("Rubber ball LZFmax V,T", "lfmaxvt"),
        ("Rubber ball LZFmax", "lfmax"),
    ],
)
def test_ball_levels_that_are_normalized_already(tmp_path, head, metric):
    path = tmp_path / "ball.csv"
    path.write_text(f"Hz;{head}\n50;70\n63;71\n80;69\n")
    assert measured.read(str(path)).metric == metric


@pytest.mark.parametrize(
    ("source", "metric", "words"),
    [
        ("tapping_machine", "lfmax", "Leq or L'n or L'nT, not LFmax"),
        ("rubber_ball", "leq", "LFmax or L'i,Fmax,V,T, not Leq"),
        ("walker_barefoot", "lfmaxvt", "LFmax, not L'i,Fmax,V,T"),
    ],
)
def test_a_metric_that_the_source_is_not_predicted_in_is_refused(tmp_path, source, metric, words):
    """It was taken as normalized already, or normalized as what it is not, without a word."""
    path = tmp_path / "m.csv"
    path.write_text("Hz;L [dB]\n50;70\n63;71\n80;69\n")
    with pytest.raises(meter.Question, match=re.escape(words)):
        measured.read(str(path), source, metric)
