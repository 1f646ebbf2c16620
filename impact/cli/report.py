"""`impact report`: one page for client, engineer and contractor, as HTML and as PDF."""

from __future__ import annotations

from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING

import click

from impact.cli import options

if TYPE_CHECKING:
    from impact.design.parts import Design
    from impact.report.page_blocks import Sound
    from impact.site.tolerance import Tolerance

SEED = 1  # of the sounds' steps


@click.command()
@options.design
@click.option(
    "--against", "against", multiple=True, type=click.Path(), metavar="OTHER...",
    help="Set other designs beside it; several may follow.",
)  # fmt: skip
@click.argument("more", metavar="", nargs=-1, type=click.Path())
@options.stem
@click.option(
    "--sound", is_flag=True,
    help="Put footsteps to listen to into the page; takes longer and adds 2 MB or more.",
)  # fmt: skip
@click.option(
    "--faults", is_flag=True,
    help="Add what faults of building would cost DESIGN; takes some 10 seconds longer.",
)  # fmt: skip
def report(
    design: str, against: tuple[str, ...], more: tuple[str, ...], output: str | None, sound: bool,
    faults: bool,
) -> None:  # fmt: skip
    """Write a report on DESIGN: STEM.html and STEM.pdf.

    One page for the client (will steps be heard, how sure is that, what does it cost), then the
    engineer's part (inputs, section, spectra, resonances, ratings, loads) and the contractor's
    (plan, installation sheet). The page needs no network and no other file. Running it again
    replaces both files; a file of that name which it did not write itself is left alone.

    \b
    Examples:
      impact report my_room.toml
      impact report my_room.toml --faults
      impact report my_room.toml --against softer.toml deeper.toml -o for_client
    """
    if more and not against:
        raise click.UsageError("Give one DESIGN; others follow --against.")
    stem = options.beginning(output, design)
    if output and output.lower().endswith((".html", ".pdf")):  # both are written, whichever it is
        stem = stem.rpartition(".")[0]
    page, paper = _targets(stem)
    from impact.chain import predict
    from impact.design.reader import read
    from impact.report import style

    plans = [read(path) for path in (design, *against, *more)]
    loading = Thread(target=style.load)  # while the prediction leaves a core free at times
    loading.start()
    first, *others = [predict(plan) for plan in plans]
    cost = _faults(plans[0]) if faults else None
    loading.join()

    from impact.base.files import write_whole
    from impact.report import pdf
    from impact.report.page import document, html

    sounds: tuple[Sound, ...] = ()
    if sound:
        from impact.report.page_sound import players

        sounds = players(first, others, SEED)
    made = document(first, others, sounds, SEED if sound else None, cost)
    write_whole(page, html(made))
    click.echo(f"wrote {page}")
    sheets = pdf.pages(made)
    write_whole(paper, lambda path: pdf.save(made, path, sheets))
    click.echo(f"wrote {paper}")
    options.tell_boxes(line.text for sheet in sheets for line in sheet.lines)


def _faults(design: Design) -> Tolerance:
    """What faults would cost the design."""
    from impact.report.page_engineer import FAULT_SEED
    from impact.site.tolerance import tolerance

    return tolerance(design, FAULT_SEED)


def _targets(stem: str) -> tuple[Path, Path]:
    """The two files, checked; InputError names each that may not be written."""
    from impact.errors import InputError
    from impact.report.page_blocks import MARKER

    names = (Path(f"{stem}.html"), Path(f"{stem}.pdf"))
    faults = options.not_ours(names, MARKER)
    if faults:
        raise InputError("impact report", faults)
    return names
