"""What perfect hangers would do for the thud, in words, or a ceiling that hangs on none does."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from impact.advice import findings as advice
from impact.base import bands
from impact.report.bandtable import bare_name, hung
from impact.report.lines import heading, signed, wrapped
from impact.sound import hearing
from impact.source.people import BAREFOOT

if TYPE_CHECKING:
    from impact.chain import Prediction


def best_case(prediction: Prediction) -> list[str]:
    """Thud of a barefoot walker: bare floor, this ceiling, perfect hangers where it has others, and
    what that means."""
    cases = (prediction.bare[BAREFOOT], prediction.levels[BAREFOOT], prediction.best[BAREFOOT])
    bare, now, best = (advice.heard_thud(level) for level in cases)
    what = "What hangers can do: thud" if hung(prediction) else "Thud"
    lines = heading(f"{what} of a barefoot walker, as heard")
    lines += [
        f"{bare_name(prediction):<17}{bare:5.1f} dB",
        f"this ceiling     {now:5.1f} dB  {_change(now - bare)}",
    ]
    if hung(prediction):
        lines.append(f"perfect hangers  {best:5.1f} dB  {_change(best - bare)}")
    lines += wrapped("20-80 Hz together, each band over the threshold of hearing.")
    return lines + wrapped(_reach(prediction, now, best))


def _change(change: float) -> str:
    return f"{signed(change, 1)} dB: {hearing.change_words(change)}"


def _reach(prediction: Prediction, now: float, best: float) -> str:
    background = prediction.design.room.background
    excess = hearing.audible_excess(prediction.best[BAREFOOT], background)[advice.THUD]
    most = int(np.nanargmax(excess))
    points, text = hung(prediction), ""
    if points and best > now + 0.5:
        rise = (prediction.best[BAREFOOT] - prediction.levels[BAREFOOT])[advice.THUD]
        worst = int(np.argmax(rise))
        text = (
            f"Perfect hangers would be {best - now:.1f} dB worse: without their spring the "
            f"resonances move, and {bands.NOMINAL[advice.THUD.start + worst]:g} Hz rises by "
            f"{rise[worst]:.1f} dB. "
        )
    if excess[most] <= 0:
        return text + ("With perfect hangers the thud would not be heard." if points
                       else "The thud should not be heard.")  # fmt: skip
    held = ("with these boards at this depth, perfect hangers leave" if points
            else "these boards at this depth, on joists of their own, leave")  # fmt: skip
    band = bands.NOMINAL[advice.THUD.start + most]
    return text + (
        f"A ceiling alone cannot silence the thud: {held} {excess[most]:.0f} dB over what can just "
        f"be heard at {band:g} Hz. What else helps is listed below."
    )
