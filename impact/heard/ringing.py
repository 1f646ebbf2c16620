"""Footsteps as signals: pressure against time in the room below, from the same modes.

Up to about 110 Hz each place of the foot has its own transfer function of stack and box room,
solved on a grid finer than the resonances are wide and brought onto a uniform one. Above, modes
overlap and no model knows their phases: there a decaying noise stands for them, drawn from a seed,
with the energy of each band as predicted and the decay of floor and room together (a reverberant
tail in the sense of J. A. Moorer, Computer Music Journal 3(2), 1979, from memory).

Hysteretic damping is not causal: some sound comes before the touch-down. `LEAD` seconds of it are
kept, so that nothing is cut off with a click.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from scipy import fft

from impact.base import bands
from impact.base.parallel import in_parallel
from impact.heard.joined import VARIANTS, Joined
from impact.motion import mirror, striking
from impact.motion import stack as stacks
from impact.motion.stack import Stack
from impact.motion.underfoot import Impedance
from impact.sound import room
from impact.source import people

RATE = 24000  # samples a second
WINDOW = 4.0  # s that an event may last
LEAD = 0.15  # s of it before touch-down
FADES = 0.12, 1.2  # s, at start and end of an event; what came too early sits at the end, too
LOWEST, TOP = 3.0, 126.0  # Hz, of the solved grid
HIGH_PASS = (4, 7.5)  # order, Hz: causal (Butterworth), below the 10 Hz band; no ear, no speaker
CROSS = (100.0, 126.0)  # Hz, from modes to noise
CENTRES = np.array(bands.CENTRES)


def frequency_grid() -> np.ndarray:
    """Uniform frequencies 0, 1/WINDOW, ..., RATE/2 [Hz]."""
    return np.arange(round(RATE * WINDOW) // 2 + 1) / WINDOW


def to_time(spectrum: np.ndarray) -> np.ndarray:
    """Signal (…, RATE x WINDOW) of transforms (…, n) on `frequency_grid`, LEAD s after its start.

    x(t) = 2 Re int X exp(2 pi i f t) df; units of the spectrum times Hz.
    """
    count = round(RATE * WINDOW)
    samples = fft.irfft(spectrum, count, axis=-1) * RATE
    return np.roll(samples, round(LEAD * RATE), axis=-1)


def spacing(stack: Stack) -> float:
    """Ratio of neighbouring frequencies less one: half of the narrowest resonance's loss factor."""
    return float(np.clip(0.5 * min(leaf.loss_factor for leaf in stack.leaves), 0.006, 0.015))


def modal(
    joined: Joined, feet: np.ndarray, place: str, impedance: Impedance | None = None,
    variants: Collection[str] = VARIANTS,
) -> dict[str, np.ndarray]:  # fmt: skip
    """Complex pressure per force [Pa/N] for "design" and those of "best" and "bare" in `variants`.

    feet : (P, 2) [m, floor coordinates]; place : see `ear`; impedance : of the walker, who presses
    with 1/(1 + Z Y) of the force on a rigid floor, Y the mobility under that foot. Returns (P, n)
    on `frequency_grid`, 0 beyond TOP.
    """
    assembly = joined.assembly
    whole = {"design": (), "best": ("hangers",)}
    if "best" not in variants:
        del whole["best"]
    found = _solve(joined, assembly.whole, feet, place, whole, impedance)
    if "bare" in variants:
        found |= _solve(joined, assembly.bare, feet, place, {"bare": ()}, impedance)
    return found


def ear(box: room.Box, place: str) -> np.ndarray:
    """Point (1, 3) [m] for a place of `walking.in_room`; averages are heard on the pillow."""
    if place == "corner":
        return room.corners(box)[1:2]  # at the floor, the pillow's corner
    return room.listener(box, place if place in ("middle", "pillow") else "pillow")


def _solve(
    joined: Joined, stack: Stack, feet: np.ndarray, place: str, variants: dict[str, tuple],
    impedance: Impedance | None,
) -> dict[str, np.ndarray]:  # fmt: skip
    design = joined.assembly.design
    new = stack is joined.assembly.whole
    ears = room.ears(design, stack.leaves[stack.radiating], new, 2 * TOP)
    at = ear(ears.box, place)
    count = int(np.ceil(np.log(TOP / LOWEST) / spacing(stack))) + 1
    lines = np.geomspace(LOWEST, TOP, count)
    parts = np.array_split(lines, 12)

    lacking = next((names for names in variants.values() if names), ())

    def solve(part: np.ndarray) -> dict[str, np.ndarray]:
        reduced = stacks.reduce(stack, float(part[0]), float(part[-1]))
        groups = mirror.split(reduced, lacking)
        struck = mirror.at_points(groups, feet)
        walker = np.zeros(len(part)) if impedance is None else impedance(part)
        r = stack.radiating
        out: dict[str, list] = {name: [] for name in variants}
        for some in mirror.at_once(groups, len(part)):
            omega = 2 * np.pi * part[some]
            design, without = mirror.answers(reduced, groups, omega, struck, lacking)
            local = striking.compliance_at(reduced, feet, omega)
            for name, names in variants.items():
                answer = without if names else design
                pressure = ears.pressure(omega, answer.of(r), reduced.keep[r], at)[:, 0]
                mobility = answer.mobility + 1j * omega[:, None] * local
                out[name].append(pressure / (1 + walker[some, None] * mobility))
        return {name: np.concatenate(values) for name, values in out.items()}

    solved = in_parallel(solve, parts[::-1])[::-1]
    return {name: _uniform(lines, np.concatenate([s[name] for s in solved]).T) for name in variants}


def _uniform(lines: np.ndarray, values: np.ndarray) -> np.ndarray:
    """(P, n) at `lines` onto `frequency_grid`: cubic spline over log frequency, with HIGH_PASS.

    Below the first line as frequency squared, a floor at rest into a closed room.
    """
    from scipy import signal  # both take their time to load, and only signals need them
    from scipy.interpolate import CubicSpline

    grid = frequency_grid()
    inside = np.flatnonzero((grid >= lines[0]) & (grid <= lines[-1]))
    under = np.flatnonzero(grid < lines[0])
    out = np.zeros((len(values), len(grid)), complex)
    out[:, inside] = CubicSpline(np.log(lines), values, axis=1)(np.log(grid[inside]))
    out[:, under] = values[:, :1].real * (grid[under] / lines[0]) ** 2
    order, corner = HIGH_PASS
    numerator, denominator = signal.butter(order, 2 * np.pi * corner, "highpass", analog=True)
    response = signal.freqs(numerator, denominator, 2 * np.pi * grid)[1]
    return out * response


def _rise(frequency: np.ndarray, low: float, high: float) -> np.ndarray:
    """0 to 1 from `low` to `high` [Hz], sin² over log frequency; its square root complements."""
    x = np.log(np.maximum(frequency, 1e-9) / low) / np.log(high / low)
    return np.sin(np.pi / 2 * np.clip(x, 0, 1)) ** 2


def noise(joined: Joined, count: int, seed: int) -> np.ndarray:
    """Random-phase stand-in for the overlapping modes, (count, n) on `frequency_grid`.

    About unit mean square at all frequencies; in each band it decays in time as floor and room do
    together: energy (exp(-a t) - exp(-b t)), a = 13.8/T, b = w eta. Same seed, same noise.
    """
    grid = frequency_grid()
    length = round(RATE * WINDOW)
    times = np.arange(length) / RATE
    first = bands.index(100.0)
    generator = np.random.default_rng([seed, 1])
    white = generator.standard_normal((count, length))
    slow = 2 * room.DECAY / joined.assembly.design.room.reverberation_time
    out = np.zeros((count, len(grid)), complex)
    for b in range(first, len(CENTRES)):
        window = _share(grid, b, first)
        touched = np.flatnonzero(window)
        fast = floor_rate(joined)[b]
        energy = _two_decays(times, slow, fast)
        spectrum = fft.rfft(white * np.sqrt(energy / energy.sum()), axis=-1)
        out[:, touched] += window[touched] * spectrum[:, touched]
    return out


def floor_rate(joined: Joined) -> np.ndarray:
    """Decay rate w eta of the energy in the walked leaf (28,) [1/s]."""
    stack = joined.assembly.bare
    return 2 * np.pi * CENTRES * stack.leaves[stack.walked].loss_factor


def _two_decays(times: np.ndarray, one: float, other: float) -> np.ndarray:
    if abs(one - other) < 1e-3 * one:
        return times * np.exp(-one * times)
    return (np.exp(-one * times) - np.exp(-other * times)) / (other - one)


def _share(grid: np.ndarray, band: int, first: int) -> np.ndarray:
    """Weight of a band in the noise: 1 at its centre, 0 at its neighbours'; the shares add to 1."""
    centre = CENTRES[band]
    up = np.ones(len(grid)) if band == first else _rise(grid, centre / bands.G ** (1 / 3), centre)
    if band == len(CENTRES) - 1:
        return up * (1 - _rise(grid, bands.edges(centre)[1], 1.25 * centre))
    return up * (1 - _rise(grid, centre, centre * bands.G ** (1 / 3)))


@dataclass(frozen=True, eq=False)
class Replies:
    """Transfer functions [Pa/N] (P, n) on `frequency_grid`, one per place of the foot."""

    spectrum: np.ndarray

    def events(self, one: people.Source) -> np.ndarray:
        """Pressure [Pa] of a step or event at each place (P, RATE x WINDOW), touch-down at LEAD."""
        events = to_time(self.spectrum * people.spectrum(one, frequency_grid()))
        start, end = (ramp(round(fade * RATE)) for fade in FADES)
        events[:, : len(start)] *= start
        events[:, -len(end) :] *= end[::-1]
        return events


def replies(
    low: np.ndarray, high: np.ndarray, square: np.ndarray, gain: np.ndarray | None = None
) -> Replies:
    """Modes below, noise above, joined between CROSS.

    low : (P, n) of `modal`; high : (P, n) of `noise`; square : (28,) mean-square pressure per
    mean-square force [Pa²/N²] that the bands are to have; gain : (28,) further factors of
    amplitude per band.
    """
    grid = frequency_grid()
    level = along(np.sqrt(square))
    cross = _rise(grid, *CROSS)
    spectrum = low * np.sqrt(1 - cross) + high * (level * np.sqrt(cross))
    return Replies(spectrum if gain is None else spectrum * along(gain))


def along(values: np.ndarray) -> np.ndarray:
    """Positive band values (28,) as a smooth curve on `frequency_grid`, flat beyond the ends."""
    grid = np.maximum(frequency_grid(), 1.0)
    return np.exp(np.interp(np.log(grid), np.log(CENTRES), np.log(np.maximum(values, 1e-30))))


def ramp(count: int) -> np.ndarray:
    """0 to 1, smooth to the third derivative: x - sin(2 pi x)/(2 pi), squared."""
    x = (np.arange(count) + 0.5) / count
    return (x - np.sin(2 * np.pi * x) / (2 * np.pi)) ** 2
