"""Rows of [project], [room], [target], [prices], [[flanking]], [tapping], [footsteps], [limits]."""

from __future__ import annotations

from impact.design.schema import (
    Key,
    anything,
    choice,
    count,
    number,
    quantity,
    table,
    tables,
    words,
)

PLAN = ("0 m", "60 m")
INCHES = ("american", "us", "usa", "us customary", "customary", "english", "british", "uk", "inch",
          "inches", "in", "ip", "feet", "ft")  # fmt: skip

TOP: tuple[Key, ...] = (
    table("project", "name, note and units of the output"),
    table("room", "the room below", required=True),
    table("floor", "the structure that is walked on", required=True),
    table("cavity", "the air above the new ceiling"),
    table("old_ceiling", "an existing ceiling left in place"),
    table("hangers", "resilient point supports with channels across the joists"),
    table("resilient_channels", "thin resilient channels screwed to every joist"),
    table("direct_fixing", "boards screwed or nailed to the joists"),
    table("independent_joists", "the ceiling on joists of its own, wall to wall"),
    table(
        "ceiling",
        "the new boards and their edge (any, for the bare floor alone: it is told beside)",
        required=True,
    ),
    table("target", "what is wanted"),
    table("prices", "pure numbers in one currency"),
    tables("flanking", "walls that carry sound past the ceiling"),
    table("tapping", "what is uncertain about the standard blow"),
    table("footsteps", "who walks"),
    table("limits", "what a search for hangers must keep"),
    table("materials", "materials of your own, by name"),
    table("hanger_classes", "hanger classes of your own, by name"),
    table("channels", "channels of your own, by name"),
)

PROJECT: tuple[Key, ...] = (
    words("name", "what the project is called", default="unnamed", why="no name given"),
    words("note", "a remark, printed with the results"),
    words("client", "for whom"),
    choice("units", ("metric", "imperial"), "how results are shown", default="metric",
           meant=(*((word, "imperial") for word in INCHES), ("si", "metric"), ("mm", "metric")),
           why="the file's own units are free either way"),
)  # fmt: skip

ROOM: tuple[Key, ...] = (
    quantity("length", "length", ("1 m", "60 m"), "clear length of the room",
             usual=("2 m", "15 m", "rooms of dwellings, common practice"), required=True),
    quantity("width", "length", ("1 m", "60 m"), "clear width of the room",
             usual=("1.5 m", "12 m", "rooms of dwellings, common practice"), required=True),
    quantity("height", "length", ("1.2 m", "20 m"),
             "floor to the underside of the joists, the slab or the old ceiling",
             usual=("1.9 m", "4 m", "rooms of dwellings, common practice"), required=True),
    quantity("reverberation_time", "time", ("0.05 s", "20 s"), "reverberation time of the room",
             usual=("0.2 s", "2.5 s", "dwellings, common practice"), spread=("0.3 s", "0.8 s")),
    quantity("absorption_area", "area", ("0.2 m2", "2000 m2"),
             "instead of the reverberation time: equivalent absorption area"),
    anything("background", 'background noise: "NC 25", or a table of bands to levels in dB'),
    quantity("headroom_minimum", "length", ("1 m", "10 m"), "least finished height you accept",
             usual=("1.8 m", "3 m", "building codes, common practice")),
    quantity("offset_along", "length", PLAN, "room's corner from the floor's, along the joists"),
    quantity("offset_across", "length", PLAN, "room's corner from the floor's, across the joists"),
    tables("notches", "rectangles cut out of the plan"),
    tables("bulkheads", "dropped boxes below the ceiling"),
    tables("openings", "hatches, recessed fittings, grilles"),
    tables("fixtures", "things the ceiling carries"),
    tables("obstructions", "ducts and beams below the joists"),
)  # fmt: skip

PATCH: tuple[Key, ...] = (
    words("name", "what it is"),
    quantity("x", "length", PLAN, "from the west wall, along the room's length", required=True),
    quantity("y", "length", PLAN, "from the south wall, along its width", required=True),
    quantity("length", "length", PLAN, "size along the room's length", required=True),
    quantity("width", "length", PLAN, "size along its width", required=True),
    quantity("drop", "length", ("0 m", "5 m"), "how far it hangs down; a bulkhead needs it"),
    quantity("mass", "mass", ("0 kg", "500 kg"), "mass the ceiling carries"),
)

# Ratings, then sources as far as a band level of them can be asked for.
AT_LEAST = ("IIC", "AIIC", "NISR", "ISR", "HIIC", "HIR", "LIIC", "LIR")
AT_MOST = (
    "Ln_w", "Ln_w_CI", "Ln_w_CI_50_2500", "LnT_w", "LnT_w_CI", "LnT_w_CI_50_2500", "LiA_Fmax",
    "LAFmax", "tapping_machine", "rubber_ball", "walker_barefoot", "walker_hard_heel",
    "child_running",
)  # fmt: skip

TARGET: tuple[Key, ...] = (
    choice("quantity", AT_LEAST + AT_MOST, "a rating, or a source with a band", required=True),
    number("limit", (-50, 150), "in dB or rating points", required=True),
    number("band_hz", (10, 5000), "nominal third octave, for the level of a source"),
    choice("sense", ("at most", "at least"), "which side of the limit is wanted"),
)

PRICES: tuple[Key, ...] = (
    words("currency", "printed with the sums", default="units of money", why="no currency given"),
    number("hanger", (0, 1e5), "each"),
    number("channel_per_m", (0, 1e5), "furring channel, per metre"),
    number("channel_per_ft", (0, 1e5), "furring channel, per foot"),
    number("own_joist_per_m", (0, 1e5), "a ceiling's own joists, per metre"),
    number("own_joist_per_ft", (0, 1e5), "a ceiling's own joists, per foot"),
    number("board_per_m2", (0, 1e5), "one layer of board, per square metre"),
    number("board_per_ft2", (0, 1e5), "one layer of board, per square foot"),
    number("fill_per_m2", (0, 1e5), "porous fill, per square metre"),
    number("fill_per_ft2", (0, 1e5), "porous fill, per square foot"),
    number("sealant_per_m", (0, 1e5), "edge sealant, per metre"),
    number("sealant_per_ft", (0, 1e5), "edge sealant, per foot"),
    number("screw", (0, 1e3), "each"),
    number("labour_per_m2", (0, 1e5), "per square metre of ceiling"),
    number("labour_per_ft2", (0, 1e5), "per square foot of ceiling"),
    number("removal_per_m2", (0, 1e5), "taking the old ceiling down, per square metre"),
    number("removal_per_ft2", (0, 1e5), "taking the old ceiling down, per square foot"),
    number("fixed", (0, 1e7), "once"),
    table("by_name", "prices of named classes and materials: each hanger, or per square metre"),
)

FLANK: tuple[Key, ...] = (
    words("name", "which wall"),
    quantity("mass_per_area", "mass per area", ("2 kg/m2", "1500 kg/m2"), "of the wall",
             required=True),
    quantity("area", "area", ("0.5 m2", "500 m2"), "radiating into the room below", required=True),
    quantity("length", "length", ("0.3 m", "60 m"), "of the junction", required=True),
    choice("junction", ("T", "X", "resilient"), "how floor and wall meet", default="T",
           why="outer wall; ISO 12354-1 Annex E has all three"),
    number("vibration_reduction", (-10, 60), "K_ij of the junction, dB, where it is known"),
)  # fmt: skip

TAPPING: tuple[Key, ...] = (
    number(
        "rebound",
        (0, 1),
        "hammer's rebound over its impact velocity on a base that stays; a floor that yields"
        " leaves less",
    ),
    number(
        "dented",
        (0, 1),
        "how far wood has taken the shape of the hammer's round face: 0 whole, 1 wholly",
    ),
)

FOOTSTEPS: tuple[Key, ...] = (
    quantity("walker_mass", "mass", ("30 kg", "200 kg"), "of the adult"),
    quantity("child_mass", "mass", ("8 kg", "60 kg"), "of the child"),
    quantity("pace", "frequency", ("1.2 Hz", "2.6 Hz"), "steps per second, walking"),
    quantity("running_pace", "frequency", ("1.8 Hz", "4.5 Hz"), "steps per second, running"),
    number("step_variation", (0, 0.5), "relative spread of strength from step to step"),
    count("seed", (0, 2**32 - 1), "of the random steps in sound files"),
)

LIMITS: tuple[Key, ...] = (
    quantity("drop_maximum", "length", ("10 mm", "3 m"), "boards included, below the joists"),
    number("cost_maximum", (0, 1e9), "in the currency of [prices]"),
    count("layers_maximum", (1, 8), "board layers"),
    count("spare_layers", (0, 4), "board layers that the hangers must carry beyond those hung"),
    number("load_factor", (0.5, 5), "load times this must stay below the rated maximum"),
    number("deflection_ratio", (100, 2000), "span over deflection of the channels, at least"),
    quantity("deflection_maximum", "length", ("0.1 mm", "200 mm"), "of the hangers under load"),
    quantity("floor_load_maximum", "mass per area", ("1 kg/m2", "500 kg/m2"),
             "what the joists may carry in addition"),
)  # fmt: skip
