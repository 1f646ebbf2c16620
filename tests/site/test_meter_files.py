"""Every layout of `meter_files` gives back the numbers that were put into it, or a question."""

from __future__ import annotations

import meter_files as files
import numpy as np
import pytest

from impact.errors import InputError
from impact.site import measured, meter


def write(folder, name, content):
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return str(path)


@pytest.mark.parametrize("name", files.FILES)
def test_no_layout_is_misread(tmp_path, name):
    content, options = files.FILES[name]
    found = measured.read(write(tmp_path, name, content), **options)
    assert found.bands_hz == files.BANDS
    assert found.source == "tapping_machine"
    assert found.metric == "leq"
    there = np.isfinite(found.level_db)
    gaps = files.MISSING if name in files.WITH_GAPS else ()
    assert tuple(np.flatnonzero(~there)) == gaps
    # what was written to 0.1 dB must come back to the digit
    np.testing.assert_allclose(found.level_db[there], np.array(files.LEQ)[there], atol=1e-9)
    assert any("taken: " in line for line in found.what_was_taken)


@pytest.mark.parametrize(
    "name", [n for n, (c, _) in files.FILES.items()
             if "ZFmax" in (c if isinstance(c, str) else c.decode("utf-8", "ignore"))],
)  # fmt: skip
def test_the_same_files_give_fast_maxima_to_a_ball(tmp_path, name):
    found = measured.read(write(tmp_path, name, files.FILES[name][0]), source="rubber_ball")
    there = np.isfinite(found.level_db)
    assert list(np.flatnonzero(~there)) == ([7] if name == "status_of_each.csv" else [])
    np.testing.assert_allclose(found.level_db[there], np.array(files.LMAX)[there], atol=1e-9)
    assert found.metric == "lfmax"


def test_workbook(tmp_path):
    pytest.importorskip("openpyxl")
    path = write(tmp_path, "book.xlsx", files.workbook())
    found = measured.read(path, source="tapping_machine")
    np.testing.assert_allclose(found.level_db, files.LEQ, atol=1e-9)
    assert any("sheet 'Spectra'" in line for line in found.what_was_taken)


def test_octaves_alone_are_octaves(tmp_path):
    text = "Hz;LZeq\n" + "".join(f"{b};{x}\n" for b, x in files.OCTAVES.items())
    found = measured.read(write(tmp_path, "o.csv", text), source="tapping_machine")
    assert found.octaves
    assert list(found.level_db) == list(files.OCTAVES.values())


def test_all_profiles_are_averaged_over_their_energy(tmp_path):
    path = write(tmp_path, "p.tsv", files.profiles())
    found = measured.read(path, source="tapping_machine", profile="all")
    # by hand: 10 lg((10^-0.2 + 1 + 10^0.2)/3) = 10 lg 1.07196 = 0.3018 dB above the middle one
    np.testing.assert_allclose(found.level_db, np.array(files.LEQ) + 0.3018, atol=1e-4)


BAND = "".join(f"{b};{x}\n" for b, x in zip(files.NOMINAL, files.LEQ, strict=True))
WHOLE = "".join(f"{b};{40 + i}\n" for i, b in enumerate(("1.000", "1.250", "1.600", "2.000")))
QUESTIONS = {
    "no source": ("Hz;LZeq\n" + BAND, {}, "--source"),
    "no metric": (BAND, {"source": "tapping_machine"}, "--metric"),
    "maximum without fast or slow": ("Hz;Lmax\n" + BAND, {"source": "rubber_ball"}, "--metric"),
    "only maxima": ("Hz;LZFmax\n" + BAND, {"source": "tapping_machine"}, "--metric"),
    "slow maxima": ("Hz;LZSmax\n" + BAND, {"source": "rubber_ball"}, "--metric"),
    "two metrics in one label": ("Hz;Leq Lmax\n" + BAND, {"source": "tapping_machine"}, "--metric"),
    "three profiles": (files.profiles(), {"source": "tapping_machine"}, "--profile"),
    "no such profile": (files.profiles(), {"source": "tapping_machine", "profile": "9"}, "number"),
    "profile fits several": (
        files.profiles(), {"source": "tapping_machine", "profile": "Position"}, "number"),
    "thousands or decimals": (WHOLE, {"source": "tapping_machine", "metric": "leq"}, "--decimal"),
    "A weighted": ("Hz;LAeq\n" + BAND, {"source": "tapping_machine"}, "--unweight"),
    "A weighted in the cells": (
        "Hz;Leq\n50;45.1 dB(A)\n63;45 dB(A)\n80;46 dB(A)\n", {"source": "tapping_machine"},
        "--unweight"),
    "the maximum of the whole is no metric of the bands": (
        "LAFmax: 77.2 dB\n" + BAND, {"source": "rubber_ball"}, "--metric"),
    "another source": (files.remarks(), {"source": "rubber_ball"}, "which is right"),
    "a metric it lacks": (
        files.semicolons(), {"source": "tapping_machine", "metric": "lnt"}, "none of these"),
}  # fmt: skip


@pytest.mark.parametrize("name", QUESTIONS)
def test_ambiguous_files_are_asked_about(tmp_path, name):
    content, options, answer = QUESTIONS[name]
    with pytest.raises(meter.Question, match=answer):
        measured.read(write(tmp_path, "q.csv", content), **options)


def test_the_answer_settles_the_question(tmp_path):
    path = write(tmp_path, "q.csv", WHOLE)
    given = {"source": "tapping_machine", "metric": "leq"}
    assert measured.read(path, **given, decimal=",").bands_hz == (1000, 1250, 1600, 2000)
    path = write(tmp_path, "a.csv", "Hz;LAeq\n" + BAND)
    found = measured.read(path, source="tapping_machine", unweight=True)
    at = found.bands_hz.index(100.0)
    # IEC 61672-1 Table 3: A weighting at 100 Hz is -19.1 dB, at 1 kHz 0 dB; printed to 0.1 dB
    assert found.level_db[at] - files.LEQ[at] == pytest.approx(19.1, abs=0.05)
    at = found.bands_hz.index(1000.0)
    assert found.level_db[at] - files.LEQ[at] == pytest.approx(0.0, abs=0.05)


FAULTS = {
    "letter in a level": ("Hz;LZeq\n50;4S.1\n63;45\n80;46\n", "line 2"),
    "letter in a band": ("Hz;LZeq\n50;45\n6E;45\n80;46\n100;40\n125;40\n160;40\n", "line"),
    "band between": ("Hz;LZeq\n50;45\n63;45\n80;46\n9O;40\n100;40\n125;40\n", "line 5"),
    "no third octave": ("Hz;LZeq\n50;45\n63;45\n80;46\n91;40\n100;40\n125;40\n", "line 5"),
    "no third octave across": (";50 Hz;63 Hz;80 Hz;90 Hz;100 Hz\nLZeq;1;2;3;4;5\n", "line 1"),
    "band twice": ("Hz;LZeq\n50;45\n63;45\n80;46\n80;40\n100;40\n", "line 5"),
    "level out of range": ("Hz;LZeq\n50;45\n63;450\n80;46\n", "line 3"),
    "decimal commas between commas": ("Hz,LZeq\n50,45,1\n63,45,2\n80,46,3\n", "line 2"),
    "the same without a header": ("50,45,1\n63,45,2\n80,46,3\n", "line 1"),
    "two tables side by side": (
        "Hz;LZeq;Hz;LZeq\n50;45;63;50\n63;46;125;51\n80;47;250;52\n100;48;500;53\n",
        "line 2",
    ),
    "too many cells across": ("Metric;50 Hz;63 Hz;80 Hz\nLZeq;45;46;47;48;49\n", "line 2"),
    "bands and no levels": ("Metric;50 Hz;63 Hz;80 Hz\n", "line 1"),
    "narrow bands": ("Hz;LZeq\n" + "".join(f"{10 + 0.5 * i};40\n" for i in range(40)), "file|line"),
    "prose": ("This is a letter.\nIt has no numbers.\n", "no spectrum"),
    "empty": ("\n \n", "empty"),
    "control characters": ("Hz;LZeq\n50;45\n\x07\x00\n", "no text"),
    "a PDF": (b"%PDF-1.7 etc", "PDF"),
    "an old workbook": (b"\xd0\xcf\x11\xe0" + b"\0" * 600, "old binary workbook"),
    "a broken workbook": (b"PK\x03\x04" + b"rubbish" * 9, "workbook"),
    "an archive that swells": (files.bomb(), "unpacks to 60 MB|openpyxl"),
}


@pytest.mark.parametrize("name", FAULTS)
def test_malformed_files_are_named_by_line(tmp_path, name):
    content, where = FAULTS[name]
    path = write(tmp_path, "bad.csv", content)
    with pytest.raises(InputError, match=where) as caught:
        measured.read(path, source="tapping_machine", metric="leq")
    assert path in str(caught.value)


def test_a_large_file_is_refused_before_it_is_read(tmp_path):
    path = tmp_path / "large.csv"
    with open(path, "wb") as file:
        file.truncate(50_000_001)
    with pytest.raises(InputError, match="larger than 50 MB"):
        measured.read(str(path), source="tapping_machine")


def test_a_title_that_speaks_of_background_is_not_passed_over(tmp_path):
    text = "Background measurement\nMeter: invented\nHz;LZeq\n" + BAND
    found = measured.read(write(tmp_path, "b.csv", text), source="tapping_machine")
    assert any("'Background measurement'" in line for line in found.what_was_taken)


def test_uncertainty_is_that_of_the_table(tmp_path):
    found = measured.read(write(tmp_path, "r.csv", files.remarks()))
    # ISO 12999-1:2020 Table 4, same place and other team, 50 to 315 Hz
    table = (3.2, 2.8, 2.4, 2.0, 1.6, 1.4, 1.3, 1.2, 1.2)
    assert tuple(found.uncertainty_db[:9]) == table
    assert any("estimates" in line for line in found.what_was_taken)


@pytest.mark.parametrize("head", ["p (Pa)", "Acceleration (dB re 1e-6 m/s2)"])
def test_what_is_no_level_is_named_and_not_searched_for_other_readings(tmp_path, head):
    """The bands are sound; that '31.5' were no band with decimal commas says nothing."""
    text = f"Hz,{head}\n16,0.02\n20,0.03\n25,0.04\n31.5,0.05\n40,0.06\n"
    with pytest.raises(InputError) as error:
        measured.read(write(tmp_path, "p.csv", text), source="tapping_machine", metric="leq")
    assert f"not taken: {head}" in str(error.value)
    assert "31.5" not in str(error.value)


@pytest.mark.parametrize("limit", ["≤ 41.2", "<41.2 dB", "≥90.0"])
def test_a_level_that_is_only_a_limit_is_left_out(tmp_path, limit):
    """ISO 16283-2 has reports mark levels too close to the background so."""
    rows = f"50;51.0\n63;52.5\n80;{limit}\n100;50.1\n"
    path = write(tmp_path, "l.csv", "Hz;LZeq\n" + rows)
    found = measured.read(path, source="tapping_machine")
    assert list(np.flatnonzero(~np.isfinite(found.level_db))) == [2]
    assert "gaps at 80 Hz, left out" in found.what_was_taken


def test_decimal_points_and_commas_in_one_table_are_told_as_such(tmp_path):
    rows = [f"{hz}.0;{level},5" for hz, level in ((50, 61), (63, 62), (80, 60), (100, 58))]
    with pytest.raises(InputError, match=r"points \(50.0\) and decimal commas \(61,5\)") as error:
        meter.load(write(tmp_path, "m.csv", "\n".join(["Hz;Leq hammer", *rows])))
    assert "write one of them throughout" in str(error.value)
    with pytest.raises(InputError) as error:  # one mark alone: another fault
        meter.load(write(tmp_path, "n.csv", "Hz;Leq\n1.5;61.5\n2.5;60\n"))
    assert "decimal commas" not in str(error.value)


def test_a_time_is_not_called_a_level(tmp_path):
    rows = [f"{hz};{level};0,5" for hz, level in ((50, 61), (63, 62), (80, 60), (100, 58))]
    content = "\n".join(["Hz;Leq hammer;T20 [s]", *rows])
    found = measured.read(write(tmp_path, "m.csv", content), source="tapping_machine")
    assert any("reverberation time 'T20 s'" in line for line in found.what_was_taken)


def test_positions_called_li_are_levels_and_grund_is_background(tmp_path):
    """L_i of ISO 16283-2 with the number of the place: no percentile of a meter set to I. The
    column of background had been the only one with a metric, and was taken for the level."""
    rows = [f"{hz};{level},5;{level + 2},0;20,0;0,60"
            for hz, level in ((50, 61), (63, 62), (80, 60), (100, 58))]  # fmt: skip
    head = "f/Hz;Li1 (LZeq)/dB;Li2 (LZeq)/dB;Grund LZeq/dB;T/s"
    path = write(tmp_path, "m.csv", "\n".join(["Hammerwerk", head, *rows]))
    with pytest.raises(meter.Question, match="several spectra fit") as asked:
        measured.read(path)
    assert "3:" not in str(asked.value)
    found = measured.read(path, profile="2")
    assert list(found.level_db) == [63.0, 64.0, 62.0, 60.0]
    said = "; ".join(found.what_was_taken)
    assert "background LZeq" in said
    assert "reverberation time" in said
    ball = "\n".join(["Hz;Li,Fmax [dB]", *(row.rsplit(";", 3)[0] for row in rows)])
    assert measured.read(write(tmp_path, "b.csv", ball), source="rubber_ball").metric == "lfmax"
