"""Spectrum files: what is taken for what, and that nothing is misread silently."""

from __future__ import annotations

import pytest

from impact.errors import InputError
from impact.rating.reader import read_spectrum


def _write(folder, text: str | bytes) -> str:
    path = folder / "spectrum.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return str(path)


@pytest.mark.parametrize(
    "text",
    [
        "band_hz,level_db\n100,60\n125,61.5\n",
        "# a comment\n\nBand_Hz, Level_dB\r\n125 , 61.5\r\n100,60\r\n",
        "\ufeffband_hz,level_db\n100,60\n125,61.5",
        "band_hz,level_db\n100.0,6e1\n125.89,61.5\n",  # exact centre of the 125 Hz band
    ],
)
def test_what_is_read(tmp_path, text):
    assert read_spectrum(_write(tmp_path, text)) == ([100, 125], [60, 61.5])


def test_utf_16_with_its_mark(tmp_path):
    path = _write(tmp_path, "band_hz,level_db\n100,60\n".encode("utf-16"))
    assert read_spectrum(path) == ([100], [60])


@pytest.mark.parametrize(
    ("line", "word"),
    [
        ("100;60", "two cells"),
        ("100,60,5", "two cells"),
        ("110,60", "centre"),
        ("102,60", "centre"),  # 2 % beside 100 Hz: exact centres lie within 1.2 %
        ("-100,60", "centre"),
        ("inf,60", "centre"),
        ("100,nan", "-100 to 200"),
        ("100,1e9", "-100 to 200"),
        ("100,", "-100 to 200"),
        ("1_00,60", "centre"),
        ("160,70", "line 2 already"),
    ],
)
def test_a_bad_line_is_named(tmp_path, line, word):
    path = _write(tmp_path, f"band_hz,level_db\n160,60\n{line}\n")
    with pytest.raises(InputError) as caught:
        read_spectrum(path)
    (fault,) = caught.value.faults
    assert fault.where == "line 3"
    assert word in fault.what


def test_all_faults_at_once(tmp_path):
    with pytest.raises(InputError) as caught:
        read_spectrum(_write(tmp_path, "band_hz,level_db\n100,x\n111,60\n7,y\n"))
    assert [fault.where for fault in caught.value.faults] == [
        "line 2",
        "line 3",
        "line 4",
        "line 4",
    ]


@pytest.mark.parametrize(
    ("content", "word"),
    [
        (b"", "empty"),
        (b"band_hz,level_db\n", "no bands"),
        (b"frequency,level\n100,60\n", "header"),
        (b"band_hz;level_db\n100;60,5\n", "header"),
        (b"band_hz,level_db\n\x00\xff\n", "not text"),
        (b"band_hz,level_db\n" + b"100,60\n" * 200_000, "larger than"),
    ],
)
def test_a_bad_file_is_refused(tmp_path, content, word):
    with pytest.raises(InputError, match=word):
        read_spectrum(_write(tmp_path, content))


def test_many_faults_are_cut_short(tmp_path):
    path = _write(tmp_path, "band_hz,level_db\n" + "x,y\n" * 1000)
    with pytest.raises(InputError) as caught:
        read_spectrum(path)
    assert len(caught.value.faults) == 21
    assert "1980 more faults" in caught.value.faults[-1].what


def test_damaged_digit_is_not_white_space(tmp_path):
    """100 Hz, 57 dB, one bit pattern gone wrong: it was read as 7 dB."""
    path = tmp_path / "damaged.csv"
    path.write_bytes(b"band_hz,level_db\n100,\x1c7\n")
    with pytest.raises(InputError, match="line 2: a control character stands beside a digit"):
        read_spectrum(str(path))


def test_an_empty_level_is_told_what_to_do_with(tmp_path):
    with pytest.raises(InputError, match="leave out the line"):
        read_spectrum(_write(tmp_path, "band_hz,level_db\n50,\n63,60\n"))
