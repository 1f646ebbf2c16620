"""Design files for tests: where the examples are; short ones, invented, with few keys."""

from __future__ import annotations

from pathlib import Path

EXAMPLES = Path(__file__).parents[1] / "examples"

FEWEST = """
[room]
length = "5 m"
width = "4 m"
height = "2.5 m"
[floor.joists]
width = "60 mm"
depth = "220 mm"
spacing = "600 mm"
span = "4 m"
[[floor.layers]]
material = "particleboard"
thickness = "22 mm"
[hangers]
class = "rubber-in-shear clip"
[[ceiling.layers]]
material = "gypsum board"
thickness = "12.5 mm"
"""
# Joists across 4 x 3 m; what lies on them follows, or stands for {floor}.
WALKED = """
[project]
name = "Walked floor"
[room]
length = "4 m"
width = "3 m"
height = "2.6 m"
[floor.joists]
material = "softwood C24"
width = "60 mm"
depth = "220 mm"
spacing = "600 mm"
span = "3 m"
along = "width"
{floor}
[cavity]
clear_depth = "120 mm"
[hangers]
class = "rubber-in-shear clip"
[[ceiling.layers]]
material = "gypsum board"
thickness = "12.7 mm"
"""
SLAB = """
[room]
length = "5 m"
width = "4 m"
height = "2.5 m"
[floor.slab]
{slab}
[cavity]
clear_depth = "200 mm"
[hangers]
class = "spring hanger 25 mm"
[[ceiling.layers]]
material = "gypsum board"
thickness = "12.5 mm"
"""
# One layer of boards comes last, so that a count or more layers may follow.
SMALL_ROOM = """
[project]
name = "Small room"
units = "metric"
[room]
length = "2.2 m"
width = "2 m"
height = "2.6 m"
[floor.joists]
width = "45 mm"
depth = "195 mm"
spacing = "400 mm"
span = "2.2 m"
along = "length"
[[floor.layers]]
material = "particleboard"
thickness = "22 mm"
[cavity]
clear_depth = "100 mm"
[hangers]
class = "rubber-in-shear clip"
channel_spacing = "600 mm"
hanger_spacing = "800 mm"
[[ceiling.layers]]
material = "gypsum board"
thickness = "12.5 mm"
"""
