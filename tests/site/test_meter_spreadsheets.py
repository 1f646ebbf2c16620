"""Layouts of spreadsheets and lists: several positions, what is reckoned from them, gaps.

Invented files; the truth is what was written into them, to the digit, or by hand where stated.
"""

from __future__ import annotations

import meter_files as files
import numpy as np
import pytest

from impact.errors import InputError
from impact.site import corrections, measured, meter

MACHINE = {"source": "tapping_machine"}
TIMES = tuple(round(0.4 + 0.02 * i, 2) for i in range(len(files.BANDS)))
PLACES = tuple(tuple(round(x + shift, 1) for x in files.LEQ) for shift in (-2.0, 0.0, 2.0))
MEAN = np.array(files.LEQ) + 0.3018  # by hand: 10 lg((10^-0.2 + 1 + 10^0.2)/3) = 0.3018


def table(head, *columns, separator=";"):
    rows = [separator.join(map(str, row)) for row in zip(files.NOMINAL, *columns, strict=True)]
    return "\n".join([head, *rows]) + "\n"


def body(*columns, separator=";"):
    return table("", *columns, separator=separator)[1:]


def read(folder, text, **options):
    path = folder / "file.csv"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return measured.read(str(path), **options)


def listed(*named):
    """One row for each value: position, metric, band, level."""
    rows = [f"{place},{metric},{band},{level}" for place, metric, values in named
            for band, level in zip(files.NOMINAL, values, strict=True)]  # fmt: skip
    return "\n".join(["position,metric,band,level", *rows]) + "\n"


ALL = {**MACHINE, "profile": "all"}
MEANS = {
    "a list, row by row": (
        listed(*((i, m, v) for i, one in enumerate(PLACES, 1)
                 for m, v in (("LZeq", one), ("LZFmax", files.LMAX)))), ALL),
    "a list without metrics": (
        "pos;f;LZeq\n" + "".join(f"{i};{row}\n" for i, one in enumerate(PLACES, 1)
                                 for row in body(one).split()), ALL),
    "extremes, spread and an arithmetic mean beside the positions": (
        table("f [Hz];Pos 1;Pos 2;Pos 3;Max;Min;SD;Average", *PLACES, PLACES[2], PLACES[0],
              [1.6] * 19, PLACES[1]), {**ALL, "metric": "leq"}),
    "differences": (
        table("f;Pos 1;Pos 2;Pos 3;Difference", *PLACES, [20.0] * 19), {**ALL, "metric": "leq"}),
    "a maximum under a title of the metric": (
        "LZeq\n" + table("Hz;Pos 1;Pos 2;Pos 3;Highest", *PLACES, PLACES[2]), ALL),
    "names over two columns each, the last too": (
        ";Place 1;;Place 2;;Place 3;\nHz;LZeq;LZFmax;LZeq;LZFmax;LZeq;LZFmax\n"
        + body(PLACES[0], files.LMAX, PLACES[1], files.LMAX, PLACES[2], files.LMAX), ALL),
    "a title over the metric's": (
        "\n".join(f"Place {i}\n{m}\nHz;dB\n{body(v)}" for i, one in enumerate(PLACES)
                  for m, v in (("LZeq", one), ("LZFmax", files.LMAX))), ALL),
    "times, sums and bare bands across": (
        "Date;Time;LAeq;LCeq;LZeq;" + ";".join(files.NOMINAL) + "\n" + "".join(
            f"12.03.2024;10:0{i}:00;55.1;70.2;75.3;{';'.join(map(str, one))}\n"
            for i, one in enumerate(PLACES)), {**ALL, "metric": "leq"}),
}  # fmt: skip


@pytest.mark.parametrize("name", MEANS)
def test_only_positions_are_averaged(tmp_path, name):
    text, options = MEANS[name]
    found = read(tmp_path, text, **options)
    assert found.bands_hz == files.BANDS
    np.testing.assert_allclose(found.level_db, MEAN, atol=1e-4)  # of the hand value


def test_names_over_columns_hold_for_the_last_of_them(tmp_path):
    text = ";Impact;Background;\nHz;LZeq;LZeq;LZFmax\n"
    text += body(files.LEQ, [20.0] * 19, [25.0] * 19)
    with pytest.raises(meter.Question, match="metric"):  # the only maximum is the background's
        read(tmp_path, text, source="rubber_ball")
    assert list(read(tmp_path, text, **MACHINE).level_db) == list(files.LEQ)


ONE = {
    "exact centres by powers of two": (
        "Hz;LZeq\n" + "".join(
            f"{1000 * 2 ** (round(3 * np.log2(b / 1000)) / 3):.2f};{x}\n"
            for b, x in zip(files.BANDS, files.LEQ, strict=True)), MACHINE),
    "a range in kHz above": (
        "Range 6.3 Hz to 20 kHz\n" + table("f;LZeq", files.LEQ), MACHINE),
    "units below the bands": (
        f"f;{';'.join(files.NOMINAL)}\n;{';'.join(['Hz'] * 19)}\n"
        f"LZeq;{';'.join(map(str, files.LEQ))}\n", MACHINE),
    "single values below bands across": (
        f"Metric;{';'.join(files.NOMINAL)}\nLZeq;{';'.join(map(str, files.LEQ))}\n"
        "LZeq;75.1\nLAeq;55.2\n", MACHINE),
    "another prime": (table("Hz;L′n", files.LEQ), MACHINE),
    "a time behind the symbol": (table("Hz;Lp,Zeq,30s", files.LEQ), MACHINE),
    "words behind some values": (
        table("Hz;LZeq;Status", files.LEQ, ["", *["OK"] * 18]).replace(";\n", "\n"), MACHINE),
    "positions counted behind the symbol, levels that look like bands": (
        table("Hz;LZeq 1;LZeq 2", files.LEQ, [80, 63, 50, *[40] * 16]),
        {**MACHINE, "profile": "1"}),
    "settings of the spectrum and of the whole": (
        "Weighting broadband;A\nWeighting spectrum;Z\nTime weighting;S\n"
        + table("Hz;Leq", files.LEQ), {**MACHINE, "metric": "leq"}),
    "a background named two lines above": (
        f"Tapping machine\nLZeq\nHz;dB\n{body(files.LEQ)}\n"
        f"Background noise\nLZeq\nHz;dB\n{body([20.0] * 19)}", {}),
}  # fmt: skip


@pytest.mark.parametrize("name", ONE)
def test_the_one_spectrum_is_read(tmp_path, name):
    text, options = ONE[name]
    found = read(tmp_path, text, **options)
    assert found.bands_hz == files.BANDS
    assert list(found.level_db) == list(files.LEQ)


ROWS = table("Hz,LZeq,LZFmax", files.LEQ, files.LMAX, separator=",")
SHORT = ROWS.replace(f"200,{files.LEQ[6]},", "200,")
WIDE = "  Hz   LZeq   LZFmax\n" + "".join(
    f"{b:>5}  {'' if b == '200' else x:>5}  {y:>5}\n"
    for b, x, y in zip(files.NOMINAL, files.LEQ, files.LMAX, strict=True)
)
REFUSED = {
    "a cell lacks": (SHORT, MACHINE, "line 8: 2 cells where other lines have 3"),
    "a cell lacks before empty ones": (
        ROWS.replace("\n", ",,,\n").replace(f"200,{files.LEQ[6]},", "200,"), MACHINE, "line 8"),
    "a blank in columns of spaces": (WIDE, MACHINE, "line 8: 2 cells"),
    "a file cut off": (ROWS[: ROWS.rindex("3150") + 4], MACHINE, "line 20: 1 cells"),
    "a cell lacks across": (
        f"f;{';'.join(files.NOMINAL)}\nLZeq;{';'.join(map(str, files.LEQ[1:]))}\n", MACHINE,
        "line 2: 19 cells, bands reach to cell 20"),
    "a band twice in the midst": (
        ROWS.replace("\n400,", f"\n315,{files.LEQ[8]},60.0\n400,"), MACHINE,
        "line 11: band 315 Hz stands twice"),
    "a band twice across": (
        f"f;{';'.join(b + ' Hz' for b in files.NOMINAL)};1000 Hz\n"
        f"LZeq;{';'.join(map(str, files.LEQ))};40\n", MACHINE, "line 1: bands across"),
    "hundredths behind commas": (
        "".join(f"{b},{60 - i},{(37 * i) % 100}\n" for i, b in enumerate(files.NOMINAL)),
        {**MACHINE, "metric": "leq", "profile": "all"}, "commas both separate"),
    "pascals": (table("Hz;LZeq [Pa]", [0.01] * 19), MACHINE, "no spectrum"),
    "an acceleration": (
        table("Hz;Acceleration LZeq [dB]", files.LEQ), MACHINE, "no spectrum"),
    "a level re 1 Pa": (  # 94 dB under one re 20 uPa
        table("Hz;LZeq [dB re 1 Pa]", [x - 94 for x in files.LEQ]), MACHINE, "no spectrum"),
    "a weighting in a column of units": (
        table("Hz;Leq;Unit", files.LEQ, ["dB(A)"] * 19), MACHINE, "A weighted"),
    "a weighting among the settings": (
        "Frequency weighting;A\n" + table("Hz;Leq", files.LEQ), MACHINE, "A weighted"),
    "a weighting in a remark": (
        "# Filter: C\n" + table("Hz;Leq", files.LEQ), MACHINE, "C weighted"),
    "a weighting in a column of its own": (
        table("Hz;Leq;Weighting", files.LEQ, ["A"] * 19), MACHINE, "A weighted"),
    "a weighting in words over the column": (
        table("Hz;Leq (weighting A)", files.LEQ), MACHINE, "A weighted"),
    "two weightings among the settings": (
        "Weighting: A and C\n" + table("Hz;Leq", files.LEQ), MACHINE, "weightings A and C"),
    "slow among the settings": (
        "Time weighting;S\n" + table("Hz;Lmax", files.LEQ),
        {"source": "rubber_ball", "metric": "lfmax"}, "none of these is LFmax"),
    "some corrected, others not": (
        table("Hz;L2;L2 corr", files.LEQ, files.LEQ), ALL, "some of these are corrected"),
    "times among the levels": (
        table("Hz;L;Echo", files.LEQ, TIMES), {**ALL, "metric": "leq"}, "dB apart in the mean"),
    "the greatest of unnamed drops": (
        table("Hz;Drop 1;Drop 2;Max", *PLACES), {"source": "rubber_ball", "metric": "lfmax"},
        "several spectra fit"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_what_lacks_or_does_not_belong_is_refused(tmp_path, name):
    text, options, message = REFUSED[name]
    with pytest.raises(InputError, match=message):
        read(tmp_path, text, **options)


def test_a_level_said_to_be_corrected_is_not_corrected_again(tmp_path):
    text = table("Hz;L2;B2;L2 corr", files.LEQ, [x - 7 for x in files.LEQ], PLACES[0])
    for profile, moved in (("2", 0.0), ("1", 0.97)):
        level = read(tmp_path, text, **MACHINE, profile=profile)
        noise = measured.read_beside(str(tmp_path / "file.csv"), level, "background", own=False)
        after = corrections.without_background(level, noise)
        # by hand: 7 dB of difference, -10 lg(1 - 10^-0.7) = 0.97 dB
        np.testing.assert_allclose(level.level_db - after.level_db, moved, atol=0.005)


def test_reverberation_times_beside_the_levels(tmp_path):
    path = tmp_path / "file.csv"
    path.write_text(table("Hz;LZeq;T20 [s]", files.LEQ, TIMES))
    found = corrections.read_reverberation(str(path), own=False)
    assert found == dict(zip(files.BANDS, TIMES, strict=True))
    path.write_text(table("Hz;LZeq", files.LEQ))
    assert corrections.read_reverberation(str(path), own=False) == {}
    path.write_text(table("Hz;LZeq;T20;T30", files.LEQ, TIMES, TIMES))
    with pytest.raises(meter.Question, match="say --reverberation"):
        corrections.read_reverberation(str(path), own=False)
