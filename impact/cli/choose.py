"""`impact choose`: search hangers, spacings, layers, depths and fills under limits."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from impact.cli import options

if TYPE_CHECKING:
    from impact.design.parts import Design
    from impact.study.choose import Choice
    from impact.study.choose_axes import Axes

PREFER = ("quietest", "lowest", "cheapest")
SUFFIXES = (".csv", ".nc")
OWN = "own"  # among the classes: the design's own hangers
PATIENCE = 2.0  # s without a progress bar


@click.command()
@options.design
@options.output_format("json")
@options.output("Write every combination into FILE.csv or FILE.nc (netCDF).")
@options.plot
@click.option("--classes", metavar="LIST", help="Hanger classes to try, or 'own'. [default: own "
              "and all of the catalogue]")  # fmt: skip
@click.option("--stiffness", metavar="LIST", help="Dynamic stiffness of the design's own hangers, "
              "like '20 N/mm, 40 N/mm' or '10 N/mm : 200 N/mm : 12'.")  # fmt: skip
@click.option("--channel-spacing", metavar="LIST", help="Distances between channel lines.")
@click.option("--hanger-spacing", metavar="LIST", help="Distances between hangers: multiples "
              "of the joists' spacing.")  # fmt: skip
@click.option("--layers", metavar="LIST", help="Counts of board layers, like '1,2,3'.")
@click.option("--depth", metavar="LIST", help="Clear depths, like '4 in : 10 in : 7'.")
@click.option("--fill", metavar="LIST", help="Thicknesses of the fill; '0 mm' is none.")
@click.option("--prefer", type=click.Choice(PREFER), default=PREFER[0], show_default=True,
              help="Which of the ceilings that no other beats is chosen.")  # fmt: skip
def choose(
    design: str, output_format: str, output: str | None, plot: str | None, prefer: str,
    **wanted: str | None,
) -> None:  # fmt: skip
    """Search the hangers (or resilient channels), spacings, layers, depth and fill for DESIGN.

    Every combination gets its thud level, loads at rest, height and cost. Limits come from the
    design: headroom_minimum of [room], [limits], [target], [prices], and the rated loads.
    A LIST holds values with commas, or LOW : HIGH : COUNT.

    \b
    Examples:
      impact choose my_room.toml
      impact choose my_room.toml --classes own --stiffness "10 N/mm:200 N/mm:12"
      impact choose my_room.toml --depth "3 in, 5 in, 7 in" -o all.csv
    """
    options.check_targets(
        "impact choose", (("-o", output, SUFFIXES), ("--plot", plot, options.PLOT_KINDS))
    )
    from impact.design.reader import read

    made = run(read(design), prefer, wanted)
    _print(made, output_format, prefer)
    if output:
        _write(made, output)
    if plot:
        _draw(made, plot)


def run(design: Design, prefer: str, wanted: dict[str, str | None]) -> Choice:
    """Search with a progress bar on stderr where it takes more than two seconds."""
    from impact.study.choose import choose as search

    tried = axes_of(design, wanted)
    with _Bar() as progress:
        return search(design, tried, prefer, progress)


def axes_of(design: Design, wanted: dict[str, str | None]) -> Axes:
    """Axes from the options' texts; InputError names every one that cannot be read."""
    from impact.errors import Fault, InputError
    from impact.study import choose_axes

    faults: list[Fault] = []
    fields: dict[str, Any] = {}
    for option, field, read in (
        ("channel_spacing", "channel_spacings", _spacings),
        ("hanger_spacing", "hanger_spacings", _spacings),
        ("depth", "depths", _quantities("length")),
        ("fill", "fills", _quantities("length")),
        ("layers", "layers", _counts),
        ("stiffness", "stiffness", _quantities("stiffness")),
    ):
        given = wanted.get(option)
        if given is None:
            continue
        try:
            fields[field] = read(given)
        except ValueError as fault:
            faults.append(Fault("--" + option.replace("_", "-"), str(fault)))
    try:
        hangers = _hangers(design, wanted.get("classes"), fields.pop("stiffness", None))
    except ValueError as fault:
        if isinstance(fault, InputError):
            raise
        faults.append(Fault("--classes", str(fault)))
        hangers = None
    faults += _not_on_joists(design, fields.get("hanger_spacings"))
    if faults:
        raise InputError("impact choose", faults)
    return choose_axes.axes(design, hangers=hangers, **fields)


def _hangers(design: Design, classes: str | None, stiffness: tuple[float, ...] | None) -> Any:
    """Hangers to try, or None for the usual ones."""
    from impact.design import catalogue
    from impact.study import choose_axes

    own = choose_axes.own_hangers(design)
    if classes is None and stiffness is None:
        return None
    springs = choose_axes.stiffened(own, stiffness) if stiffness else (
        choose_axes.hanger_classes(design)[:1])  # fmt: skip
    names = [name.strip() for name in (classes or OWN).split(",")]
    asked = [OWN if name.lower() == OWN or name == own.name else name for name in names if name]
    if stiffness:
        asked = [OWN, *asked]  # whose springs they are
    found: list[Any] = []
    for name in dict.fromkeys(asked):
        if name == OWN:
            found += springs
            continue
        entry = catalogue.find(name, own.kind)
        if entry is None:
            near = catalogue.suggest(name, own.kind)
            hint = f"; did you mean '{near}'?" if near else "; 'impact materials' lists them"
            raise ValueError(f"'{name}' is no class of the catalogue{hint}")
        found.append(choose_axes.from_class(own, entry))
    return tuple(found)


def _not_on_joists(design: Design, spacings: tuple[float, ...] | None) -> list[Any]:
    from impact.base.units import show
    from impact.errors import Fault

    joists = design.floor.joists
    if joists is None or not spacings:
        return []
    wrong = [s for s in spacings
             if round(s / joists.spacing) < 1
             or abs(s - round(s / joists.spacing) * joists.spacing) > 0.01]  # fmt: skip
    if not wrong:
        return []
    between = show(joists.spacing, "length", design.units)
    what = f"{show(wrong[0], 'length', design.units)} is no multiple of the joist spacing {between}"
    return [Fault("--hanger-spacing", what)]


def _counts(given: str) -> tuple[int, ...]:
    """'1,2,3' or '1:4' as whole numbers from 1 to 8."""
    words = given.replace(":", ",").split(",")
    try:
        numbers = [int(word) for word in words]
    except ValueError:
        raise ValueError(f"'{given}' is no list of counts, like '1,2,3' or '1:3'") from None
    if ":" in given and len(numbers) == 2:
        numbers = list(range(numbers[0], numbers[1] + 1))
    if not numbers or min(numbers) < 1 or max(numbers) > 8:
        raise ValueError(f"'{given}' must hold counts from 1 to 8")
    return tuple(sorted(set(numbers)))


def _quantities(dimension: str) -> Callable[[str], tuple[float, ...]]:
    """Reader of a list or LOW : HIGH : COUNT of quantities, in equal ratios (from 0 in steps)."""

    def read(given: str) -> tuple[float, ...]:
        import numpy as np

        from impact.base.units import parse

        if ":" not in given:
            values = [parse(part.strip(), dimension) for part in given.split(",") if part.strip()]
        else:
            parts = [part.strip() for part in given.split(":")]
            if len(parts) != 3 or not parts[2].isdigit() or not 2 <= int(parts[2]) <= 200:
                what = "is no range; write LOW : HIGH : COUNT, 2 to 200 values"
                raise ValueError(f"'{given}' {what}")
            low, high, count = parse(parts[0], dimension), parse(parts[1], dimension), int(parts[2])
            if not low < high:
                raise ValueError(f"'{given}': the first value must be below the second")
            spread = np.geomspace(low, high, count) if low > 0 else np.linspace(low, high, count)
            values = [float(v) for v in spread]
        low_limit = 0.0 if dimension == "length" else 1.0
        if not values or min(values) < low_limit or max(values) > 1e10:
            raise ValueError(f"'{given}' holds no value that can be tried")
        return tuple(sorted(set(values)))

    return read


def _spacings(given: str) -> tuple[float, ...]:
    """Lengths as `_quantities` reads them, each as trades write spacings, "16 in o.c." too."""
    from impact.base.quantity_faults import without_centres

    each = (",".join(map(without_centres, part.split(","))) for part in given.split(":"))
    return _quantities("length")(":".join(each))


class _Bar:
    """Progress on stderr, shown only once PATIENCE is over."""

    def __init__(self) -> None:
        self.start, self.done = time.monotonic(), 0
        self.bar: Any = None  # click's bar, once it is shown

    def __enter__(self) -> Callable[[int, int], None]:
        return self._tell

    def _tell(self, done: int, whole: int) -> None:
        if self.bar is None and time.monotonic() - self.start > PATIENCE:
            self.bar = click.progressbar(length=whole, label="solving", file=sys.stderr)
            self.bar.__enter__()
        if self.bar is not None:
            self.bar.update(done - self.done)
            self.done = done

    def __exit__(self, *failed: object) -> None:
        if self.bar is not None:
            self.bar.render_finish()


def _print(made: Choice, output_format: str, prefer: str) -> None:
    from impact.report import choice

    if output_format == "json":
        options.print_json(choice.as_dict(made))
    else:
        click.echo(choice.text(made, prefer))


def _write(made: Choice, output: str) -> None:
    from impact.base.files import write_whole
    from impact.report import choice

    if output.lower().endswith(".csv"):
        write_whole(output, choice.csv_text(made))
    else:
        data = choice.dataset(made)
        write_whole(output, lambda path: data.to_netcdf(path, engine="scipy"))
    click.echo(f"wrote {output}", err=True)


def _draw(made: Choice, plot: str) -> None:
    from impact.report import choice

    about = f"impact choose, design {made.design.digest[:12]}"
    options.draw(plot, lambda: choice.picture(made), about)
