"""Footsteps under hung ceilings: levels, resonances and loads from a design file."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

# Bands are shared out over threads of our own (`impact.motion.lowband`); small matrices get slower,
# not faster, when the linear algebra splits them as well. Takes effect where numpy is not loaded
# yet.
for _name in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

__version__ = "0.1.0"
__all__ = ["__version__", "predict", "read"]

if TYPE_CHECKING:
    from impact.chain import predict
    from impact.design.reader import read

_HOMES = {"read": "impact.design.reader", "predict": "impact.chain"}


def __getattr__(name: str) -> Any:
    """Load `read` and `predict` on first use, so that `impact --help` stays instant."""
    if name in _HOMES:
        from importlib import import_module

        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'impact' has no attribute {name!r}")
