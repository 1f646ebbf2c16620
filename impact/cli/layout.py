"""`impact layout`: place the hangers, draw plan and section, write the installation sheet."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from impact.cli import options

if TYPE_CHECKING:
    from impact.design.parts import Design
    from impact.study.layout import Layout

FORMATS = ("svg", "pdf", "png", "dxf")
MARKER = "written by impact layout"  # stands in every file; without it a file is not replaced


@click.command()
@options.design
@options.stem
@options.units(None, "Units of the drawings. [default: the design's]")
@click.option(
    "--drawings", metavar="LIST",
    help="Drawings to write, from svg,pdf,png,dxf. [default: all that can be written here]",
)  # fmt: skip
def layout(design: str, output: str | None, units: str | None, drawings: str | None) -> None:
    """Place the hangers or fixings of DESIGN on its joists and draw the ceiling.

    Writes STEM_layout.svg, .pdf, .png and .dxf (plan with joists, channels, numbered hangers and
    dimensions from two walls; section with every layer) and STEM_installation.txt (steps, hold
    points, screws, cutting list, quantities). Running it again replaces these files; a file of that
    name which it did not write itself is left alone.

    \b
    Example:
      impact layout my_room.toml --units imperial --drawings pdf,dxf
    """
    from dataclasses import replace

    from impact.design.reader import read

    wanted = chosen(drawings)
    plan = read(design)
    if units:
        plan = replace(plan, units=units)
    run(plan, options.beginning(output, design), wanted, explicit=drawings is not None)


def chosen(drawings: str | None) -> tuple[str, ...]:
    """The formats of a comma list, each once; InputError for an unknown one."""
    from impact.errors import Fault, InputError

    if drawings is None:
        return FORMATS
    names = tuple(dict.fromkeys(name.strip().lower() for name in drawings.split(",")))
    wrong = [name for name in names if name not in FORMATS]
    if wrong:
        what = f"'{wrong[0]}' cannot be written; choose from {', '.join(FORMATS)}"
        raise InputError("impact layout", [Fault("--drawings", what)])
    return names


def run(
    design: Design, stem: str, formats: Sequence[str] = FORMATS, *, explicit: bool = True
) -> Layout:
    """Lay out `design` and check its loads, write its files, say what was written and found.

    explicit : whether the formats were asked for by name, so that one which cannot be written here
    is an error and not a remark.
    """
    from impact import gravity
    from impact.design.placing import place
    from impact.report import drawing_dxf
    from impact.study.layout import lay_out

    remarks = []
    if "dxf" in formats and not explicit and not drawing_dxf.available():
        formats = [name for name in formats if name != "dxf"]
        remarks.append("DXF not written; for it: pip install ezdxf")
    names = targets(stem, formats)
    placement = place(design)
    made = lay_out(design, placement, gravity.loads(design, placement))
    _write(made, names)
    for line in [*_summary(made), *remarks]:
        click.echo(line)
    return made


def targets(stem: str, formats: Sequence[str]) -> dict[str, Path]:
    """Format -> file, all checked; InputError names every file that may not be written."""
    from impact.errors import InputError

    names = {name: Path(f"{stem}_layout.{name}") for name in formats}
    names["txt"] = Path(f"{stem}_installation.txt")
    faults = options.not_ours(names.values(), MARKER)
    if faults:
        raise InputError("impact layout", faults)
    return names


def _write(made: Layout, names: dict[str, Path]) -> None:
    from functools import partial

    from impact import __version__
    from impact.base.files import write_whole
    from impact.report import drawing, drawing_dxf, installation, letters, style

    digest = made.design.digest[:12]
    marker = f"{MARKER} {__version__}" + (f", design {digest}" if digest else "")
    sheet: Any = None
    for name, path in names.items():
        if name == "txt":
            write_whole(path, f"{installation.sheet(made)}\n({marker})\n")
        elif name == "dxf":
            write_whole(path, partial(drawing_dxf.save, made, description=marker))
        else:
            with style.look():
                sheet = sheet or drawing.sheet(made)
            write_whole(path, partial(style.save, sheet, description=marker))
        click.echo(f"wrote {path}")
    if sheet is not None:
        options.tell_boxes([letters.written(sheet)])


def _summary(made: Layout) -> list[str]:
    from impact.design.fixings import cautions_of, many
    from impact.report.lines import wrapped

    lines = []
    if made.held is not None:
        lines.append("LOADS AT REST, a calculation and no approval")
        for line in made.held.lines_of_text():
            lines += wrapped(line, "- ", "  ")
    placement = made.placement
    line = made.held_by
    if placement.channels:
        line += (f" on {many(len(placement.channels), 'channel line')},"
                 f" {many(len(made.pieces), 'piece')} of channel")  # fmt: skip
    lines += ["", line]
    broken = [finding for finding in made.findings if finding.kind == "broken"]
    lines.append(made.rules_kept + (":" if made.findings else ""))
    for finding in [*broken, *(f for f in made.findings if f.kind == "note")]:
        lines += wrapped(f"{finding.kind}: {finding.rule}: {finding.text}", "  ", "    ")
    lines.append("")
    for caution in cautions_of(made.design):
        lines += wrapped(caution)
    return lines
