"""`impact init`: a commented design file to fill in."""

from __future__ import annotations

import click

from impact.cli import options


@click.command()
@click.argument("path", metavar="[PATH]", type=click.Path(), default="design.toml")
@options.units("imperial", "Units the numbers are written in, and those of the results.")
@click.option(
    "--keys", metavar="[TABLE]", is_flag=False, flag_value="", default=None,
    help="Print every table and key a design may have (slabs, openings, limits, ...), or those of "
    "TABLE, and write nothing.",
)  # fmt: skip
def init(path: str, units: str, keys: str | None) -> None:
    """Write a commented design file to fill in.

    PATH is the file to write, ending in .toml; design.toml if left out. A file that exists is
    never overwritten. The numbers in it are a starting point and describe no real building.

    \b
    Examples:
      impact init my_room.toml --units metric
      impact init --keys
      impact init --keys slab
    """
    import os

    if keys is not None:
        from impact.design.reference import TABLES, reference

        found = reference(keys)
        if not found:
            raise click.UsageError(f"no table is called {keys!r}; known: {', '.join(TABLES)}")
        click.echo(found)
        return

    from impact.base.files import write_whole
    from impact.design.starter import starter
    from impact.errors import Fault, InputError

    options.check_targets("impact init", (("PATH", path, (".toml",)),))
    if os.path.lexists(path):
        what = "exists already and is left as it is; name another file, or remove it first"
        raise InputError(path, [Fault("output file", what)])
    write_whole(path, starter(units))
    click.echo(f"Wrote {path}. Put your own numbers in, then run: impact predict {path}")
