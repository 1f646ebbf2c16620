"""Files are written whole or not at all, and nothing but the named file is touched."""

from __future__ import annotations

import os

import pytest

from impact.base.files import SHOWN, check_target, damaged_numbers, read_text, write_whole
from impact.errors import InputError


@pytest.mark.parametrize("content", ["text é\n", b"\x00\x01", lambda path: path.write_bytes(b"x")])
def test_writes_and_replaces(tmp_path, content):
    target = tmp_path / "result.csv"
    target.write_text("old")
    assert write_whole(target, content) == target
    expected = b"x" if callable(content) else content
    assert target.read_bytes() == (expected if isinstance(expected, bytes) else expected.encode())
    assert os.listdir(tmp_path) == ["result.csv"]


def test_a_writer_sees_the_suffix_and_another_name(tmp_path):
    seen = []
    write_whole(tmp_path / "plot.svg", lambda path: seen.append(path) or path.write_text("<svg/>"))
    assert seen[0].suffix == ".svg"
    assert seen[0].name != "plot.svg"
    assert seen[0].parent == tmp_path


def test_a_name_as_long_as_the_disk_takes(tmp_path):
    """255 bytes (POSIX NAME_MAX of usual file systems): 83 letters of three bytes and an ending."""
    name = "房" * 83 + ".toml"
    assert len(name.encode()) == 254
    write_whole(tmp_path / name, "x")
    assert os.listdir(tmp_path) == [name]


def test_a_failing_writer_leaves_the_old_file(tmp_path):
    target = tmp_path / "result.nc"
    target.write_text("old")

    def half(path):
        path.write_text("half")
        raise RuntimeError("stopped")

    with pytest.raises(RuntimeError, match="stopped"):
        write_whole(target, half)
    assert target.read_text() == "old"
    assert os.listdir(tmp_path) == ["result.nc"]


def test_a_full_disk_is_an_input_error_and_keeps_the_old_file(tmp_path):
    target = tmp_path / "result.nc"
    target.write_text("old")

    def full(path):
        raise OSError(28, "No space left on device")

    with pytest.raises(InputError, match="No space left"):
        write_whole(target, full)
    assert target.read_text() == "old"
    assert os.listdir(tmp_path) == ["result.nc"]


def test_links_are_not_written_through(tmp_path):
    precious = tmp_path / "precious.txt"
    precious.write_text("keep")
    link = tmp_path / "out.txt"
    link.symlink_to(precious)
    with pytest.raises(InputError, match="symbolic link"):
        write_whole(link, "gone")
    assert precious.read_text() == "keep"
    assert link.is_symlink()


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("", "not a file name|folder"),
        ("folder", "is a folder"),
        ("nowhere/out.txt", "does not exist"),
        ("plain.txt/out.txt", "does not exist"),
        ("pipe", "no ordinary file"),
        ("x" * 300, "cannot be reached"),
        ("a\0b", "not a file name"),
    ],
)
def test_targets_that_are_refused(tmp_path, name, word):
    (tmp_path / "folder").mkdir()
    (tmp_path / "plain.txt").write_text("")
    os.mkfifo(tmp_path / "pipe")
    before = sorted(os.listdir(tmp_path))
    for action in (check_target, lambda path: write_whole(path, "x")):
        with pytest.raises(InputError, match=word):
            action(f"{tmp_path}/{name}")
    assert sorted(os.listdir(tmp_path)) == before


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_text_comes_back_whatever_its_coding(tmp_path, encoding):
    path = tmp_path / "design.toml"
    path.write_bytes("a = '3/4 in'\r\nb = 'é'\r".encode(encoding))
    assert read_text(path) == "a = '3/4 in'\nb = 'é'\n"


def test_what_cannot_be_read(tmp_path):
    with pytest.raises(InputError, match="does not exist"):
        read_text(tmp_path / "none.toml")
    with pytest.raises(InputError, match="no ordinary file"):
        read_text(tmp_path)
    (tmp_path / "binary").write_bytes(bytes(range(256)))
    with pytest.raises(InputError, match="not text"):
        read_text(tmp_path / "binary")
    (tmp_path / "long").write_bytes(b"#" * 101)
    with pytest.raises(InputError, match="larger"):
        read_text(tmp_path / "long", limit=100)
    with pytest.raises(InputError):
        read_text("a\0b")


def test_control_characters_beside_digits_are_damage():
    """57 with its 5 damaged to FS (0x1c), which Python takes for white space, read 7; a tab, a form
    feed between pages and the mark of the end of a file (0x1a, as DOS wrote it) are none."""
    (fault,) = damaged_numbers("band_hz,level_db\r\n100,\x1c7\r\n")
    assert fault.where == "line 2"
    assert not damaged_numbers("100\t57\r\n\x0c125\t58\r160\t59\n200\t60\x1a")
    assert len(damaged_numbers("1\x7f\n" * 100)) == SHOWN
