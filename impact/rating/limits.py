"""Limits by country and how far a result lies from them: a margin in dB, never a verdict."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

# What a limit may speak of, as printed. "in the building" quantities hold for field levels only.
QUANTITIES: dict[str, str] = {
    "Ln_w": "Ln,w (laboratory)",
    "Ln_w_field": "L'n,w",
    "LnT_w": "L'nT,w",
    "Ln_w+CI_50_2500": "Ln,w + CI,50-2500 (laboratory)",
    "LnT_w+CI_50_2500": "L'nT,w + CI,50-2500",
    "IIC": "IIC (laboratory)",
    "NISR": "NISR (field)",
}
MEMORY_MARK = "from memory"


@dataclass(frozen=True)
class Limit:
    """One row of limits.toml; `value` in dB (or points of a class), fields as explained there."""

    country: str
    document: str
    clause: str
    date: str
    quantity: str
    sense: str
    value: float
    force: str
    what: str
    source: str
    read: str

    @property
    def verified(self) -> bool:
        """False when the number comes from memory."""
        return self.read != MEMORY_MARK

    def margin(self, result: float) -> float:
        """How far `result` is on the good side [dB]; negative on the bad one."""
        return result - self.value if self.sense == "at least" else self.value - result


@dataclass(frozen=True)
class Margin:
    """A limit, the result held against it and the distance on the good side [dB]."""

    limit: Limit
    result: float
    margin_db: float


@cache
def read_limits() -> tuple[Limit, ...]:
    """All limits of the data file, in its order. Raises ValueError for a row without sense."""
    text = files("impact.rating").joinpath("limits.toml").read_text(encoding="utf-8")
    limits = tuple(Limit(**row) for row in tomllib.loads(text)["limit"])
    for limit in limits:
        if limit.quantity not in QUANTITIES or limit.sense not in ("at most", "at least"):
            raise ValueError(f"limits.toml: {limit.country}, {limit.clause}: quantity or sense")
    return limits


def margins(results: Mapping[str, float | None]) -> list[Margin]:
    """Margins of each limit whose quantity is in `results` (name of QUANTITIES -> dB or None)."""
    found = []
    for limit in read_limits():
        result = results.get(limit.quantity)
        if result is not None:
            found.append(Margin(limit, result, limit.margin(result)))
    return found
