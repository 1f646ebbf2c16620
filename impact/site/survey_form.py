"""The questions of the survey form. A question's key is the key path of the design file it fills.

What is asked, and in what order, is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Ask:
    """One question.

    key : key path in the design file; "note.…" for what is only written down. must : "" (may stay
    blank), "always", or the key and answer that make it a must ("floor.structure=joists"). unless :
    key whose answer makes it none. holds : "text" (quoted in the design file), "number", "layup"
    (lamellae: `survey.lamellae`), or "note". example : imperial, metric. start :
    used when blank in the part on the new ceiling, said in the design file (imperial, metric).
    """

    key: str
    text: str
    must: str = ""
    holds: str = "text"
    example: tuple[str, str] = ("", "")
    start: tuple[str, str] | None = None
    unless: str = ""


@dataclass(frozen=True)
class Part:
    """A part of the form."""

    title: str
    hint: str
    asks: tuple[Ask, ...]


def _note(key: str, text: str) -> Ask:
    return Ask(f"note.{key}", text, holds="note")


ALWAYS = "always"
JOISTS = "floor.structure=joists"
SLAB = "floor.structure=slab"
LAYERED = "floor.slab.kind=cross-laminated"
OLD = "old_ceiling.stays=yes"
CLASS, LAYUP = "floor.joists.class", "floor.slab.layup"
MATS = ("rebond foam mat 64 kg/m3, 20 mm", "rock wool mat 100 kg/m3, 30 mm")

FORM: tuple[Part, ...] = (
    Part("A. The complaint", "Not used in the calculation; it decides what to aim at.", (
        Ask("project.name", "Name of the project", ALWAYS, example=("Flat 2", "Flat 2")),
        _note("date", "Date, and who surveyed"),
        _note("who", "Who complains, and who walks above (one household or two?)"),
        _note("sound", "Which sound: thud, click, voices, squeak; at what hours"),
        _note("from", "Does it come from above only, or from walls and beside as well"),
        _note("access", "Can the ceiling be opened; can the floor above be reached"),
        _note("hazards", "Asbestos or lead suspected in old finishes; tested?"),
    )),
    Part("B. The room below", "Clear sizes, from wall to wall; height at the lowest joist.", (
        Ask("room.length", "Length", ALWAYS, example=("14 ft", "4.3 m")),
        Ask("room.width", "Width", ALWAYS, example=("12 ft 6 in", "3.8 m")),
        Ask("room.height", "Height, floor to underside of joists, slab or old ceiling", ALWAYS,
            example=("8 ft 1/2 in", "2.45 m")),
        Ask("room.headroom_minimum", "Least finished height", example=("7 ft", "2.3 m")),
        Ask("room.reverberation_time", "Reverberation time, if measured",
            example=("0.5 s", "0.5 s")),
        Ask("room.background", "Background noise, if known", example=("NC 25", "NC 25")),
        _note("services", "Ducts, pipes, beams, lights: where, and how far below the joists"),
        _note("walls", "Walls: light or heavy, do boards run up to the floor above"),
    )),
    Part("C. The floor above", "Look from the side of an opening. True sizes, not trade sizes.", (
        Ask("floor.structure", "Built of joists, or a slab: joists or slab", ALWAYS,
            example=("joists", "joists")),
        Ask(CLASS, "I-joists, open-web or steel joists: their class, and no timber and sizes below",
            example=("I-joist 11 7/8 in", "I-joist 9 1/2 in")),
        Ask("floor.joists.material", "Timber of the joists", JOISTS,
            example=("softwood", "softwood C24"), unless=CLASS),
        Ask("floor.joists.width", "Their width", JOISTS, example=("1 1/2 in", "60 mm"),
            unless=CLASS),
        Ask("floor.joists.depth", "Their depth", JOISTS, example=("9 1/4 in", "220 mm"),
            unless=CLASS),
        Ask("floor.joists.spacing", "Their spacing, centre to centre", JOISTS,
            example=("16 in", "600 mm")),
        Ask("floor.joists.first_from_wall", "Middle of the first, from the wall it runs beside"
            " (south or west)", example=("9 1/2 in", "240 mm")),
        Ask("floor.joists.span", "Their clear span between supports", JOISTS,
            example=("12 ft 6 in", "3.8 m")),
        Ask("floor.joists.along", "They run along the room's length or width", JOISTS,
            example=("width", "width")),
        Ask("floor.joists.blocking_rows", "Rows of blocking", holds="number", example=("1", "0")),
        Ask("floor.joists.deck_fastening", "Deck nailed, screwed, glued or (on steel) welded",
            example=("nailed", "screwed")),
        Ask("floor.slab.kind", "Kind: concrete, lightweight, hollow, ...", SLAB,
            example=("concrete", "concrete")),
        Ask("floor.slab.thickness", "Its thickness", SLAB, example=("6 in", "150 mm"),
            unless=LAYUP),
        Ask(LAYUP, "Its lamellae in place of the thickness, lowest first, along or across the span",
            LAYERED, "layup", ("1 3/8 in along, 3/4 in across, 1 3/8 in along",
                               "40 mm along, 20 mm across, 40 mm along")),
        Ask("floor.slab.along", "It spans the room's length or width", example=("width", "width")),
        Ask("floor.layers[0].material", "First layer above: material", JOISTS,
            example=("softwood plywood", "particleboard")),
        Ask("floor.layers[0].thickness", "First layer above: thickness", JOISTS,
            example=("23/32 in", "22 mm")),
        Ask("floor.layers[0].mat", "First layer: the mat it floats on, if on a slab",
            example=MATS),
        Ask("floor.layers[1].material", "Second layer: material",
            example=("oak strip", "oak strip")),
        Ask("floor.layers[1].thickness", "Second layer: thickness", example=("3/4 in", "18 mm")),
        Ask("floor.layers[1].mat", "Second layer: the mat it floats on, if any", example=MATS),
        Ask("floor.infill.material", "Loose fill between the joists (pugging)",
            example=("ash or slag pugging", "ash or slag pugging")),
        Ask("floor.infill.thickness", "Loose fill: thickness", example=("3 in", "80 mm")),
        Ask("floor.covering.material", "Soft finish", example=("carpet and pad", "")),
        _note("bearing", "Bearing lines, notches, sagging or squeaking places"),
        _note("first_mode", "First resonance from a heel drop, who stood where"),
    )),
    Part("D. The old ceiling", "", (
        Ask("old_ceiling.stays", "Is there an old ceiling that stays: yes or no", ALWAYS,
            example=("no", "no")),
        Ask("old_ceiling.fixing", "How it is held: nailed, or lath (plaster)",
            example=("nailed", "lath")),
        Ask("old_ceiling.layers[0].material", "Its board or plaster", OLD,
            example=("gypsum board", "lath and plaster")),
        Ask("old_ceiling.layers[0].thickness", "Its thickness", OLD,
            example=("1/2 in", "22 mm")),
    )),
    Part("E. The new ceiling", "Left blank: a usual ceiling to start from, and marked so.", (
        Ask("cavity.clear_depth", "Clear depth above the boards", example=("4 in", "100 mm"),
            start=("4 in", "100 mm")),
        Ask("cavity.fill.material", "Fill", example=("mineral wool", "mineral wool")),
        Ask("cavity.fill.thickness", "Fill: thickness", example=("6 in", "150 mm")),
        Ask("hangers.class", "Hanger class",
            example=("rubber-in-shear clip", "spring hanger 25 mm"),
            start=("rubber-in-shear clip", "rubber-in-shear clip")),
        Ask("hangers.channel_spacing", "Channels: apart", example=("24 in", "600 mm"),
            start=("24 in", "600 mm")),
        Ask("hangers.hanger_spacing", "Hangers: apart on a channel, multiple of joist spacing",
            example=("48 in", "1200 mm")),
        Ask("ceiling.layers[0].material", "Boards", example=("gypsum board", "gypsum board"),
            start=("fire-type gypsum board", "gypsum board")),
        Ask("ceiling.layers[0].thickness", "Boards: thickness of one",
            example=("5/8 in", "12.5 mm"), start=("5/8 in", "12.5 mm")),
        Ask("ceiling.layers[0].count", "Boards: how many layers", holds="number",
            example=("2", "2"), start=("2", "2")),
        Ask("ceiling.perimeter.gap", "Gap at the walls", example=("1/4 in", "6 mm")),
    )),
)  # fmt: skip
ASKS: dict[str, Ask] = {ask.key: ask for part in FORM for ask in part.asks}
"""Every question by its key."""
