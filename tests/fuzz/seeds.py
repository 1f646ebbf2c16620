"""What is mutated: designs of every kind, spectra, and the words of a command line. All invented.

The designs cover every table of the design file; `examples/` and the starter are added to them.
"""

from __future__ import annotations

from pathlib import Path

from impact.design.starter import starter

ROOT = Path(__file__).parents[2]

_ROOM = """\
[project]
name = "fuzzed"
[room]
length = "5 m"
width = "4 m"
height = "2.5 m"
reverberation_time = "0.6 s"
"""

JOISTS = (
    _ROOM
    + """\
headroom_minimum = "7 ft"
background = "NC 25"
offset_across = "10 cm"
[[room.notches]]
name = "stair"
x = "4 m"
y = "0 m"
length = "1 m"
width = "1 m"
[[room.bulkheads]]
x = "0 m"
y = "0 m"
length = "50 cm"
width = "4 m"
drop = "0.2 m"
[[room.openings]]
x = "2 m"
y = "2 m"
length = "600 mm"
width = "600 mm"
[[room.fixtures]]
x = "3 m"
y = "1 m"
length = "0.3 m"
width = "0.3 m"
mass = "9 lb"
[floor]
loss_factor = {value = 0.04, low = 0.02, high = 0.08}
width = "5.5 m"
[floor.joists]
material = "softwood"
width = "60 mm"
depth = "220 mm"
spacing = "600 mm"
span = "4 m"
along = "width"
edge_fixity = 0.1
blocking_rows = 1
deck_fastening = "screwed"
fastener_spacing = "150 mm"
[[floor.layers]]
material = "particleboard"
thickness = "22 mm"
bond = "nailed"
[[floor.layers]]
material = "own screed"
thickness = "50 mm"
bond = "floating"
mat = {stiffness_per_area = "15 MN/m3", loss_factor = 0.1, thickness = "25 mm"}
[floor.covering]
material = "carpet and pad"
[cavity]
clear_depth = "150 mm"
[cavity.fill]
material = "mineral wool"
thickness = "100 mm"
flow_resistivity = "12 kPa s/m2"
[hangers]
class = "own clip"
channel_spacing = "500 mm"
hanger_spacing = "1200 mm"
load_minimum = "10 lb"
load_maximum = "50 lb"
load_deflection = [["100 N", "1.4 mm"], ["160 N", "2.2 mm"]]
edge_distance = "150 mm"
[[ceiling.layers]]
material = "gypsum board"
thickness = "12.5 mm"
count = 2
[ceiling.perimeter]
kind = "sealed"
gap = "6 mm"
bead_depth = "12 mm"
[target]
quantity = "walker_barefoot"
limit = 35
band_hz = 63
[prices]
currency = "EUR"
hanger = 6.0
board_per_m2 = 8
channel_per_ft = 0.9
[[flanking]]
name = "west wall"
mass_per_area = "80 kg/m2"
area = "10 m2"
length = "4 m"
junction = "T"
[tapping]
rebound = 0.3
[footsteps]
walker_mass = "75 kg"
pace = "1.9 Hz"
seed = 40
[limits]
drop_maximum = "12 in"
layers_maximum = 3
[materials."own screed"]
kind = "slab"
density = "2000 kg/m3"
youngs_modulus = "20 GPa"
[hanger_classes."own clip"]
kind = "hanger"
dynamic_stiffness = {value = "120 N/mm", low = "80 N/mm", high = "180 N/mm"}
loss_factor = 0.1
"""
)

_BOARDS = """\
[[ceiling.layers]]
material = "gypsum board"
thickness = "12.5 mm"
"""

SLAB = (
    _ROOM
    + """\
[floor]
length = "6 m"
width = "4 m"
[floor.slab]
kind = "concrete"
thickness = "160 mm"
edges = "four sides"
in_situ_loss = true
[cavity]
clear_depth = "200 mm"
[hangers]
class = "spring hanger 25 mm"
positions = [["0.5 m", "0.5 m"], ["2 m", "0.5 m"], ["4 m", "2 m"], ["1 m", "3 m"]]
"""
    + _BOARDS
)

TIMBER_SLAB = (
    _ROOM
    + """\
[floor.slab]
kind = "cross-laminated"
[[floor.slab.layup]]
thickness = "40 mm"
direction = "along"
[[floor.slab.layup]]
thickness = "20 mm"
direction = "across"
[[floor.slab.layup]]
thickness = "40 mm"
direction = "along"
[cavity]
clear_depth = "100 mm"
[hangers]
class = "rubber-in-shear clip"
"""
    + _BOARDS
)

_PLAIN_FLOOR = """\
[floor.joists]
width = "60 mm"
depth = "220 mm"
spacing = "600 mm"
span = "4 m"
[[floor.layers]]
material = "particleboard"
thickness = "22 mm"
"""

CHANNELS = (
    _ROOM
    + _PLAIN_FLOOR
    + """\
[floor.infill]
material = "sand"
thickness = "40 mm"
carried_by = "boards"
board_thickness = "24 mm"
below_deck = "30 mm"
[old_ceiling]
fixing = "lath"
fixing_stiffness = "900 kN/m"
[[old_ceiling.layers]]
material = "gypsum board"
thickness = "9.5 mm"
[cavity]
clear_depth = "60 mm"
[resilient_channels]
class = "single-leg resilient channel"
channel_spacing = "400 mm"
height = "13 mm"
"""
    + _BOARDS
)

SCREWED = (
    _ROOM
    + _PLAIN_FLOOR
    + """\
[direct_fixing]
class = "screws"
spacing = "400 mm"
"""
    + _BOARDS
)

OWN_JOISTS = (
    _ROOM
    + _PLAIN_FLOOR
    + """\
[cavity]
clear_depth = "120 mm"
[independent_joists]
material = "softwood"
width = "45 mm"
depth = "120 mm"
spacing = "400 mm"
"""
    + _BOARDS
    + """\
[ceiling.perimeter]
kind = "touching"
touching_walls = ["west", "east"]
"""
)

SPECTRA = (
    "band_hz,level_db\n"
    + "".join(
        f"{band},{60 - i}\n"
        for i, band in enumerate(
            (50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000,
             2500, 3150)
        )
    ),
    "# octaves of a ball\r\nband_hz,level_db\r\n63,78.5\r\n125,70\r\n250,61.25\r\n500,50\r\n",
)  # fmt: skip


def designs() -> dict[str, str]:
    """Name -> text of every design that is mutated."""
    found = {path.name: path.read_text("utf-8") for path in (ROOT / "examples").glob("*.toml")}
    return {
        **dict(sorted(found.items())),
        "starter, imperial": starter("imperial"),
        "starter, metric": starter("metric"),
        "joists": JOISTS, "slab": SLAB, "timber slab": TIMBER_SLAB, "channels": CHANNELS,
        "screwed": SCREWED, "own joists": OWN_JOISTS,
    }  # fmt: skip
