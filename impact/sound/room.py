"""The room below as a rectangular box: its own modes, driven by the ceiling's velocity.

Shapes across the ceiling are orthonormal cosines psi_lm(x, y); under each of them the field down
the room is a closed form, which sums all modes of that shape (F. J. Fahy and P. Gardonio, Sound and
Structural Vibration, 2nd ed., 2007, ch. 7; H. Kuttruff, Room Acoustics, ch. 3, from memory):

    p_lm(z) = -i w rho v_lm cos(kz (H - z)) / (kz sin(kz H)),
    kz² = (w² - 2 i delta w)/c² - k_lm²,   delta = 6.91/T,

v_lm the ceiling's velocity down into the room on psi_lm, H the clear height. It equals
sum_n i w rho c² eps_n/H cos(n pi z/H) v_lm / (w_lmn² - w² + 2 i delta w): every mode decays with T.

The uniform pressure (0, 0, 0) has no stiffness against leaving: it leaks with a time constant,
p = rho c² v/(H (i w + 1/tau)), by default tau = T/6.91, so that it too decays with T. That is what
walls of an even resistive admittance would give; door gaps and yielding walls differ.

One way: the room answers the ceiling and does not push back; `joint` is the same air as a link for
those who want it to (a closed box of 2.4 m lifts a ceiling of 20 kg/m2 from 25.7 to 26.7 Hz).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from impact.base import air, bands
from impact.base.levels import squared
from impact.design.parts import Design, Room
from impact.leaf.plate import Leaf
from impact.link.joint import EVERY, Joint

DECAY = 6.9078  # ln(1000): amplitude falls by 60 dB in T as exp(-DECAY t/T)
CORNER = 0.35  # m from each surface: ISO 16283-2 says 0.3 to 0.4 m (from memory, check)
INSIDE = 0.5  # m: the usual microphones keep this from surfaces (ISO 16283-2, likewise)
PILLOW = (0.3, 1.0, 0.6)  # m: from one wall, along it from the corner, above the floor; our choice
EAR = 1.2  # m above the floor in the middle of the plan: a person sitting; our choice
PLACES = ("average", "middle", "corner", "pillow")


@dataclass(frozen=True)
class Box:
    """A room of length (x), width (y) and clear height (z, down from the ceiling) [m].

    reverberation_time : s. leak_time : s, time constant of the uniform pressure; None = T/6.91.
    highest : Hz up to which shapes across the ceiling are kept (with room for evanescent ones).
    """

    length: float
    width: float
    height: float
    reverberation_time: float
    leak_time: float | None = None
    highest: float = 400.0

    @property
    def volume(self) -> float:
        """m3."""
        return self.length * self.width * self.height

    @cached_property
    def counts(self) -> tuple[int, int]:
        """Cosines along x and y."""
        reach = 1.2 * 2 * np.pi * self.highest / air.SPEED + 4 * np.pi / min(
            self.length, self.width
        )
        return tuple(int(np.ceil(reach * side / np.pi)) for side in (self.length, self.width))  # type: ignore[return-value]

    @cached_property
    def wavenumbers(self) -> np.ndarray:
        """k_lm (A B,) [rad/m] of all products of cosines."""
        kx, ky = (
            np.pi * np.arange(count) / side
            for count, side in zip(self.counts, (self.length, self.width), strict=True)
        )
        return np.hypot(kx[:, None], ky[None, :]).ravel()

    def kept(self, frequency: float) -> np.ndarray:
        """Places (M,) of the shapes that matter up to `frequency` [Hz].

        Those that travel, and beyond them evanescent ones down to exp(-4 pi) over the shorter side.
        """
        reach = 1.2 * 2 * np.pi * frequency / air.SPEED + 4 * np.pi / min(self.length, self.width)
        return np.flatnonzero(self.wavenumbers <= reach)

    def across(self, points: np.ndarray) -> np.ndarray:
        """Orthonormal cosines (P, A B) [1/m] at points (P, 2) or (P, 3) [m], room coordinates."""
        sides = []
        for axis, (count, side) in enumerate(
            zip(self.counts, (self.length, self.width), strict=True)
        ):
            order = np.arange(count)
            scale = np.sqrt((2 - (order == 0)) / side)
            sides.append(np.cos(np.pi * np.outer(points[:, axis], order) / side) * scale)
        return (sides[0][:, :, None] * sides[1][:, None, :]).reshape(len(points), -1)

    def project(self, leaf: Leaf, offset: tuple[float, float]) -> np.ndarray:
        """A leaf's modes on the cosines over the room's plan, (A B, n) [m kg^-1/2].

        offset : room's corner in floor coordinates [m].
        """
        na, nb = self.counts
        left = leaf.x.cosines(na, offset[0] - leaf.plate.origin[0], self.length)
        right = leaf.y.cosines(nb, offset[1] - leaf.plate.origin[1], self.width)
        return leaf.project(left, right).reshape(na * nb, -1)

    def down(self, omega: float | np.ndarray, z: np.ndarray, shapes: np.ndarray) -> np.ndarray:
        """p_lm(z)/v_lm (…, P, M) [Pa s/m] at depths z (P,) [m] below the ceiling.

        omega : (…,) rad/s; shapes : (M,) places of the shapes.
        """
        kz, scale = self._column(omega, shapes)
        levels, row = np.unique(np.asarray(z, float), return_inverse=True)
        field = scale[..., None, :] * np.cos(kz[..., None, :] * (self.height - levels[:, None]))
        field[..., shapes == 0] += np.asarray(self._leak_correction(omega))[..., None, None]
        return np.asarray(field[..., row, :])

    def mean_square_down(self, omega: float | np.ndarray, shapes: np.ndarray) -> np.ndarray:
        """Mean over the depth of |p_lm/v_lm|² (…, M) [Pa2 s2/m2]."""
        kz, scale = self._column(omega, shapes)
        wave, fade = kz.real * self.height, kz.imag * self.height
        mean = (_sinhc(2 * fade) + np.sinc(2 * wave / np.pi)) / 2
        square = np.abs(scale) ** 2 * mean
        extra = self._leak_correction(omega)
        for place in np.flatnonzero(shapes == 0):
            down = kz[..., place] * self.height
            together = scale[..., place] * np.sin(down) / down
            square[..., place] += 2 * (together * np.conj(extra)).real + np.abs(extra) ** 2
        return np.asarray(square)

    def _column(
        self, omega: float | np.ndarray, shapes: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        delta = DECAY / self.reverberation_time
        wide = np.asarray(omega, float)[..., None]
        square = (wide**2 - 2j * delta * wide) / air.SPEED**2 - self.wavenumbers[shapes] ** 2
        kz = np.sqrt(square)
        return kz, -1j * wide * air.DENSITY / (kz * np.sin(kz * self.height))

    def _leak_correction(self, omega: float | np.ndarray) -> complex | np.ndarray:
        """What the uniform pressure's own leak changes against the decay of the other modes."""
        delta = DECAY / self.reverberation_time
        rate = delta if self.leak_time is None else 1 / self.leak_time
        stiffness = air.DENSITY * air.SPEED**2 / self.height
        return stiffness * (1 / (1j * omega + rate) - 1 / (1j * omega + 2 * delta))


def _sinhc(x: np.ndarray) -> np.ndarray:
    safe = np.where(np.abs(x) < 1e-6, 1.0, x)
    return np.where(np.abs(x) < 1e-6, 1.0, np.sinh(safe) / safe)


def of_design(design: Design, ceiling: bool = True, highest: float = 400.0) -> Box:
    """The room of `design` below its new ceiling, or without it below joists, slab or old one.

    Notches, bulkheads and the air between bare joists are left out.
    """
    room = design.room
    height = clear_height(design, ceiling)
    return Box(room.length, room.width, height, room.reverberation_time, highest=highest)


def clear_height(design: Design, ceiling: bool = True) -> float:
    """Height of the room's air [m]: to the new ceiling, or without it as the design says."""
    return max(design.room.height - (design.taken if ceiling else 0.0), 0.3)


def volume(design: Design, ceiling: bool = True) -> float:
    """Air of the room [m3] below its new ceiling, or without it; as `of_design` has it."""
    return design.room.length * design.room.width * clear_height(design, ceiling)


def dies_away(design: Design, ceiling: bool = True) -> tuple[float, ...]:
    """Time T in which the room itself lets sound of each band (28,) die away [s]: its reverberation
    time, and 0 in the bands below its first mode.

    There the air is a spring that follows the ceiling at once and keeps nothing: c/(2 L) of the
    longest side lies above the centre of the next band, where the band's filter is 19 dB down.
    ceiling : as in `of_design`.
    """
    box = of_design(design, ceiling)
    first = air.SPEED / (2 * max(box.length, box.width, box.height))
    still = int(np.sum(np.array(bands.CENTRES) * bands.G ** (1 / 3) < first))
    return (0.0,) * still + (box.reverberation_time,) * (len(bands.CENTRES) - still)


def offset(room: Room) -> tuple[float, float]:
    """Room's corner in floor coordinates [m]."""
    return room.offset_x, room.offset_y


def joint(box: Box, leaf: Leaf, place: int, corner: tuple[float, float]) -> Joint:
    """The room's air as a link between the ceiling and rest, for the coupled (two-way) answer.

    leaf, place : the ceiling and its place in the stack. Each cosine is opposed by
    i w p_lm(0)/v_lm per area. Use with the outside radiation switched off.
    """
    shapes = np.arange(len(box.wavenumbers))

    def compliance(omega: float, places: Any = EVERY) -> np.ndarray:
        stiffness = 1j * omega * box.down(omega, np.zeros(1), shapes[places])[0]
        return 1 / np.where(np.abs(stiffness) < 1e-9, 1e-9, stiffness)

    return Joint("room", {place: box.project(leaf, corner)}, compliance, box.wavenumbers, False)


def corners(box: Box) -> np.ndarray:
    """The eight corner places (8, 3) [m], z down from the ceiling."""
    ends = [
        (min(CORNER, side / 2), side - min(CORNER, side / 2))
        for side in (box.length, box.width, box.height)
    ]
    return np.array([(x, y, z) for x in ends[0] for y in ends[1] for z in ends[2]])


def inside(box: Box, each_way: int = 4) -> np.ndarray:
    """Usual microphone places, a grid (P, 3) [m] that keeps INSIDE from every surface."""
    lines = []
    for side in (box.length, box.width, box.height):
        near = min(INSIDE, side / 3)
        lines.append(np.linspace(near, side - near, each_way))
    return np.stack(np.meshgrid(*lines, indexing="ij"), axis=-1).reshape(-1, 3)


def listener(box: Box, place: str) -> np.ndarray:
    """Where a listener is, (1, 3) [m], z down from the ceiling; place "middle" or "pillow"."""
    if place == "middle":
        return np.array([[box.length / 2, box.width / 2, max(box.height - EAR, 0.0)]])
    if place == "pillow":
        x, y, up = PILLOW
        return np.array([[min(x, box.length / 2), min(y, box.width / 2), box.height - up]])
    raise ValueError(f"place {place!r}: 'middle' or 'pillow'")


@dataclass(frozen=True, eq=False)
class Ears:
    """A room with one leaf above it, ready to be asked at many frequencies.

    projection : (A B, n) of all modes of the leaf. places : whether single places are asked for
    beside the average.
    """

    box: Box
    projection: np.ndarray
    places: bool = True

    @cached_property
    def _heard(self) -> tuple[np.ndarray, np.ndarray]:
        """The usual microphones, the corners and the listeners."""
        there = [listener(self.box, place) for place in ("middle", "pillow")]
        return self._at(np.vstack([inside(self.box), corners(self.box), *there]))

    def _at(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return self.box.across(points), points[:, 2]

    def shapes(self, omega: float | np.ndarray) -> np.ndarray:
        """Places (M,) of the shapes that matter at omega (…,) [rad/s]."""
        return self.box.kept(float(np.max(omega)) / (2 * np.pi))

    def velocity(
        self, omega: float | np.ndarray, motion: np.ndarray, keep: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """Shapes that matter (M,) and the ceiling's velocity on them (…, M, P) [m²/s].

        motion : (…, n, P) displacements of the leaf's modes `keep`; omega : (…,) rad/s.
        """
        shapes = self.shapes(omega)
        onto = self.projection[np.ix_(shapes, keep)]
        moved = (onto @ np.ascontiguousarray(motion).view(float)).view(complex)
        return shapes, 1j * np.asarray(omega)[..., None, None] * moved

    def pressure(
        self, omega: float | np.ndarray, motion: np.ndarray, keep: np.ndarray, points: np.ndarray
    ) -> np.ndarray:
        """Complex pressure (…, Q, P) [Pa] at points (Q, 3) [m], z down from the ceiling."""
        shapes, velocity = self.velocity(omega, motion, keep)
        return self._pressure(omega, shapes, velocity, *self._at(points))

    def _pressure(
        self, omega: float | np.ndarray, shapes: np.ndarray, velocity: np.ndarray,
        across: np.ndarray, depth: np.ndarray,
    ) -> np.ndarray:  # fmt: skip
        return np.asarray((across[:, shapes] * self.box.down(omega, depth, shapes)) @ velocity)

    def squares(
        self, omega: float | np.ndarray, motion: np.ndarray, keep: np.ndarray
    ) -> dict[str, np.ndarray]:
        """Mean squares (…, P) [Pa²] per column of `motion` (…, n, P), by place.

        average : over the volume; unless only that is asked for, inside : over the usual
        microphones; corners : (…, 8, P); middle, pillow : at a listener.
        """
        return self.squares_of(omega, *self.velocity(omega, motion, keep))

    def squares_of(
        self, omega: float | np.ndarray, shapes: np.ndarray, velocity: np.ndarray
    ) -> dict[str, np.ndarray]:
        """As `squares`, of the ceiling's `velocity` (…, M, P) on some shapes [m²/s]."""
        mean = self.box.mean_square_down(omega, shapes) / (self.box.length * self.box.width)
        out = {"average": (mean[..., None, :] @ squared(velocity))[..., 0, :]}
        if not self.places:
            return out
        found = squared(self._pressure(omega, shapes, velocity, *self._heard))
        out["inside"] = found[..., :-10, :].mean(axis=-2)
        out["corners"] = found[..., -10:-2, :]
        out["middle"], out["pillow"] = found[..., -2, :], found[..., -1, :]
        return out


def ears(
    design: Design, leaf: Leaf, ceiling: bool = True, highest: float = 400.0, places: bool = True
) -> Ears:
    """The room of `design` under `leaf`: the new ceiling, or without it the lowest old leaf.

    places : False where only the average over the room is wanted.
    """
    box = of_design(design, ceiling, highest)
    return Ears(box, box.project(leaf, offset(design.room)), places)
