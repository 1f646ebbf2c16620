"""What is uncertain about a design: each input with its range and how the design changes with it.

An input is one standard normal variable z. z = 0 is the design as it stands, z = -END and END are
the low and high ends of its catalogue range, which count as its 5 % and 95 % points. Between and
beyond them a positive quantity moves in equal ratios, one that may be zero in equal steps, with a
slope of its own on either side. Properties that go together (all moduli of one deck, the mass of
all boards) move together; inputs are taken as independent of each other.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Any

from impact.design.fixings import called, said_of, table_of
from impact.design.origin import Spread
from impact.design.parts import Design, Joists
from impact.spread.moving import (
    BEAMS,
    INF,
    MODULI,
    any_known,
    plain,
    scaled,
    softer_covering,
    stiffer_slab,
    with_layers,
)
from impact.spread.moving import END as END  # what everybody needs of an input is found here
from impact.spread.moving import FAR as FAR
from impact.spread.moving import moved as moved

if TYPE_CHECKING:
    import numpy as np

# How an input acts, which decides how its effect is found: see `impact.spread.modal`.
KINDS = ("floor", "points", "boards", "air", "link", "blow", "room")


@dataclass(frozen=True)
class Input:
    """One uncertain input.

    key : short name in JSON. label : as printed. kind : one of KINDS. change : design and z -> the
    design with this input moved. measure : how somebody would find its true value.
    part : what of its kind it moves ("mass", "stiffness", "damping", or a joint's name).
    """

    key: str
    label: str
    kind: str
    change: Callable[[Design, float], Design]
    measure: str
    part: str = ""


def inputs(design: Design) -> tuple[Input, ...]:
    """The inputs of `design` whose range is known (`design.spreads`), in a fixed order."""
    known = {spread.path: spread for spread in design.spreads}
    found: list[Input] = []
    for part in PARTS:
        found += part(design, known)
    return tuple(found)


class _Asked(dict[str, Spread]):
    """Ranges by key path, and which of them anything asked for."""

    def __init__(self, spreads: Sequence[Spread]) -> None:
        super().__init__({spread.path: spread for spread in spreads})
        self.asked: set[str] = set()

    def get(self, path: str, other: Any = None) -> Any:
        self.asked.add(path)
        return super().get(path, other)

    def __getitem__(self, path: str) -> Spread:
        self.asked.add(path)
        return super().__getitem__(path)

    def __contains__(self, path: object) -> bool:
        self.asked.add(str(path))
        return super().__contains__(path)


def unfollowed(design: Design) -> tuple[str, ...]:
    """Key paths of ranges that the file gives and no input follows: they are in no 90 % band."""
    known = _Asked(design.spreads)
    for part in PARTS:
        for item in part(design, known):
            item.change(design, 1.0)
    return tuple(s.path for s in design.spreads if s.given and s.path not in known.asked)


def changed(design: Design, items: Sequence[Input], z: Sequence[float] | np.ndarray) -> Design:
    """The design with each input moved by its z (inputs,)."""
    for item, own in zip(items, z, strict=True):
        if own:
            design = item.change(design, float(own))
    return design


def _made(
    key: str, label: str, kind: str, change: Any, measure: str, part: str = ""
) -> list[Input]:
    return [] if change is None else [Input(key, label, kind, change, measure, part)]


def _joists(design: Design, known: dict[str, Spread]) -> list[Input]:
    if design.floor.joists is None:
        return []
    resonance = "floor's lowest resonance from a heel drop"
    found = _beams(
        design.floor.joists, known, "floor.joists", "floor.joists", ("joist_stiffness", "floor"),
        "stiffness of the joists", resonance,
    )  # fmt: skip
    for key, label, name, limit, measure in (
        ("deck_fastening", "hold of the deck on the joists", "slip_modulus_per_length", INF,
         "look for glue and fastener spacing from below"),
        ("edge_fixity", "fixity of the joists' ends", "edge_fixity", 1.0,
         "look how the joists bear; floor's lowest resonance"),
        ("blocking", "stiffness of the blocking", "blocking_stiffness", INF,
         "look whether the blocking is tight"),
    ):  # fmt: skip
        change = plain(known, f"floor.joists.{name}", "floor.joists", name, limit)
        found += _made(key, label, "floor", change, measure, "stiffness")
    return found


def _beams(
    joists: Joists, known: dict[str, Spread], at: str, path: str, made: tuple[str, str],
    label: str, measure: str,
) -> list[Input]:  # fmt: skip
    """Stiffness of joists whose ranges stand at key path `at`, themselves at attribute path `path`;
    made : key and kind of the input."""
    modulus, whole = (known.get(f"{at}.{name}") for name in ("youngs_modulus", "bending_stiffness"))
    if whole is not None:
        spread, nominal = whole, joists.bending_stiffness
    elif modulus is not None:
        spread, nominal = modulus, (modulus.low * modulus.high) ** 0.5
        if joists.kind == "solid":
            nominal = 12 * joists.bending_stiffness / (joists.width * joists.depth**3)
    else:
        return []
    change = partial(scaled, path=path, names=BEAMS, nominal=nominal, spread=spread)
    return _made(made[0], label, made[1], change, measure, "stiffness")


def _ceiling_joists(design: Design, known: dict[str, Spread]) -> list[Input]:
    """Joists of the ceiling's own: part of the lowest leaf, as its boards are."""
    own = design.independent
    if own is None:
        return []
    at, path, kind = "independent_joists", "independent.joists", "boards"
    found = _beams(
        own.joists, known, at, path, ("ceiling_joist_stiffness", kind),
        "stiffness of the ceiling's joists", "ceiling's lowest resonance from a thump",
    )  # fmt: skip
    for key, label, name, limit, measure in (
        ("ceiling_fastening", "hold of the boards on their joists", "slip_modulus_per_length", INF,
         "look for glue and the spacing of screws"),
        ("ceiling_fixity", "fixity of the ceiling joists' ends", "edge_fixity", 1.0,
         "look how the ceiling's joists bear"),
    ):  # fmt: skip
        change = plain(known, f"{at}.{name}", path, name, limit)
        found += _made(key, label, kind, change, measure, "stiffness")
    if spread := known.get(f"{at}.density"):
        change = partial(scaled, path=path, names=("mass_per_length",),
                         nominal=_density(own.joists, spread), spread=spread)  # fmt: skip
        found += _made("ceiling_joist_mass", "mass of the ceiling's joists", kind, change,
                       "weigh a joist", "mass")  # fmt: skip
    return found


def _density(joists: Joists, spread: Spread) -> float:
    """Density of solid joists; of others the middle of its range."""
    if joists.kind == "solid":
        return joists.mass_per_length / (joists.width * joists.depth)
    return float((spread.low * spread.high) ** 0.5)


def _slab(design: Design, known: dict[str, Spread]) -> list[Input]:
    slab = design.floor.slab
    if slab is None:
        return []
    found: list[Input] = []
    modulus = known.get(_first(known, "floor.slab.", "youngs_modulus"))
    if modulus is not None:
        middle = (modulus.low * modulus.high) ** 0.5
        change = partial(stiffer_slab, nominal=middle, spread=modulus)
        found += _made("slab_stiffness", "stiffness of the slab", "floor", change,
                       "floor's lowest resonance from a heel drop", "stiffness")  # fmt: skip
    found += _made(
        "edge_fixity", "fixity of the slab's edges", "floor",
        plain(known, "floor.slab.edge_fixity", "floor.slab", "edge_fixity", 1.0),
        "floor's lowest resonance from a heel drop", "stiffness",
    )  # fmt: skip
    return found


def _first(known: dict[str, Spread], start: str, end: str) -> str:
    """The first path with this start and end, "" without one."""
    return next((path for path in known if path.startswith(start) and path.endswith(end)), "")


def _deck(design: Design, known: dict[str, Spread]) -> list[Input]:
    if not any_known(design.floor.layers, known, MODULI):
        return []
    change = partial(with_layers, known, MODULI, "floor")
    return _made("deck_stiffness", "stiffness of the deck's boards", "floor", change,
                 "look which boards and how they lie", "stiffness")  # fmt: skip


def _heavier(known: dict[str, Spread], design: Design, z: float) -> Design:
    """Joists or slab and all layers above them, by density."""
    out = with_layers(known, ("density",), "floor", design, z)
    joists, slab = design.floor.joists, design.floor.slab
    if joists is not None and (spread := known.get("floor.joists.density")):
        nominal = _density(joists, spread)
        out = scaled(out, z, "floor.joists", ("mass_per_length",), nominal, spread)
    if slab is not None and (spread := known.get(_first(known, "floor.slab.", "density"))):
        nominal = (spread.low * spread.high) ** 0.5
        out = scaled(out, z, "floor.slab", ("mass_per_area",), nominal, spread)
    return out


def _floor(design: Design, known: dict[str, Spread]) -> list[Input]:
    found: list[Input] = []
    dense = "floor.joists.density" in known or _first(known, "floor.slab.", "density")
    if dense or any_known(design.floor.layers, known, ("density",)):
        found += _made("floor_mass", "mass of the floor", "floor", partial(_heavier, known),
                       "weigh a piece of it; list what lies on it", "mass")  # fmt: skip
    loss = "floor.loss_factor" if "floor.loss_factor" in known else "floor.slab.loss_factor"
    found += _made(
        "floor_damping", "damping of the floor", "floor",
        plain(known, loss, "floor", "loss_factor"),
        "let the floor ring after a heel drop and read its decay", "damping",
    )  # fmt: skip
    return found + _infill(known)


def _infill(known: dict[str, Spread]) -> list[Input]:
    """Loose fill between the joists: its density, which is its mass, and the loss it adds."""
    found: list[Input] = []
    if spread := known.get("floor.infill.density"):
        change = partial(scaled, path="floor.infill", names=("mass_per_area",),
                         nominal=(spread.low * spread.high) ** 0.5, spread=spread)  # fmt: skip
        found += _made("infill_mass", "mass of the fill between the joists", "floor", change,
                       "weigh a bucket of it, measure its depth", "mass")  # fmt: skip
    return found + _made(
        "infill_damping", "damping by the fill between the joists", "floor",
        plain(known, "floor.infill.loss_factor", "floor.infill", "loss_factor"),
        "let the floor ring after a heel drop and read its decay", "damping",
    )  # fmt: skip


def _hangers(design: Design, known: dict[str, Spread]) -> list[Input]:
    points = design.hangers
    if points is None:
        return []
    table, names = table_of(points), called(points)
    return _made(
        "hanger_stiffness", f"dynamic stiffness of the {names}", "points",
        plain(known, f"{table}.dynamic_stiffness", "hangers", "dynamic_stiffness"),
        said_of(points, "load one hanger on a bench and let it ring"), "hangers",
    ) + _made(
        "hanger_damping", f"damping of the {names}", "points",
        plain(known, f"{table}.loss_factor", "hangers", "loss_factor"),
        said_of(points, "load one hanger on a bench and read its decay"), "hangers",
    ) + _made(
        "hanger_waves", f"first resonance inside the {names}", "points",
        plain(known, f"{table}.own_resonance", "hangers", "own_resonance"),
        said_of(points, "ask for its measured transfer stiffness above 500 Hz"), "hangers",
    )  # fmt: skip


def _edge(design: Design, known: dict[str, Spread]) -> list[Input]:
    if design.independent is not None:
        return []
    at, path = "ceiling.perimeter.", "ceiling.perimeter"
    field = {"sealed": "bead_modulus", "touching": "touching_stiffness"}
    name = field.get(design.ceiling.perimeter.kind)
    if name is None:
        return []
    return _made(
        "edge_stiffness", "stiffness of the ceiling's edge", "link",
        plain(known, at + name, path, name), "pull a cured bead of the sealant", "perimeter",
    ) + _made(
        "edge_damping", "damping of the ceiling's edge", "link",
        plain(known, at + "bead_loss_factor", path, "bead_loss_factor"),
        "pull a cured bead of the sealant", "perimeter",
    )  # fmt: skip


def _air(design: Design, known: dict[str, Spread]) -> list[Input]:
    if design.cavity.fill is None:
        return []
    return _made(
        "fill", "flow resistivity of the fill", "air",
        plain(known, "cavity.fill.flow_resistivity", "cavity.fill", "flow_resistivity"),
        "ask for its ISO 9053-1 test",
    )  # fmt: skip


def _boards(design: Design, known: dict[str, Spread]) -> list[Input]:
    layers = design.ceiling.layers
    found: list[Input] = []
    if any_known(layers, known, ("density",)):
        change = partial(with_layers, known, ("density",), "ceiling")
        found += _made("ceiling_mass", "mass of the boards", "boards", change, "weigh a board",
                       "mass")  # fmt: skip
    if any_known(layers, known, MODULI):
        change = partial(with_layers, known, MODULI, "ceiling")
        found += _made("ceiling_stiffness", "stiffness of the boards", "boards", change,
                       "load a strip of board", "stiffness")  # fmt: skip
    return found + _made(
        "ceiling_damping", "damping of the ceiling", "boards",
        plain(known, "ceiling.loss_factor", "ceiling", "loss_factor"),
        "tap the finished ceiling and read its decay", "damping",
    )  # fmt: skip


def _old(design: Design, known: dict[str, Spread]) -> list[Input]:
    if design.old_ceiling is None:
        return []
    return _made(
        "old_fixings", "stiffness of the old ceiling's fixings", "link",
        plain(known, "old_ceiling.fixing_stiffness", "old_ceiling", "fixing_stiffness"),
        "look how the old ceiling is fixed", "old fixings",
    )  # fmt: skip


def _softer(spreads: dict[int, Spread], design: Design, z: float) -> Design:
    layers = list(design.floor.layers)
    for place, spread in spreads.items():
        mat = layers[place].mat
        assert mat is not None
        stiff = moved(mat.stiffness_per_area, spread.low, spread.high, z)
        layers[place] = replace(layers[place], mat=replace(mat, stiffness_per_area=stiff))
    return replace(design, floor=replace(design.floor, layers=tuple(layers)))


def _mat(design: Design, known: dict[str, Spread]) -> list[Input]:
    spreads = {}
    for place, layer in enumerate(design.floor.layers):
        if layer.mat and (spread := known.get(f"{layer.mat.path}.stiffness_per_area")):
            spreads[place] = spread
    if not spreads:
        return []
    return _made("mat_stiffness", "dynamic stiffness of the mat", "link",
                 partial(_softer, spreads), "ask for its ISO 9052-1 test", "mat")  # fmt: skip


def _pressed(spread: Spread, design: Design, z: float) -> Design:
    *below, top = design.floor.layers
    assert top.material.modulus_through is not None
    stiff = moved(top.material.modulus_through, spread.low, spread.high, z)
    top = replace(top, material=replace(top.material, modulus_through=stiff))
    return replace(design, floor=replace(design.floor, layers=(*below, top)))


def _blow(design: Design, known: dict[str, Spread]) -> list[Input]:
    found = _made(
        "rebound", "rebound of the hammers", "blow",
        plain(known, "tapping.rebound", "tapping", "rebound", 1.0),
        "film or record a hammer's second blow",
    )  # fmt: skip
    found += _made(
        "dented", "how far hammers have dented the wood", "blow",
        plain(known, "tapping.dented", "tapping", "dented", 1.0),
        "tap one place for minutes and measure again beside it",
    )  # fmt: skip
    layers = design.floor.layers
    through = layers[-1:] and known.get(f"materials.{layers[-1].material.name}.modulus_through")
    if through:
        found += _made(
            "walked_face", "stiffness of the walked board through its thickness", "blow",
            partial(_pressed, through), "press a small steel face into a piece of it",
        )  # fmt: skip
    if design.floor.covering is not None:
        soft = known.get("floor.covering.contact_stiffness")
        found += _made(
            "covering", "contact stiffness of the covering", "blow",
            None if soft is None else partial(softer_covering, soft),
            "ask for the covering's ISO 10140 test",
        )  # fmt: skip
        found += _made(
            "covering_damping", "damping of the covering", "blow",
            plain(known, "floor.covering.loss_factor", "floor.covering", "loss_factor"),
            "record a hammer's second blow on it",
        )  # fmt: skip
    return found + _made(
        "reverberation", "reverberation time of the room", "room",
        plain(known, "room.reverberation_time", "room", "reverberation_time"),
        "measure it by ISO 3382-2",
    )  # fmt: skip


PARTS = (_joists, _slab, _deck, _floor, _hangers, _edge, _air, _boards, _ceiling_joists, _old,
         _mat, _blow)  # fmt: skip
