"""Blows of the tapping machine followed in time on the modes of floors, beside the model's force.

    python -m validation.blows [DESIGN.toml ...]

A hammer (0.5 kg, 0.886 m/s: ISO 10140-5 Annex E) meets the bare floor of a design through the
contact's stiffness, which can press but not pull; each mode of the deck on its joists moves exactly
between steps of 10 us, with the floor's loss as viscous damping. Weight is left out, so a hammer
that was thrown back stays away. Nothing here comes from `impact.source`, but the numbers of the
machine and the contact's stiffness. Printed: the rebound e = impulse/(m v0) - 1 at sixteen places
and the mean |F|² over (m v0)² by band, the same of a blow on the bands' mean mobility, stepped in
time and free to strike again, and what the model uses, which is no more than the rebound given
(0.4 where a design is silent) and ends where the hammer first lifts off. No publication.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

import impact
from impact.base import bands, levels
from impact.design.parts import Design
from impact.heard import strikes
from impact.heard.joined import join
from impact.leaf.plate import Leaf, modes
from impact.motion import lowband
from impact.motion.assemble import floor_plates, permitted
from impact.source import blow, surface, tapping

HERE = Path(__file__).parent
DESIGNS = (
    *(HERE / "harris_joist_floors" / f"row_{row}.toml" for row in ("20", "21", "27", "35A")),
    HERE / "iso12354_2_timber_floor" / "middle.toml",
)
HIGHEST = 1300.0  # Hz, of the modes; the contacts last 0.5 to 1.7 ms
STEP, LENGTH = 1e-5, 0.012  # s
SHOWN = tuple(b for b in bands.NOMINAL if 50 <= b <= 400)


def histories(leaf: Leaf, points: np.ndarray, stiffness: float) -> np.ndarray:
    """Force (steps, P) [N] of one blow at each of `points` (P, 2) [m]; contact stiffness [N/m]."""
    omega, damping = leaf.omega, leaf.loss_factor / 2
    shapes = leaf.shapes(points)
    ringing = omega * np.sqrt(1 - damping**2)
    decay = np.exp(-damping * omega * STEP)
    cosine, sine = decay * np.cos(ringing * STEP), decay * np.sin(ringing * STEP) / ringing
    kept, moved = cosine + damping * omega * sine, cosine - damping * omega * sine
    modal, rate = np.zeros_like(shapes), np.zeros_like(shapes)
    place, speed = np.zeros(len(points)), np.full(len(points), tapping.SPEED)
    out = np.empty((round(LENGTH / STEP), len(points)))
    for step in range(len(out)):
        force = np.maximum(stiffness * (place - np.sum(shapes * modal, axis=1)), 0.0)
        out[step] = force
        push = shapes * force[:, None]
        modal, rate = (
            kept * modal + sine * rate + (1 - kept) / omega**2 * push,
            moved * rate - omega**2 * sine * modal + sine * push,
        )
        speed = speed - STEP * force / tapping.MASS
        place = place + STEP * speed
    return out


def on_mean_mobility(mobility: np.ndarray, stiffness: float) -> np.ndarray:
    """Force (steps, 1) [N] of one blow on a floor of the mean mobility (28,) [m/(N s)].

    What the floor does after a blow follows from Re Y alone, since it cannot move before:
    v(t) = (2/pi) integral of Re Y cos(wt) dw per impulse (any text on causal systems). Re Y of the
    highest band is an instant answer, the rest a tail, in which joists throw back.
    """
    centres, real = np.array(bands.CENTRES), mobility.real
    lines, width = np.arange(2.5, 5600.0, 5.0), 5.0
    more = np.interp(np.log(lines), np.log(centres), real - real[-1])
    times = STEP * (np.arange(round(LENGTH / STEP)) + 0.5)
    tail = 4 * width * np.cos(2 * np.pi * np.outer(times, lines)) @ more * STEP
    out = np.zeros(len(times))
    hammer, floor, speed = 0.0, 0.0, tapping.SPEED
    for step in range(len(out)):
        press = max(stiffness * (hammer - floor), 0.0)
        out[step] = press / (1 + stiffness * real[-1] * STEP / 2)
        speed -= STEP * out[step] / tapping.MASS
        hammer += STEP * speed
        floor += STEP * (real[-1] * out[step] + tail[: step + 1][::-1] @ out[: step + 1])
    return out[:, None]


def spectrum(force: np.ndarray) -> np.ndarray:
    """Mean over places of |F|² over (m v0)², in the bands SHOWN [dB]."""
    times = STEP * np.arange(len(force))
    found = []
    for band in SHOWN:
        lines = lowband.frequencies(bands.CENTRES[bands.index(band)], 12)[0]
        at = np.exp(-2j * np.pi * np.outer(lines, times)) @ force * STEP
        found.append(np.mean(np.abs(at) ** 2))
    return np.asarray(levels.decibel(np.array(found), (tapping.MASS * tapping.SPEED) ** 2))


def show(design: Design) -> None:
    """Print one floor."""
    leaf = modes(floor_plates(design)[-1], HIGHEST)
    contact, mobility = surface.under_hammer(design), join(design).mobility
    force = histories(leaf, lowband.standing(permitted(design)), contact)
    mean = on_mean_mobility(mobility, contact)
    bounce, bounce_mean = (
        each.sum(axis=0) * STEP / (tapping.MASS * tapping.SPEED) - 1 for each in (force, mean)
    )  # fmt: skip
    used, square = strikes.tapping_machine(design, mobility)
    level = levels.decibel(square, tapping.force_density() * blow.bandwidth(strikes.CENTRES))
    print(
        f"\n{design.name}: rebound {bounce.mean():.2f} ({bounce.min():.2f} to"
        f" {bounce.max():.2f}), on the mean mobility {bounce_mean[0]:.2f}, used {used:.2f}"
    )
    print("  Hz      ", " ".join(f"{band:5g}" for band in SHOWN))
    print("  |F|² dB ", " ".join(f"{value:+5.1f}" for value in spectrum(force)))
    print("  mean Y  ", " ".join(f"{value:+5.1f}" for value in spectrum(mean)))
    print("  used    ", " ".join(f"{level[bands.index(band)]:+5.1f}" for band in SHOWN))


def main() -> None:
    """All floors named, or those of DESIGNS."""
    for path in sys.argv[1:] or DESIGNS:
        show(impact.read(Path(path)))


if __name__ == "__main__":
    main()
