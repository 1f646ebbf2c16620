"""Layers glued onto slabs act with them, by Steiner's theorem about one axis, sums by hand."""

from dataclasses import replace

import designs
import pytest

import impact
from impact.design.parts import Layer, Material
from impact.energy import leaves
from impact.leaf.build import floor_plate, slab_section

SCREED = Material("screed", 2000.0, 20.3e9, 20.3e9, 0.2, 0.01, 20.3e9 / 2.4)


def read(tmp_path, slab, layers):
    """A floor of that slab and those layers, in a design file."""
    text = f"""
    [project]
    name = "bonded"
    [room]
    length = "5 m"
    width = "4 m"
    height = "2.7 m"
    [floor.slab]
    {slab}
    {layers}
    [cavity]
    clear_depth = "100 mm"
    [hangers]
    class = "neoprene hanger"
    [[ceiling.layers]]
    material = "gypsum board"
    thickness = "12.5 mm"
    """
    path = tmp_path / "bonded.toml"
    path.write_text("\n".join(line.strip() for line in text.splitlines()))
    return impact.read(path)


def topping(bond):
    """A 50 mm screed."""
    return f'[[floor.layers]]\nmaterial = "sand-cement screed"\nthickness = "50 mm"\n{bond}'


def test_screed_glued_to_a_plain_slab(tmp_path):
    """160 mm concrete, 30.5 GPa, 50 mm screed, 20.3 GPa, both nu 0.2: EA 5083 and 1057 MN/m,
    105 mm apart, so that B = 10.844 + 0.220 + 5083 * 1057/(5083 + 1057) * 0.105^2 = 20.71 MN m;
    mass 368 + 100 kg/m2. The lowest mode rises by sqrt(20.71/11.06) over a screed that slides."""
    plate = {}
    for bond in ("glued", "nailed"):
        made = read(
            tmp_path, 'kind = "concrete"\nthickness = "160 mm"', topping(f'bond = "{bond}"')
        )
        plate[bond] = floor_plate(made.floor, ())
        high = leaves.slab_leaf(made.floor, [400.0, 500.0])  # of several bands: without shear
        assert high.stiffness[0] == pytest.approx(plate[bond].bending_x)
        assert high.mass == pytest.approx(plate[bond].mass)
    assert plate["glued"].mass == pytest.approx(468)
    assert plate["glued"].bending_x == pytest.approx(20.71e6, rel=1e-3)
    assert plate["glued"].bending_y == pytest.approx(20.71e6, rel=1e-3)
    # isotropic with the same nu throughout: D66 = D (1 - nu)/2
    assert plate["glued"].twisting == pytest.approx(20.71e6 * 0.4, rel=1e-3)
    assert plate["nailed"].bending_x == pytest.approx(10.844e6 + 0.2203e6, rel=1e-3)


def test_what_is_glued_on_makes_one_section_in_shear(tmp_path):
    """160 mm with 50 mm of the same on it, nu 0.2: 5/6 G 0.21 (Timoshenko); lying loose, 0.16."""
    slab = 'kind = "concrete"\nthickness = "160 mm"'
    made = read(tmp_path, slab, topping('bond = "glued"')).floor
    same = replace(made.layers[0], material=replace(SCREED, youngs_modulus=30.5e9,
                   youngs_modulus_across=30.5e9, shear_modulus=30.5e9 / 2.4))  # fmt: skip
    both = [5 / 6 * 30.5e9 / 2.4 * depth for depth in (0.21, 0.16)]
    for layer, expected in ((same, both[0]), (replace(same, bond="nailed"), both[1])):
        found = slab_section(made.slab, (layer,))
        assert found.shear == pytest.approx((expected, expected), rel=1e-4)


def test_rigid_ribs_and_what_is_glued_onto_them(tmp_path):
    """Plate 60 x 600 mm over a rib 150 x 200 mm, one material: with 50 mm glued on, three
    rectangles about one axis; areas over 600 mm, E = 30.5 GPa for plate and rib, 20.3/(1 - 0.04)
    for the topping, which is a plate."""
    slab = """kind = "ribbed"
    thickness = "260 mm"
    rib_width = "150 mm"
    rib_depth = "200 mm"
    rib_spacing = "600 mm"
    youngs_modulus = "30.5 GPa"
    """
    made = read(tmp_path, slab, topping('bond = "glued"'))
    bare = made.floor.slab.bending_stiffness_along
    parts = [(30.5e9, 0.6, 0.060, 0.030), (30.5e9, 0.15, 0.2, 0.160)]
    assert bare == pytest.approx(steiner(parts) / 0.6, rel=1e-6)
    parts.append((20.3e9 / 0.96, 0.6, 0.05, -0.025))
    found = slab_section(made.floor.slab, made.floor.layers)
    assert found.bending_x == pytest.approx(steiner(parts) / 0.6, rel=1e-3)
    # across: plate and topping alone, 60 and 50 mm
    across = [(30.5e9 / 0.96, 1, 0.06, 0.03), (20.3e9 / 0.96, 1, 0.05, -0.025)]
    assert found.bending_y == pytest.approx(steiner(across), rel=1e-3)


def steiner(parts):
    """sum E b (h^3/12 + h (z - z0)^2) of (E, b, h, z)."""
    area = sum(e * b * h for e, b, h, _ in parts)
    neutral = sum(e * b * h * z for e, b, h, z in parts) / area
    return sum(e * b * (h**3 / 12 + h * (z - neutral) ** 2) for e, b, h, z in parts)


def test_topping_glued_to_cross_laminated_timber(tmp_path):
    """Three lamellae of 40 mm, the lowest across: along, E of the two upper ones counts and their
    axis lies high; with the topping, four rectangles about one axis."""
    lamellae = "".join(
        f'[[floor.slab.layup]]\nthickness = "40 mm"\ndirection = "{way}"\n'
        for way in ("across", "along", "along")
    )
    made = read(tmp_path, f'kind = "cross-laminated"\n{lamellae}', topping('bond = "glued"'))
    strong, weak = 11e9, 0.37e9
    parts = [(weak, 1, 0.04, 0.1), (strong, 1, 0.04, 0.06), (strong, 1, 0.04, 0.02)]
    found = slab_section(made.floor.slab, made.floor.layers)
    assert made.floor.slab.bending_stiffness_along == pytest.approx(steiner(parts))
    topped = [*parts, (20.3e9 / 0.96, 1, 0.05, -0.025)]
    assert found.bending_x == pytest.approx(steiner(topped), rel=1e-6)


def test_only_what_is_glued_from_the_slab_up_acts_with_it():
    """Two layers, the upper glued to one that slides: they are a plate of their own."""
    slab = designs.on_slab().floor.slab
    sliding, upper = Layer(SCREED, 0.03, "nailed", "across"), Layer(SCREED, 0.02, "glued", "across")
    together = slab_section(slab, [sliding, upper]).bending_x - slab.bending_stiffness_along
    assert together == pytest.approx(20.3e9 * 0.05**3 / 12 / 0.96)
    alone = slab_section(slab, [replace(upper, thickness=0.05)])
    assert alone.bending_x > slab.bending_stiffness_along + 10 * together


def test_bond_of_the_first_layer_on_a_slab_is_a_listed_default(tmp_path):
    made = read(tmp_path, 'kind = "concrete"\nthickness = "160 mm"', topping(""))
    found = {default.path: default.value for default in made.defaults}
    assert found["floor.layers[0].bond"] == "nailed"
