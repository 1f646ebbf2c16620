"""An inch mark inside a quoted text ends it: the message says so, and not that quotes lack."""

from __future__ import annotations

import pytest

from impact.design import reader
from impact.errors import DesignError


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('width = "12\' 6""', "the inch mark ends the text"),
        ('width = "9 1/4""', 'as in "12 ft 6 in", or \\"'),
        ("width = 9 in", "text and quantities stand in quotes"),
    ],
)
def test_an_inch_mark_that_ends_a_text(tmp_path, line, said):
    path = tmp_path / "room.toml"
    path.write_text(f"[room]\n{line}\n")
    with pytest.raises(DesignError) as error:
        reader.read(str(path))
    assert "line 2" in str(error.value)
    assert said in str(error.value)


def test_marks_written_as_toml_wants_them(tmp_path):
    """The marks are read: nothing is said of line 2."""
    path = tmp_path / "room.toml"
    path.write_text('[room]\nwidth = "12\' 6\\""\nlength = \'9 1/4"\'\n')
    with pytest.raises(DesignError) as error:
        reader.read(str(path))
    assert "no TOML" not in str(error.value)
    assert "room.width" not in str(error.value)
