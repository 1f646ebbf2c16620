"""The table of hangers on the installation sheet: places, loads, and what a ruler must show."""

from __future__ import annotations

from collections.abc import Iterable

from impact.base.units import show
from impact.design import fixings
from impact.design.axes import shown_place
from impact.design.fixings import said_of
from impact.design.parts import Hangers
from impact.gravity.parts import ABOVE, BELOW, Hanger, deflection
from impact.report.lines import wrapped
from impact.study.layout import READING, SAME_DEFLECTION, Layout
from impact.study.layout_rules import at

WORDS = {BELOW: " LOW", ABOVE: " HIGH"}


def bullets(texts: Iterable[str]) -> list[str]:
    """Each text as a paragraph with a dash before it."""
    return [line for text in texts for line in wrapped(text, "  - ")]


def sinks(layout: Layout) -> bool:
    """Whether deflections under load are known and large enough to be read."""
    return bool(layout.deflections) and fixings.yields(layout.design.hangers)


def table(layout: Layout) -> list[str]:
    """Head, a row for every hanger, and how it is read; empty for joists of its own."""
    design = layout.design
    units, hangers, held = design.units, design.hangers, layout.held
    if hangers is None:
        return []
    soft, on_joists = sinks(layout), bool(layout.placement.joists)
    head = "  no.     from west    from south" + (" joist" if on_joists else "")
    head += "      load" if held else "   (loads not checked)"
    head += "  moves by   ruler shows" if soft else ""
    found = [head]
    for i, point in enumerate(layout.placement.points):
        x, y = shown_place(design, *point)
        joist = layout.placement.joist_of_point[i]
        row = f"  {i + 1:3}{at(x, units):>14}{at(y, units):>14} "
        row += f"{joist + 1 if joist >= 0 else '-':>5}" if on_joists else ""
        if held:
            row += f"{show(held.hangers[i].load, 'force', units):>10}"
            row += _moved(held.hangers[i], units) if soft else ""
            row += WORDS.get(held.hangers[i].verdict, "")
        found.append(row)
    after = _after_loading(layout, hangers) if soft else []
    if any(word in WORDS for word in layout.verdicts):
        after += bullets(
            ["LOW or HIGH: outside the rated loads. Do not build before it is mended."]
        )
    return found + (["", *after] if after else [])


def _moved(hanger: Hanger, units: str) -> str:
    moves = hanger.by_boards
    slack = max(SAME_DEFLECTION * moves, READING)
    least = deflection(max(moves - slack, 0.0), units).split()[0]
    span = f"{least}-{deflection(moves + slack, units)}"
    return f"{deflection(moves, units):>10}{span:>15}"


def _after_loading(layout: Layout, hangers: Hangers) -> list[str]:
    units, whole = layout.design.units, max(layout.deflections)
    assert layout.held is not None
    moves = max(each.by_boards for each in layout.held.hangers)
    texts = [
        "'load' is all that a hanger bears in the end. 'moves by' is how much farther it gives from"
        " the channels alone to all boards, in the warm, soon after, before lamps and the like"
        f" hang; the range is {100 * SAME_DEFLECTION:.0f} % to either side, at least "
        f"{deflection(READING, units)}."
    ]
    if hangers.creep_factor > 1:
        texts.append(
            f"Over the years all that it moves, {deflection(whole, units)} at most under its whole "
            f"load, grows to about {hangers.creep_factor:.3g} times: "
            f"{deflection(whole * hangers.creep_factor, units)}."
        )
    if hangers.cold_factor > 1:
        texts.append(
            f"Hung in the cold, {hangers.cold_factor:.3g} times as stiff, it moves that much less "
            "at first."
        )
    if moves < 0.002:
        texts.append("These movements are small for a ruler; use a feeler gauge or a dial gauge.")
    return bullets(said_of(hangers, text) for text in texts)
