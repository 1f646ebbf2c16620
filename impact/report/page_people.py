"""The engineer's tables of people on the floor above: how they sound below, what feet feel."""

from __future__ import annotations

from typing import TYPE_CHECKING

from impact.base import bands
from impact.report.bandtable import SHORT, hung
from impact.report.page_blocks import Answer, Block, Runs, Table

if TYPE_CHECKING:
    from impact.chain import Prediction


def above(prediction: Prediction, answer: Answer) -> tuple[Block, ...]:
    """What people above sound like below: levels of a step, and its regions over what is heard."""
    people = answer.get("people") or {}
    names = (
        ("LAFmax_bare_db", "LAFmax, bare"), ("LAFmax_db", "LAFmax, ceiling"),
        ("LAFmax_median_db", "LAFmax, median"), ("LAFmax_90_percent_db", "LAFmax, 90 %"),
        *([("LAFmax_best_case_db", "LAFmax, best")] if hung(prediction) else []),
        ("LAE_db", "LAE of a step"),
    )  # fmt: skip
    body: list[tuple[Runs, ...]] = [
        ((label,), *((answer.value(f"people.{who}.{key}"),) for who in people))
        for key, label in names
    ]
    for region in bands.REGIONS:
        for key, label in (("over_threshold_and_background_db", "over what can just be heard"),
                           ("change_db", "change as heard")):  # fmt: skip
            sign = key == "change_db"
            cells: tuple[Runs, ...] = tuple(
                (answer.value(f"people.{who}.bars.{region}.{key}", 1, sign),) for who in people
            )
            body.append(((f"{region}, {label}",), *cells))
    heads = [SHORT.get(who, who) for who in people]
    caption = "dB; 90 %: of steps and places of the foot. LAE: A-weighted exposure of one step."
    return (Table(("", *heads), tuple(body), caption, numeric=True, small=True),)


def felt(answer: Answer) -> tuple[Block, ...]:
    """Response factors while somebody walks, and a timber floor's check by EN 1995."""
    rows: list[tuple[Runs, ...]] = []
    for source in answer.get("feel.walkers"):
        for key, where in (("response_factor_floor", "over the floor"),
                           ("response_factor_foot", "beside the foot")):  # fmt: skip
            cells = (answer.value(f"feel.walkers.{source}.{case}.{key}", 0)
                     for case in ("bare", "ceiling"))  # fmt: skip
            rows.append(((f"R, {SHORT.get(source, source)}, {where}",), *((c,) for c in cells)))
    if answer.get("feel.timber"):
        for key, name, digits in (
            ("f1", "f1, along the span alone [Hz]", 1),
            ("velocity", "v of a unit impulse [m/(N s2)]", 4),
            ("velocity_limit", "limit that goes with f1", 4),
            ("deflection", "deflection under 1 kN [mm]", 2),
        ):  # fmt: skip
            cells = (answer.value(f"feel.timber.{case}.{key}", digits)
                     for case in ("bare", "ceiling"))  # fmt: skip
            rows.append(((name,), *((c,) for c in cells)))
    clause = answer.get("feel.timber.bare.clause")
    caption = "R: response factor, ISO 10137 base curve." + (
        f" Timber: {clause}." if clause else ""
    )
    for key in ("feel.timber_left_out", "feel.left_out"):
        if answer.get(key):
            caption += f" {answer.get(key)}"
    return (Table(("", "bare", "ceiling"), tuple(rows), caption, numeric=True, small=True),)
