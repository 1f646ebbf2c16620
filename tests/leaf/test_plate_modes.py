"""Plates and joists against closed forms and benchmarks, and the series' convergence."""

import numpy as np
import pytest

from impact.leaf import mirror
from impact.leaf.plate import Plate, Ribs, modes


def square(edges: str, fixity: float = 0.0, nu: float = 0.3) -> Plate:
    """Unit square, unit mass and stiffness: omega is lambda²."""
    return Plate("square", 1.0, 1.0, 1.0, 1.0, 1.0, nu, (1 - nu) / 2, 0.0, edges, fixity, fixity)


@pytest.mark.parametrize(
    ("edges", "fixity", "values", "source"),
    [
        ("free", 0.0, (13.468, 19.596, 24.270, 34.801, 34.801), "FFFF, nu 0.3, series benchmark"),
        ("supported", 0.0, (19.739, 49.348, 49.348, 78.957), "closed form, Leissa 1969"),
        (
            "two sides",
            0.0,
            (9.631, 16.135, 36.726, 38.945, 46.738),
            "SFSF, Leissa, J. Sound Vib. 31 (1973) 257, from memory",
        ),
        ("supported", 1.0, (35.99, 73.41, 73.41, 108.27, 131.64), "CCCC, Leissa 1969, from memory"),
    ],
)
def test_square_plates(edges, fixity, values, source):
    omega = modes(square(edges, fixity), 60.0).omega
    bending = omega[omega > 1.0][: len(values)]
    # printed to four or five figures; Ritz values lie above the exact ones by less than 5e-4
    assert bending == pytest.approx(values, rel=6e-4), source


def test_free_plate_has_three_rigid_motions():
    omega = modes(square("free"), 60.0).omega
    assert np.sum(omega < 1e-3) == 3


def test_thick_square_of_nafems_as_thin_plate():
    # NAFEMS FV52: 10 x 10 x 1 m, E 200 GPa, nu 0.3, 8000 kg/m3, 45.897 Hz with shear flexibility;
    # a thin plate is stiffer: pi h/a² sqrt(E/(12 rho (1-nu²))) = 47.53 Hz by hand, 3.6 % higher
    bending = 200e9 / (12 * 0.91)
    plate = Plate("fv52", 10, 10, 8000.0, bending, bending, 0.3 * bending, 0.35 * bending, 0.0,
                  "supported")  # fmt: skip
    first = modes(plate, 300.0).omega[0] / (2 * np.pi)
    assert first == pytest.approx(47.53, rel=1e-3)
    assert 1.02 < first / 45.897 < 1.05


def joisted(count: int, bending: float = 4e5, mass: float = 6.0) -> Plate:
    lines = np.arange(1, count + 1) * 5.0 / (count + 1)
    ribs = Ribs(lines, lambda k2: np.full_like(k2, bending), 0.0, 0.0, mass, 0.0)
    return Plate("deck", 4.0, 5.0, 16.0, 1.0, 1.0, 0.0, 0.0, 0.05, "supported", ribs_x=ribs)


def test_joists_alone_are_beams():
    # a deck with no stiffness of its own: f1 = (pi/2L²) sqrt(EI/mu'), mu' with the deck's share
    count, spacing = 49, 0.1
    omega = modes(joisted(count), 120.0).omega[0]
    hand = np.pi**2 / 4.0**2 * np.sqrt(4e5 / (6.0 + 16.0 * spacing))
    assert omega == pytest.approx(hand, rel=0.01)  # the strips at both edges hang on the wall


def test_joist_floor_of_en_1995_1_1():
    # 45 x 220 mm at 400 mm, E 9 GPa, 35 kg/m2 in all, span 3.7 m: f1 = 18.38 Hz (EN 1995-1-1
    # eq. 7.5 with EI per width of the joists alone). Wide floor, light deck: one-way span.
    bending = 9e9 * 0.045 * 0.22**3 / 12
    lines = np.arange(0.2, 39.9, 0.4)
    ribs = Ribs(lines, lambda k2: np.full_like(k2, bending), 0.0, 0.0, 1.0, 0.0)
    plate = Plate("ec5", 3.7, 40.0, 35.0 - 1.0 / 0.4, 1000.0, 1000.0, 0.0, 0.0, 0.0, "supported",
                  ribs_x=ribs)  # fmt: skip
    omega = modes(plate, 12.0).omega
    assert omega.min() / (2 * np.pi) == pytest.approx(18.38, rel=0.01)


def test_shapes_carry_unit_mass():
    leaf = modes(square("free"), 60.0)
    flat = leaf.flat()
    assert np.allclose(flat.T @ flat, np.eye(flat.shape[1]), atol=1e-8)


def test_more_functions_move_no_low_mode(monkeypatch):
    from impact.leaf import plate as plates

    ribs = Ribs(np.arange(0.4, 5, 0.6), lambda k2: np.full_like(k2, 5.9e5), 9e3, 0.0, 5.9, 0.11)
    deck = Plate("deck", 4.0, 5.0, 16.7, 3266.0, 3266.0, 980.0, 1143.0, 0.06, "supported",
                 ribs_x=ribs)  # fmt: skip
    coarse = modes(deck, 450.0).omega
    own = plates._orders
    monkeypatch.setattr(plates, "_orders", lambda p, h: tuple(2 * n for n in own(p, h)))
    fine = modes(deck, 450.0).omega
    low = fine < 2 * np.pi * 250
    # without the functions kinked at the joists this is 3 to 5 %
    assert np.max(np.abs(coarse[: low.sum()] / fine[low] - 1)) < 0.006


def test_kinds_hold_all_of_the_modes():
    """What is left out of a kind's block is 0: the sum of squares of all blocks is the leaf's."""
    leaf = modes(Plate("free", 3.0, 2.0, 10.0, 400.0, 400.0, 100.0, 150.0, 0.02, "free"), 200.0)
    kinds = mirror.kinds(leaf)
    assert [kind.signs for kind in kinds] == [(1, 1), (1, -1), (-1, 1), (-1, -1)]
    assert sorted(np.concatenate([kind.modes for kind in kinds])) == list(range(len(leaf.omega)))
    whole = np.sum(leaf.coefficients**2)
    assert sum(np.sum(kind.block**2) for kind in kinds) == pytest.approx(whole, rel=1e-12)
