"""How a prediction was computed: modes, energy, how far they differ, a standard's formulas; and
what floors like it were checked against."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from impact.advice import evidence, target
from impact.base import bands
from impact.design.fixings import called
from impact.heard import standard, strikes
from impact.report.bandtable import bare_name, hung
from impact.report.lines import heading, signed, wrapped

if TYPE_CHECKING:
    from impact.chain import Prediction

LIMITS_OF_TABLE = (
    "Below 100 Hz a level is uncertain by about 5 dB or more (judgement, no source), and it "
    "changes by several dB from place to place. People walk differently; workmanship is not "
    "covered. Meeting a code does not mean that steps are inaudible."
)


def methods(prediction: Prediction) -> list[str]:
    """Where modes hand over to energy, and what the two differ by there."""
    joined = prediction.joined
    three = bands.NOMINAL[joined.crossover - 1 : joined.crossover + 2]
    lines = heading("How it was computed")
    held = f", {called(prediction.design.hangers)}" if hung(prediction) else ""
    lines += wrapped(
        f"Modes of floor, air{held} and ceiling below {three[0]:g} Hz, energy balance above "
        f"{three[2]:g} Hz, blended in between. Energy minus modes, unblended, dB:"
    )
    lines.append(f"{'':<18}" + "".join(f"{f'{band:g} Hz':>9}" for band in three))
    for name, case in (("bare", bare_name(prediction)), ("design", "this ceiling"),
                       ("best", "perfect hangers")):  # fmt: skip
        if name in joined.mismatch_db and (name != "best" or hung(prediction)):
            cells = "".join(f"{signed(float(x), 1):>9}" for x in joined.mismatch_db[name])
            lines.append(f"{case:<18}{cells}")
    for text in (*shared_modes(prediction), *by_formulas(prediction), LIMITS_OF_TABLE):
        lines += wrapped(text)
    lines += heading("What floors like this were checked against")
    return lines + [line for text in checked(prediction) for line in wrapped(text, "- ")]


def checked(prediction: Prediction) -> list[str]:
    """What is published of floors like this, ours beside it, a text each; and what is not."""
    found, without = evidence.of(prediction.design)
    return [*map(_check, found), *without]


def _check(one: dict[str, Any]) -> str:
    if "differences" in one:
        off = f"{target.named(one['quantity'])} {', '.join(map(signed, one['differences']))}"
    else:
        off = (
            f"{one['quantity']}, {signed(one['mean_db'], 1)} dB in the mean, "
            f"{one['mean_absolute_db']:.1f} dB either way, {signed(one['worst_db'], 1)} dB at "
            f"most, at {one['worst_hz']:g} Hz"
        )
    text = f"{one['floor'].capitalize()} ({one['source']}). Ours minus theirs: {off}."
    return f"{text} {one['remark']}" if "remark" in one else text


def shared_modes(prediction: Prediction) -> list[str]:
    """Of a slab on which nothing floats: what both methods have in common, a text; else none."""
    floor = prediction.design.floor
    if floor.slab is None or any(layer.mat for layer in floor.layers):
        return []
    return [
        "Both know the slab's own modes there, and so agree on it without a ceiling; what they "
        "differ by is ceiling, air and hangers."
    ]


def by_formulas(prediction: Prediction) -> list[str]:
    """A slab by the closed formulas of the standard beside what is predicted, a text; else none."""
    found = prediction.slab_formulas
    if found is None:
        return []
    beside = prediction.bare[strikes.TAPPING][standard.FIRST :] - found.level
    worst = int(np.argmax(np.abs(beside)))
    text = (
        f"{bare_name(prediction).capitalize()} by the closed formulas of ISO 12354-2:2017, Annexes "
        f"B and C: Ln,w {found.ratings['Ln_w']:g}, predicted "
        f"{prediction.ratings_bare['Ln_w']:g}; thirds predicted from 50 Hz up lie "
        f"{signed(float(beside.mean()), 1)} dB from them in the mean, "
        f"{signed(float(beside[worst]), 1)} dB at most, at "
        f"{bands.named(bands.NOMINAL[standard.FIRST + worst])}. They know no modes of slab or room."
    )
    if found.resonance is not None:
        text += f" Floating floor there: f0 {found.resonance:.0f} Hz."
    return [text]
