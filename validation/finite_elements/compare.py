"""The package's modal stack on the reference's own assemblies, band by band beside the reference.

    python -m validation.finite_elements.compare

Reads the reference's stored results; solves the same plain numbers with `impact.leaf`,
`impact.link` and `impact.motion.stack`, at the same frequencies and forces.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np

from impact.base import bands
from impact.leaf import mirror as leaf_mirror
from impact.leaf import plate as plates
from impact.leaf.plate import Leaf
from impact.link import springs
from impact.link.joint import EVERY, Joint
from impact.motion import mirror, sizes, striking
from impact.motion import stack as stacks
from impact.motion.reduced import Reduced
from impact.motion.sizes import Size
from impact.motion.stack import Stack
from validation.finite_elements import cases, model

HERE = Path(__file__).parent
COMPARED = ("mobility_db", "velocity_db", "power_db")
HIGHEST = 300.0  # Hz, links, for bands to 250 Hz; leaf modes go to 1.8 times it and more


def leaf(part: model.Leaf, length: float, width: float, highest: float) -> Leaf:
    """Modes of one of the reference's leaves, for links up to `highest` [Hz]."""
    p = part.plate
    ribs: dict[str, plates.Ribs | None] = {"x": None, "y": None}
    for r in part.ribs:

        def bending(k2: np.ndarray, stiff: float = r.bending) -> np.ndarray:
            return np.full_like(k2, stiff)

        ribs[r.direction] = plates.Ribs(
            np.array(r.positions), bending, r.torsion, 0.0, r.mass, r.rotary
        )
    nu = p.poisson * np.sqrt(p.bending_x * p.bending_y)
    return plates.modes(
        plates.Plate(
            part.name, length, width, p.mass, p.bending_x, p.bending_y, float(nu), p.twisting,
            part.loss_factor, "free" if part.edges == "free" else "supported",
            ribs_x=ribs["x"], ribs_y=ribs["y"],
        ),
        1.8 * highest,
    )  # fmt: skip


def stack(assembly: model.Assembly, highest: float = HIGHEST) -> Stack:
    """The package's stack of one of the reference's assemblies, for links up to `highest` [Hz]."""
    leaves = [leaf(part, assembly.length, assembly.width, highest) for part in assembly.leaves]
    joints: list[Joint] = []
    for n, spring in enumerate(assembly.areas):
        shapes, kx, ky = _cosines(assembly, leaves, (spring.upper, spring.lower), highest)
        joints.append(springs.area(
            f"area {n}", (spring.upper, spring.lower), shapes, spring.stiffness,
            spring.loss_factor, np.hypot(kx, ky),
        ))  # fmt: skip
    for n, gas in enumerate(assembly.gases):
        shapes, kx, ky = _cosines(assembly, leaves, (gas.upper, gas.lower), highest)
        joints.append(Joint(
            f"gas {n}", {gas.upper: shapes[0], gas.lower: -shapes[1]},
            partial(_compliance, gas, kx, ky), np.hypot(kx, ky), False,
        ))  # fmt: skip
    for n, points in enumerate(assembly.points):
        joints.append(springs.between(
            f"points {n}", leaves, (points.upper, points.lower), np.array(points.positions),
            points.stiffness, points.loss_factor,
        ))  # fmt: skip
    for n, edge in enumerate(assembly.edges):
        for side in ("west", "east", "south", "north"):
            shapes_on, wave = springs.edge_shapes(leaves[edge.leaf], side, 32)
            joints.append(springs.lines(
                f"edge {n} {side}", edge.leaf, shapes_on, np.full(32, edge.stiffness),
                edge.loss_factor, wave,
            ))  # fmt: skip
    return Stack(tuple(leaves), tuple(joints), 0, len(leaves) - 1)


def _compliance(
    gas: model.GasLayer, kx: np.ndarray, ky: np.ndarray, omega, places=EVERY
) -> np.ndarray:
    """1/k of shapes at some places at omega [rad/s], (L,), or (F, L) for several."""
    kx, ky = kx[places], ky[places]
    if np.ndim(omega):
        return np.array([_compliance(gas, kx, ky, float(one)) for one in omega])
    flow = kx**2 / _at(gas.density_x, omega) + ky**2 / _at(gas.density_y, omega)
    return np.asarray(gas.depth / _at(gas.bulk, omega) - gas.depth * flow / omega**2)


def _at(value, omega: float) -> complex:
    return complex(value(omega)) if callable(value) else complex(value)


def _cosines(
    assembly: model.Assembly, leaves: list[Leaf], pair: tuple[int, int], highest: float
):  # fmt: skip
    reach = 1.2 * max(sizes.bending_wavenumber(leaves[i], 2 * np.pi * highest) for i in pair)
    sides = (assembly.length, assembly.width)
    na, nb = (int(np.ceil(reach * side / np.pi)) + 2 for side in sides)
    kx, ky = np.meshgrid(
        np.arange(na) * np.pi / sides[0], np.arange(nb) * np.pi / sides[1], indexing="ij"
    )
    shapes = tuple(
        leaves[i].project(leaves[i].x.cosines(na, 0.0, sides[0]),
                          leaves[i].y.cosines(nb, 0.0, sides[1])).reshape(na * nb, -1)
        for i in pair
    )  # fmt: skip
    return shapes, kx.ravel(), ky.ravel()


def _file(name: str, what: str) -> Path:
    return HERE / "results" / f"{name}_{what}.csv"


def stored(name: str) -> list[dict[str, float]]:
    """Band rows of the reference's result file."""
    with _file(name, "bands").open() as lines:
        return [{k: float(v) for k, v in row.items()} for row in csv.DictReader(lines)]


def line_frequencies(name: str) -> dict[float, list[float]]:
    """Frequencies [Hz] at which the reference was solved, by nominal band."""
    out: dict[float, set[float]] = {}
    with _file(name, "lines").open() as lines:
        for row in csv.DictReader(lines):
            f = float(row["frequency_hz"])
            out.setdefault(bands.nominal(f), set()).add(f)
    return {band: sorted(found) for band, found in out.items()}


@dataclass(frozen=True, eq=False)
class Band:
    """The package's answer at F lines of one band, means over the forces: real part of the
    driving-point mobility, mean-square velocity of the lowest leaf, radiated power; (F,) each."""

    mobility: np.ndarray
    velocity: np.ndarray
    power: np.ndarray

    def misses(self, places: np.ndarray, richer: Band) -> float:
        """How far some of its lines are from a richer solution of just these [dB], at most."""
        return max(
            sizes.distance(getattr(self, name)[places], getattr(richer, name))
            for name in ("mobility", "velocity", "power")
        )


Prepared = tuple[Reduced, tuple[mirror.Group, ...]]  # a stack in one band, whole and taken apart


def prepared(
    whole: Stack, band: float, size: Size, richer: Prepared | None = None
) -> Prepared:  # fmt: skip
    """A stack in one nominal `band` in a given size; sound does not load it. richer : the same in
    the richer size."""
    low, high = bands.edges(bands.CENTRES[bands.index(band)])
    made = stacks.reduce(whole, low, high, size)
    reduced = replace(made, loaded=False, room_above=False)
    return reduced, mirror.split(reduced, richer=richer[1] if richer else ())


def solved(reduced: Reduced, groups: tuple[mirror.Group, ...], frequencies: np.ndarray) -> Band:
    """One band of a stack, `prepared`, at some of its frequencies [Hz]."""
    leaves = reduced.stack.leaves
    struck = mirror.at_points(groups, cases.SOURCES)
    lines = 2 * np.pi * np.asarray(frequencies)
    out: list[np.ndarray] = []
    for some in mirror.at_once(groups, len(lines)):
        omega = lines[some]
        found = mirror.answers(reduced, groups, omega, struck, ())[0]
        resting = striking.compliance_at(reduced, cases.SOURCES, omega)
        mobility = found.mobility + 1j * omega[:, None] * resting
        square = _mean_square(leaves[-1], reduced.keep[-1], found.of(len(leaves) - 1))
        out.append(np.array([mobility.real.mean(1), square * omega**2, found.power.mean(1)]))
    return Band(*np.concatenate(out, axis=1))


def settled(whole: Stack, band: float, frequencies: np.ndarray) -> tuple[Band, float]:
    """One band in the size that is enough, as predictions find it; and what it misses [dB]."""
    places = sizes.probed(len(frequencies))
    sized: dict[Size, Prepared] = {}

    def begin(size: Size, richer: Size) -> Band:
        sized[richer] = prepared(whole, band, richer)
        own = sized.pop(size, None) or prepared(whole, band, size, sized[richer])
        return solved(*own, frequencies)

    found, _, missing = sizes.settled(
        begin,
        lambda ours, richer: ours.misses(places, solved(*sized[richer], frequencies[places])),
    )
    return found, missing


def differences(name: str, only: tuple[float, ...] | None = None) -> list[dict[str, float]]:
    """Ours minus the reference [dB] in every stored band: real part of the
    driving-point mobility, mean-square velocity of the lowest leaf, radiated power; and what ours
    misses by its own estimate."""
    whole = stack(
        cases.CASES[name](), HIGHEST / cases.ALL[1] * cases.RANGES.get(name, cases.ALL)[1]
    )
    frequencies = line_frequencies(name)
    out = []
    for row in stored(name):
        band = row["band_hz"]
        if only and band not in only:
            continue
        found, missing = settled(whole, band, np.array(frequencies[band]))
        ours = [each.mean() for each in (found.mobility, found.velocity, found.power)]
        theirs = [row["mobility_real"], row["ceiling_velocity_square"], row["radiated_power"]]
        change = 10 * np.log10(np.divide(ours, theirs))
        out.append({"band_hz": band, "mobility_db": change[0], "velocity_db": change[1],
                    "power_db": change[2], "estimate_db": missing})  # fmt: skip
    return out


def _mean_square(lowest: Leaf, keep: np.ndarray, motion: np.ndarray) -> np.ndarray:
    """Area mean of |w|² over a leaf (F,), and mean over the forces, of motion (F, n, P); the bases
    are orthonormal."""
    total = np.zeros(len(motion))
    for kind in leaf_mirror.kinds(lowest):
        own = kind.modes[: np.searchsorted(kind.modes, len(keep))]  # they are kept from the lowest
        made_of = kind.block.reshape(-1, len(kind.modes))[:, : len(own)]
        moved = made_of @ np.ascontiguousarray(motion[:, own]).view(float)
        total += np.sum(moved**2, axis=(-2, -1))
    return np.asarray(total / motion.shape[-1] / (lowest.x.length * lowest.y.length))


def main() -> None:
    """Print the table of differences of every case."""
    for name in cases.CASES:
        if not _file(name, "bands").exists():
            print(f"{name}: no results of the reference are kept")
            continue
        print(f"{name}: ours minus the reference, dB")
        print("  band Hz   mobility   lowest leaf's velocity²   radiated power   estimate")
        for row in differences(name):
            print("  {:7g}   {:+8.2f}   {:+22.2f}   {:+14.2f}   {:8.2f}".format(*row.values()))


if __name__ == "__main__":
    main()
