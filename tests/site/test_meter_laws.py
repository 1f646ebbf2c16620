"""Whatever the layout: the numbers that were written come back, or nothing does."""

from __future__ import annotations

import meter_files as files
import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from impact.errors import InputError
from impact.site import measured

LEVELS = st.floats(-9.9, 120).map(lambda x: round(x, 1))


def written(value: float, decimal: str, digits: int) -> str:
    return f"{value:.{digits}f}".replace(".", decimal)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(
    values=st.lists(LEVELS, min_size=4, max_size=19), first=st.integers(0, 15),
    separator=st.sampled_from([",", ";", "\t", "|", "  ", " "]),
    decimal=st.sampled_from([".", ","]), thousands=st.sampled_from(["", ".", ",", " "]),
    digits=st.sampled_from([0, 1, 2, 3]), unit=st.sampled_from(["", " Hz", "Hz"]),
    header=st.sampled_from(["", "Hz{}LZeq", "Frequency [Hz]{}LZeq [dB]"]),
    across=st.booleans(), counted=st.booleans(), quoted=st.booleans(),
)  # fmt: skip
def test_truth_or_nothing(
    tmp_path_factory, values, first, separator, decimal, thousands, digits, unit, header, across,
    counted, quoted,
):  # fmt: skip
    names = files.NOMINAL[first : first + len(values)]
    values = [round(value, digits) for value in values[: len(names)]]
    bands = [b if len(b) < 4 or not thousands else f"{b[0]}{thousands}{b[1:]}" for b in names]
    bands = [band + unit for band in bands]
    cells = [written(value, decimal, digits) for value in values]
    if quoted:
        bands, cells = ([f'"{cell}"' for cell in row] for row in (bands, cells))
    if across:
        lines = [separator.join(["Metric", *bands]), separator.join(["LZeq", *cells])]
    else:
        number = [f"{i}{separator}" if counted else "" for i in range(1, len(bands) + 1)]
        lines = [header.format(separator)] if header and not counted else []
        lines += [n + b + separator + c for n, b, c in zip(number, bands, cells, strict=True)]
    path = tmp_path_factory.mktemp("laws") / "file.txt"
    path.write_text("\n".join(lines) + "\n")
    try:
        found = measured.read(str(path), source="tapping_machine", metric="leq")
    except InputError:
        return
    assert found.bands_hz == tuple(float(name) for name in names), lines
    gaps = np.isnan(found.level_db)  # noughts among loud bands, which are told
    assert all(value == 0 for value, gap in zip(values, gaps, strict=True) if gap), lines
    assert not gaps.any() or "marks of no data" in " ".join(found.what_was_taken)
    known = np.where(gaps, np.nan, values)
    np.testing.assert_allclose(found.level_db, known, atol=1e-9, err_msg=str(lines))


PIECES = st.sampled_from([
    "50", "63", "80", "100", "1k", "31,5", "Hz", "LZeq", "LAFmax", "dB(A)", "45.2", "45,2", "-", "",
    "T20 [s]", "\u00b5", "1.000", "1e5", "nan", '"', "'", "Background", "50 Hz", "LZeq 63 Hz",
])  # fmt: skip
LINES = st.lists(st.tuples(st.lists(PIECES, max_size=7), st.sampled_from(";,\t| ")), max_size=14)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(lines=LINES, tail=st.binary(max_size=30))
def test_rubbish_is_refused_without_a_fault_of_ours(tmp_path_factory, lines, tail):
    path = tmp_path_factory.mktemp("rubbish") / "file.txt"
    text = "\n".join(separator.join(cells) for cells, separator in lines)
    path.write_bytes(text.encode() + b"\n" + tail)
    try:
        found = measured.read(str(path), source="tapping_machine", metric="leq", profile="1")
    except InputError:
        return
    assert len(found.bands_hz) == len(found.level_db) >= 1
    assert list(found.bands_hz) == sorted(set(found.bands_hz))
