"""Lines that are no TOML: an inch mark inside a quoted text ends it, and the message says so, and
not that quotes lack; so with what else people write."""

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
        ("width = 5m", "text and quantities stand in quotes"),
        ("width = “9 in”", "in straight quotes"),
        ('width = "9 in”', "in straight quotes"),
        ('width = "9 in', "a quote is not closed"),
        ('width : "9 in"', "between a key and its value stands ="),
        ('width = "9 in" // clear', "a remark behind #"),
        ('width = "9 in", length = "3 m"', "one key stands on a line"),
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


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[room]\nwidth = "3 m"\nwidth = "4 m"\n', "line 3: 'width' stands here a second time"),
        ('[room]\nwidth = "3 m"\n[floor]\n[room]\n', "line 4: [room] stands here a second time"),
        (
            '[floor.layers]\nmaterial = "OSB"\n[[floor.layers]]\n',
            "line 3: [[floor.layers]] stands above in single brackets",
        ),
        ("[floor.joists]\n[floor.joists]\n", "line 2: [floor.joists] stands here a second time"),
    ],
)
def test_what_stands_twice(tmp_path, text, said):
    path = tmp_path / "room.toml"
    path.write_text(text)
    with pytest.raises(DesignError) as error:
        reader.read(str(path))
    assert said in str(error.value)
    assert "overwrite" not in str(error.value)
