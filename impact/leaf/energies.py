"""Energies of a plate and its ribs, in the products of functions along its two sides.

Leissa, Vibration of Plates, NASA SP-160, 1969, ch. 9, for the orthotropic plate; ribs as beams
bonded to it:

    2 U = ∫∫ Dx w,xx² + Dy w,yy² + 2 Dnu w,xx w,yy + 4 D66 w,xy²
          + sum over ribs ∫ EI w,ss² + (GJ + EIz e² k²) w,sn²
    2 T = ∫∫ m'' w,t² + sum over ribs ∫ mu w,t² + J (w,nt)²

s runs along a rib, n across it. J is the rotary inertia of a rib rolling with the plate about the
plate's middle. EIz e² k² is the rib's sideways bending, e below the plate, k the wavenumber along
it.

Slabs that give in shear have less of the first line: `leaf.sheared`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from impact.leaf import basis as bases
from impact.leaf import sheared

if TYPE_CHECKING:
    from impact.leaf.plate import Plate, Ribs


def blocks(plate: Plate, x: bases.Basis, y: bases.Basis) -> tuple[np.ndarray, np.ndarray]:
    """Mass (My, My) [kg/m2 times the functions' units] and stiffness (Mx, My, My) [N/m3 likewise],
    one function along x at a time: with only the diagonal of the x matrices."""
    bend, slope = np.diag(x.bend), np.diag(x.slope)
    mass = plate.mass * np.eye(y.count)
    stiffness = sheared.condensed(
        plate.stiffnesses, plate.shear, (bend, slope, np.diag(x.mixed)), (y.bend, y.slope, y.mixed)
    )
    if plate.ribs_x is not None:
        ribs = plate.ribs_x
        here, turn = y.values(ribs.positions), y.values(ribs.positions, 1)
        along, across = here.T @ here, turn.T @ turn
        mass = mass + ribs.mass * along + ribs.rotary * across
        stiffness += (ribs.bending(np.sqrt(bend)) * bend)[:, None, None] * along
        stiffness += (ribs.torsion * slope + ribs.sideways * bend)[:, None, None] * across
    return mass, stiffness


def between(
    plate: Plate, x: bases.Basis, y: bases.Basis, bend_x: np.ndarray, bend_y: np.ndarray
) -> list[tuple[np.ndarray, np.ndarray]]:
    """Two sides each, (Mx, Mx) and (My, My), of the products that couple functions along x, which
    `sheared.condensed` leaves out [N/m3 times the functions' units].

    bend_x, bend_y : ∫ X''m X''n of each side [1/m4], of these ends.
    """
    half_x, quarter_x = sheared.shares(bend_x, plate.bending_x, plate.shear[0])
    half_y, quarter_y = sheared.shares(bend_y, plate.bending_y, plate.shear[1])
    slope, mixed = (each - np.diag(np.diag(each)) for each in (x.slope, x.mixed))
    slope, mixed = quarter_x @ slope @ quarter_x, mixed @ half_x
    return [
        (4 * plate.twisting * slope, quarter_y @ y.slope @ quarter_y),
        (2 * plate.bending_nu * mixed, half_y @ y.mixed.T),  # a half of it is meant to be turned
    ]


def coupling(
    plate: Plate, x: bases.Basis, y: bases.Basis, first: np.ndarray, columns: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Stiffness [1/s²] and mass [-] between uncoupled modes that `blocks` leaves out; both (n, n).

    Mode i is the function first[i] along x times columns[i] (n, My) along y.
    """
    stiffness, mass = np.zeros((2, len(first), len(first)))

    def add(target: np.ndarray, in_x: np.ndarray, in_y: np.ndarray) -> None:
        target += in_x[first[:, None], first] * (columns @ in_y @ columns.T)

    if x.kind != "supported":
        for in_x, in_y in between(plate, x, y, x.bend, y.bend):
            add(stiffness, in_x, in_y)
        if plate.ribs_x is not None:
            slope = x.slope - np.diag(np.diag(x.slope))
            turn = y.values(plate.ribs_x.positions, 1)
            add(stiffness, plate.ribs_x.torsion * slope, turn.T @ turn)
    if plate.ribs_y is not None:
        ribs = plate.ribs_y
        here, turn = x.values(ribs.positions), x.values(ribs.positions, 1)
        add(stiffness, here.T @ here, weighted(ribs, y.bend))
        add(stiffness, turn.T @ turn, ribs.torsion * y.slope)
        add(mass, here.T @ here, ribs.mass * np.eye(y.count))
        add(mass, turn.T @ turn, ribs.rotary * np.eye(y.count))
    return (stiffness + stiffness.T) / 2, (mass + mass.T) / 2


def full(
    plate: Plate, x: bases.Basis, y: bases.Basis, px: np.ndarray, py: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Stiffness [N/m3 times the functions' units] and mass [kg/m2 likewise] over all products of
    the picked functions px (P,) and py (Q,), (P Q, P Q) each."""
    ix, iy = np.ix_(px, px), np.ix_(py, py)
    eye_x, eye_y = np.eye(len(px)), np.eye(len(py))
    stiffness = (
        np.kron(plate.bending_x * x.bend[ix], eye_y)
        + np.kron(eye_x, plate.bending_y * y.bend[iy])
        + plate.bending_nu * np.kron(x.mixed[ix], y.mixed[iy].T)
        + plate.bending_nu * np.kron(x.mixed[ix].T, y.mixed[iy])
        + 4 * plate.twisting * np.kron(x.slope[ix], y.slope[iy])
    )
    mass = plate.mass * np.eye(len(px) * len(py))
    for ribs, along, across, flip in (
        (plate.ribs_x, x, y, False),
        (plate.ribs_y, y, x, True),
    ):
        if ribs is None:
            continue
        pa, pc = (py, px) if flip else (px, py)
        here = across.values(ribs.positions)[:, pc]
        turn = across.values(ribs.positions, 1)[:, pc]
        near, roll = here.T @ here, turn.T @ turn
        inside = np.ix_(pa, pa)
        bend = weighted(ribs, along.bend[inside])

        def product(a: np.ndarray, c: np.ndarray, flip: bool = flip) -> np.ndarray:
            return np.kron(c, a) if flip else np.kron(a, c)

        stiffness += product(bend, near) + product(ribs.torsion * along.slope[inside], roll)
        eye = np.eye(len(pa))
        mass += product(ribs.mass * eye, near) + product(ribs.rotary * eye, roll)
    return stiffness, mass


def weighted(ribs: Ribs, bend: np.ndarray) -> np.ndarray:
    """EI(k²) ∫ X''m X''n of a rib (M, M) [N/m2 times the functions' units], with EI taken at each
    function's own wavenumber. bend : ∫ X''m X''n (M, M) [1/m4]."""
    root = np.sqrt(ribs.bending(np.sqrt(np.abs(np.diag(bend)))))
    return np.asarray(root[:, None] * bend * root)
