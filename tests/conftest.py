"""Puts this folder on the import path, so that tests can share `designs`, `texts`, `predictions`;
and what many of them ask for."""

from __future__ import annotations

import pytest
from texts import EXAMPLES, FEWEST

from impact.design.reader import read


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


@pytest.fixture
def make(tmp_path):
    """Read a design from text, with (old, new) replacements and more text at the end."""

    def _make(text=FEWEST, *changes, more=""):
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new)
        path = tmp_path / "design.toml"
        path.write_text(text + more, encoding="utf-8")
        return read(path)

    return _make
