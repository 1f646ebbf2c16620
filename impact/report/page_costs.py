"""What a ceiling takes, in height, load and money, and the step that helps it most, for the client.

Every number comes from the prediction's JSON or from the layout.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from impact.advice import findings as advice
from impact.base.air import GRAVITY
from impact.base.units import height_left, show
from impact.design.fixings import said_of
from impact.gravity.findings import wanted
from impact.gravity.stops import OF_HANGERS, to_mend
from impact.report.page_blocks import Answer, Run, Runs, Value
from impact.sound import hearing
from impact.study import quantities
from impact.study.layout import lay_out

if TYPE_CHECKING:
    from impact.chain import Prediction
    from impact.study.layout import Layout

HELD = {
    "within": "each hanger carries no more than its rated load",
    "above rated maximum": "some hangers carry MORE than their rated load",
    "below rated minimum": "some hangers carry too little to work well",
    "no rated load": "no rated load of the hangers is known",
    "no hangers": "the ceiling hangs on its own joists",
}
STRONGER = (
    " But the hangers would then carry more than their rated load: choose stronger ones, or more "
    "of them, first."
)


def money(layout: Layout) -> Runs:
    """The sum at the user's prices, its currency, what is not counted; empty without prices."""
    total, missing = quantities.total(layout.items)
    if total is None:
        return ()
    currency = str(layout.design.options.get("currency", ""))
    names = dict.fromkeys(name.split(":")[0] for name in missing)
    left_out = f" ({', '.join(names)} not counted)" if missing else ""
    return (Value(f"{total:,.0f}", "cost", total, "layout"), f" {currency}", left_out)


def costs(prediction: Prediction, answer: Answer, layout: Layout) -> tuple[Runs, ...]:
    """Height, weight, money and safety."""
    used = prediction.design.taken
    units = prediction.design.units
    height: list[Run] = [
        "Height: it takes ", Value(show(used, "length", units), "height_used_m", used, "design"),
    ]  # fmt: skip
    items: list[Runs] = []
    if answer.get("loads"):
        height += [" and leaves ", answer.worded("loads.headroom.lowest_m", height_left),
                   _where(answer)]  # fmt: skip
        least = answer.get("loads.headroom.minimum_m")
        if least is not None:
            enough = answer.get("loads.headroom.lowest_m") >= least - 1e-9
            asked = answer.worded("loads.headroom.minimum_m", wanted)
            height += [f", {'no less' if enough else 'LESS'} than the ", asked, " you asked for"]
        weighs = answer.quantity("loads.weight_n", "mass", 1 / GRAVITY)  # in kg, not in newtons
        weight: list[Run] = ["Weight: it weighs ", weighs]
        if answer.get("loads.own_joists"):
            weight += [" and rests on joists of its own."]
        else:
            added = answer.quantity("loads.floor.added_kg_m2", "mass per area")
            fill = ", the fill counted," if answer.get("loads.floor.fill_kg_m2") else ""
            weight += [f"; the floor above{fill} has ", added, " more to carry."]
        items.append(tuple(weight))
    items.insert(0, (*height, "."))
    cost = money(layout)
    items.append(("Money: ", *cost, " at the prices given.") if cost
                 else ("Money: no prices were given, so no sum is shown.",))  # fmt: skip
    held = said_of(prediction.design.hangers, _held(answer))
    items.append((f"Safety: {held}. A ceiling that falls can kill: have a licensed engineer check "
                  "it.",))  # fmt: skip
    return tuple(items)


def _where(answer: Answer) -> str:
    """Where the least height is, unless it is below the ceiling itself."""
    places = answer.get("loads.headroom.places") or {}
    lowest = answer.get("loads.headroom.lowest_m")
    return next((f" below '{name}'" for name, height in places.items() if height <= lowest), "")


def _held(answer: Answer) -> str:
    """The load check in a client's words."""
    verdict = answer.get("loads.verdict")
    if verdict is None:
        return "nobody has checked the loads yet"
    text = HELD.get(verdict, f"hangers: {verdict}")
    fragile = answer.get("loads.lost_hanger.cannot_lose_one")
    joint = "but" if verdict == "within" else "and"
    if fragile:
        text += f", {joint} if one is lost, others carry too much"
    codes = [finding["code"] for finding in answer.get("loads.findings") or []]
    more = to_mend(codes, but=OF_HANGERS)
    return f"{text}; to be mended first: {more}" if more else text


def next_step(prediction: Prediction, answer: Answer, layout: Layout) -> Runs:
    """The cheapest step that is noticed, or the largest of those that are not."""
    levers = answer.get("levers") or []
    useful = [i for i, lever in enumerate(levers) if lever["gain_db"] >= 0.5]
    if not useful:
        return ("No change of this ceiling gains much. Look at the floor above: carpet for the "
                "click, more weight for the thud.",)  # fmt: skip
    noticed = [i for i in useful if levers[i]["gain_db"] >= hearing.NOTICED]
    extra = {
        i: None if levers[i]["kind"] == "mass" and _overloads(answer)  # and stronger hangers
        else extra_cost(prediction, layout, levers[i]["kind"]) for i in noticed or useful
    }  # fmt: skip
    known = [(cost, i) for i, cost in extra.items() if cost is not None]
    best = min(known)[1] if noticed and known else (noticed or useful)[0]
    gain = answer.value(f"levers[{best}].gain_db", 1)
    runs: list[Run] = []
    if noticed:
        how = "The cheapest step that would be noticed" if known else "The step that gains most"
        runs = [f"{how}: {levers[best]['change']}. It takes ", gain, " dB off the thud"]
    else:
        runs = ["No single step gains enough to be noticed by itself. The largest is: ",
                f"{levers[best]['change']}. It takes ", gain, " dB off the thud"]  # fmt: skip
    cost = extra[best]
    if cost is not None:
        currency = layout.design.options.get("currency", "")
        runs += [" and costs ", Value(f"{cost:,.0f}", f"extra.{best}", cost, "layout"),
                 f" {currency} more"]  # fmt: skip
    return (*runs, ".", hitch(prediction, answer, levers[best]["kind"]))


def hitch(prediction: Prediction, answer: Answer, kind: str) -> str:
    """What stands in the way of a lever, as a further sentence; empty where nothing does."""
    if kind == "mass" and _overloads(answer):
        return said_of(prediction.design.hangers, STRONGER)
    least, left = (answer.get(f"loads.headroom.{key}_m") for key in ("minimum", "lowest"))
    design = prediction.design
    if kind in ("depth", "mass") and least is not None and left is not None:
        then = advice.variants(design)[kind][1]
        if left - (then.taken - design.taken) < least - 1e-9:
            return " But it would leave less height than you asked for."
    if kind == "floor":
        return " But the joists must bear it: ask a licensed engineer first."
    return ""


def _overloads(answer: Answer) -> bool:
    """One more layer loads a hanger above its rating, whatever margin is asked for."""
    most, then = answer.get("loads.rated_maximum_n"), answer.get("loads.margin.one_more_layer_n")
    return bool(most and then is not None and then > most)


def extra_cost(prediction: Prediction, layout: Layout, kind: str) -> float | None:
    """What a lever costs more at the user's prices; None where a price is not known.

    Softer hangers, a heavier floor and taking a ceiling down have no price in a design, nor have
    the stronger hangers that one more layer may need.
    """
    changed = advice.variants(prediction.design).get(kind)
    if changed is None or kind in ("stiffness", "floor", "old ceiling"):
        return None
    changed_items = lay_out(changed[1]).items
    now, _ = quantities.total(layout.items)
    then, _ = quantities.total(changed_items)
    if now is None or then is None or _unpriced(layout.items) != _unpriced(changed_items):
        return None
    return then - now


def _unpriced(items: tuple[quantities.Item, ...]) -> dict[str, float]:
    """What must be bought without a price, by kind; screws are left out as small change."""
    found: dict[str, float] = {}
    for item in items:
        kind = item.name.split(":")[0]
        if item.cost is None and kind != "screw":
            found[kind] = found.get(kind, 0.0) + item.count
    return found
