"""The contractor's part: the plan and section of `impact layout`, and its installation sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from impact.design.fixings import said_of
from impact.report.page_blocks import Block, Paragraph, Part, Picture, Section, Sheet

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from impact.site.tolerance import Tolerance
    from impact.study.layout import Layout


def part(layout: Layout, faults: Tolerance | None = None) -> Part:
    """Plan, what faults cost where that was computed, and sheet."""
    from impact.gravity.stops import stopping
    from impact.report import installation

    stops = stopping(layout.held) if layout.held else []
    broken = [finding for finding in layout.findings if finding.kind == "broken"]
    blocks: list[Block] = [Paragraph((line,), "alarm") for line in stops]
    blocks += [
        Paragraph((f"Rule broken, {finding.rule}: {finding.text}",), "alarm") for finding in broken
    ]
    cost: tuple[Section, ...] = ()
    if faults is not None:
        from impact.report import page_faults

        cost = (page_faults.contractor(faults, layout.design.units),)
    return Part("contractor", "For the contractor", (
        Section(f"Plan of the {_held_by(layout)}", (*blocks, _plan(layout))),
        *cost,
        Section("Installation sheet",
                (Sheet(installation.sheet(layout), "Installation sheet"),)),
    ))  # fmt: skip


def _held_by(layout: Layout) -> str:
    hangers = layout.design.hangers
    return said_of(hangers, "hangers") if hangers else "ceiling's own joists"


def _plan(layout: Layout) -> Picture:
    from impact.report.drawing import draw_plan
    from impact.report.drawing_shapes import plan_size

    along, across = plan_size(layout.design)

    def draw(figure: Figure) -> None:
        ax = figure.subplots()
        draw_plan(layout, ax)
        ax.legend(loc="upper center", bbox_to_anchor=(0.5, -0.01), ncols=3, fontsize=6.5)

    tall = float(np.clip(6.3 * across / along + 0.9, 2.8, 8.4))
    design = layout.design
    shown = [said_of(design.hangers, f"{len(layout.placement.points)} numbered hangers")
             if design.hangers else "the ceiling's own joists"]  # fmt: skip
    shown += ["channels"] if layout.pieces else []
    shown += ["joist lines"] if design.floor.joists else []
    listed = " The sheet below lists every place." if design.hangers else ""
    return Picture(draw, 6.9, tall, f"Reflected ceiling plan: {', '.join(shown)}, dimensions from "
                   f"the west and south walls.{listed}", wide=True)  # fmt: skip
