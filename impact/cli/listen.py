"""`impact listen`: footsteps before and after as calibrated sound files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from impact.cli import options

if TYPE_CHECKING:
    from impact.design.parts import Design
    from impact.errors import Fault
    from impact.study.listen import Listening

WHO = ("barefoot", "socks", "soft", "hard", "child", "child_jumping", "dropped_toy")
PLACES = ("average", "middle", "corner", "pillow")
MARKER = "written by impact listen"  # stands in every file; without it a file is not replaced


@click.command()
@options.design
@options.stem
@click.option(
    "--seconds",
    default=20.0,
    show_default=True,
    metavar="N",
    help="Seconds of each file, 4 to 600.",
)
@click.option(
    "--who", type=click.Choice(WHO), default=WHO[0], show_default=True,
    help="Who walks: barefoot, in socks, in soft shoes, in hard heels; a running child; a child "
    "that jumps; a dropped toy.",
)  # fmt: skip
@click.option(
    "--place", type=click.Choice(PLACES), default=PLACES[0], show_default=True,
    help="Where in the room the levels are those of the prediction.",
)  # fmt: skip
@click.option(
    "--background", default="none", show_default=True, metavar="WHICH",
    help="Add steady noise: 'room' for the design's own background, or an NC number such as 25.",
)  # fmt: skip
@click.option(
    "--seed", type=click.IntRange(0, 2**32 - 1), metavar="N",
    help="Seed of the steps' scatter; the same seed gives the same files. [default: the design's "
    "footsteps.seed, else 1]",
)  # fmt: skip
@options.plot
def listen(
    design: str, output: str | None, seconds: float, who: str, place: str, background: str,
    seed: int | None, plot: str | None,
) -> None:  # fmt: skip
    """Write footsteps above DESIGN as sound files to compare.

    STEM_WHO_bare.wav plays the floor without the new ceiling, STEM_WHO_design.wav the design,
    STEM_WHO_perfect.wav the same ceiling on perfect hangers: the same steps, at true level relative
    to each other. STEM_WHO_tone.wav sets the volume, STEM_WHO_listen.txt holds the levels. Running
    it again replaces these files; one of that name which it did not write itself is left alone.

    Small loudspeakers cannot play thuds: use headphones or a subwoofer that reach 25 Hz. Dragged
    chairs (no published force), speech and music are not in the files.

    \b
    Examples:
      impact listen my_room.toml
      impact listen my_room.toml --who child --background 25 --seconds 60
    """
    from impact.design.reader import read

    plan = read(design)
    targets = _targets(options.beginning(output, design), who)
    _check(plan, seconds, background, who, options.not_ours(targets.values(), MARKER)
           + options.target_faults("--plot", plot, options.PLOT_KINDS))  # fmt: skip
    from impact.heard.joined import join
    from impact.report import listen as report
    from impact.source.people import given
    from impact.study.listen import render

    if seed is None:
        seed = int(given(plan).get("seed", 1))
    made = render(join(plan, places=True), who, seconds, seed, place, background)
    _write(made, targets, plot)
    for line in (*report.summary(made), f"full scale of the files: {made.full_scale:g} Pa",
                 *report.SPEAKERS):  # fmt: skip
        click.echo(line)


def _targets(stem: str, who: str) -> dict[str, Path]:
    """Key -> file to write."""
    names = {key: Path(f"{stem}_{who}_{name}.wav")
             for key, name in (("bare", "bare"), ("design", "design"), ("best", "perfect"),
                               ("tone", "tone"))}  # fmt: skip
    names["txt"] = Path(f"{stem}_{who}_listen.txt")
    return names


def _check(plan: Design, seconds: float, background: str, who: str, faults: list[Fault]) -> None:
    """Refuse what cannot be played or written before the calculation; all faults at once.

    faults : those of the files to write.
    """
    from impact.errors import Fault, InputError
    from impact.source.people import person
    from impact.study.listen import SECONDS, background_of

    faults = [*faults]
    if not SECONDS[0] <= seconds <= SECONDS[1]:
        what = f"{seconds:g} s; must be {SECONDS[0]:g} to {SECONDS[1]:g} s"
        faults.append(Fault("--seconds", what))
    try:
        background_of(plan, background)
    except ValueError as fault:
        faults.append(Fault("--background", str(fault)))
    try:
        person(plan, who)
    except InputError as error:
        faults += error.faults
    if faults:
        raise InputError("impact listen", faults)


def _write(made: Listening, targets: dict[str, Path], plot: str | None) -> None:
    from impact import __version__
    from impact.base.files import write_whole
    from impact.report import listen as report
    from impact.study.listen import reference_tone

    marker = f"{MARKER} {__version__}, design {made.design.digest[:12]}, full scale "
    marker += f"{made.full_scale:g} Pa"
    sounds = {key: one.samples for key, one in made.recordings.items()}
    sounds["tone"] = reference_tone()
    for key, samples in sounds.items():
        write_whole(targets[key], report.wav(samples, made.full_scale, marker))
        click.echo(f"wrote {targets[key]}")
    names = {key: path.name for key, path in targets.items()}
    write_whole(targets["txt"], f"{report.sheet(made, names)}\n({marker})\n")
    click.echo(f"wrote {targets['txt']}")
    if plot:
        options.draw(plot, lambda: report.picture(made), marker)
