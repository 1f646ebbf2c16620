"""The survey form: printed blank, read back when filled in, turned into a design file.

A filled line is known by the key in square brackets and the answer behind the colon, so the form
may be wrapped in other text, in plain text or Markdown.
"""

from __future__ import annotations

import json
import re
import tempfile
from pathlib import Path

from impact.base.files import read_text
from impact.design.reader import read as read_design
from impact.errors import DesignError, Fault, InputError
from impact.site.document import Document, Section
from impact.site.survey_form import ALWAYS, ASKS, FORM, JOISTS, LAYERED, OLD, SLAB, Ask

SYSTEMS = ("imperial", "metric")
BLANK = "_" * 24
LIMIT = 1_000_000  # bytes
STRUCTURE, STAYS = "floor.structure", "old_ceiling.stays"
_LINE = re.compile(r"\[(?P<key>[a-z_]+(?:\[\d\])?(?:\.[a-z_]+(?:\[\d\])?)+)\]`?\s*:(?P<answer>.*)")
_UNITS = re.compile(r"^units\s*:\s*(\w+)", re.I | re.M)


def form(units: str) -> Document:
    """The blank form, examples in "imperial" or "metric" units."""
    place = SYSTEMS.index(units)
    head = (
        "Write each answer behind its colon, quantities with their unit. * must be filled in; "
        "the rest may stay blank and gets a default that the results list. Filled in by hand? "
        "Type the answers into this form, then: impact survey FORM -o my_room.toml",
        f"Units: {units}",
    )
    sections = tuple(
        Section(part.title, tuple(_question(ask, place) for ask in part.asks), part.hint)
        for part in FORM
    )
    foot = (
        "Overhead work: have a licensed engineer check joists, hangers and fasteners. Test old "
        "finishes for asbestos and lead before touching them.",
    )
    return Document("SURVEY FORM: a floor and the ceiling to be hung below it", head, sections,
                    foot, boxes=False)  # fmt: skip


def _question(ask: Ask, place: int) -> str:
    star = "* " if ask.must == ALWAYS else ""
    if ask.must not in ("", ALWAYS):
        star = {JOISTS: "* with joists: ", SLAB: "* with a slab: ", OLD: "* if it stays: ",
                LAYERED: "* if cross-laminated: "}[ask.must]  # fmt: skip
        star = star.replace("with joists", "with solid joists") if ask.unless else star
    example = f" (such as {ask.example[place]})" if ask.example[place] else ""
    return f"{star}{ask.text}{example} [{ask.key}]: {BLANK}"


def read(path: str) -> tuple[dict[str, str], dict[str, int], str]:
    """Answers by key, their lines, and the units of a filled form.

    Raises InputError for unknown keys, an answer given twice, and every mandatory field left blank.
    """
    answers, lines, units, faults = _read(path)
    if faults:
        raise InputError(path, faults)
    return answers, lines, units


def _read(path: str) -> tuple[dict[str, str], dict[str, int], str, list[Fault]]:
    """As `read`, with the faults beside what could be read."""
    text = read_text(path, LIMIT)
    answers: dict[str, str] = {}
    lines: dict[str, int] = {}
    faults: list[Fault] = []
    for number, line in enumerate(text.split("\n"), 1):
        found = _LINE.search(line)
        if found is None:
            continue
        key, answer = found["key"], found["answer"].strip().strip("`*").strip("_ ").strip()
        if key not in ASKS:
            faults.append(Fault(f"line {number}", f"[{key}] is no field of the form"))
        elif answer and answers.get(key):
            faults.append(Fault(f"line {number}", f"[{key}] is answered on line {lines[key]} too"))
        elif answer or key not in answers:
            answers[key], lines[key] = answer, number
    if not lines:
        what = "is no survey form: no line like '... [room.length]: 4.3 m'; `impact survey` prints"
        raise InputError(path, [Fault("file", what + " a blank one")])
    said = _UNITS.search(text)
    units = said[1].lower() if said else ""
    if units not in SYSTEMS:
        faults.append(Fault("units", "a line 'Units: imperial' or 'Units: metric' is needed"))
    faults += _blank(answers, lines)
    faults += _words(answers, lines)
    return answers, lines, units if units in SYSTEMS else SYSTEMS[0], faults


def _blank(answers: dict[str, str], lines: dict[str, int]) -> list[Fault]:
    """Mandatory fields left blank."""
    found = []
    for key, ask in ASKS.items():
        other, _, wanted = ask.must.partition("=")
        needed = ask.must == ALWAYS or (wanted and answers.get(other, "").lower() == wanted)
        if needed and not answers.get(ask.unless) and not answers.get(key):
            where = f"line {lines[key]}" if key in lines else "file"
            found.append(Fault(where, f"[{key}] is blank: {ask.text}; it must be filled in"))
    return found


def _words(answers: dict[str, str], lines: dict[str, int]) -> list[Fault]:
    """Answers that only the form knows, and numbers that are none."""
    found = []
    for key, allowed in ((STRUCTURE, ("joists", "slab")),
                         (STAYS, ("yes", "no"))):  # fmt: skip
        if answers.get(key) and answers[key].lower() not in allowed:
            what = f"[{key}] reads {answers[key][:30]!r}; must be {' or '.join(allowed)}"
            found.append(Fault(f"line {lines[key]}", what))
    for key, answer in answers.items():
        if ASKS[key].holds == "number" and answer and not answer.isdigit():
            what = f"[{key}] reads {answer[:30]!r}; must be a whole number"
            found.append(Fault(f"line {lines[key]}", what))
        if ASKS[key].holds == "layup" and answer and lamellae(answer) is None:
            what = f"[{key}] reads {answer[:60]!r}; must be like {ASKS[key].example[1]!r}"
            found.append(Fault(f"line {lines[key]}", what))
    return found + _both(answers, lines)


def lamellae(answer: str) -> list[tuple[str, str]] | None:
    """Thickness and direction of each lamella, of "40 mm along, 20 mm across, 40 mm along"; None
    for an answer of another form."""
    lamella = re.compile(r"\s*(\S.*?)\s+(along|across)\s*", re.I)
    found = [lamella.fullmatch(one) for one in re.split("[,;]", answer)]
    return [(one[1], one[2].lower()) for one in found if one] if all(found) else None


def _both(answers: dict[str, str], lines: dict[str, int]) -> list[Fault]:
    """Answers on joists where the floor is a slab, or the other way round."""
    structure = answers.get(STRUCTURE, "").lower()
    other = {"joists": "slab", "slab": "joists"}.get(structure, "-")
    at = [str(lines[key]) for key, answer in answers.items()
          if key.startswith(f"floor.{other}.") and answer]  # fmt: skip
    if not at:
        return []
    what = f"[{STRUCTURE}] reads {structure!r}, but {other} are answered on line {', '.join(at)}"
    return [Fault(f"line {lines[STRUCTURE]}", what + "; which is right? Blank the other")]


def design_text(path: str) -> str:
    """The design file of a filled form, checked by the reader of designs.

    Raises InputError with the form's line and the field of every fault, the form's own and those of
    the design that it makes.
    """
    answers, lines, units, own = _read(path)
    spoilt = {key for key in ASKS if any(f"[{key}]" in fault.what for fault in own)}
    text = _toml({key: "" if key in spoilt else x for key, x in answers.items()}, units)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "survey.toml"
        file.write_text(text, encoding="utf-8")
        try:
            read_design(file)
        except DesignError as error:
            own += [Fault(_place(fault.where, lines), fault.what) for fault in error.faults
                    if not any(_within(key, fault.where) for key in spoilt)]  # fmt: skip
            own = [_beyond(fault, answers) for fault in own]
    if own:
        raise InputError(path, own)
    return text


def _within(key: str, where: str) -> bool:
    """Whether a key path is that of a fault or lies in its table."""
    return key == where or key.startswith((f"{where}.", f"{where}["))


def _beyond(fault: Fault, answers: dict[str, str]) -> Fault:
    """A fault in what the form does not ask for, with what to do; any other as it is."""
    table = fault.where.rpartition(".")[0]
    if not table.startswith("floor.") or fault.where in answers or fault.where in ASKS:
        return fault
    keys = table.rpartition(".")[2]
    more = f"; the form does not ask for it: write a design file (impact init --keys {keys})"
    return Fault(fault.where, fault.what + more)


def _place(where: str, lines: dict[str, int]) -> str:
    """The form's line for a key path of the design, with the path."""
    where = re.sub(r"^(floor\.layers\[\d\])\.bond$", r"\1.mat", where)  # written for its mat
    near = next((key for key in lines if where == key or where.startswith((f"{key}.", f"{key}["))),
                None)  # fmt: skip
    return f"line {lines[near]} [{where}]" if near else where


def _toml(answers: dict[str, str], units: str) -> str:
    """Tables in the order of the form; what is only noted stands on top as comments."""
    place = SYSTEMS.index(units)
    out = ["# Design file made from a survey form."]
    out += [f"# {ASKS[key].text}: {_plain(answer)}" for key, answer in answers.items()
            if ASKS[key].holds == "note" and answer]  # fmt: skip
    if not _stays(answers):
        out += [f"# The old ceiling goes; {ASKS[key].text.lower()}: {_plain(answer)}"
                for key, answer in answers.items()
                if answer and key.startswith("old_ceiling.") and key != STAYS]  # fmt: skip
    tables: dict[str, list[str]] = {"project": [f'units = "{units}"']}
    for key, ask in ASKS.items():
        answer, remark = answers.get(key, ""), ""
        if not answer and ask.start is not None:
            answer, remark = ask.start[place], "  # a start, not surveyed"
        table, _, name = key.rpartition(".")
        if not answer or ask.holds == "note" or _left_out(key, answers):
            continue
        lower = ask.key in ("floor.joists.along", "floor.joists.deck_fastening", "floor.slab.along")
        written = answer.lower() if lower else answer
        value = _value(ask.holds, written)
        tables.setdefault(table, []).append(f"{name} = {value}{remark}")
        if name == "mat":  # only what floats lies on one
            tables[table].append('bond = "floating"')
    for table, rows in tables.items():
        header = f"[[{table[:-3]}]]" if table.endswith("]") else f"[{table}]"
        out += ["", header, *rows]
    return "\n".join(out) + "\n"


def _value(holds: str, answer: str) -> str:
    """An answer as TOML."""
    if holds == "number":
        return answer
    if holds == "layup":
        rows = (f"{{thickness = {_value('text', thickness)}, direction = {json.dumps(direction)}}}"
                for thickness, direction in lamellae(answer) or ())  # fmt: skip
        return f"[{', '.join(rows)}]"
    return json.dumps(_plain(answer), ensure_ascii=False)


def _left_out(key: str, answers: dict[str, str]) -> bool:
    """Whether the structure or the old ceiling make a question void."""
    slab = answers.get(STRUCTURE, "").lower() == "slab"
    return (
        key in (STRUCTURE, STAYS)
        or (key.startswith("floor.joists.") and slab)
        or (key.startswith("floor.slab.") and not slab)
        or (key.startswith("old_ceiling.") and not _stays(answers))
    )


def _stays(answers: dict[str, str]) -> bool:
    return answers.get(STAYS, "").lower() == "yes"


def _plain(text: str) -> str:
    """Without what a TOML string or comment cannot hold."""
    return "".join(one for one in text if one.isprintable())
