"""Rows of [floor] and its tables: joists, slab, layers, covering, infill."""

from __future__ import annotations

from dataclasses import replace

from impact.design.schema import (
    Key,
    anything,
    choice,
    count,
    flag,
    named,
    number,
    quantity,
    table,
    tables,
)

LAYER_KINDS = ("board", "slab", "timber")

FLOOR: tuple[Key, ...] = (
    number("loss_factor", (0.001, 0.5), "of the floor, in place; a slab's with its edges, that of "
           "joists and deck without a poured topping's",
           usual=(0.005, 0.2, "floors in place, from memory")),
    table("joists", "parallel beams under the deck"),
    table("slab", "a plate floor"),
    tables("layers", "above joists or slab, lowest first"),
    table("covering", "a soft finish"),
    table("infill", "sand or other loose fill between the joists"),
    quantity("length", "length", ("1 m", "60 m"), "of the floor along the joists; slabs only"),
    quantity("width", "length", ("1 m", "60 m"), "of the floor across the joists"),
)  # fmt: skip

# Properties that a table with a material may give itself, instead of the catalogue's.
MATERIAL: tuple[Key, ...] = (
    quantity("density", "density", ("20 kg/m3", "9000 kg/m3"), "instead of the material's own"),
    quantity("youngs_modulus", "modulus", ("1 MPa", "250 GPa"), "along the stronger direction"),
    quantity("youngs_modulus_across", "modulus", ("1 MPa", "250 GPa"), "across it"),
    quantity("shear_modulus", "modulus", ("1 MPa", "100 GPa"), "in plane"),
    number("poisson", (0, 0.49), "Poisson's ratio"),
)
OWN_LOSS = number("loss_factor", (1e-4, 1), "of the material, in place")

LAYER: tuple[Key, ...] = (
    named("material", LAYER_KINDS, "board, screed or timber of the catalogue", required=True),
    quantity("thickness", "length", ("0.3 mm", "600 mm"), "of one layer",
             usual=("2 mm", "150 mm", "boards and screeds of the trade, common practice"),
             required=True),
    count("count", (1, 8), "how many such layers"),
    choice("bond", ("glued", "nailed", "screwed", "loose", "floating"),
           "how it is held to the layer before it; screwed counts as nailed"),
    choice("strong_axis", ("along", "across"),
           "stronger direction along the joists (or channels) or across them"),
    anything("mat", "under a floating layer: name of a mat, or its own table"),
    quantity("batten_spacing", "length", ("150 mm", "1.5 m"),
             "the floating layer rests on battens this far apart, across the joists"),
    quantity("mass_per_area", "mass per area", ("0.2 kg/m2", "600 kg/m2"), "instead of density"),
    *MATERIAL, OWN_LOSS,
    quantity("modulus_through", "modulus", ("1 MPa", "250 GPa"),
             "through its thickness, under a hammer or heel"),
)  # fmt: skip

MAT: tuple[Key, ...] = (
    named("material", ("mat",), "mat of the catalogue"),
    quantity("stiffness_per_area", "stiffness per area", ("0.1 MN/m3", "10000 MN/m3"),
             "dynamic stiffness s'"),
    number("loss_factor", (0.001, 1), "of the mat"),
    quantity("thickness", "length", ("0.5 mm", "300 mm"), "of the mat"),
    quantity("density", "density", ("5 kg/m3", "2000 kg/m3"), "of the mat under its load"),
    quantity("flow_resistivity", "flow resistivity", ("0 Pa s/m2", "500 kPa s/m2"),
             "of a porous mat; 0 where no air moves in it"),
)  # fmt: skip

COVERING: tuple[Key, ...] = (
    named("material", ("covering",), "covering of the catalogue", required=True),
    quantity("contact_stiffness", "stiffness per area", ("0.001 GN/m3", "10000 GN/m3"),
             "E/d under the striking face"),
    number("loss_factor", (0.001, 1), "of the covering"),
    quantity("mass_per_area", "mass per area", ("0.05 kg/m2", "50 kg/m2"), "of the covering"),
    quantity("thickness", "length", ("0.3 mm", "60 mm"), "of the covering"),
)  # fmt: skip

INFILL: tuple[Key, ...] = (
    named("material", ("loose fill",), "loose fill of the catalogue"),
    quantity("thickness", "length", ("5 mm", "400 mm"), "of the fill, between the joists"),
    quantity("mass_per_area", "mass per area", ("1 kg/m2", "500 kg/m2"),
             "of the fill, averaged over the floor; instead of material and thickness"),
    number("loss_factor", (0, 0.5), "added to the floor's loss factor"),
    choice("carried_by", ("boards", "old ceiling"),
           "short boards on battens between the joists, or the old ceiling below them",
           default="boards", why="common practice, no source"),
    quantity("board_thickness", "length", ("6 mm", "60 mm"),
             "of the boards that carry it, laid from joist to joist"),
    quantity("below_deck", "length", ("5 mm", "1 m"), "air between the deck and the fill's top"),
)  # fmt: skip

JOISTS: tuple[Key, ...] = (
    choice("kind", ("solid", "i-joist", "open-web", "steel"), "of the section"),
    named("material", ("timber",), "timber of solid joists"),
    named("class", ("i-joist", "open-web", "steel"), "catalogue class of other joists",
          instead="sawn joists have no class but 'width' and 'depth', like \"1 1/2 in\" and"
                  " \"9 1/4 in\"; for I-joists, open-web and steel joists"),
    quantity("width", "length", ("15 mm", "400 mm"), "of the section (bearing face)",
             usual=("30 mm", "200 mm", "joists of dwellings, common practice")),
    quantity("depth", "length", ("50 mm", "1.2 m"), "of the section",
             usual=("90 mm", "500 mm", "joists of dwellings, common practice")),
    quantity("spacing", "length", ("150 mm", "1.5 m"), "centre to centre",
             usual=("250 mm", "700 mm", "joists of dwellings, common practice"), required=True),
    quantity("first_from_wall", "length", ("0 mm", "1.5 m"), "middle of the first one over the "
             "room, from its south wall; with along = \"width\" from its west wall"),
    quantity("span", "length", ("1 m", "20 m"), "clear, between supports",
             usual=("1.8 m", "8 m", "floors of dwellings, common practice"), required=True),
    choice("along", ("length", "width"), "room dimension that the joists run along"),
    quantity("bending_stiffness", "bending stiffness", ("5 kN m2", "500 MN m2"), "EI of one joist"),
    quantity("axial_stiffness", "force", ("1 MN", "100000 MN"), "EA of one joist"),
    quantity("shear_stiffness", "force", ("0.1 MN", "100000 MN"), "GA of one joist"),
    quantity("torsional_stiffness", "bending stiffness", ("0.01 N m2", "100 MN m2"),
             "GJ of one joist"),
    quantity("lateral_stiffness", "bending stiffness", ("0.1 kN m2", "100 MN m2"),
             "EI about the vertical axis"),
    quantity("mass_per_length", "mass per length", ("0.5 kg/m", "500 kg/m"), "of one joist"),
    quantity("volume_per_length", "area", ("1 cm2", "1 m2"), "air that one joist displaces"),
    number("edge_fixity", (0, 1), "0 simply supported to 1 clamped at both bearings", default=0.0,
           why="bearing on wall plates or hangers; some fixity is possible (estimate)",
           spread=(0.0, 0.3)),
    count("blocking_rows", (0, 10), "rows of blocking or strongbacks", default=0,
          why="none mentioned"),
    quantity("blocking_stiffness", "bending stiffness", ("0.1 kN m2", "100 MN m2"),
             "EI of one row"),
    choice("deck_fastening", ("nailed", "screwed", "glued", "welded", "none"), "of the deck to the "
           "joists; welded is a steel deck with concrete"),
    quantity("fastener_diameter", "length", ("1.5 mm", "12 mm"), "of nails or screws"),
    quantity("fastener_spacing", "length", ("40 mm", "600 mm"), "along each joist"),
    *MATERIAL, OWN_LOSS,
)  # fmt: skip

INDEPENDENT: tuple[Key, ...] = tuple(
    replace(key, required=False) if key.name == "span" else key
    for key in JOISTS
    if key.name
    not in ("along", "first_from_wall", "deck_fastening", "fastener_diameter", "fastener_spacing")
)

SLAB: tuple[Key, ...] = (
    choice("kind", ("concrete", "lightweight", "hollow", "ribbed", "cross-laminated", "composite"),
           "of the slab", required=True),
    named("material", LAYER_KINDS, "of the slab"),
    quantity("thickness", "length", ("40 mm", "1 m"), "overall",
             usual=("60 mm", "400 mm", "slabs of dwellings, common practice")),
    tables("layup", "lamellae of cross-laminated timber, lowest first"),
    quantity("mass_per_area", "mass per area", ("10 kg/m2", "3000 kg/m2"), "as measured"),
    number("hollow_share", (0, 0.8), "share of the section that is void, round cores in one row"),
    quantity("rib_width", "length", ("20 mm", "1 m"), "of one rib"),
    quantity("rib_depth", "length", ("20 mm", "1 m"), "of a rib below the plate"),
    quantity("rib_spacing", "length", ("100 mm", "3 m"), "centre to centre"),
    named("rib_material", LAYER_KINDS, "of the ribs; the slab's own when left out"),
    quantity("slip_modulus_per_length", "stiffness per length", ("0 N/m2", "100 GN/m2"),
             "composite: shear connection of ribs and plate, per rib; left out: rigid"),
    quantity("bending_stiffness_along", "plate stiffness", ("1 kN m", "10000 MN m"),
             "per width, along the span"),
    quantity("bending_stiffness_across", "plate stiffness", ("0.1 kN m", "10000 MN m"),
             "per width, across it"),
    quantity("twisting_stiffness", "plate stiffness", ("0.1 kN m", "10000 MN m"), "D_66"),
    number("edge_fixity", (0, 1), "0 simply supported to 1 clamped", default=0.0,
           why="slab resting on walls", spread=(0.0, 0.3)),
    choice("edges", ("four sides", "two sides"), "which edges are supported"),
    choice("along", ("length", "width"), "room dimension that it spans, from edge to edge"),
    flag("in_situ_loss", "add the edge losses of ISO 12354-2 Annex C", default=True,
         why="a slab in a building loses energy to its walls"),
    *MATERIAL, OWN_LOSS,
)  # fmt: skip

LAMELLA: tuple[Key, ...] = (
    quantity("thickness", "length", ("5 mm", "100 mm"), "of the lamella", required=True),
    choice("direction", ("along", "across"), "of its grain, to the span", required=True),
)
