"""One loss factor of a slab, for modes and for energy: ISO 12354-1:2017 Annex C."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from designs import on_slab

from impact.energy import leaves
from impact.leaf import build
from impact.motion import assemble

# ISO 12354-2:2017 Annex G, 220 mm concrete of 484 kg/m2, 4 x 5 m: total loss factors, which hold
# radiation from both sides as well.
PRINTED = {50.0: 0.0831, 100.0: 0.0602, 200.0: 0.0438, 400.0: 0.0319}


def annex_g():
    design = on_slab()
    bending = 2200 * 3800**2 * 0.22**3 / 12  # rho c_L^2 h^3/12
    slab = replace(
        design.floor.slab, thickness=0.22, mass_per_area=484.0, bending_stiffness_along=bending,
        bending_stiffness_across=bending, twisting_stiffness=bending * 0.4, loss_factor=0.005,
    )  # fmt: skip
    floor = replace(design.floor, slab=slab, loss_factor=0.005, length=5.0, width=4.0)
    return replace(design, floor=floor)


def test_modes_lose_what_the_energy_balance_loses():
    design = annex_g()
    leaf = assemble.leaf_of(build.floor_plate(design.floor, []), 300.0)
    frequencies = leaf.omega / 2 / np.pi
    assert leaf.losses == pytest.approx(leaves.slab_leaf(design.floor, frequencies).loss, rel=1e-6)
    assert leaf.losses[0] > 1.5 * leaf.losses[-1]  # falls as 1/sqrt(f)


def test_loss_near_the_printed_total():
    """Printed totals hold sound radiated to both sides: 2 rho c sigma/(omega m), 0.004 at most
    here. What is left must agree within 0.4 dB of level, 10 % (the junctions are not printed)."""
    frequencies = np.array(list(PRINTED))
    found = leaves.slab_leaf(annex_g().floor, frequencies).loss
    assert np.all(found < list(PRINTED.values()))
    assert found == pytest.approx(list(PRINTED.values()), rel=0.10)


def test_a_total_that_is_given_rules_everywhere():
    design = annex_g()
    slab = replace(design.floor.slab, in_situ_loss=False)
    design = replace(design, floor=replace(design.floor, slab=slab, loss_factor=0.04))
    leaf = assemble.leaf_of(build.floor_plate(design.floor, []), 300.0)
    assert leaf.losses == pytest.approx(np.full(len(leaf.omega), 0.04))
    assert leaves.slab_leaf(design.floor, np.array([50.0, 1000.0])).loss == pytest.approx(
        [0.04, 0.04]
    )
