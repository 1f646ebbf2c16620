"""The survey form: printed, filled, read back, and refused when blank."""

from __future__ import annotations

import re
from dataclasses import replace

import designs
import pytest

from impact.design.parts import IndependentJoists, OldCeiling
from impact.design.reader import read
from impact.errors import InputError
from impact.report import paper
from impact.site import checklist, survey

JOISTED = {
    "project.name": 'Flat "2"', "note.who": "family above, one tenant", "room.length": "14 ft",
    "room.width": "12 ft 6 in", "room.height": "8' 0-1/2\"", "floor.structure": "Joists",
    "floor.joists.material": "softwood", "floor.joists.width": "1 1/2 in",
    "floor.joists.depth": "9 1/4 in", "floor.joists.spacing": "16 in",
    "floor.joists.span": "12 ft 6 in", "floor.joists.along": "width",
    "floor.joists.blocking_rows": "1", "floor.layers[0].material": "softwood plywood",
    "floor.layers[0].thickness": "23/32 in", "floor.layers[1].material": "oak strip",
    "floor.layers[1].thickness": "3/4 in", "old_ceiling.stays": "yes",
    "old_ceiling.layers[0].material": "gypsum board", "old_ceiling.layers[0].thickness": "1/2 in",
    "hangers.hanger_spacing": "48 in",
}  # fmt: skip
SLAB = {
    "project.name": "Flat 3", "room.length": "4.3 m", "room.width": "3.8 m",
    "room.height": "2.6 m", "floor.structure": "slab", "floor.slab.kind": "concrete",
    "floor.slab.thickness": "150 mm", "old_ceiling.stays": "no",
}  # fmt: skip


def filled(text, answers):
    """The form as a person fills it in: over the line, or behind it."""
    lines = []
    for line in text.split("\n"):
        for number, (key, answer) in enumerate(answers.items()):
            if f"[{key}]" in line:
                blank = survey.BLANK
                line = line.replace(blank, answer if number % 2 else f"{answer}{blank}")
        lines.append(line)
    return "\n".join(lines)


def put(tmp_path, text):
    path = tmp_path / "form.txt"
    path.write_text(text, encoding="utf-8")
    return str(path)


@pytest.mark.parametrize("form", ["text", "markdown"])
def test_a_filled_form_becomes_a_design(tmp_path, form):
    text = getattr(survey.form("imperial"), form)()
    made = survey.design_text(put(tmp_path, filled(text, JOISTED)))
    file = tmp_path / "made.toml"
    file.write_text(made, encoding="utf-8")
    design = read(file)
    assert design.name == 'Flat "2"'
    assert design.units == "imperial"
    assert design.room.width == pytest.approx(14 * 0.3048)  # the joists run the other way
    assert design.room.height == pytest.approx(8 * 0.3048 + 0.5 * 0.0254)
    assert design.floor.joists.depth == pytest.approx(9.25 * 0.0254)
    assert design.floor.joists.blocking_rows == 1
    assert [layer.material.name for layer in design.floor.layers] == [
        "softwood plywood", "oak strip",
    ]  # fmt: skip
    assert design.old_ceiling is not None
    assert "family above" in made  # notes stand on top as comments
    assert "# a start, not surveyed" in made


def test_a_slab_in_metric_units(tmp_path):
    made = survey.design_text(put(tmp_path, filled(survey.form("metric").text(), SLAB)))
    (tmp_path / "made.toml").write_text(made)
    design = read(tmp_path / "made.toml")
    assert design.floor.joists is None
    assert design.floor.slab.thickness == pytest.approx(0.15)
    assert "joists" not in made


def made(tmp_path, answers, units="imperial"):
    text = survey.design_text(put(tmp_path, filled(survey.form(units).text(), answers)))
    (tmp_path / "made.toml").write_text(text, encoding="utf-8")
    return read(tmp_path / "made.toml")


def without(answers, *keys):
    return {key: answer for key, answer in answers.items() if key not in keys}


SOLID = tuple(f"floor.joists.{name}" for name in ("material", "width", "depth"))


def test_i_joists_are_told_by_their_class(tmp_path):
    design = made(tmp_path, without(JOISTED, *SOLID) | {"floor.joists.class": "I-joist 11 7/8 in"})
    assert design.floor.joists.kind == "i-joist"
    assert design.floor.joists.depth == pytest.approx(0.3016, abs=1e-4)  # 302 mm, to 0.1 mm


def test_cross_laminated_timber_is_told_by_its_lamellae(tmp_path):
    layup = {"floor.slab.kind": "cross-laminated",
             "floor.slab.layup": "40 mm along, 20 mm Across; 40mm along"}  # fmt: skip
    design = made(tmp_path, without(SLAB, "floor.slab.thickness") | layup, "metric")
    assert design.floor.slab.thickness == pytest.approx(0.1)  # 40 + 20 + 40 mm
    for wrong in ("100 mm", "40 mm upright, 20 mm across"):
        with pytest.raises(InputError, match=r"\[floor.slab.layup\] reads"):
            made(tmp_path, without(SLAB, "floor.slab.thickness")
                 | {**layup, "floor.slab.layup": wrong}, "metric")  # fmt: skip
    with pytest.raises(InputError, match=r"\[floor.slab.layup\] is blank"):
        made(tmp_path, without(SLAB, "floor.slab.thickness")
             | {"floor.slab.kind": "cross-laminated"}, "metric")  # fmt: skip


def test_what_the_form_does_not_ask_for_is_said_so(tmp_path):
    """A ribbed slab wants ribs: no field of the form can mend that."""
    with pytest.raises(InputError, match=r"the form does not ask for it.*impact init --keys slab"):
        made(tmp_path, SLAB | {"floor.slab.kind": "ribbed"}, "metric")


@pytest.mark.parametrize("answers", [JOISTED, SLAB])
def test_every_blank_mandatory_field_is_refused_at_once(tmp_path, answers):
    path = put(tmp_path, filled(survey.form("metric").text(), {"floor.structure": "joists"}))
    with pytest.raises(InputError) as caught:
        survey.design_text(path)
    text = str(caught.value)
    for key in ("project.name", "room.length", "room.width", "room.height", "floor.joists.span",
                "floor.layers[0].material", "old_ceiling.stays"):  # fmt: skip
        assert f"[{key}] is blank" in text
    # each by itself too
    must = [key for key in answers if survey.ASKS[key].must]
    for key in must:
        rest = {other: answer for other, answer in answers.items() if other != key}
        with pytest.raises(InputError, match="is blank"):
            survey.read(put(tmp_path, filled(survey.form("metric").text(), rest)))


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"room.length": "14"}, r"line \d+ \[room.length\]"),
        ({"floor.joists.material": "sofwood"}, "did you mean 'softwood'"),
        ({"floor.structure": "boat"}, "joists or slab"),
        ({"floor.joists.blocking_rows": "two"}, "whole number"),
        ({"room.height": "80 ft 1"}, r"\[room.height\]"),
    ],
)
def test_wrong_answers_are_named_by_line_and_field(tmp_path, change, where):
    text = filled(survey.form("imperial").text(), {**JOISTED, **change})
    with pytest.raises(InputError, match=where):
        survey.design_text(put(tmp_path, text))


OLD_HOUSE = {
    "project.name": "Old house", "room.length": "5.2 m", "room.width": "435 cm",
    "room.height": "3.12 m", "floor.structure": "joists", "floor.joists.material": "softwood",
    "floor.joists.width": "16 cm", "floor.joists.depth": "0.24 m",
    "floor.joists.spacing": "85 cm", "floor.joists.span": "4.35 m",
    "floor.joists.along": "width", "floor.layers[0].material": "softwood boards",
    "floor.layers[0].thickness": "28 mm", "floor.infill.material": "ash or slag pugging",
    "floor.infill.thickness": "80 mm", "old_ceiling.stays": "no", "old_ceiling.fixing": "lath",
    "old_ceiling.layers[0].material": "lath and plaster",
    "old_ceiling.layers[0].thickness": "22 mm",
}  # fmt: skip


def test_an_old_house_with_pugging(tmp_path):
    made = survey.design_text(put(tmp_path, filled(survey.form("metric").text(), OLD_HOUSE)))
    (tmp_path / "made.toml").write_text(made)
    design = read(tmp_path / "made.toml")
    assert design.floor.infill.thickness == pytest.approx(0.08)
    assert design.old_ceiling is None
    # what goes is no part of the design, but what was written of it is not lost
    assert "# The old ceiling goes; its thickness: 22 mm" in made


def test_faults_of_form_and_design_are_told_at_once(tmp_path):
    """One field of the form's own, and two that only the reader of designs knows."""
    wrong = {**OLD_HOUSE, "old_ceiling.stays": "partly", "room.height": "3,12 m",
             "floor.joists.width": "160"}  # fmt: skip
    with pytest.raises(InputError) as caught:
        survey.design_text(put(tmp_path, filled(survey.form("metric").text(), wrong)))
    assert len(caught.value.faults) == 3
    for key in ("old_ceiling.stays", "room.height", "floor.joists.width"):
        assert f"[{key}]" in str(caught.value)


def test_joists_of_a_slab_are_asked_about(tmp_path):
    both = {**OLD_HOUSE, "floor.structure": "slab", "floor.slab.kind": "concrete",
            "floor.slab.thickness": "16 cm"}  # fmt: skip
    with pytest.raises(InputError, match="reads 'slab', but joists are answered on line") as caught:
        survey.design_text(put(tmp_path, filled(survey.form("metric").text(), both)))
    assert len(caught.value.faults) == 1


def test_other_faults_of_a_form(tmp_path):
    text = filled(survey.form("imperial").text(), JOISTED)
    with pytest.raises(InputError, match="no field"):
        survey.read(put(tmp_path, text + "\n Colour [room.colour]: red\n"))
    with pytest.raises(InputError, match="is answered on line"):
        survey.read(put(tmp_path, text + "\n Length [room.length]: 3 m\n"))
    with pytest.raises(InputError, match="Units:"):
        survey.read(put(tmp_path, text.replace("Units: imperial", "")))
    with pytest.raises(InputError, match="no survey form"):
        survey.read(put(tmp_path, "Dear sir\n"))


@pytest.mark.parametrize("own", [True, False])
def test_checklist_of_ceilings_that_hang_on_nothing_soft(own):
    """Boards screwed to joists, and a ceiling on joists of its own: nothing is asked of hangers,
    and no screw is to be taken out of a joist."""
    base = designs.basement()
    if own:
        design = replace(base, hangers=None, independent=IndependentJoists(designs.joists()))
    else:
        design = replace(base, hangers=replace(designs.hangers("direct"), channel=None))
    text = " ".join(checklist.checklist(design).text().split("Overhead load")[0].split())
    for word in ("anger", "hannel fixing", "ixings counted", "Deflection", "stands in a joist"):
        assert word not in text, word
    assert "stands in a joist" in checklist.checklist(base).text()


def test_checklist_holds_the_design_s_numbers():
    text = checklist.checklist(designs.basement()).text()
    assert "5/8 in gypsum board" in text
    assert "1/4 in gap" in text
    assert "in all, on" in text
    assert "licensed engineer" in text
    assert max(map(len, text.split("\n"))) <= 80
    blank = checklist.checklist().text()
    assert blank.count("[ ]") >= 20
    assert "old ceiling that stays" not in text + blank
    old = OldCeiling((designs.FIVE_EIGHTHS,), "lath", 0.2, 1e6, None)
    kept = replace(designs.basement(), old_ceiling=old)
    assert "old ceiling that stays" in checklist.checklist(kept).text()
    assert "longer ones reach the joist" in text
    told = re.sub(r"\s+", " ", checklist.checklist(kept).text())
    assert "longer ones reach the old ceiling" in told


def test_checklist_tells_a_thickness_once():
    """Of a material that has it in its name as well."""
    base = replace(designs.basement(), units="metric")
    layer = base.ceiling.layers[0]
    named = replace(layer, thickness=0.0125, material=replace(layer.material, name="board 12.5 mm"))
    design = replace(base, ceiling=replace(base.ceiling, layers=(named, layer)))
    text = checklist.checklist(design).text()
    assert "cavity down: board 12.5 mm, then 15.9 mm gypsum board" in text


def test_paper_loses_no_line(tmp_path):
    text = survey.form("imperial").text()
    sheets = paper.pages(text, "imperial")
    kept = [line for sheet in sheets for line in sheet if line.strip()]
    assert kept == [line for line in text.split("\n") if line.strip()]
    one, two = (paper.save(text, tmp_path / name, "metric", "t") for name in ("1.pdf", "2.pdf"))
    assert one.read_bytes() == two.read_bytes()


def test_a_screed_floats_on_the_mat_that_the_form_names(tmp_path):
    """Else it is bonded to its slab, some 20 dB of a floor as they are built."""
    screed = {"floor.layers[0].material": "sand-cement screed", "floor.layers[0].thickness": "5 cm",
              "floor.layers[0].mat": "rock wool mat 100 kg/m3, 30 mm"}  # fmt: skip
    design = made(tmp_path, SLAB | screed | {"floor.slab.along": "Width"}, "metric")
    assert design.floor.length == pytest.approx(3.8)  # along the span
    (layer,) = design.floor.layers
    assert layer.bond == "floating"
    assert layer.mat.stiffness_per_area == pytest.approx(14e6)  # as its name has it in Hopkins
    with pytest.raises(InputError, match=r"line \d+ \[floor.layers\[0\].mat\]: 'floating' needs"):
        made(tmp_path, JOISTED | {"floor.layers[0].mat": screed["floor.layers[0].mat"]})


@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_on_paper_a_question_and_its_answer_stand_on_one_sheet(units):
    for sheet in paper.pages(survey.form(units).text(), units):
        assert not sheet[0].startswith("    ")  # the rest of what the sheet before begins
