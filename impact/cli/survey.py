"""`impact survey`: a form for the site, its way into a design file, checks before closing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from impact.cli import options

if TYPE_CHECKING:
    from impact.site.document import Document

KINDS = (".txt", ".md", ".pdf")


@click.command()
@click.argument("filled", metavar="[FILE]", type=click.Path(), required=False)
@click.option("--checklist", is_flag=True, help="Checks before closing; FILE is then a design.")
@options.output("Write into FILE: .txt, .md or .pdf, and .toml for a form turned into a design.")
@options.units("imperial", "Units of a blank form's examples.")
def survey(filled: str | None, checklist: bool, output: str | None, units: str) -> None:
    """Print a survey form, turn a filled one into a design file, or print a checklist.

    Without FILE: a blank form. With FILE, a filled form: a design file; fields that must be
    filled in and are blank are refused, all at once. With --checklist: what to check before the
    ceiling is closed, with the numbers of the design FILE if one is named. An existing design
    file is never overwritten.

    \b
    Examples:
      impact survey -o form.pdf
      impact survey form.txt -o my_room.toml
      impact survey --checklist my_room.toml -o checks.pdf
    """  # fmt: skip
    if filled is not None and not checklist:
        _to_design(filled, output)
        return
    options.check_targets("impact survey", (("-o", output, KINDS),))
    if checklist:
        sheet, units = _checks(filled, units)
    else:
        from impact.site.survey import form

        sheet = form(units)
    _write(sheet, output, units)


def _to_design(filled: str, output: str | None) -> None:
    import os

    from impact.base.files import write_whole
    from impact.errors import Fault, InputError
    from impact.site.survey import design_text

    options.check_targets("impact survey", (("-o", output, (".toml",)),))
    if output and os.path.lexists(output):
        what = "exists already and is left as it is; name another file, or remove it first"
        raise InputError(output, [Fault("output file", what)])
    text = design_text(filled)
    if output is None:
        click.echo(text, nl=False)
        return
    write_whole(output, text)
    click.echo(f"Wrote {output}. What was not surveyed is marked in it. Now: impact predict "
               f"{output}")  # fmt: skip


def _checks(path: str | None, units: str) -> tuple[Document, str]:
    from impact.site.checklist import checklist

    if path is None:
        return checklist(), units
    from impact import gravity
    from impact.design.reader import read

    design = read(path)
    return checklist(design, gravity.loads(design, coupled=False)), design.units


def _write(sheet: Document, output: str | None, units: str) -> None:
    from pathlib import Path

    from impact.base.files import write_whole

    if output is None:
        click.echo(sheet.text(), nl=False)
        return
    kind = Path(output).suffix.lower()
    if kind == ".pdf":
        from impact.report import paper

        title = sheet.title.split(":")[0].capitalize()
        write_whole(output, lambda path: paper.save(sheet.text(), path, units, title))
        options.tell_boxes([sheet.text()])
    else:
        write_whole(output, sheet.markdown() if kind == ".md" else sheet.text())
    click.echo(f"wrote {output}")
