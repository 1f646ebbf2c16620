"""A study larger than one machine: variants are a dimension of an xarray array, cut into blocks.

    pip install -e ".[blocks]"
    python examples/many_designs.py [count]

Hanger stiffness against cavity depth for an invented room, thud of a barefoot walker as it is heard
(20-80 Hz over the hearing threshold; a plain sum of levels is ruled by what is hardly heard), on
the local scheduler of dask. With another scheduler the same lines run on many machines; a million
designs are a longer axis.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import xarray as xr

import impact
from impact.study import choose_axes
from impact.study.choose import choose

DESIGN = Path(__file__).parent / "01_basement_rental.toml"
DEPTHS = [0.10, 0.15, 0.20]  # m, boards to joists
BLOCK = 100  # stiffnesses to a block


def thud_heard(stiffness: np.ndarray) -> np.ndarray:
    """The walker's thud over the hearing threshold [dB] for hanger stiffnesses [N/m] and DEPTHS.

    (n,) -> (n, depths).
    """
    design = impact.read(DESIGN)
    own = choose_axes.own_hangers(design)
    axes = choose_axes.axes(
        design,
        hangers=[replace(own, dynamic_stiffness=float(k)) for k in stiffness],
        channel_spacings=[own.channel_spacing], hanger_spacings=[own.hanger_spacing],
        layers=[2], depths=DEPTHS, fills=[0.1],
    )  # fmt: skip
    return choose(design, axes).heard.reshape(len(stiffness), len(DEPTHS))


def study(count: int, block: int = BLOCK) -> xr.DataArray:
    """Thud as heard over `count` stiffnesses and all depths; nothing is computed yet."""
    stiffness = np.geomspace(2e4, 2e6, count)
    axis = xr.DataArray(stiffness, dims="stiffness")
    lazy = xr.apply_ufunc(
        thud_heard, axis.chunk(stiffness=block), output_core_dims=[["depth"]],
        dask="parallelized",
        dask_gufunc_kwargs={
            "output_sizes": {"depth": len(DEPTHS)}, "meta": np.empty((0, 0)),  # or it tries zeros
        },
    )  # fmt: skip
    return lazy.assign_coords(
        stiffness=("stiffness", stiffness, {"units": "N/m"}),
        depth=("depth", DEPTHS, {"units": "m"}),
    ).rename("thud_over_threshold_db")


if __name__ == "__main__":
    found = study(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
    print(f"{found.size} designs in {found.data.npartitions} blocks")
    found = found.compute(scheduler="threads", num_workers=2)
    best = found.isel(found.argmin(["stiffness", "depth"]))
    at_best = found.sel(stiffness=best.stiffness.item())
    print(f"thud over the hearing threshold: {best:.1f} to {found.max():.1f} dB")
    print(f"least with hangers of {best.stiffness / 1000:.0f} N/mm and {best.depth * 1000:.0f} mm")
    print(f"of which depth makes {at_best.max() - at_best.min():.2f} dB")
