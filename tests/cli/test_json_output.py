"""JSON of any command that speaks of a design carries the cautions, whoever made the object."""

from __future__ import annotations

import json

import designs
import pytest

from impact.base.cautions import CAUTIONS
from impact.cli import options


@pytest.mark.parametrize(
    ("answer", "said"),
    [({"design": "a"}, list(CAUTIONS)), ({"design": "a", "cautions": ["own"]}, ["own"])],
)
def test_an_answer_on_a_design_carries_cautions(capsys, answer, said):
    options.print_json(answer)
    assert json.loads(capsys.readouterr().out)["cautions"] == said


def test_the_cautions_are_those_of_the_design(capsys):
    options.print_json({"other": 1}, designs.on_slab())
    first, _ = json.loads(capsys.readouterr().out)["cautions"]
    assert "hangers, fasteners and the slab" in first


def test_what_is_no_number_is_never_printed_as_one(capsys):
    """RFC 8259 section 6: NaN and infinity are not permitted in JSON."""
    with pytest.raises(ValueError, match="Out of range float"):
        options.print_json({"level": float("nan")})
    assert capsys.readouterr().out == ""
