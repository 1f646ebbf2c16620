"""Timings of the package beside other ways to the same answer; nothing here is a test of truth.

Each function measures once or a few times and returns `Row`s. The least of several runs is taken:
what else the machine does can only add.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache, partial
from itertools import count
from pathlib import Path

import numpy as np

import impact
from impact.cli.main import COMMANDS
from impact.design.parts import Design
from impact.site import tolerance
from impact.study import choose, choose_axes
from validation.finite_elements import bands as fem_bands
from validation.finite_elements import cases, compare, reference

ROOT = Path(__file__).resolve().parents[2]
STANDING = ROOT / "examples" / "01_basement_rental.toml"
HARDEST = STANDING.with_name("02_old_ceiling_left.toml")
LIBRARIES = "import numpy, scipy.linalg, xarray, pint, click"
HEAVY = ("numpy", "xarray", "matplotlib")
VARIANTS = 1000  # of hanger stiffness, in the search
FAULTS = 10_000  # cases asked for
FEM_TOP = 250.0  # Hz: highest band in which both solvers are timed


@dataclass(frozen=True)
class Row:
    """One line of the table: seconds of ours and of the other way, and the aim.

    aim : "ratio >= 100" and the like, in words, empty without one; kept : whether it is reached.
    """

    what: str
    ours: float
    other: float | None
    other_is: str
    aim: str
    kept: bool

    @property
    def ratio(self) -> float | None:
        """Other over ours, -."""
        return None if self.other is None else self.other / self.ours


def least(
    run: Callable[[], object], times: int = 3, clock: Callable[[], float] = time.perf_counter
) -> float:
    """Shortest of several runs [s]."""
    taken = []
    for _ in range(times):
        start = clock()
        run()
        taken.append(clock() - start)
    return min(taken)


@cache
def _compiled() -> tempfile.TemporaryDirectory[str]:
    """Where processes keep their compiled modules, until the end."""
    return tempfile.TemporaryDirectory()


def process(*arguments: str) -> None:
    """Run Python with these arguments in a process of its own, output thrown away; modules are
    compiled once, as an installation has them."""
    where = {"PYTHONPYCACHEPREFIX": _compiled().name, "PYTHONDONTWRITEBYTECODE": ""}
    subprocess.run(
        [sys.executable, *arguments], check=True, cwd=ROOT, stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE, env=os.environ | where,
    )  # fmt: skip


def start_up() -> list[Row]:
    """A whole `impact predict`, and every page of help, beside the libraries they need."""
    libraries = least(lambda: process("-c", LIBRARIES))
    cold = least(lambda: process("-m", "impact", "predict", str(STANDING), "--format", "json"))
    bare = least(lambda: process("-c", "import click"))
    pages = [("--help",), *((name, "--help") for name in COMMANDS)]
    helped = [least(partial(process, "-m", "impact", *page), 2) for page in pages]
    slow = max(helped)
    loaded = heavy_in_help()
    return [
        Row("cold `impact predict`", cold, libraries, LIBRARIES, "<= 1.5 x the other",
            cold <= 1.5 * libraries),
        Row("slowest page of help", slow, bare, "import click", "<= 2 x the other",
            slow <= 2 * bare),
        Row("pages of help that load " + ", ".join(HEAVY), float(loaded), None, "", "none",
            loaded == 0),
    ]  # fmt: skip


def heavy_in_help() -> int:
    """Number of pages of help that load one of HEAVY."""
    script = (
        "import sys\nfrom impact.cli.main import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        f"sys.exit(3 if set({HEAVY!r}) & set(sys.modules) else 0)"
    )
    pages = [("--help",), *((name, "--help") for name in COMMANDS)]
    codes = [
        subprocess.run([sys.executable, "-c", script, *page], cwd=ROOT, check=False,
                       stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL).returncode
        for page in pages
    ]  # fmt: skip
    return sum(code != 0 for code in codes)


def warm(design: Design) -> list[Row]:
    """One prediction more in a process that has made one already: by the clock, and in seconds of
    a processor, which other work on the machine moves less. The same design again finds its leaves,
    bays and steps kept; with other hangers, or with all of it changed, part or none of them."""
    impact.predict(design)
    seconds = least(lambda: impact.predict(design))
    busy = least(lambda: impact.predict(design), clock=time.process_time)
    hung, changed = _series(design, _softer), _series(design, _another)
    return [
        Row("warm prediction of the standing example", seconds, None, "", "<= 0.3 s",
            seconds <= 0.3),
        Row("the same, seconds of a processor (two are used)", busy, None, "", "<= 0.6 s",
            busy <= 0.6),
        Row("warm, with hangers never met before", least(lambda: impact.predict(next(hung))),
            None, "", "", True),
        Row("warm, with floor and ceiling never met before",
            least(lambda: impact.predict(next(changed))), None, "", "", True),
    ]  # fmt: skip


def _series(design: Design, change: Callable[[Design, float], Design]) -> Iterator[Design]:
    """Designs that differ by a per cent more each time."""
    for step in count(1):
        yield change(design, 1 + step / 100)


def _softer(design: Design, by: float) -> Design:
    assert design.hangers is not None
    stiffness = design.hangers.dynamic_stiffness / by
    return replace(design, hangers=replace(design.hangers, dynamic_stiffness=stiffness))


def _another(design: Design, by: float) -> Design:
    floor, room = design.floor, design.room
    assert floor.joists is not None
    joists = replace(floor.joists, bending_stiffness=floor.joists.bending_stiffness * by)
    boards = tuple(replace(x, thickness=x.thickness * by) for x in design.ceiling.layers)
    return _softer(replace(
        design, floor=replace(floor, joists=joists, width=floor.width * by),
        room=replace(room, width=room.width * by), ceiling=replace(design.ceiling, layers=boards),
    ), by)  # fmt: skip


def estimate() -> list[Row]:
    """Largest estimate of what the modes and motions left out would change [dB in place of s], in
    an easy example and in the one that needs most."""
    rows = []
    for path in (STANDING, HARDEST):
        missing = impact.predict(impact.read(path)).joined.missing
        most = max(float(found.max()) for found in missing.values())
        rows.append(Row(f"estimate of what is left out of {path.stem}, dB", most, None, "",
                        "<= 0.2 dB", most <= 0.2))  # fmt: skip
    return rows


def finite_elements() -> list[Row]:
    """The finite-element reference and our stack over all bands and lines of the comparison.

    The mesh is the finer one of the stored results, which the comparison is made with, and beside
    it the coarser one of their halving, whose answer is about as far from it as ours. Ours is the
    whole comparison, from the leaves' modes to the decibels, with the estimate of what is left out;
    how far it lies from the finer mesh stands in the row.
    """
    apart: list[float] = []

    def ours() -> None:
        rows = compare.differences("hung_ceiling")
        apart[:] = [abs(v) for row in rows for key, v in row.items() if key in compare.COMPARED]

    seconds = least(ours)
    fine, count, _ = _by_elements(cases.ELEMENT / 2, 0.2)
    coarse, _, off = _by_elements(cases.ELEMENT, 0.3)
    what = f"hung ceiling to {FEM_TOP:g} Hz, {count} frequencies"
    return [
        Row(what, seconds, fine, f"finite elements, ours within {max(apart):.2f} dB of them",
            "ratio >= 100", fine >= 100 * seconds),
        Row(f"{what}, coarser elements", seconds, coarse,
            f"elements twice as long, within {off:.2f} dB of the finer", "", True),
    ]  # fmt: skip


def _by_elements(size: float, cell: float) -> tuple[float, int, float]:
    """Seconds of the reference on elements of a `size` [m] and cells of radiation [m], its number
    of frequencies, and how far its bands are from the stored ones at most [dB]."""
    stored = [row for row in compare.stored("hung_ceiling") if row["band_hz"] <= FEM_TOP]
    lines = [compare.line_frequencies("hung_ceiling")[row["band_hz"]] for row in stored]
    start = time.perf_counter()
    found = reference.solve(
        cases.hung_ceiling(), np.concatenate(lines), cases.SOURCES, size, cell
    )  # fmt: skip
    seconds = time.perf_counter() - start
    off = 0.0
    for name, values in (
        ("mobility_real", found.mobility.real), ("radiated_power", found.radiated_power),
        ("ceiling_velocity_square", found.mean_square_velocity[-1]),
    ):  # fmt: skip
        ours = fem_bands.mean(values.mean(axis=1), len(lines[0]))
        theirs = np.array([row[name] for row in stored])
        off = max(off, float(np.abs(10 * np.log10(ours / theirs)).max()))
    return seconds, sum(map(len, lines)), off


def variants(design: Design) -> Row:
    """The search over hanger stiffness beside one prediction for each."""
    own = choose_axes.own_hangers(design)
    stiffness = own.dynamic_stiffness * np.geomspace(0.2, 5, VARIANTS // 10)
    axes = choose_axes.axes(
        design,
        hangers=[replace(own, dynamic_stiffness=float(k)) for k in stiffness],
        channel_spacings=[own.channel_spacing], hanger_spacings=[own.hanger_spacing],
        layers=[1, 2], depths=np.linspace(0.1, 0.2, 5).tolist(), fills=[0.1],
    )  # fmt: skip
    one = least(lambda: impact.predict(design), 2)
    seconds = least(lambda: choose.choose(design, axes), 1)
    other = one * axes.count
    return Row(f"{axes.count} hanger variants in a search", seconds, other,
               "a loop of predictions", "ratio >= 100", other >= 100 * seconds)  # fmt: skip


def faults(design: Design) -> Row:
    """Cases of faults by low-rank updates, scaled to FAULTS."""
    start = time.perf_counter()
    found = tolerance.tolerance(design, places=20)
    each = (time.perf_counter() - start) / found.cases
    return Row(f"{FAULTS} fault cases (from {found.cases})", each * FAULTS, None, "",
               "minutes", each * FAULTS <= 600)  # fmt: skip


def memory() -> Row:
    """Largest memory of a process that predicts the standing example [MB in place of s].

    The kernel's own high mark of the process: ru_maxrss would begin at that of the caller.
    """
    script = (
        f"import impact; impact.predict(impact.read({str(STANDING)!r}));"
        "marks = open('/proc/self/status').read().split();"
        "print(marks[marks.index('VmHWM:') + 1])"
    )
    run = subprocess.run([sys.executable, "-c", script], check=True, capture_output=True, text=True)
    megabytes = float(run.stdout) / 1024
    return Row("memory of one prediction, MB", megabytes, None, "", "< 500 MB", megabytes < 500)


def large_room() -> Row:
    """A slab of 12 x 20 m with 600 hangers and more, in a process of its own."""
    path = Path(__file__).parent / "large_room.toml"
    seconds = least(lambda: process("-m", "impact", "predict", str(path)), 1)
    return Row("12 x 20 m, 656 hangers", seconds, None, "", "<= 60 s", seconds <= 60)


def machine() -> str:
    """What the timings were made on."""
    name = "unknown processor"
    for line in Path("/proc/cpuinfo").read_text().splitlines() if os.name == "posix" else []:
        if line.startswith("model name"):
            name = line.split(":", 1)[1].strip()
            break
    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return (
        f"{name}, {os.cpu_count()} cores seen, Python {sys.version.split()[0]}, "
        f"numpy {np.__version__}; this run's memory {used:.0f} MB"
    )
