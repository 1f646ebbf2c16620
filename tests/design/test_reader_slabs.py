"""Slabs from the file: stiffness and mass of every kind, and the face that a hammer meets."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from texts import SLAB

from impact import read
from impact.design.axes import shown_place
from impact.errors import InputError
from impact.motion.assemble import assemble
from impact.motion.fundamental import of_bare

HERE = Path(__file__).parents[2] / "validation" / "constructions"


def test_concrete_slab_by_the_plate_formula(make):
    """D = E h3 / 12 (1 - nu2), 140 mm, 30.5 GPa, 0.2: 7.265 MN m; D_66 = D (1 - nu) / 2."""
    slab = make(SLAB.format(slab='kind = "concrete"\nthickness = "140 mm"')).floor.slab
    assert slab.bending_stiffness_along == pytest.approx(7.265e6, rel=1e-3)
    assert slab.twisting_stiffness == pytest.approx(0.4 * 7.265e6, rel=1e-3)
    assert slab.mass_per_area == pytest.approx(322.0)
    assert slab.edges == "four sides"


def test_cross_laminated_slab(make):
    layup = "".join(
        f'[[floor.slab.layup]]\nthickness = "{t} mm"\ndirection = "{d}"\n'
        for t, d in ((40, "along"), (20, "across"), (40, "along"))
    )
    slab = make(SLAB.format(slab='kind = "cross-laminated"\n' + layup)).floor.slab
    assert slab.thickness == pytest.approx(0.1)
    assert slab.bending_stiffness_along == pytest.approx(909_580, rel=1e-5)  # by hand
    assert slab.bending_stiffness_across < slab.bending_stiffness_along / 20
    assert slab.edges == "two sides"


@pytest.mark.parametrize(
    "slab",
    [
        'kind = "hollow"\nthickness = "200 mm"',
        'kind = "lightweight"\nthickness = "150 mm"',
        'kind = "ribbed"\nthickness = "300 mm"\nrib_width = "120 mm"\nrib_depth = "220 mm"\n'
        'rib_spacing = "600 mm"',
        'kind = "composite"\nthickness = "310 mm"\nrib_width = "120 mm"\nrib_depth = "240 mm"\n'
        'rib_spacing = "700 mm"\nslip_modulus_per_length = "60 MN/m2"',
    ],
)
def test_other_slabs(make, slab):
    made = make(SLAB.format(slab=slab)).floor.slab
    assert 50 < made.mass_per_area < 500
    assert made.bending_stiffness_along >= made.bending_stiffness_across > 0
    assert made.twisting_stiffness > 0


@pytest.mark.parametrize(
    ("name", "modulus"),
    [
        # concrete 30.5 GPa, Hopkins 2007 Table A2, whatever the ribs below it do
        ("slab_concrete", 30.5e9),
        ("slab_ribbed", 30.5e9),
        ("timber_concrete", 30.5e9),
        # spruce across the grain, E/30 of 11 GPa (EN 338, from memory, check the standard)
        ("cross_laminated", 0.37e9),
    ],
)
def test_a_hammer_meets_the_face_not_the_bending_of_ribs_or_lamellae(name, modulus):
    assert read(HERE / f"{name}.toml").floor.slab.surface_modulus == pytest.approx(modulus)


@pytest.mark.parametrize("along", ["length", "width"])
def test_a_slab_spans_the_side_it_is_told(make, along):
    """Hollow units on two sides over 5 x 4 m: inside, x is the span, and places turn with it. The
    lowest mode is that of a strip of the span, pi/2 sqrt(D/m)/L2 (any text on vibration), less what
    it gives in shear (Timoshenko); 2 %: the free sides curl, and a narrow strip has D (1 - 0.2^2)
    alone."""
    slab = f'kind = "hollow"\nthickness = "200 mm"\nalong = "{along}"'
    hatch = ('[[room.openings]]\nname = "hatch"\nx = "1 m"\ny = "2 m"\nlength = "0.5 m"\n'
             'width = "0.6 m"\n')  # fmt: skip
    design = make(SLAB.format(slab=slab), more=hatch)
    span, other = (5.0, 4.0) if along == "length" else (4.0, 5.0)
    assert (design.room.length, design.floor.length) == (span, span)
    assert (design.room.width, design.floor.width) == (other, other)
    (opening,) = design.room.openings
    assert shown_place(design, opening.x, opening.y) == (1.0, 2.0)
    plate = design.floor.slab
    expected = math.pi / 2 * math.sqrt(plate.bending_stiffness_along / plate.mass_per_area)
    give = math.pi**2 * plate.bending_stiffness_along / plate.shear[0] / span**2
    found = of_bare(assemble(design, 60.0).bare)
    assert found == pytest.approx(expected / span**2 / math.sqrt(1 + give), rel=0.02)


def test_how_a_slab_spans_is_told_where_it_is_assumed(make):
    told = {one.path: one.value for one in make(SLAB.format(
        slab='kind = "hollow"\nthickness = "200 mm"')).defaults}  # fmt: skip
    assert told["floor.slab.along"] == "length"
    four = make(SLAB.format(slab='kind = "concrete"\nthickness = "140 mm"')).defaults
    assert "floor.slab.along" not in {one.path for one in four}


def test_a_layer_tells_its_mat_and_its_material_at_once(tmp_path):
    """Both names wrong, or the mat missing: all in one message."""
    floor = HERE.parent / "iso12354_2_concrete_floor" / "floating.toml"
    text = floor.read_text().replace('"sand-cement screed"', '"screeed"')
    path = tmp_path / "both.toml"
    mat = 'mat = {stiffness_per_area = "8 MN/m3", thickness = "20 mm", loss_factor = 0.1}'
    assert mat in text
    for instead in ('mat = "felt"', ""):
        path.write_text(text.replace(mat, instead))
        with pytest.raises(InputError) as refused:
            read(str(path))
        found = [fault.where for fault in refused.value.faults]
        assert found[0] == "floor.layers[0].material"
        assert found[1].startswith("floor.layers[0].mat")
        assert len(found) == 2


def test_what_a_mat_does_not_say_is_listed(make):
    """Each number that is taken for one is a listed default, by itself."""
    layer = """
[[floor.layers]]
material = "sand-cement screed"
thickness = "50 mm"
bond = "floating"
mat = {stiffness_per_area = "8 MN/m3", thickness = "20 mm"}
"""
    design = make(SLAB.format(slab='kind = "concrete"\nthickness = "140 mm"'), more=layer)
    taken = {d.path.rpartition(".")[2] for d in design.defaults if ".mat." in d.path}
    assert taken == {"density", "flow_resistivity", "loss_factor"}
