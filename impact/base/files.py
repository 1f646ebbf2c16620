"""Files at the edge of the program: read with a clear fault, written whole or not at all."""

from __future__ import annotations

import contextlib
import os
import re
import secrets
import stat
from collections.abc import Callable
from pathlib import Path

from impact.errors import Fault, InputError

READ_LIMIT = 5_000_000  # bytes; no design or spectrum file comes near


def check_target(path: str | os.PathLike[str]) -> Path:
    """Path that may be written, or InputError with the remedy. Ask before a long calculation.

    Refused: a missing folder, a folder, a symbolic link, a device or pipe, a folder without
    permission to write.
    """
    target = Path(path)
    fault = _target_fault(target)
    if fault:
        raise InputError(str(path), [Fault("output file", fault)])
    return target


def _target_fault(target: Path) -> str:
    """Why `target` cannot be written; empty when it can."""
    if not target.name or "\0" in str(target):
        return "is not a file name; name a file"
    folder = target.parent
    try:
        if not folder.is_dir():
            return f"the folder {folder} does not exist; make it first or name another"
        mode = os.lstat(target).st_mode
    except FileNotFoundError:
        mode = stat.S_IFREG
    except OSError as error:
        return f"cannot be reached ({error.strerror}); name another file"
    if stat.S_ISLNK(mode):
        return "is a symbolic link, and links are not written through; name the file itself"
    if stat.S_ISDIR(mode):
        return "is a folder; name a file in it"
    if not stat.S_ISREG(mode):
        return "is no ordinary file (device or pipe); name an ordinary file"
    if not os.access(folder, os.W_OK):
        return f"the folder {folder} may not be written to; name another"
    return ""


def write_whole(
    path: str | os.PathLike[str], content: str | bytes | Callable[[Path], object]
) -> Path:
    """Write a file so that at any moment it is either the old one or the new one.

    path : file to write. content : text (UTF-8, line ends as given), bytes, or a function that is
    called with a temporary path *with the same suffix* in the same folder and writes that.
    Returns the path. Raises InputError where `check_target` does or when the disk refuses; an
    exception of `content` passes through and leaves the old file as it was.
    """
    target = check_target(path)
    short = target.stem[:20]  # of at most four bytes a letter; names have 255
    temporary = target.with_name(f".{short}.{secrets.token_hex(6)}{target.suffix}")
    try:
        handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)  # honours umask
        with os.fdopen(handle, "wb") as file:
            if not callable(content):
                file.write(content.encode() if isinstance(content, str) else content)
        if callable(content):
            content(temporary)
        _flush(temporary)
        os.replace(temporary, target)
    except OSError as error:
        why = error.strerror or str(error)
        raise InputError(
            str(path), [Fault("output file", f"could not be written ({why}); name another")]
        ) from error
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink()
    return target


def _flush(path: Path) -> None:
    """Have the disk hold the file before its name is moved."""
    handle = os.open(path, os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def read_bytes(path: str | os.PathLike[str], limit: int = READ_LIMIT) -> bytes:
    """Content of an ordinary file of at most `limit` bytes; InputError with the remedy if not."""
    try:
        ordinary = stat.S_ISREG(os.stat(path).st_mode)
        data = _head(path, limit + 1) if ordinary else b""
    except FileNotFoundError:
        raise InputError(str(path), [Fault("file", "does not exist; check the name")]) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise InputError(str(path), [Fault("file", f"cannot be read ({why})")]) from None
    if not ordinary:
        raise InputError(str(path), [Fault("file", "is no ordinary file; name a text file")])
    if len(data) > limit:
        what = f"is larger than {limit / 1e6:g} MB; no file of this kind is, check which it is"
        raise InputError(str(path), [Fault("file", what)])
    return data


SHOWN = 20  # damaged lines named
_CONTROL = r"[\x00-\x08\x0b\x0e-\x1f\x7f]"
_DAMAGED = re.compile(rf"\d{_CONTROL}|{_CONTROL}\d")


def read_text(path: str | os.PathLike[str], limit: int = READ_LIMIT) -> str:
    """Text of a file: UTF-8 (with or without mark) or UTF-16 with its mark; line ends as '\\n'.

    Raises InputError when it is missing, a folder, larger than `limit` bytes, or not text.
    """
    data = read_bytes(path, limit)
    wide = data[:2] in (b"\xff\xfe", b"\xfe\xff")
    try:
        text = data.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError:
        text = "\0"
    if "\0" in text:
        what = "is not text in UTF-8 or UTF-16; save it as plain text (CSV or TOML)"
        raise InputError(str(path), [Fault("file", what)])
    return text.replace("\r\n", "\n").replace("\r", "\n")


def damaged_numbers(text: str) -> list[Fault]:
    """Faults of the first lines of `text` in which a control character stands beside a digit: it
    may have been a digit, and is white space to whoever reads the number."""
    found = [
        Fault(f"line {at}", "a control character stands beside a digit: damaged; export it anew")
        for at, line in enumerate(re.split(r"\r\n|\r|\n", text), start=1)
        if _DAMAGED.search(line.removesuffix("\x1a"))  # end of file, once
    ]
    return found[:SHOWN]


def _head(path: str | os.PathLike[str], size: int) -> bytes:
    """First `size` bytes."""
    with open(path, "rb") as file:
        return file.read(size)
