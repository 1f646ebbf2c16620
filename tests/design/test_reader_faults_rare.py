"""Wrong files of the rarer kinds: each fault by its key, with the value, what may be, or a remedy.

Together with `test_reader_faults.py` every message of the reader is brought about and its words are
looked at. What is wrong in each text is seen by reading it.
"""

from __future__ import annotations

import pytest
from test_reader_faults import faults
from texts import FEWEST, SLAB

CONCRETE = SLAB.format(slab='kind = "concrete"\nthickness = "150 mm"')
CLASS = 'class = "rubber-in-shear clip"'
BOARD = 'material = "gypsum board"\nthickness = "12.5 mm"'
CHIP = 'material = "particleboard"\nthickness = "22 mm"'
HANGERS = '[hangers]\nclass = "rubber-in-shear clip"'
NAILS = '[direct_fixing]\nclass = "nails"'
LAMELLA = '\n[[floor.slab.layup]]\nthickness = "40 mm"\ndirection = "along"'
OLD = '[old_ceiling]\n[[old_ceiling.layers]]\nmaterial = "gypsum board"\nthickness = "12.5 mm"\n'
OWN = '[independent_joists]\nwidth = "45 mm"\ndepth = "120 mm"\nspacing = "400 mm"\n'


def slab(text: str) -> str:
    return SLAB.format(slab=text)


def room(line: str, text: str = FEWEST) -> str:
    """`line` in [room]."""
    return text.replace('height = "2.5 m"', f'height = "2.5 m"\n{line}')


def patch(what: str, length: str) -> str:
    """A hole as wide as the room of FEWEST, from its west wall."""
    return f'[[room.{what}]]\nx = "0 m"\ny = "0 m"\nlength = "{length}"\nwidth = "4 m"\n'


# text, where the fault lies, what the message must hold
RARE = {
    "no depth": (FEWEST.replace(HANGERS, OWN), "cavity.clear_depth", ("missing", '"120 mm"')),
    "fill in the old ceiling": (
        FEWEST + OLD + '[old_ceiling.fill]\nmaterial = "glass wool"\nthickness = "300 mm"\n',
        "old_ceiling.fill.thickness", ("300 mm", "220 mm"),
    ),
    "an old ceiling under a slab": (CONCRETE + OLD, "old_ceiling",
                                    ("needs joists", "floor.slab.mass_per_area")),
    "three of two": (
        FEWEST.replace(CLASS, CLASS + '\ndynamic_stiffness = "80 N/mm"\n'
                       'static_stiffness = "60 N/mm"\ndynamic_to_static = 1.3'),
        "hangers.dynamic_to_static", ("leave one of the three out",),
    ),
    "a class with an unknown channel": (
        FEWEST.replace(CLASS, 'class = "mine"')
        + '[hanger_classes.mine]\nbased_on = "rubber-in-shear clip"\nchannel = "none"\n',
        "hangers.channel", ("'none'", "impact materials"),
    ),
    "a gap behind nailed boards": (
        FEWEST.replace(HANGERS, '[cavity]\nclear_depth = "50 mm"\n' + NAILS),
        "cavity.clear_depth", ("50 mm", "leave it out"),
    ),
    "nails into a slab": (
        CONCRETE.replace('[cavity]\nclear_depth = "200 mm"\n', "").replace(
            '[hangers]\nclass = "spring hanger 25 mm"', NAILS),
        "direct_fixing", ("needs joists", "hangers"),
    ),
    "no pairs": (FEWEST.replace(CLASS, CLASS + "\npositions = [1, 2]"), "hangers.positions",
                 ("no list of pairs", '["6 in", "8 in"]')),
    "a pair without unit": (
        FEWEST.replace(CLASS, CLASS + '\npositions = [["1 m", "2"], ["2 m", "2 m"]]'),
        "hangers.positions[0]", ("'2'", "no unit"),
    ),
    "a pair twice": (
        FEWEST.replace(CLASS, CLASS + '\npositions = [["1 m", "2 m"], ["1 m", "2 m"]]'),
        "hangers.positions[1]", ("1 m, 2 m", "twice"),
    ),
    "no deck": (FEWEST.replace("[[floor.layers]]\n" + CHIP + "\n", ""), "floor.layers",
                ("missing", "[[floor.layers]]")),
    "a deck as thick as a house": (
        FEWEST.replace("[hangers]", ("[[floor.layers]]\n" + CHIP + "\n") * 100 + "[hangers]"),
        "floor.layers", ("2.22 m", "1.50 m"),  # 101 boards of 22 mm
    ),
    "another length": (FEWEST.replace("[floor.joists]", '[floor]\nlength = "6 m"\n[floor.joists]'),
                       "floor.length", ("6.00 m", "4.00 m", "leave it out")),
    "a room too wide": (
        FEWEST.replace("[floor.joists]", '[floor]\nwidth = "3 m"\n[floor.joists]'),
        "floor.width", ("5.00 m", "3.00 m", "enlarge the floor"),
    ),
    "infill of nothing": (FEWEST + '[floor.infill]\nmaterial = "sand"\n', "floor.infill",
                          ("material and thickness, or mass_per_area",)),
    "infill too deep": (
        FEWEST + '[floor.infill]\nmaterial = "sand"\nthickness = "300 mm"\n',
        "floor.infill.thickness", ("300 mm", "220 mm"),
    ),
    "infill and its boards too deep": (
        FEWEST + '[floor.infill]\nmaterial = "sand"\nthickness = "200 mm"\n',
        "floor.infill.thickness", ("200 mm", "on 22 mm of boards", "220 mm"),
    ),
    "infill too far down": (
        FEWEST + '[floor.infill]\nmaterial = "sand"\nthickness = "60 mm"\nbelow_deck = "150 mm"',
        "floor.infill.below_deck", ("150 mm", "82 mm of fill and boards", "220 mm"),
    ),
    "infill on nothing": (
        FEWEST + '[floor.infill]\nmass_per_area = "60 kg/m2"\ncarried_by = "old ceiling"\n',
        "floor.infill.carried_by", ("no [old_ceiling]", '"boards"'),
    ),
    "infill on an old ceiling and boards": (
        FEWEST + '[floor.infill]\nmass_per_area = "60 kg/m2"\ncarried_by = "old ceiling"\n'
        'board_thickness = "22 mm"\n[old_ceiling]\nfixing = "nailed"\n'
        '[[old_ceiling.layers]]\nmaterial = "gypsum board"\nthickness = "12.5 mm"\n',
        "floor.infill.board_thickness", ("leave it out",),
    ),
    "infill on an old ceiling and elsewhere": (
        FEWEST + '[floor.infill]\nmass_per_area = "60 kg/m2"\ncarried_by = "old ceiling"\n'
        'below_deck = "20 mm"\n[old_ceiling]\nfixing = "nailed"\n'
        '[[old_ceiling.layers]]\nmaterial = "gypsum board"\nthickness = "12.5 mm"\n',
        "floor.infill.below_deck", ("20 mm", "leave it out"),
    ),
    "a joist of another kind": (
        FEWEST.replace('depth = "220 mm"',
                       'depth = "220 mm"\nkind = "steel"\nclass = "I-joist 11 7/8 in"'),
        "floor.joists.class", ("i-joist", "not 'steel'"),
    ),
    "both T and A": (
        room('reverberation_time = "0.5 s"\nabsorption_area = "10 m2"'),
        "room.absorption_area", ("reverberation_time", "leave one out"),
    ),
    "a band by name": (room('background = {low = 30, "63" = 30, "125" = 20}'),
                       "room.background.low", ('"31.5" = 45.0',)),
    "a level of a rocket": (room('background = {"63" = 300, "125" = 20}'), "room.background.63",
                            ("300", "-30 to 130 dB")),
    "one band": (room('background = {"63" = 30}'), "room.background", ("two bands",)),
    "a source without band": (
        FEWEST + '[target]\nquantity = "rubber_ball"\nlimit = 60\n', "target.band_hz",
        ("'rubber_ball'", "name the band"),
    ),
    "no band": (
        FEWEST + '[target]\nquantity = "rubber_ball"\nlimit = 60\nband_hz = 64\n', "target.band_hz",
        ("64", "10 Hz to 5 kHz"),
    ),
    "prices no table": (FEWEST + "[prices]\nby_name = 3\n", "prices.by_name",
                        ("[prices.by_name]",)),
    "one price twice": (
        FEWEST + "[prices]\nchannel_per_m = 1\nchannel_per_ft = 1\n", "prices.channel_per_ft",
        ("channel_per_m", "leave one out"),
    ),
    "price of nothing": (FEWEST + '[prices.by_name]\n"oak stripe" = 3\n',
                         "prices.by_name.oak stripe", ("did you mean 'oak strip'",)),
    "no price": (FEWEST + '[prices.by_name]\n"oak strip" = "3"\n', "prices.by_name.oak strip",
                 ("'3'", "pure number")),
    "layup of concrete": (slab('kind = "concrete"\nthickness = "40 mm"' + LAMELLA),
                          "floor.slab.layup", ("'cross-laminated' only",)),
    "no layup": (slab('kind = "cross-laminated"'), "floor.slab.layup",
                 ("missing", "[[floor.slab.layup]]")),
    "layup of another sum": (
        slab('kind = "cross-laminated"\nthickness = "100 mm"' + LAMELLA),
        "floor.slab.thickness", ("100 mm", "40 mm"),
    ),
    "no thickness": (slab('kind = "concrete"'), "floor.slab.thickness", ("missing", '"140 mm"')),
    "no ribs": (
        slab('kind = "ribbed"\nthickness = "200 mm"\nrib_width = "80 mm"\nrib_depth = "150 mm"'),
        "floor.slab.rib_spacing", ("missing", "'ribbed'"),
    ),
    "ribs without plate": (
        slab('kind = "ribbed"\nthickness = "200 mm"\nrib_width = "80 mm"\nrib_depth = "195 mm"\n'
             'rib_spacing = "600 mm"'),
        "floor.slab.rib_depth", ("leaves no plate", "overall depth"),
    ),
    "an endless name": (FEWEST + f'[project]\nname = "{"n" * 2500}"\n', "project.name",
                        ("2500", "at most 2000")),
    "neither": (slab('kind = "concrete"\nthickness = "150 mm"\nin_situ_loss = "yes"'),
                "floor.slab.in_situ_loss", ("'yes'", "true nor false")),
    "nothing heavy": (
        FEWEST.replace("gypsum board", "mine")
        + '[materials.mine]\nbased_on = "gypsum board"\ndensity = "0 kg/m3"\n',
        "materials.mine.density", ("0 kg/m3", "above zero"),
    ),
    "a material in a word": (FEWEST + '[materials]\nmine = "heavy"\n', "materials.mine",
                             ("one by one",)),
    "based on nothing": (
        FEWEST + '[materials.mine]\nbased_on = "gipsum board"\ndensity = "700 kg/m3"\n'
        'youngs_modulus = "2 GPa"\n', "materials.mine.based_on", ("did you mean 'gypsum board'",),
    ),
    "of no kind": (FEWEST + '[materials.mine]\nkind = "bord"\n', "materials.mine.kind",
                   ("'bord'", "board")),
    "a key of nothing": (
        FEWEST + '[materials.mine]\nbased_on = "gypsum board"\ndensty = "700 kg/m3"\n',
        "materials.mine.densty", ("did you mean 'density'",),
    ),
    "mass twice": (
        FEWEST.replace(BOARD, BOARD + '\nmass_per_area = "9 kg/m2"\ndensity = "700 kg/m3"'),
        "ceiling.layers[0].density", ("leave one out",),
    ),
    "a mat under nailed boards": (
        FEWEST.replace(CHIP, CHIP + "\n[[floor.layers]]\n" + CHIP
                       + '\nmat = "rubber granulate mat, 8 mm"'),
        "floor.layers[1]", ('bond = "floating"',),
    ),
    "a ceiling that floats": (
        FEWEST.replace(BOARD, BOARD + '\nbond = "floating"\nmat = "rubber granulate mat, 8 mm"'),
        "ceiling.layers[0].bond", ("layers of the floor",),
    ),
    "two floating layers": (
        CONCRETE + "[[floor.layers]]\n" + CHIP
        + '\nbond = "floating"\ncount = 2\nmat = "rubber granulate mat, 8 mm"\n',
        "floor.layers[0].count", ("stands alone", "'glued'"),
    ),
    "a mat of unknown stiffness": (
        CONCRETE + "[[floor.layers]]\n" + CHIP
        + '\nbond = "floating"\nmat = {thickness = "9 mm"}\n',
        "floor.layers[0].mat.stiffness_per_area", ("missing", "name of a mat"),
    ),
    "a fraction too long": (FEWEST.replace('length = "5 m"', 'length = "5 m 3/4"'), "room.length",
                            ("'5 m 3/4'", '"12 ft 6 in"')),
    "a second floating deck": (
        FEWEST.replace(CHIP, CHIP + '\nbond = "floating"\nmat = "rubber granulate mat, 8 mm"'),
        "floor.layers[0].bond", ("needs a deck below",),
    ),
    "joists face to face": (FEWEST.replace('"60 mm"', '"400 mm"').replace('"600 mm"', '"400 mm"'),
                            "floor.joists.spacing",
                            ("400 mm wide", "centre to centre", "[floor.slab]")),
    "joists that take all the air": (
        FEWEST.replace('spacing = "600 mm"', 'spacing = "600 mm"\nvolume_per_length = "0.132 m2"'),
        "floor.joists.volume_per_length", ("220 mm", "600 mm"),
    ),
    "a ceiling all cut away": (FEWEST + patch("notches", "5 m"), "room.notches", ("smaller",)),
    "no place for a hanger": (FEWEST + patch("openings", "5 m"), "hangers",
                              ("finds a place", "openings of [room]", "positions")),
    "a strip too narrow for a hanger": (FEWEST + patch("notches", "4.98 m"), "hangers",
                                        ("finds a place", "notches of [room]")),
    "boards on an old ceiling": (
        FEWEST.replace(HANGERS, NAILS) + OLD, "old_ceiling",
        ("one ceiling", "[[ceiling.layers]]", "leave [old_ceiling] out"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", RARE)
def test_a_rare_fault_is_one_fault_with_its_remedy(tmp_path, name):
    text, where, said = RARE[name]
    found = faults(tmp_path, text)
    assert list(found) == [where]
    for words in said:
        assert words in found[where]


def test_one_fault_of_the_hangers_hides_no_other(tmp_path):
    """Falling loads of a spring beside 650 mm on joists at 600 mm, rated 300 to 200 N, and 300 mm
    of wool in 50 mm and joists of 220 mm."""
    curve = 'load_deflection = [["100 N", "12 mm"], ["90 N", "20 mm"]]'
    rest = 'hanger_spacing = "650 mm"\nload_minimum = "300 N"\nload_maximum = "200 N"'
    cavity = ('[cavity]\nclear_depth = "50 mm"\n[cavity.fill]\nmaterial = "glass wool"\n'
              'thickness = "300 mm"\n')  # fmt: skip
    text = FEWEST.replace(HANGERS, f"{cavity}{HANGERS}\n{curve}\n{rest}")
    found = faults(tmp_path, text)
    assert set(found) == {
        "hangers.load_deflection[1]", "hangers.hanger_spacing", "hangers.load_minimum",
        "cavity.fill.thickness",
    }  # fmt: skip
    assert "600 mm or 1.20 m" in found["hangers.hanger_spacing"]
    assert "270 mm" in found["cavity.fill.thickness"]


def test_a_faulty_place_of_a_hanger_says_nothing_of_the_spacing(tmp_path):
    text = FEWEST.replace(HANGERS, f'{HANGERS}\nhanger_spacing = "650 mm"\npositions = [["6 in"]]')
    assert list(faults(tmp_path, text)) == ["hangers.positions"]


def test_a_faulty_deck_does_not_blame_the_layer_above(tmp_path):
    text = FEWEST.replace(CHIP, CHIP.replace("22 mm", "9 m") + "\n[[floor.layers]]\n" + CHIP
                          + '\nbond = "floating"\nmat = "rubber granulate mat, 8 mm"')  # fmt: skip
    assert list(faults(tmp_path, text)) == ["floor.layers[0].thickness"]
