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
    from impact.gravity import findings
    from impact.report import installation

    stops = findings.stopping(layout.held) if layout.held else []
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
        Section(said_of(layout.design.hangers, "Plan of the hangers"), (*blocks, _plan(layout))),
        *cost,
        Section("Installation sheet",
                (Sheet(installation.sheet(layout), "Installation sheet"),)),
    ))  # fmt: skip


def _plan(layout: Layout) -> Picture:
    from impact.report.drawing import draw_plan
    from impact.report.drawing_shapes import plan_size

    along, across = plan_size(layout.design)

    def draw(figure: Figure) -> None:
        ax = figure.subplots()
        draw_plan(layout, ax)
        ax.legend(loc="upper center", bbox_to_anchor=(0.5, -0.01), ncols=3, fontsize=6.5)

    tall = float(np.clip(6.3 * across / along + 0.9, 2.8, 8.4))
    points = said_of(layout.design.hangers, f"{len(layout.placement.points)} numbered hangers")
    return Picture(draw, 6.9, tall, f"Reflected ceiling plan: {points}, channels, joist "
                   "lines, dimensions from the west and south walls. The sheet below lists "
                   "every place.", wide=True)  # fmt: skip
