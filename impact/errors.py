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
        return f"{self.where}: {self.what}"


class InputError(ValueError):
    """An input file cannot be used; carries every fault found. Exit code 2 at the command line."""

    def __init__(self, path: str, faults: list[Fault]) -> None:
        self.path = path
        self.faults = tuple(faults)
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        super().__init__("\n".join([f"{path}: {count}", *(f"  {fault}" for fault in faults)]))


class DesignError(InputError):
    """A design file cannot be used."""
