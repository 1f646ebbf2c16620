"""From a design to leaves as energy sees them: mass, stiffness, loss, radiation, mobility."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from impact.design.materials import layers_loss
from impact.design.parts import Design, Floor, Hangers, Joists, Layer, Mat, Slab
from impact.energy import bay_parts, depth, mobility, radiating
from impact.leaf import loss, sheared, strips
from impact.leaf.build import (
    Section,
    between_ribs,
    deck_loss,
    joist_bending,
    section,
    slab_section,
    split_layers,
)
from impact.link import springs

FASTENER_SPACING = 0.2  # m, nails or screws of boards along a joist; common practice, no source
ACROSS_GRAIN = 30.0  # stiffness of softwood along its grain / across it (EN 338, from memory)
SMALLEST_SHARE = 0.05  # of the deck left between the joists; keeps the balance solvable below it


@dataclass(frozen=True)
class PlateLeaf:
    """A plate that carries bending energy. Arrays per band (n,).

    stiffness (Bx, By, Bxy) as in `radiating` [N m], mass [kg/m2], area [m2], short and long sides
    of a field [m] (a bay when joists hold it), loss factor (n,) without sound. radiation : factor
    of its waves; edge_radiation : of those that forces at its edges make, where these are free.
    group : what slow energy adds to mobility and modes, `leaf.sheared`.
    """

    name: str
    stiffness: radiating.Stiffness
    mass: float
    area: float
    short: float
    long: float
    loss: NDArray
    radiation: NDArray
    edge_radiation: NDArray
    group: float = 1.0

    @property
    def bending(self) -> float:
        """Mean stiffness [N m], `radiating.mean_bending`."""
        return radiating.mean_bending(self.stiffness)

    @property
    def critical(self) -> float:
        """Critical frequency of the mean stiffness [Hz]."""
        return float(radiating.critical(self.bending, self.mass))

    @property
    def mobility(self) -> float:
        """Point mobility [m/(N s)]."""
        return self.group * float(mobility.plate(self.bending, self.mass))

    @property
    def modes_per_hertz(self) -> float:
        """Modal density S/2 sqrt(m''/B) [1/Hz] (Cremer/Heckl/Petersson 2005)."""
        return self.group * self.area / 2 * float(np.sqrt(self.mass / self.bending))

    def wavenumber(self, omega: NDArray) -> NDArray:
        """Free bending waves [1/m]. Arrays (n,) over omega."""
        return np.asarray((omega**2 * self.mass / self.bending) ** 0.25)


@dataclass(frozen=True)
class BeamLeaf:
    """The joists together, with the strip of deck that moves with them. Arrays per band (n,).

    bending EI (n,) [N m2], slip of the fasteners and shear in it; line_mass (n,) [kg/m] with strip;
    strip (n,) width [m]; spacing, length of all joists together [m]; loss (n,). crushing: a joist's
    own softness from a face to its middle.
    """

    bending: NDArray
    line_mass: NDArray
    strip: NDArray
    spacing: float
    length: float
    loss: NDArray
    crushing: float  # N/m2: stiffness per length from a face to the middle, inf where it is stiff
    depth: float  # m
    under: NDArray  # mean square of the lower faces over that of the joists, `depth.under`

    def mobility(self, omega: NDArray) -> NDArray:
        """Point mobility of a joist with its strip, complex (n,). In m/(N s)."""
        return mobility.beam(self.bending, self.line_mass, omega)

    def local(self, half_wave: NDArray) -> NDArray:
        """Stiffness from a face to the middle of the joist under one point [N/m], (n,): over half
        a wave of the board, at least over the joist's depth, into which the force spreads."""
        return self.crushing * np.maximum(half_wave, self.depth)

    def modes_per_hertz(self, omega: NDArray) -> NDArray:
        """Modal density L dk/domega 2 = 2 L/c_g [1/Hz], c_g = 2 c_B.

        Arrays (n,) over omega.
        """
        k = mobility.beam_wavenumber(self.bending, self.line_mass, omega)
        return np.asarray(self.length * k / omega)


def plate_leaf(
    name: str, sec: Section, area: float, sides: tuple[float, float], loss_factor: NDArray | float,
    frequencies: NDArray, held: bool = True,
) -> PlateLeaf:  # fmt: skip
    """A leaf from its section; sides of one field [m], whether its edges are held. Arrays (n,)."""
    short, long = min(sides), max(sides)
    stiffness = sec.bending_x, sec.bending_y, sec.bending_nu + 2 * sec.twisting
    sigma = at_edges = radiating.orthotropic(frequencies, stiffness, sec.mass, short, long)
    if not held:
        sigma = radiating.orthotropic(frequencies, stiffness, sec.mass, short, long, held)
    full = np.broadcast_to(np.asarray(loss_factor, float), np.shape(frequencies)).copy()
    return PlateLeaf(name, stiffness, sec.mass, area, short, long, full, sigma, at_edges)


def floating_leaves(floor: Floor, frequencies: NDArray) -> list[tuple[Mat, PlateLeaf]]:
    """The floating leaves from the structure up, each with its mat. frequencies (n,) [Hz]."""
    area = floor.length * floor.width
    _, floating = split_layers(floor.layers)
    return [
        (mat, plate_leaf(
            f"floating {i + 1}", section(layers), area, (floor.length, floor.width),
            layers_loss(layers), frequencies,
        ))
        for i, (mat, layers) in enumerate(floating)
    ]  # fmt: skip


def slab_leaf(floor: Floor, frequencies: NDArray) -> PlateLeaf:
    """The slab with what lies on it and does not float, `leaf.build.slab_section`.

    frequencies (n,) [Hz].
    """
    slab = floor.slab
    assert slab is not None
    base, _ = split_layers(floor.layers)
    made, group = _sheared(slab_section(slab, base), frequencies)
    if slab.ribs is not None and np.size(frequencies) == 1:
        smeared = group * float(mobility.plate(
            radiating.mean_bending((made.bending_x, made.bending_y,
                                    made.bending_nu + 2 * made.twisting)), made.mass,
        ))  # fmt: skip
        group *= _with_ribs(slab, base, frequencies, smeared) / smeared
    bx, by, mass = made.bending_x, made.bending_y, made.mass
    sides = (min(floor.length, floor.width), max(floor.length, floor.width))
    stiffness = bx, by, made.bending_nu + 2 * made.twisting
    fc = radiating.critical(radiating.mean_bending(stiffness), mass)
    if max(bx, by) / min(bx, by) < 2:  # nearly isotropic: the standard's own formulas
        sigma = radiating.homogeneous(frequencies, fc, *sides)
    else:
        sigma = radiating.orthotropic(frequencies, stiffness, mass, *sides)
    eta = np.full(np.shape(frequencies), floor.whole_loss)
    if slab.in_situ_loss:
        eta = eta + loss.edge_loss(frequencies, fc, sides)
    area = floor.length * floor.width
    return PlateLeaf("slab", stiffness, mass, area, *sides, eta, sigma, sigma, group)


def _sheared(made: Section, frequencies: NDArray) -> tuple[Section, float]:
    """The section that a slab's waves have in one band where it gives in shear, and by how much its
    mobility and modes exceed those of a thin plate (`leaf.sheared`); as it is in several bands."""
    if not np.isfinite(made.shear).any() or np.size(frequencies) != 1:
        return made, 1.0
    omega = 2 * np.pi * float(np.ravel(frequencies)[0])
    both = made.bending_x, made.bending_y
    x, y = (
        float(sheared.give(bending, made.mass, shear, omega))
        for bending, shear in zip(both, made.shear, strict=True)
    )
    mean = float(np.sqrt((1 + x) * (1 + y)))
    soft = replace(
        made, bending_x=both[0] / (1 + x), bending_y=both[1] / (1 + y),
        bending_nu=made.bending_nu / mean, twisting=made.twisting / mean,
    )  # fmt: skip
    return soft, float(np.sqrt(sheared.slower(x) * sheared.slower(y)))


def _with_ribs(slab: Slab, base: list[Layer], frequencies: NDArray, smeared: float) -> float:
    """Mobility [m/(N s)] of a ribbed slab in one band, `smeared` that of one plate.

    One plate while half a wave between the ribs is longer than they are apart by a half octave of
    wavenumber; from as far beyond on a plate on beams, `mobility.ribbed_floor`; straight over the
    logarithm between. Modes of ribbed slabs have it so within 1 dB, and the mass that moves stays
    that of both, since ribs roll (`validation/notes/slabs_and_screeds.md`).
    """
    assert slab.ribs is not None
    ribs, omega = slab.ribs, 2 * np.pi * np.ravel(frequencies)
    plate, group = _sheared(between_ribs(slab, base), frequencies)
    bending = float(np.sqrt(plate.bending_x * plate.bending_y))
    wave = (omega**2 * plate.mass / bending) ** 0.25
    free = float(np.clip(np.log2(wave * ribs.spacing / np.pi) + 0.5, 0.0, 1.0)[0])
    strip = np.minimum(2 / wave, ribs.spacing * (1 - SMALLEST_SHARE))
    line = ribs.mass_per_length + plate.mass * strip
    beam = mobility.beam(_beam_bending(ribs, plate, omega, line), line, omega)
    bay = group * float(mobility.plate(bending, plate.mass))
    on, share = mobility.ribbed_floor(bay, beam, ribs.spacing, wave, smeared)
    apart = float(((1 - share) * bay + share * np.real(on))[0])
    return (1 - free) * smeared + free * apart


def _beam_bending(beams: Joists, deck: Section, omega: NDArray, line: NDArray) -> NDArray:
    """EI [N m2] of joists or ribs with their deck in free waves (n,), `line` their mass with a
    strip of it [kg/m]: wave length, slip of the joint and shear depend on each other."""
    bending = joist_bending(beams, deck.stretch_x, deck.thickness)
    stiff = beams.bending_stiffness * np.ones_like(omega)
    for _ in range(4):
        stiff = bending(np.sqrt(omega**2 * line / stiff))
    return stiff


def deck_and_joists(floor: Floor, frequencies: NDArray) -> tuple[PlateLeaf, BeamLeaf]:
    """Deck bays and joists of a joist floor.

    A line that drives a plate moves a strip of it, 2/k_d wide in mass (its impedance is 2 m'' c_B
    per length: Cremer/Heckl/Petersson 2005 sec. 5.4), at most the spacing; the rest is deck. Loose
    fill on boards hangs on them by hinges: two ends, each of a quarter of that impedance.
    frequencies (n,) [Hz].
    """
    joists = floor.joists
    assert joists is not None
    base, _ = split_layers(floor.layers)
    sec = section(base)
    omega = 2 * np.pi * np.asarray(frequencies, float)
    area = floor.length * floor.width
    lost, sides = max(floor.whole_loss, joists.loss_factor), (joists.spacing, floor.length)
    deck = plate_leaf("deck", sec, area, sides, deck_loss(floor), frequencies)
    strip = np.minimum(2 / deck.wavenumber(omega), joists.spacing * (1 - SMALLEST_SHARE))
    line = joists.mass_per_length + sec.mass * strip + _carried(floor, omega)
    stiff = _beam_bending(joists, sec, omega, line)
    beams = BeamLeaf(
        stiff, line, strip, joists.spacing, area / joists.spacing,
        np.full(np.shape(omega), lost), springs.face(joists), joists.depth,
        _under(joists, bay_parts.Sheet(sec, float(deck.loss[0])), lost, tuple(omega)),
    )  # fmt: skip
    return deck, beams


@lru_cache(maxsize=64)
def _under(joists: Joists, deck: bay_parts.Sheet, lost: float, omega: tuple[float, ...]) -> NDArray:
    """`depth.under` of joists that lose `lost`, found once for all ceilings below a floor (n,)."""
    bending = joist_bending(joists, deck.section.stretch_x, deck.section.thickness)
    crush = springs.crush(joists) * (1 + 1j * lost)
    return depth.under(deck, np.array(omega), bending, joists.mass_per_length, crush)


def _carried(floor: Floor, omega: NDArray) -> NDArray:
    """Mass per length of the loose fill on boards that moves with one joist [kg/m] (n,)."""
    if floor.joists is None or not floor.fill_hangs:
        return np.zeros_like(omega)
    wave = (omega**2 * floor.fill_mass / strips.strip_bending(floor)) ** 0.25
    return np.asarray(floor.fill_mass * np.minimum(1 / wave, floor.joists.spacing))


def fill_leaf(design: Design, frequencies: NDArray) -> PlateLeaf:
    """Loose fill on its boards between the joists; it radiates bay by bay. frequencies (n,) [Hz].

    Along the joists the boards are loose beside each other; their stiffness across the grain, E/30
    (EN 338, from memory), stands for what waves there are.
    """
    room, floor = design.room, design.floor
    assert floor.joists is not None
    across = strips.strip_bending(floor)
    made = Section(floor.fill_mass, across / ACROSS_GRAIN, across, 0.0, 0.0, 0.0, 0.0)
    return plate_leaf(
        strips.NAME, made, room.length * room.width, (floor.joists.spacing, room.length),
        floor.whole_loss, frequencies,
    )  # fmt: skip


def ceiling_leaf(design: Design, frequencies: NDArray) -> PlateLeaf:
    """The new boards; fixed straight to joists, or on their own joists, they radiate bay by bay;
    hung ones have free edges.

    frequencies (n,) [Hz].
    """
    room = design.room
    sides = (room.length, room.width)
    spacing = _held_spacing(design)
    if spacing is not None:
        sides = (min(spacing, room.width), room.length)
    leaf = plate_leaf(
        "ceiling", section(design.ceiling.layers), room.length * room.width, sides,
        design.ceiling.loss_factor, frequencies, spacing is not None,
    )  # fmt: skip
    if spacing is None:
        return leaf
    pitch = FASTENER_SPACING if design.hangers is None else design.hangers.channel_spacing
    return _nailed(leaf, pitch, (room.length, room.width), frequencies)


def _nailed(
    leaf: PlateLeaf, pitch: float, sides: tuple[float, float], frequencies: NDArray
) -> PlateLeaf:
    """Boards nailed to joists: held along lines they radiate bay by bay, free between points as
    one plate (the points' near field is counted apart)."""
    held = held_along(leaf, pitch, 2 * np.pi * np.asarray(frequencies, float))
    whole = radiating.orthotropic(frequencies, leaf.stiffness, leaf.mass, min(sides), max(sides))
    return replace(leaf, radiation=held * leaf.radiation + (1 - held) * whole)


def held_along(leaf: PlateLeaf, pitch: float, omega: NDArray) -> NDArray:
    """How far fasteners `pitch` [m] apart hold a leaf along lines, (n,) from 0 to 1 [-].

    1 while half a bending wave is longer than they are apart, 0 from where a whole wave fits
    between them. Line and point connections as in R. J. M. Craik, R. S. Smith, Appl. Acoust. 61
    (2000) 247; the passage between the two is drawn linearly.
    """
    half = np.pi / leaf.wavenumber(omega)
    return np.clip(2 * half / pitch - 1, 0.0, 1.0)


def _held_spacing(design: Design) -> float | None:
    if design.independent is not None:
        return design.independent.joists.spacing
    if design.hangers is not None and design.hangers.kind == "direct":
        return design.floor.joists.spacing if design.floor.joists else None
    return None


def old_leaf(design: Design, frequencies: NDArray) -> PlateLeaf:
    """The old ceiling left in place, held by the joists. frequencies (n,) [Hz]."""
    room, old, joists = design.room, design.old_ceiling, design.floor.joists
    assert old is not None
    assert joists is not None
    sides = (joists.spacing, room.length)
    eta = max(layers_loss(old.layers), design.ceiling.loss_factor)
    area = room.length * room.width
    leaf = plate_leaf("old ceiling", old_section(design), area, sides, eta, frequencies)
    return _nailed(leaf, old.fixing_spacing, (room.length, room.width), frequencies)


def old_section(design: Design) -> Section:
    """The old ceiling's boards, with the mass of a loose fill that lies on them."""
    assert design.old_ceiling is not None
    made = section(design.old_ceiling.layers)
    return replace(made, mass=made.mass + design.floor.lying_mass)


def at_hanger(ceiling: PlateLeaf, hangers: Hangers, omega: NDArray) -> NDArray:
    """Mobility of the boards at a point on a channel: impedances of plate and channel add, (n,).

    The channel carries the strip 2/k_c of board; without a channel the boards alone. In m/(N s).
    """
    alone = np.full(np.shape(omega), ceiling.mobility, complex)
    channel = hangers.channel
    if channel is None or channel.bending_stiffness <= 0:
        return alone
    strip = np.minimum(2 / ceiling.wavenumber(omega), hangers.channel_spacing)
    line = channel.mass_per_length + ceiling.mass * strip
    beam = mobility.beam(channel.bending_stiffness, line, omega)
    return 1 / (1 / alone + 1 / beam)
