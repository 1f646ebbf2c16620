"""`impact layout`: place the hangers, draw plan and section, write the installation sheet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from impact.cli import options

if TYPE_CHECKING:
    from impact.design.parts import Design
    from impact.design.placing import Placement
    from impact.study.layout import Layout

    Loads = Callable[[Design, Placement], Sequence[float]]

FORMATS = ("svg", "pdf", "png", "dxf")
MARKER = "written by impact layout"  # stands in every file; without it a file is not replaced


@click.command()
@options.design
@click.option(
    "-o", "--output", metavar="STEM",
    help="Begin the file names with STEM, which may name a folder. [default: the design's name, "
    "in this folder]",
)  # fmt: skip
@click.option(
    "--units", type=click.Choice(["metric", "imperial"]), help="Instead of the design's own units."
)
@click.option(
    "--formats", metavar="LIST",
    help="Drawings to write, from svg,pdf,png,dxf. [default: all that can be written here]",
)  # fmt: skip
def layout(design: str, output: str | None, units: str | None, formats: str | None) -> None:
    """Place the hangers of DESIGN on its joists and draw the ceiling.

    Writes STEM_layout.svg, .pdf, .png and .dxf (plan with joists, channels, numbered hangers and
    dimensions from two walls; section with every layer) and STEM_installation.txt (steps, hold
    points, screws, cutting list, quantities). Running it again replaces these files; a file of that
    name which it did not write itself is left alone.

    \b
    Example:
      impact layout my_room.toml --units imperial --formats pdf,dxf
    """
    from dataclasses import replace

    from impact.design.reader import read

    wanted = chosen(formats)
    plan = read(design)
    if units:
        plan = replace(plan, units=units)
    run(plan, output or Path(design).stem, wanted, explicit=formats is not None,
        loads_of=at_rest)  # fmt: skip


def at_rest(design: Design, placement: Placement) -> list[float]:
    """Load on every hanger [N] from the elastic stack at rest."""
    from impact import gravity

    found = gravity.loads(design, placement, coupled=False)
    return [hanger.load for hanger in found.hangers]


def chosen(formats: str | None) -> tuple[str, ...]:
    """The formats of a comma list, each once; InputError for an unknown one."""
    from impact.errors import Fault, InputError

    if formats is None:
        return FORMATS
    names = tuple(dict.fromkeys(name.strip().lower() for name in formats.split(",")))
    wrong = [name for name in names if name not in FORMATS]
    if wrong:
        what = f"'{wrong[0]}' cannot be written; choose from {', '.join(FORMATS)}"
        raise InputError("--formats", [Fault("formats", what)])
    return names


def run(
    design: Design, stem: str, formats: Sequence[str] = FORMATS, *, explicit: bool = True,
    loads_of: Loads | None = None,
) -> Layout:  # fmt: skip
    """Lay out `design`, write its files, say what was written and found.

    loads_of : function of (design, placement) to the load on every hanger [N]; None leaves the
    loads unchecked, and every output says so. explicit : whether the formats were asked for by
    name, so that one which cannot be written here is an error and not a remark.
    """
    from impact.design.placing import place
    from impact.report import drawing_dxf
    from impact.study.layout import lay_out

    remarks = []
    if "dxf" in formats and not explicit and not drawing_dxf.available():
        formats = [name for name in formats if name != "dxf"]
        remarks.append("DXF not written; for it: pip install ezdxf")
    names = targets(stem, formats)
    placement = place(design)
    made = lay_out(design, placement, loads_of(design, placement) if loads_of else None)
    _write(made, names)
    for line in [*_summary(made), *remarks]:
        click.echo(line)
    return made


def targets(stem: str, formats: Sequence[str]) -> dict[str, Path]:
    """Format -> file, all checked: writable, and new or written by this command before.

    Raises InputError naming every file that may not be replaced.
    """
    from impact.base.files import check_target
    from impact.errors import Fault, InputError

    names = {name: Path(f"{stem}_layout.{name}") for name in formats}
    names["txt"] = Path(f"{stem}_installation.txt")
    faults: list[Fault] = []
    for path in names.values():
        try:
            check_target(path)
        except InputError as error:
            faults += [Fault(str(path), fault.what) for fault in error.faults]
            continue
        if path.exists() and MARKER.encode() not in path.read_bytes():
            what = "was not written by this command and is not replaced; move it or use -o"
            faults.append(Fault(str(path), what))
    if faults:
        raise InputError("layout", faults)
    return names


def _write(made: Layout, names: dict[str, Path]) -> None:
    from functools import partial

    from impact import __version__
    from impact.base.files import write_whole
    from impact.report import drawing, drawing_dxf, installation, style

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


def _summary(made: Layout) -> list[str]:
    from impact.base.cautions import CAUTIONS
    from impact.base.units import show
    from impact.study.layout import verdict

    placement, hangers = made.placement, made.design.hangers
    lines = [
        f"{len(placement.points)} hangers on {len(placement.channels)} channel lines, "
        f"{len(made.pieces)} pieces of channel"
    ]
    broken = [finding for finding in made.findings if finding.kind == "broken"]
    lines.append(f"RULES BROKEN: {len(broken)}" if broken else "all placing rules kept")
    for finding in [*broken, *(f for f in made.findings if f.kind == "note")]:
        lines.append(f"  {finding.kind}: {finding.rule}: {finding.text}")
    if made.loads and hangers is not None:
        units = made.design.units
        low, high = (show(pick(made.loads), "force", units) for pick in (min, max))
        lines.append(f"load on a hanger at rest: {low} to {high}")
        words = [verdict(hangers, load) for load in made.loads]
        for word in ("low", "high"):
            if word in words:
                lines.append(f"  hangers with a load too {word}: {words.count(word)}")
    elif hangers is not None:
        lines.append("loads not checked")
    return [*lines, *CAUTIONS]
