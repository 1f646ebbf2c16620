"""Parts of the answer: what feet feel, and what a meter shows in a small room."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from impact.heard import strikes
from impact.report.bandtable import bare_name
from impact.report.lines import heading, wrapped

if TYPE_CHECKING:
    from impact.chain import Prediction

FIRST = 40  # letters of the first column
PROCEDURE = (
    ("usual_db", "usual places"), ("corner_db", "loudest corner"),
    ("procedure_db", "(corner + 2 usual)/3"), ("LnT_db", "L'nT of it"),
)  # fmt: skip


def felt(prediction: Prediction) -> list[str]:
    """Response factors and timber floor checks, bare and with the ceiling; nothing without them."""
    feel = prediction.extras.get("feel")
    if feel is None:
        return []
    lines = heading("What feet feel on the floor above")
    lines.append(f"{'':<{FIRST}}{bare_name(prediction):>17}{'this ceiling':>15}")
    for source, walked in feel["walkers"].items():
        label = f"R, {strikes.SOURCES[source].label}"
        lines.append(_row(f"{label}, over the floor", walked, "response_factor_floor", ".0f"))
        lines.append(_row(f"{label}, beside the foot", walked, "response_factor_foot", ".0f"))
    timber = feel["timber"]
    if timber is not None:
        for key, name, form in (
            ("f1", "f1, along the span alone [Hz]", ".1f"),
            ("velocity", "v of a unit impulse [m/(N s2)]", ".4f"),
            ("velocity_limit", "  limit that goes with f1", ".4f"),
            ("deflection", "deflection under 1 kN [mm]", ".2f"),
        ):
            lines.append(_row(name, timber, key, form))
    if feel.get("left_out"):
        lines += wrapped(feel["left_out"])
    lines += wrapped(_meaning(feel["factors"]))
    if feel.get("timber_left_out"):
        lines += wrapped(feel["timber_left_out"])
    return lines + (wrapped(_clause(prediction, timber)) if timber is not None else [])


def small_room(prediction: Prediction) -> list[str]:
    """The low-frequency procedure of ISO 16283-2; nothing in rooms that do not take it."""
    room = prediction.extras.get("small_room")
    if room is None:
        return []
    lines = heading("Tapping machine in this small room, as ISO 16283-2 measures it")
    lines.append(f"{'dB':<{FIRST}}" + "".join(f"{band:>9g} Hz" for band in room["bands_hz"]))
    for case, name in (("bare", bare_name(prediction)), ("ceiling", "this ceiling")):
        for key, what in PROCEDURE:
            cells = "".join(f"{value:>12.1f}" for value in room[case][key])
            lines.append(f"{name + ', ' + what:<{FIRST}}{cells}")
    return lines + wrapped("Below 25 m3 the standard asks for it at 50, 63 and 80 Hz.")


def _row(name: str, both: dict[str, Any], key: str, form: str) -> str:
    bare, ceiling = (format(both[case][key], form) for case in ("bare", "ceiling"))
    return f"{name:<{FIRST}}{bare:>17}{ceiling:>15}"


def _meaning(factors: dict[str, float]) -> str:
    return (
        "R: vibration while somebody walks over the base curve of ISO 10137, where it begins to be "
        f"felt; dwellings {factors['residence, day']:g} by day and "
        f"{factors['residence, night']:g} by night for vibration that lasts (from memory). Light "
        "floors under steps lie far above."
    )


def _clause(prediction: Prediction, timber: dict[str, Any]) -> str:
    one = timber["bare"]
    design = prediction.design
    fill = design.cavity.fill
    if design.independent is None:
        on = f"the whole ceiling's mass{' and its fill' if fill else ''} on the joists"
    else:
        held = " but the fill between them" if fill and not fill.on_boards else ""
        on = f"nothing of the new ceiling on these joists{held}, as it has its own"
    text = (
        f"f1, v and deflection after {one['clause']}, damping 1 %, {on}; "
        "f1 is that of a beam, where the resonances above count the deck across the joists too; "
        "deflection to be set beside a national limit of 0.5 to 4 mm (the limit of v is for "
        f"{one['deflection_limit']:g} mm)."
    )
    if not all(each["applies"] for each in timber.values()):
        text += " Below f1 = 8 Hz the clause asks for a special investigation."
    return text
