"""Files that are no design by size, depth or characters are refused at once, with the reason."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from impact.design import reader_bounds, reader_size
from impact.design.reader import read
from impact.errors import DesignError, Fault, InputError, printable

EXAMPLE = (Path(__file__).parents[2] / "examples" / "01_basement_rental.toml").read_text("utf-8")
QUICK = 5.0  # s of processor time; what a user waits for a refusal at most

WRONG = {
    "dotted keys": ("x" + ".x" * 300_000 + " = 1", "line 1: has more than 200 dots"),
    "brackets": ("x = " + "[" * 100_000, "brackets within brackets"),
    "tables in tables": ("x = " + "{a = " * 30 + "1" + "}" * 30, "tables deep; at most 12"),
    "many keys": (EXAMPLE + "".join(f"k{i} = 1\n" for i in range(60_000)), "more than 5000 values"),
    "many tables": (EXAMPLE + "[[ceiling.layers]]\n" * 9000, "more than 5000 values"),
    "many faults": (EXAMPLE + "[[ceiling.layers]]\n" * 100, "more faults; mend these first"),
    "a long key": (EXAMPLE + "k" * 500_000 + " = 1", "characters; at most 200"),
    "a long text": (EXAMPLE.replace("NC 25", "N" * 500_000), "characters; at most 2000"),
    "a long number": ("x = " + "9" * 5000, "thousands of digits"),
    "an escape": (EXAMPLE.replace("NC 25", r"\u001b[2J"), "U+001B, which cannot be printed"),
    "turned text": (EXAMPLE.replace("NC 25", r"\u202e"), "U+202E"),
    "an empty key": (EXAMPLE + '"" = 1', "without a name"),
    "a vast room": (EXAMPLE.replace('length = "16 ft"', 'length = "1e9 m"'), "1 m to 60 m"),
    "not finite": (EXAMPLE.replace('"16 ft"', "inf"), "room.length"),
    "negative": (EXAMPLE.replace('"5/8 in"', '"-5/8 in"'), "ceiling.layers[0].thickness"),
    "twice": (EXAMPLE.replace('length = "16 ft"', 'length = "16 ft"\nlength = "17 ft"'), "line"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_refused_at_once(tmp_path, name):
    content, word = WRONG[name]
    path = tmp_path / "wrong.toml"
    path.write_text(content, encoding="utf-8")
    start = time.process_time()
    with pytest.raises(DesignError) as caught:
        read(path)
    assert time.process_time() - start < QUICK
    text = str(caught.value)
    assert word in text
    assert len(text) < 20_000
    assert text.replace("\n", "").isprintable()


def test_a_file_of_50_megabytes_is_not_even_read(tmp_path):
    path = tmp_path / "large.toml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    with pytest.raises(DesignError, match="50000000 bytes; at most 1000000"):
        read(path)


def sized(tmp_path, **changes: str) -> Path:
    """The example with other values in place of those written there."""
    text = EXAMPLE
    for old, new in changes.items():
        key, value = old.replace("__", " = "), new
        line = next(row for row in text.splitlines() if row.startswith(key))
        text = text.replace(line, f'{key} = "{value}"', 1)
    path = tmp_path / "sized.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_more_hangers_than_can_be_solved(tmp_path):
    """Lines every 150 mm and hangers on every joist of 16 x 13 ft: 34 x 14, under the limit; of
    55 x 13 ft some 1700, above it."""
    tight = {"channel_spacing": "150 mm", "hanger_spacing": "16 in"}
    design = read(sized(tmp_path, **tight))
    assert 250 < reader_size.points(design) <= reader_size.POINTS
    with pytest.raises(DesignError) as caught:
        read(sized(tmp_path, length="55 ft", **tight))
    assert f"at most {reader_size.POINTS} can be solved" in str(caught.value)


def test_a_room_larger_than_can_be_solved(tmp_path):
    with pytest.raises(DesignError) as caught:
        read(sized(tmp_path, length="59 m", width="19 m", span="19 m"))
    assert f"at most {reader_size.AREA:g} m2" in str(caught.value)


def test_a_limp_plate_is_refused_before_it_is_solved():
    from impact.leaf.plate import Plate, modes

    film = Plate("film", 20.0, 20.0, 1.0, 0.01, 0.01, 0.003, 0.0035, 0.05, "free")
    with pytest.raises(InputError, match="check the thickness"):
        modes(film, 500.0)


def test_faults_stand_on_one_line_each():
    error = InputError("a\n.toml", [Fault("room\x1b[31m", "one\ntwo \u202e" + "x" * 5000)])
    lines = str(error).split("\n")
    assert len(lines) == 2
    assert all(line.isprintable() for line in lines)
    assert len(lines[1]) < 1300
    assert printable("Straße, 5 mm") == "Straße, 5 mm"


def test_the_first_faults_are_shown_and_the_rest_counted():
    faults = [Fault(f"key {i}", "is wrong") for i in range(100)]
    kept = reader_bounds.shown(faults)
    assert len(kept) == reader_bounds.SHOWN + 1
    assert "60 more" in kept[-1].what


@pytest.mark.parametrize(("depth", "fits"), [("2.18 m", True), ("2.20 m", False)])
def test_a_ceiling_that_leaves_no_room_below(make, depth, fits):
    """FEWEST is 2.5 m high under one board of 12.5 mm, and sound takes a room at least 0.3 m high:
    2.1875 m of depth are the most."""
    more = f'[cavity]\nclear_depth = "{depth}"\n'
    if fits:
        assert make(more=more).cavity.clear_depth == pytest.approx(2.18)
        return
    with pytest.raises(DesignError, match=r"takes 2[.]21 m with the boards"):
        make(more=more)


@pytest.mark.parametrize(("drop", "fits"), [("2.33 m", True), ("2.34 m", False)])
def test_a_bulkhead_that_reaches_the_floor(make, drop, fits):
    """Below 2.5 m less 0.15 m of depth and a board of 12.5 mm, 2.3375 m."""
    more = f"""
[cavity]
clear_depth = "150 mm"
[[room.bulkheads]]
name = "box"
x = "0 m"
y = "0 m"
length = "1 m"
width = "1 m"
drop = "{drop}"
"""
    if fits:
        assert make(more=more).room.bulkheads[0].drop == pytest.approx(2.33)
        return
    with pytest.raises(DesignError, match=r"room.bulkheads\[0\].drop: 2.34 m is all the height"):
        make(more=more)
