"""How far a prediction lies from what the designer wants: a margin in dB, never a verdict."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from impact.base import bands
from impact.design.parts import Target
from impact.rating import limits, summary

# A rating that is a sum of others -> the keys that are summed (ISO 717-2:2020 A.2.2: Ln,w + CI).
SUMS: dict[str, tuple[str, ...]] = {
    "Ln_w_CI": ("Ln_w", "CI"),
    "Ln_w_CI_50_2500": ("Ln_w", "CI_50_2500"),
    "LnT_w_CI": ("LnT_w", "CI"),
    "LnT_w_CI_50_2500": ("LnT_w", "CI_50_2500"),
}

# Ratings of a building, walls and all (`impact.rating.onsite.field_ratings`).
ON_SITE = ("LnT_w", "LnT_w_CI", "LnT_w_CI_50_2500", "AIIC", "NISR", "ISR", "HIR", "LIR")


def named(quantity: str) -> str:
    """A rating by its symbol, "Ln,w + CI" for "Ln_w_CI"; any other name as it stands."""
    symbols = {
        "LAFmax": "LAFmax of the loudest walker",
        "LnT_w": limits.QUANTITIES["LnT_w"],
        **{row.key: row.symbol for row in summary.ROWS},
    }
    return " + ".join(symbols.get(key, key) for key in SUMS.get(quantity, (quantity,)))


def of_bands(target: Target) -> bool:
    """Whether levels in bands are enough for its quantity, and those of a ceiling alone."""
    known = {row.key for row in summary.ROWS}
    parts = SUMS.get(target.quantity, (target.quantity,))
    return target.band_hz is not None or known.issuperset(parts)


def from_100(target: Target) -> bool:
    """Whether it is a rating by a contour from 100 Hz up, of the tapping machine."""
    return target.quantity in ("Ln_w", "IIC", "HIIC")


def result(target: Target, ratings: Mapping[str, Any], levels: Mapping[str, Any]) -> float | None:
    """Predicted value of the quantity that `target` names [dB or points]; None if not predicted.

    ratings : as `impact.rating.summary.rate` returns. levels : source -> (28,) [dB].
    """
    if target.band_hz is not None:
        level = levels.get(target.quantity)
        return None if level is None else float(level[bands.index(target.band_hz)])
    parts = [ratings.get(key) for key in SUMS.get(target.quantity, (target.quantity,))]
    if any(part is None for part in parts):
        return None
    return float(sum(part for part in parts if part is not None))


def margin(target: Target, value: float | None) -> float | None:
    """Distance of `value` on the good side of the limit [dB or points]; negative on the bad one."""
    if value is None:
        return None
    return value - target.limit if target.sense == "at least" else target.limit - value


def against(
    target: Target | None,
    cases: Mapping[str, tuple[Mapping[str, Any], Mapping[str, Any]]],
) -> dict[str, Any] | None:
    """Target with value and margin of each case, as JSON carries it; None without a target.

    cases : name, such as "ceiling" or "best_case" -> (ratings, levels).
    """
    if target is None:
        return None
    values = {name: result(target, *case) for name, case in cases.items()}
    return {
        "quantity": target.quantity,
        "sense": target.sense,
        "limit": target.limit,
        "band_hz": target.band_hz,
        "predicted": values,
        "margin_db": {name: margin(target, value) for name, value in values.items()},
    }
