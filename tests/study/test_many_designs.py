"""The example that cuts a study into blocks gives what one search gives."""

from __future__ import annotations

import runpy
import sys
from pathlib import Path

import numpy as np

EXAMPLE = Path(__file__).parents[2] / "examples" / "many_designs.py"


def test_blocks_equal_one_search():
    names = runpy.run_path(str(EXAMPLE))
    lazy = names["study"](8, block=4)
    assert lazy.data.npartitions == 2
    assert lazy.dims == ("stiffness", "depth")
    found = lazy.compute(scheduler="threads", num_workers=2)
    at_once = names["thud_heard"](found.stiffness.values)
    # a search interpolates between stiffnesses of its own range: 0.1 to 0.2 dB from block to block
    np.testing.assert_allclose(found.values, at_once, atol=0.3)
    assert np.ptp(found.values) > 1  # dB: stiffness and depth matter


def test_what_it_prints(monkeypatch, capsys):
    """The softest hangers are heard least; the plain sum would choose stiff ones."""
    monkeypatch.setattr(sys, "argv", [str(EXAMPLE), "4"])
    runpy.run_path(str(EXAMPLE), run_name="__main__")
    first, _, least, depth = capsys.readouterr().out.splitlines()
    assert first == "12 designs in 1 blocks"
    assert "hangers of 20 N/mm" in least
    assert depth.startswith("of which depth makes 0.")
