"""The floor above the cavity: how force and power get into deck, joists, slab, floating leaves."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from impact.base import air
from impact.design.parts import Design, Floor, Mat
from impact.energy import afloat, leaves, mobility, radiating, slab_modes
from impact.energy import mat as mats
from impact.energy.balance import Balance, point_link, points
from impact.energy.leaves import BeamLeaf, PlateLeaf
from impact.link.mat import impedances


@dataclass(frozen=True)
class Upper:
    """The floor, its mobilities, all per band (n,).

    floating : leaves from the structure up with their mats. bay : deck or slab. beams : joists or
    None. at_base, at_top : complex mean mobility of the structure alone and of the face walked on.
    into_bay, into_beams : power into deck and joists per mean-square force on the structure.
    modes : of a slab, where they are known.
    """

    omega: NDArray
    floating: list[tuple[Mat, PlateLeaf]]
    bay: PlateLeaf
    beams: BeamLeaf | None
    into_bay: NDArray
    into_beams: NDArray
    at_base: NDArray
    at_top: NDArray
    passed: list[NDArray]  # |H|^2 of each floating leaf: force below it over force on it
    struck: list[NDArray]  # power into each per mean-square force on it
    modes: slab_modes.Known | None = None

    @property
    def under(self) -> NDArray | float:
        """Mean square where a ceiling hangs over that of what carries it (n,) [-]."""
        if self.beams is not None:
            return self.beams.under
        if self.modes is None:
            return 1.0
        return np.asarray(1 + self.modes.moving * (self.modes.under - 1))

    @property
    def strip_share(self) -> NDArray:
        """Share of the deck that moves with the joists (n,). A pure ratio."""
        if self.beams is None:
            return np.zeros_like(self.omega)
        return np.minimum(1 - leaves.SMALLEST_SHARE, self.beams.strip / self.beams.spacing)


def build(design: Design, frequencies: NDArray, reach: tuple[float, float] | None = None) -> Upper:
    """The floor of a design as leaves.

    What a floating leaf hands through its mat: `mat.force_handed_down`; one alone on a slab:
    `mobility.plates_on_mat`. frequencies (n,) [Hz].
    reach : from where on a slab's own modes are taken [Hz], for what moves and for what is heard;
    None for averages alone.
    """
    made = _averages(design.floor, tuple(np.asarray(frequencies, float).tolist()))
    if made.beams is not None or reach is None:
        return made
    return _with_modes(made, slab_modes.known(design, made.bay, frequencies, reach))


@lru_cache(maxsize=16)  # most variants of a design have the same floor
def _averages(floor: Floor, centres: tuple[float, ...]) -> Upper:
    """`build` for averages alone."""
    frequencies = np.array(centres)
    omega = 2 * np.pi * frequencies
    if floor.joists is None:
        bay, beams = leaves.slab_leaf(floor, frequencies), None
        into_bay = np.full(omega.shape, bay.mobility)
        into_beams, base = np.zeros_like(omega), into_bay.astype(complex)
    else:
        bay, beams = leaves.deck_and_joists(floor, frequencies)
        into_bay, into_beams, base = _joist_floor(bay, beams, omega)
    floating = leaves.floating_leaves(floor, frequencies)
    top, passed, struck, below = base, [], [], bay.mass
    if beams is not None and floor.joists is not None:
        below += floor.joists.mass_per_length / beams.spacing
    for mat, leaf in floating:
        through = mats.force_handed_down(mat, leaf.mass, below, omega)
        passed.append(through)
        own = _own_mobility(mat, leaf, omega)
        struck.append(own.real)
        top = own + np.minimum(through, 1.0) * top
        below += leaf.mass
    if _on_slab(beams, floating):
        top, whole = _two_plates(*floating[0], bay, omega)
        # no more than waves hand down in all, and no more than there is
        passed = [np.minimum(np.minimum(passed[0], whole), top.real / into_bay)]
        struck = [top.real - passed[0] * into_bay]
    return Upper(omega, floating, bay, beams, into_bay, into_beams, base, top, passed, struck)


def _on_slab(beams: BeamLeaf | None, floating: list[tuple[Mat, PlateLeaf]]) -> bool:
    """Whether one leaf floats on a slab, all over."""
    return beams is None and afloat.alone(floating) is not None


def _two_plates(
    mat: Mat, leaf: PlateLeaf, slab: PlateLeaf, omega: NDArray
) -> tuple[NDArray, NDArray]:
    """Mobility of a leaf that floats on a slab, complex, and the mean square of the slab's motion
    over that without the leaf: both endless, means over each band and directions of waves (n,)."""
    at = mats.inside(omega)[..., None]
    own, across = (1j * at * z for z in impedances(mat, at))
    lost = slab.loss[:, None, None] + 2 * air.IMPEDANCE * slab.radiation[:, None, None] / (
        at * slab.mass
    )
    above, below = (radiating.in_directions(each.stiffness) for each in (leaf, slab))
    stiff = above * (1 + 1j * leaf.loss[:, None, None]), below * (1 + 1j * lost)
    masses = leaf.mass, slab.mass
    top, square = mobility.plates_on_mat(stiff, masses, (own, across), at)
    alone = mobility.plate(below, slab.mass).mean() / (at * lost * slab.mass)
    return np.mean(top, axis=(1, 2)), np.mean(square / alone, axis=(1, 2))


def _with_modes(upper: Upper, modes: slab_modes.Known) -> Upper:
    """The same with what modes know of a slab, as far as they count there."""
    share, bay = modes.moving, upper.bay
    bay = replace(bay, radiation=share * modes.radiation + (1 - share) * bay.radiation)
    lost = upper.omega * bay.loss * bay.mass + 2 * air.IMPEDANCE * bay.radiation
    base = share * modes.mobility + (1 - share) * upper.at_base
    top = upper.at_top
    struck, passed = upper.struck, upper.passed
    into_bay = share * modes.square * lost + (1 - share) * upper.into_bay
    if _on_slab(upper.beams, upper.floating):
        passed = [share * modes.passed + (1 - share) * passed[0]]
        struck = [np.maximum(top.real - passed[0] * into_bay, 0.0)]
    else:
        through = np.prod([np.minimum(each, 1.0) for each in upper.passed], axis=0)
        top = top + through * (base - upper.at_base)
    return replace(
        upper, bay=bay, at_base=base, at_top=top, into_bay=into_bay, passed=passed, struck=struck,
        modes=modes,
    )  # fmt: skip


def _joist_floor(
    deck: PlateLeaf, beams: BeamLeaf, omega: NDArray
) -> tuple[NDArray, NDArray, NDArray]:
    """Power into deck and joists per mean-square force, and the mean mobility."""
    y_beam = beams.mobility(omega)
    mean_mass = deck.mass + (beams.line_mass - deck.mass * beams.strip) / beams.spacing
    along = deck.stiffness[0] + beams.bending / beams.spacing
    smeared = mobility.orthotropic_plate(along, deck.stiffness[1], mean_mass)
    on, share = mobility.ribbed_floor(
        deck.mobility, y_beam, beams.spacing, deck.wavenumber(omega), smeared
    )
    squared = np.abs(on) ** 2
    to_deck = (1 - share) * deck.mobility + share * squared / deck.mobility
    to_beams = share * (np.real(on) - squared / deck.mobility)
    return to_deck, to_beams, (1 - share) * deck.mobility + share * on


def leaf_names(upper: Upper) -> list[str]:
    """Names of the leaves above the cavity as used in the balance, top first."""
    names = [leaf.name for _, leaf in reversed(upper.floating)] + [upper.bay.name]
    return names if upper.beams is None else [*names, "joists"]


def enter(balance: Balance, upper: Upper, design: Design) -> None:
    """Losses, inner couplings and the blow, into the balance."""
    omega, bay = upper.omega, upper.bay
    area = bay.area
    own = 1 - upper.strip_share
    air_loss = air.IMPEDANCE * 2 * bay.radiation
    balance.loses(bay.name, (omega * bay.loss * bay.mass + air_loss) * area * own)
    if upper.beams is not None:
        _enter_joists(balance, upper, design)
    _enter_floating(balance, upper)


def _enter_joists(balance: Balance, upper: Upper, design: Design) -> None:
    beams, deck, omega = upper.beams, upper.bay, upper.omega
    joists = design.floor.joists
    assert beams is not None
    assert joists is not None
    strip_area = deck.area * upper.strip_share
    sound = 2 * air.IMPEDANCE * radiating.strip(omega / 2 / np.pi, beams.strip) * strip_area
    balance.loses("joists", omega * beams.loss * beams.line_mass * beams.length + sound)
    half = np.pi / deck.wavenumber(omega)
    pitch = 0.0 if joists.deck_fastening == "glued" else leaves.FASTENER_SPACING
    number = beams.length / np.maximum(pitch, half)
    y_deck, y_beam = np.full(omega.shape, deck.mobility, complex), beams.mobility(omega)
    link = point_link(number, beams.local(half), y_deck, y_beam, omega)
    balance.couples(deck.name, "joists", link, y_deck, y_beam)


def _enter_floating(balance: Balance, upper: Upper) -> None:
    """The blow on the uppermost leaf, and what each floating leaf hands down."""
    omega = upper.omega
    direct = np.ones_like(omega)
    below: list[PlateLeaf] = [upper.bay] + [leaf for _, leaf in upper.floating]
    for i in reversed(range(len(upper.floating))):
        mat, leaf = upper.floating[i]
        balance.driven(leaf.name, direct * upper.struck[i])
        over_still_base = np.mean(np.real(impedances(mat, mats.inside(omega))[0]), axis=1)
        lost = omega * leaf.loss * leaf.mass + over_still_base
        balance.loses(leaf.name, (lost + air.IMPEDANCE * leaf.radiation) * leaf.area)
        base = upper.at_base if i == 0 else np.full(omega.shape, below[i].mobility, complex)
        link = _mat_link(mat, leaf, below[i], base, omega)
        target = below[i].name
        y_leaf = np.full(omega.shape, leaf.mobility, complex)
        y_target = np.full(omega.shape, below[i].mobility, complex)
        if upper.modes is not None and _on_slab(upper.beams, upper.floating):
            ratio = (below[i].wavenumber(omega) / leaf.wavenumber(omega)) ** 2
            link = link * (1 - upper.modes.moving * (1 - afloat.at_free_edge(ratio)))
        balance.couples(leaf.name, target, link, y_leaf, y_target)
        direct = direct * upper.passed[i]
    balance.driven(upper.bay.name, direct * upper.into_bay)
    if upper.beams is not None:
        balance.driven("joists", direct * upper.into_beams)


def _own_mobility(mat: Mat, leaf: PlateLeaf, omega: NDArray) -> NDArray:
    """Mobility of a leaf on its mat over a still base, mean over each band, complex (n,)."""
    at = mats.inside(omega)
    spring = 1j * at * impedances(mat, at)[0]
    return np.mean(mobility.plate_on_mat(leaf.bending, leaf.mass, spring, at), axis=1)


def _mat_link(
    mat: Mat, leaf: PlateLeaf, below: PlateLeaf, base: NDArray, omega: NDArray
) -> NDArray:
    """Conductance of a mat between the free waves of two plates.

    An area spring is cut into squares of half the shorter wave; a pattern of waves feeds waves of
    another length only through its edges, so the squares act by the share of their spectrum that
    lies there: the same integral as for radiation below coincidence, sigma(k1/k2) of Leppington
    against 2 (k2/k1)^2 for an uncorrelated pattern (derived here from that analogy). Battens are
    lines and do not keep the pattern: share 1, points half a wave apart along them.
    """
    k1, k2 = leaf.wavenumber(omega), below.wavenumber(omega)
    y_leaf = np.full(omega.shape, leaf.mobility, complex)
    half = np.pi / np.maximum(k1, k2)
    if mat.line_spacing:
        half = np.pi / k1
        number = leaf.area / mat.line_spacing / half
        return number * mats.conductance(mat, mat.line_spacing * half, (y_leaf, base), omega)
    number = leaf.area / half**2
    long, short = np.minimum(k1, k2), np.maximum(k1, k2)
    ratio = short / long
    sound = long * air.SPEED / 2 / np.pi  # Hz at which waves in air are as long as the longer ones
    analog = np.array([
        radiating.free_waves(np.array([f]), f * r**2, leaf.short, leaf.long)[0]
        for f, r in zip(sound, ratio, strict=True)
    ])  # fmt: skip
    share = np.minimum(1.0, analog * ratio**2 / 2)
    return share * number * mats.conductance(mat, half**2, (y_leaf, base), omega)


def hung_from(upper: Upper) -> tuple[str, NDArray]:
    """Leaf that carries ceilings, and its mobility where they hang (n,). Mobility in m/(N s)."""
    if upper.beams is None:
        return upper.bay.name, np.full(upper.omega.shape, upper.bay.mobility, complex)
    return "joists", upper.beams.mobility(upper.omega)


def radiated(upper: Upper, velocity: dict[str, NDArray], area: float) -> NDArray:
    """Power the floor's underside radiates over `area` [m2] per mean-square force, near field of
    the blow included [W/N2]. Result (n,)."""
    bay, share, f = upper.bay, upper.strip_share, upper.omega / 2 / np.pi
    power = air.IMPEDANCE * area * (1 - share) * bay.radiation * velocity[bay.name]
    if upper.beams is not None:
        sigma = radiating.strip(f, upper.beams.strip)
        power = power + air.IMPEDANCE * area * share * sigma * velocity["joists"]
    direct = np.prod(upper.passed, axis=0) if upper.passed else 1.0
    near = radiating.near_field(f, bay.mass, bay.critical) * direct * area / bay.area
    if upper.modes is not None:  # it is in theirs
        near = (1 - upper.modes.moving) * near
    return np.asarray(power + near)


def hang_points(
    upper: Upper, count: float, spacing: tuple[float, float], leaf: PlateLeaf
) -> tuple[NDArray, NDArray, NDArray]:
    """`points` against the half wave of a leaf: their number, how many act as one, and the mobility
    [m/(N s)] of the joists' own crushing in series with them, all (n,)."""
    half = np.pi / leaf.wavenumber(upper.omega)
    number, together = points(count, spacing, half, 1.0)
    give = np.zeros(upper.omega.shape, complex)
    if upper.beams is not None:
        give = 1j * upper.omega / upper.beams.local(half)
    return number, np.real(together), give
