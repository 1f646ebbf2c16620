"""What the tests of the reader share."""

from __future__ import annotations

import pytest
from texts import FEWEST

from impact.design.reader import read


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
