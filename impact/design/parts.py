"""What is built, as frozen data in SI units. No behaviour beyond sums of its own fields.

Inside, x runs along the joists (or as a slab spans), y across them, both from the south-west corner
of the *floor*; z points down. SI; the reader (`impact.design.reader`) alone parses units.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from impact.design.origin import Default, Spread


@dataclass(frozen=True)
class Material:
    """A board, deck, timber, slab or screed material."""

    name: str
    density: float  # kg/m3
    youngs_modulus: float  # Pa, along the stronger direction
    youngs_modulus_across: float  # Pa, across it; equal when isotropic
    poisson: float  # -
    loss_factor: float  # -, in place
    shear_modulus: float  # Pa, in plane (twist)
    modulus_through: float | None = None  # Pa, through the thickness; None where nothing is known
    poured: bool = False  # in one piece: nothing rubs in it


@dataclass(frozen=True)
class Layer:
    """One layer of a leaf. `bond` says how it is held to the layer before it (nearer the joists):
    "glued" (acts as one section), "nailed" (stiffnesses add, as screwed), "loose" (mass and
    own stiffness, rests by gravity), "floating" (a leaf of its own on the `mat`)."""

    material: Material
    thickness: float  # m
    bond: str
    strong_axis: str  # "along" (stronger direction parallel to joists; or channels, of boards that
    # they carry) or "across"
    mat: Mat | None = None  # only for bond == "floating"

    @property
    def mass_per_area(self) -> float:
        """kg/m2."""
        return self.material.density * self.thickness


@dataclass(frozen=True)
class Mat:
    """A resilient mat under a floating layer, or battens on strips, taken as an area spring."""

    name: str
    stiffness_per_area: float  # N/m3, dynamic
    loss_factor: float
    thickness: float  # m
    line_spacing: float | None = None  # m: battens at this spacing, running across the joists
    density: float = 0.0  # kg/m3: its mass gives it waves of its own; 0 for a spring without mass
    flow_resistivity: float = 0.0  # Pa s/m2 of a porous mat; 0 where no air moves in it
    path: str = ""  # key path in the design file, under which its ranges stand


@dataclass(frozen=True)
class Covering:
    """A soft finish that only changes the blow of a hard source (carpet, vinyl on underlay)."""

    name: str
    contact_stiffness: float  # Pa/m = N/m3: E/d under the striking face
    loss_factor: float
    mass_per_area: float  # kg/m2
    thickness: float  # m
    spread: float = 0.0  # of ln contact_stiffness, standard deviation; 0 where it is known


@dataclass(frozen=True)
class Joists:
    """Parallel beams under the deck, the same code for solid, I-shaped, steel and open-web ones."""

    kind: str  # "solid", "i-joist", "open-web", "steel"
    width: float  # m, of the bearing face (solid: the section width)
    depth: float  # m
    spacing: float  # m, centre to centre
    span: float  # m, clear span between supports
    along: str  # room dimension they run along: "length" or "width"
    bending_stiffness: float  # EI of one joist about its own centroid, N m2
    axial_stiffness: float  # EA of one joist, N (for composite action with the deck)
    shear_stiffness: float  # GA kappa, N; inf where shear may be neglected
    torsional_stiffness: float  # GJ, N m2
    lateral_stiffness: float  # EI about the vertical axis, N m2
    mass_per_length: float  # kg/m
    loss_factor: float
    volume_per_length: float  # m2: air displaced by one joist per metre of its length
    edge_fixity: float  # 0 simply supported .. 1 clamped at both bearings
    blocking_rows: int  # evenly spaced rows of blocking or strongbacks
    blocking_stiffness: float  # EI of a row, N m2; 0 without rows
    deck_fastening: str  # "glued", "nailed", "screwed", "welded", "none"
    slip_modulus_per_length: float  # N/m2: fastener slip modulus / fastener spacing; inf when glued
    first: float | None = None  # m from the floor's edge; None: symmetric about the middle

    @property
    def clear_share(self) -> float:
        """Share of the plan between their faces [-]."""
        return 1 - self.width / self.spacing

    @property
    def open_share(self) -> float:
        """Share of the plan that they leave to the air, by the volume they displace [-]."""
        return max(0.0, 1 - self.volume_per_length / (self.depth * self.spacing))


@dataclass(frozen=True)
class Slab:
    """A plate floor: monolithic, ribbed, hollow, cross-laminated or timber-concrete composite."""

    kind: str  # "concrete", "lightweight", "hollow", "ribbed", "cross-laminated", "composite"
    thickness: float  # m, overall
    mass_per_area: float  # kg/m2
    bending_stiffness_along: float  # N m (per width), x
    bending_stiffness_across: float  # N m, y
    twisting_stiffness: float  # N m: D_66, so that an isotropic plate has D(1-nu)/2
    poisson: float
    loss_factor: float  # internal
    edge_fixity: float
    edges: str  # "four sides" or "two sides" supported
    in_situ_loss: bool  # add edge and radiation losses of ISO 12354-2 C
    surface_modulus: float | None = None  # Pa, of the struck face through its thickness
    along: str = "length"  # room dimension that it spans, as joists run
    stretch: tuple[float, float] = (1.0, 1.0)  # EA along, across / 12 B/h2, that of a plain plate
    axis: tuple[float, float] = (0.5, 0.5)  # depth of the neutral axis below the top / thickness
    shear: tuple[float, float] = (float("inf"),) * 2  # N/m: what gives in shear, along and across
    ribs: Joists | None = None  # below a plate, as beams; None: all of it is one plate


@dataclass(frozen=True)
class Infill:
    """Sand or other loose fill between the joists, and what carries it."""

    mass_per_area: float  # kg/m2, of the fill alone, averaged over the floor
    loss_factor: float  # added to the floor's loss factor
    thickness: float  # m, of the fill
    boards: Layer | None  # short boards from joist to joist below it; None: on the old ceiling
    below_deck: float  # m, air between the deck and the top of the fill


@dataclass(frozen=True)
class Floor:
    """The structure that is walked on, from the lowest layer up."""

    joists: Joists | None
    slab: Slab | None
    layers: tuple[Layer, ...]  # above joists or slab, lowest first
    covering: Covering | None
    infill: Infill | None
    loss_factor: float  # of the floor in place, low bands, without fill; see `leaf.build.deck_loss`
    length: float  # m, extent along x (= span for joists)
    width: float  # m, extent along y

    @property
    def along(self) -> str:
        """Room dimension, "length" or "width", that joists run along or the slab spans."""
        beams = self.joists or self.slab
        return beams.along if beams else "length"

    @property
    def bay_depth(self) -> float:
        """Depth of the bays between the joists below a loose fill, or above one that lies on an
        old ceiling [m]; all of it without, 0 without joists."""
        if self.joists is None or self.infill is None:
            return self.joists.depth if self.joists else 0.0
        boards = self.infill.boards
        taken = self.infill.below_deck + boards.thickness if boards else 0.0
        return max(0.0, self.joists.depth - self.infill.thickness - taken)

    @property
    def fill_mass(self) -> float:
        """Mass of loose fill between the joists and its boards, averaged over the floor [kg/m2]."""
        if self.joists is None or self.infill is None:
            return 0.0
        boards = self.infill.boards
        carrier = boards.mass_per_area * self.joists.clear_share if boards else 0.0
        return self.infill.mass_per_area + carrier

    @property
    def lying_mass(self) -> float:
        """Mass of loose fill that lies on an old ceiling, averaged over the floor [kg/m2]."""
        return 0.0 if self.fill_hangs else self.fill_mass

    @property
    def fill_hangs(self) -> bool:
        """Whether loose fill lies on boards of its own between the joists."""
        return self.infill is not None and self.infill.boards is not None

    @property
    def whole_loss(self) -> float:
        """Loss factor with what loose fill between the joists adds [-]."""
        return self.loss_factor + (self.infill.loss_factor if self.infill else 0.0)


@dataclass(frozen=True)
class Fill:
    """Porous absorber in a cavity."""

    name: str
    thickness: float  # m
    flow_resistivity: float  # Pa s/m2
    density: float  # kg/m3
    on_boards: bool = False  # its weight lies on the new boards, not held up by the floor


@dataclass(frozen=True)
class Cavity:
    """Air between the underside of the structure (or old ceiling) and the back of the boards."""

    clear_depth: float  # m: below joists, slab or old ceiling
    fill: Fill | None


@dataclass(frozen=True)
class OldCeiling:
    """An existing ceiling left in place, fixed to the joists (or hung below a slab)."""

    layers: tuple[Layer, ...]
    fixing: str  # "nailed", "lath"
    fixing_spacing: float  # m along each joist
    fixing_stiffness: float  # N/m per fixing
    fill: Fill | None  # between the joists above it


@dataclass(frozen=True)
class Channel:
    """A furring channel or other thin rib that carries the boards."""

    name: str
    bending_stiffness: float  # EI, N m2
    torsional_stiffness: float  # GJ, N m2
    mass_per_length: float  # kg/m
    height: float  # m
    allowable_moment: float | None  # N m, user's or None


@dataclass(frozen=True)
class Hangers:
    """Points with channels across the joists; resilient channels and direct fixing by `kind`."""

    kind: str  # "hanger", "resilient channel", "direct"
    name: str
    dynamic_stiffness: float  # N/m each, vertical
    loss_factor: float
    static_stiffness: float  # N/m each
    load_deflection: tuple[tuple[float, float], ...]  # (N, m) pairs rising; empty = linear
    load_minimum: float | None  # N, rated
    load_maximum: float | None  # N, rated
    channel_spacing: float  # m between channel lines, measured along the joists (x)
    hanger_spacing: float  # m between hangers on one channel, measured across the joists (y)
    edge_distance: float  # m: first row and first hanger from the wall, at most
    channel: Channel | None
    height: float  # m: hanger's own height from joist to the back of the boards, with channel
    mass: float  # kg each
    creep_factor: float  # long-term deflection / short-term deflection
    cold_factor: float  # stiffness in the cold / at 20 C
    withdrawal_capacity: float | None  # N per fixing into the joist, user's own
    positions: tuple[tuple[float, float], ...] | None  # (x, y) in the room; None = by rule
    own_resonance: float = math.inf  # Hz: half a wave inside the spring, or a leg with held ends


@dataclass(frozen=True)
class IndependentJoists:
    """A ceiling on its own joists, wall to wall, not touching the floor above."""

    joists: Joists


@dataclass(frozen=True)
class Perimeter:
    """How the ceiling's edge meets the walls."""

    kind: str  # "free", "sealed", "touching"
    gap: float  # m
    bead_depth: float  # m, of sealant into the gap
    bead_modulus: float  # Pa, shear modulus of the sealant
    bead_loss_factor: float
    touching_stiffness: float  # N/m2: per metre of touching edge
    touching_walls: tuple[str, ...]  # of "west", "east", "south", "north"


@dataclass(frozen=True)
class Ceiling:
    """The new ceiling: boards and how their edge ends."""

    layers: tuple[Layer, ...]  # nearest to the cavity first
    perimeter: Perimeter
    loss_factor: float  # of the boards, in place

    @property
    def thickness(self) -> float:
        """m, of the boards alone."""
        return sum(layer.thickness for layer in self.layers)

    @property
    def mass_per_area(self) -> float:
        """kg/m2, of the boards alone."""
        return sum(layer.mass_per_area for layer in self.layers)


@dataclass(frozen=True)
class Patch:
    """A rectangle of the room's plan, from its south-west corner."""

    name: str
    x: float
    y: float
    length: float  # m, along x
    width: float  # m, along y
    drop: float = 0.0  # m, of a bulkhead below the ceiling
    mass: float = 0.0  # kg, carried by the ceiling (a fixture)


@dataclass(frozen=True)
class Room:
    """The room below."""

    length: float  # m, along x (along the joists)
    width: float  # m, along y
    height: float  # m, floor to the underside of joists, slab or old ceiling
    reverberation_time: float  # s
    background: tuple[float, ...]  # dB per third octave of base.bands.CENTRES; () = not given
    background_name: str
    headroom_minimum: float | None  # m, the limit the user gave
    offset_x: float  # m: room's corner from the floor's corner
    offset_y: float
    notches: tuple[Patch, ...] = ()
    bulkheads: tuple[Patch, ...] = ()
    openings: tuple[Patch, ...] = ()
    fixtures: tuple[Patch, ...] = ()
    obstructions: tuple[Patch, ...] = ()


@dataclass(frozen=True)
class Target:
    """What the designer wants: a rating or a band level of a source."""

    quantity: str  # a rating name ("Ln_w", "IIC", ...) or a source name ("walker_barefoot", ...)
    limit: float  # dB
    band_hz: float | None  # nominal band for a source level; None for ratings
    sense: str  # "at most" or "at least"


@dataclass(frozen=True)
class Flank:
    """One flanking wall: an added energy path from floor to room."""

    name: str
    mass_per_area: float  # kg/m2
    area: float  # m2 radiating into the room below
    length: float  # m of the junction
    junction: str  # "T", "X", "resilient"
    vibration_reduction: float | None  # dB, the user's K_ij


@dataclass(frozen=True)
class Tapping:
    """What is uncertain about the standard blow."""

    rebound: float  # e, 0..1
    dented: float = 1.0  # of wood, 0..1: `source.tapping.hammer_stiffness`


@dataclass(frozen=True)
class Design:
    """Everything the chain needs; made by the reader, or by `dataclasses.replace`."""

    name: str
    note: str
    units: str  # how results are shown: "metric" or "imperial"
    room: Room
    floor: Floor
    cavity: Cavity
    ceiling: Ceiling
    hangers: Hangers | None
    independent: IndependentJoists | None
    old_ceiling: OldCeiling | None
    target: Target | None
    prices: dict[str, float]
    flanks: tuple[Flank, ...]
    tapping: Tapping
    options: dict[str, object] = field(default_factory=dict)  # [footsteps], [limits], ... as read
    defaults: tuple[Default, ...] = ()
    spreads: tuple[Spread, ...] = ()
    warnings: tuple[str, ...] = ()
    path: str = ""
    digest: str = ""  # sha256 of the file's content and the catalogue entries used

    @property
    def taken(self) -> float:
        """Height that the ceiling takes below joists, slab or old ceiling [m]."""
        return self.cavity.clear_depth + self.ceiling.thickness

    @property
    def hung_per_area(self) -> float:
        """Boards and fill that lies on them, at rest, channels and hangers aside [kg/m2]."""
        fill = self.cavity.fill
        lying = fill.thickness * fill.density if fill and fill.on_boards else 0.0
        return self.ceiling.mass_per_area + lying
