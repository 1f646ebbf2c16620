"""Numbers as JSON can carry them."""

from __future__ import annotations

import math


def finite(value: float | None, digits: int | None = 4) -> float | None:
    """`value` rounded to `digits` (None: as it is); None for what is not finite, which JSON has
    not."""
    if value is None or not math.isfinite(value):
        return None
    return float(value) if digits is None else round(float(value), digits)
