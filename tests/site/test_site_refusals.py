"""What site data are refused for: each message by its place, with what is there and the remedy."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from types import SimpleNamespace

import designs
import numpy as np
import pytest

from impact.errors import InputError
from impact.site import corrections, deflections, measured, meter, meter_cells, tolerance
from impact.site.measured import Measurement

THIRDS = (50.0, 63.0, 80.0)


def flat(bands=THIRDS, octaves=False):
    level = np.full(len(bands), 60.0)
    return Measurement(tuple(bands), level, np.ones(len(level)), "tapping_machine", (), "leq",
                       octaves)  # fmt: skip


def put(tmp_path, text):
    path = tmp_path / "meter.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return str(path)


def refused(act, *said: str) -> None:
    """`act` is refused with one fault that holds all words of `said`."""
    with pytest.raises(InputError) as caught:
        act()
    assert len(caught.value.faults) == 1
    for words in said:
        assert words in str(caught.value)


def test_background_in_other_bands():
    refused(lambda: corrections.without_background(flat(), flat((1000.0,)), path="quiet.csv"),
            "quiet.csv", "bands", "shares no band", "same bands")  # fmt: skip


def test_corners_in_octaves():
    level = flat((63.0,), octaves=True)
    refused(lambda: corrections.with_corners(level, level, 20.0, "corner.csv"),
            "corner.csv", "export thirds")  # fmt: skip


def test_corners_with_a_gap():
    refused(lambda: corrections.with_corners(flat(), flat(THIRDS[:2]), 20.0, "corner.csv"),
            "corner.csv", "50, 63 and 80 Hz", "without gaps")  # fmt: skip


def test_deflections_of_no_hangers():
    none = SimpleNamespace(hangers=[])
    refused(lambda: deflections.against(none, {1: 0.002}), "hangs on none", "leave the file out")


def test_deflections_without_rows(tmp_path):
    refused(lambda: deflections.read(put(tmp_path, "hanger,mm\n1,-\n2,-\n")), "meter.csv", "1, 2.5")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Hz;LZeq\n6300;40\n8000;41\n10000;40\n", ("bands", "10 Hz to 5 kHz")),
        ("\n \n\n", ("file", "is empty", "CSV")),
        ("Hz;LZeq\n" + "50;40\n" * (meter_cells.LONGEST + 1), ("file", "at most", "history")),
        ("Hz;Background LZeq\n50;40\n63;41\n80;40\n", ("file", "holds no level spectrum")),
        ("Hz;LAeq;LCeq\n50;40;41\n63;41;41\n80;40;41\n", ("weighting", "A and C", "unweighted")),
        ("Hz;Ln;LnT\n50;40;41\n63;41;41\n80;40;41\n", ("metric", "--metric ln or lnt")),
    ],
)
def test_meter_files(tmp_path, text, said):
    with pytest.raises(InputError) as caught:
        measured.read(put(tmp_path, text), source="tapping_machine")
    assert "meter.csv" in str(caught.value)
    for words in said:
        assert words in str(caught.value)


def test_a_workbook_without_its_reader(tmp_path, monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "openpyxl", None)
    refused(lambda: meter.load(put(tmp_path, b"PK\x03\x04 and more")), "workbook", "pip install")


def test_spectra_of_other_bands_are_not_averaged(tmp_path):
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    for sheet, bands in (("kitchen", (50, 63, 80)), ("hall", (100, 125, 160))):
        page = book.create_sheet(sheet)
        for row in (("Hz", "LZeq"), *((band, 60) for band in bands)):
            page.append(row)
    path = tmp_path / "two.xlsx"
    book.save(path)
    read = partial(measured.read, str(path), source="tapping_machine", profile="all")
    refused(read, "two.xlsx", "profile", "cannot be averaged", "kitchen", "hall")


def test_nothing_that_could_be_bridged():
    base = designs.basement()
    nailed = replace(base, hangers=replace(designs.hangers("direct"), channel=None))
    refused(lambda: tolerance.tolerance(nailed, 0, 2, (1,)), "--bridged", "leave it out")
