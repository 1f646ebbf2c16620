"""Options of commands that take a site measurement, and how they turn it into a spectrum."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import click

from impact.cli.options import SOURCES

if TYPE_CHECKING:
    from impact.design.parts import Design
    from impact.site.deflections import Deflections
    from impact.site.measured import Measurement

FILE = click.Path()

OPTIONS = (
    click.option(
        "--source",
        type=click.Choice(SOURCES),
        metavar="NAME",
        help=f"What made the sound: {', '.join(SOURCES)}. [default: what the file names]",
    ),
    click.option(
        "--metric",
        type=click.Choice(("leq", "lfmax", "ln", "lnt", "lfmaxvt")),
        help="What the levels are: Leq, L'n or L'nT of the tapping machine, fast maximum of all "
        "else, or L'i,Fmax,V,T of the ball. [default: what the file states]",
    ),
    click.option(
        "--profile",
        metavar="NAME",
        help="Which spectrum: name, number, or 'all' for the energy mean.",
    ),
    click.option("--decimal", type=click.Choice((".", ",")), help="Decimal mark of the files."),
    click.option("--unweight", is_flag=True, help="Take an A or C weighting off the bands."),
    click.option(
        "--background",
        type=FILE,
        metavar="FILE",
        help="Background in the room. [default: one labelled so in MEASURED]",
    ),
    click.option(
        "--background-rule",
        type=click.Choice(("iso", "new", "old")),
        default="iso",
        show_default=True,
        help="ISO 16283-2, ASTM E1007 as now in force, or as before.",
    ),
    click.option(
        "--corner",
        type=FILE,
        metavar="FILE",
        help="Levels in corners, for rooms below 25 m3: the highest of its spectra is taken.",
    ),
    click.option(
        "--reverberation",
        metavar="TIME|FILE",
        help="Reverberation time, '0.6 s' or a file by bands. [default: labelled so in MEASURED, "
        "else the design's]",
    ),
    click.option(
        "--keep-below-50",
        is_flag=True,
        help="Do not correct bands below 50 Hz for reverberation.",
    ),
)


DEFLECTIONS = (
    click.option(
        "--deflections",
        type=FILE,
        metavar="FILE",
        help="Deflections of the hangers or fixings after loading: number, deflection.",
    ),
    click.option(
        "--deflection-unit",
        type=click.Choice(("mm", "cm", "in")),
        help="Unit of the deflections, where their file leaves it open.",
    ),
)


def deflecting(command: Callable[..., Any]) -> Callable[..., Any]:
    """All DEFLECTIONS on a command."""
    return _with(DEFLECTIONS, command)


def deflected(plan: Design, path: str, unit: str | None, decimal: str | None) -> Deflections:
    """A file of deflections, held against the load check of `plan`."""
    from impact import gravity
    from impact.site import deflections

    loads = gravity.loads(plan, coupled=False)
    values, taken = deflections.read(path, unit, decimal, len(loads.hangers))
    return deflections.against(loads, values, taken, path)


def measuring(command: Callable[..., Any]) -> Callable[..., Any]:
    """All OPTIONS on a command, which hands them on to `spectrum` as `asked`."""
    return _with(OPTIONS, command)


def _with(several: Sequence[Any], command: Callable[..., Any]) -> Callable[..., Any]:
    """A command with `several` options, listed in their order."""
    for option in reversed(several):
        command = option(command)
    return command


def spectrum(
    plan: Design, path: str, asked: dict[str, Any], ceiling: bool = True
) -> Measurement:  # fmt: skip
    """The measurement, corrected and normalized, before anything slow is computed.

    ceiling : whether it was measured below the new ceiling, which leaves less of the room.
    """
    from impact.site import corrections, measured
    from impact.sound import room

    how = {"decimal": asked["decimal"], "unweight": asked["unweight"]}
    level = measured.read(path, asked["source"], asked["metric"], asked["profile"], **how)
    quiet, corner = asked["background"], asked["corner"]
    noise = measured.read_beside(quiet or path, level, "background", **how, own=bool(quiet))
    high = measured.read_beside(corner or path, level, "corner", **how, own=bool(corner))
    rule = asked["background_rule"]
    if noise is None:
        level = level.told("no background measured: no correction")
    else:
        level = corrections.without_background(level, noise, rule, quiet or path)
        high = high and corrections.without_background(high, noise, rule, quiet or path)
    volume = room.volume(plan, ceiling)
    level = corrections.with_corners(level, high, volume, corner or path)
    times = _times(asked["reverberation"], asked["decimal"])
    if (
        times is None
        and level.metric in ("leq", "lfmax")
        and level.source not in corrections.PEOPLE
    ):
        times = corrections.read_reverberation(path, asked["decimal"], own=False) or None
        level = level.told("reverberation time from the level's own file") if times else level
    if times is None:
        times = plan.room.reverberation_time
        level = level.told(f"reverberation time not measured: {times:g} s of the design")
    return corrections.as_predicted(level, volume, times, asked["keep_below_50"])


def _times(given: str | None, decimal: str | None) -> dict[float, float] | float | None:
    """A reverberation time as text with its unit, or a file of times by band."""
    from impact.base.units import UnitError, parse
    from impact.site.corrections import read_reverberation

    if given is None:
        return None
    try:
        return parse(given, "time")
    except UnitError:
        return read_reverberation(given, decimal)
