"""What goes wrong at the door: faults in a file, all reported at once."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One fault of an input file.

    where : key path inside the file, such as ``ceiling.layers[1].thickness``, or ``line 12``.
    what : the value as found and what is allowed instead, with a remedy.
    """

    where: str
    what: str

    def __str__(self) -> str:
        return f"{printable(self.where, 160)}: {printable(self.what, 1000)}"


def printable(text: str, most: int = 4096) -> str:
    """`text` on one line of at most `most` characters, control and invisible ones as escapes: a
    file's bytes must neither steer nor flood the terminal that shows what is wrong with them."""
    if len(text) > most:
        text = f"{text[: most // 2]} ... {text[-most // 4 :]}"
    return "".join(
        one if one.isprintable() else one.encode("unicode_escape").decode() for one in text
    )


class InputError(ValueError):
    """An input file cannot be used; carries every fault found. Exit code 2 at the command line."""

    def __init__(self, path: str, faults: list[Fault]) -> None:
        self.path = path
        self.faults = tuple(faults)
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        super().__init__(
            "\n".join([f"{printable(path)}: {count}", *(f"  {fault}" for fault in faults)])
        )


class DesignError(InputError):
    """A design file cannot be used."""
