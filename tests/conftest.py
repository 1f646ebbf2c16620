"""Puts this folder on the import path, so that tests can share `designs` and `predictions`."""

from __future__ import annotations

from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[1] / "examples"


@pytest.fixture(scope="session")
def predicted():
    """File name of an example -> its prediction, computed once in a test run."""
    import impact

    known = {}

    def get(name: str):
        if name not in known:
            known[name] = impact.predict(impact.read(EXAMPLES / name))
        return known[name]

    return get
