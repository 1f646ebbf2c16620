"""The client's page: what will be heard, how sure that is, what it costs, what to do next.

Plain words, short sentences. Every number comes from the prediction's JSON or from the layout.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from impact.advice import findings as advice
from impact.base import bands
from impact.base.units import show
from impact.design.fixings import said_of
from impact.report import page_costs, page_heard, page_pictures
from impact.report.bandtable import target_words
from impact.report.page_blocks import (
    Answer,
    Block,
    Columns,
    Heading,
    Items,
    Paragraph,
    Part,
    Runs,
    Section,
    Sound,
    Table,
    Value,
)
from impact.sound import hearing

if TYPE_CHECKING:
    from impact.chain import Prediction
    from impact.study.layout import Layout

LONGEST = 90  # letters of another design's name in the table of options
UNKNOWN = (
    "Deep sounds are hard to predict. Below 100 Hz the true level may be 5 dB higher or lower, or "
    "more."
)
CLOSE = 5.0  # dB or points: one published advice is to keep 3 to 5 from a limit
TOO_CLOSE = ", too close to count on"
LITTLE = " Such a number says little of the thud."
OPEN_EDGE = (
    "The open gap at the walls lets much of the sound through. It is counted here: close it with "
    "soft sealant, and less is heard."
)
WALLS_TOO = "Walls can carry sound past a ceiling; the bars and the lists leave them out."
SURE: tuple[str, ...] = (
    "The thud also changes by some dB as you move about the room.",
    "People walk and hear in different ways.",
    "Poor work can undo the gain.",
    "To meet a code does not mean that no steps are heard.",
)
SCALE = (
    f"dB above the least level heard here. {hearing.HALF_AS_LOUD:.0f} dB less sounds about half as "
    f"loud; less than {hearing.NOTICED:.0f} dB is hardly noticed."
)
SILENT = " The room is taken as silent, as no noise is named; noise there hides some of it."
WORSE = "Stop: this ceiling makes the thud louder than it is without. Change it before you build."
FELT = (
    "Take care: the deepest part of the thud gets stronger than it is without. It may be felt, or "
    "make things rattle, where it is not heard."
)
SOUND_NOTE = (
    "Phones and laptops cannot play a thud. Use good headphones or a subwoofer. Play the test tone "
    "first: it has a high and then a deep tone. If you cannot hear the deep one, you will miss the "
    "thud too. All files share one volume, so do not change it in between."
)


@dataclass(frozen=True)
class Option:
    """Another design set beside the first. pair : of `study.compare.compare`."""

    prediction: Prediction
    answer: Answer
    layout: Layout
    pair: dict[str, Any]


@dataclass(frozen=True)
class Told:
    """One region, for the kind of step that stands out most in it: dB over what is heard without
    and with the ceiling, in the foremost band. summed : change of all of the region, as heard [dB];
    None where it is not known."""

    source: str
    before: float
    now: float
    summed: float | None = None

    @property
    def change(self) -> float:
        """Of what is heard [dB]."""
        return self.now - self.before


def part(
    prediction: Prediction, answer: Answer, layout: Layout, options: tuple[Option, ...],
    sounds: tuple[Sound, ...],
) -> Part:  # fmt: skip
    """All of the client's part."""
    carried = page_heard.walls_carry(prediction)
    sections = [Section("The answer", _answer(prediction, answer, carried))]
    if options:
        sections.append(Section("The options", _options(prediction, answer, layout, options)))
    sections.append(Section("", (_pictures(prediction, answer),)))
    if sounds:
        sections.append(Section("Listen", (*sounds, Paragraph((SOUND_NOTE,), "note"))))
    last = Columns(
        (*goal(answer), Heading("How sure is this?"), *_sure(answer, bool(carried))),
        (
            Heading("What it takes"), Items(page_costs.costs(prediction, answer, layout)),
            Heading("What to do next"), Paragraph(page_costs.next_step(prediction, answer, layout)),
        ),
    )  # fmt: skip
    return Part("client", "For you", (*sections, Section("", (last,))))


def answer_sentence(told: dict[str, Told], walls: bool = False) -> str:
    """The answer in one sentence: the fate of thud, knock and click, for whoever stands out.

    walls : they carry more than the ceiling, so the sentence must say what it is about.
    """
    if not any(one.now > 0 for one in told.values()):
        where = "through this ceiling" if walls else "in this room"
        return f"Steps from above should not be heard {where}."
    thud, knock, click = (f"the {region} {_fate(told[region])}" for region in bands.REGIONS)
    where = "Through this ceiling steps from above" if walls else "Steps from above"
    return f"{where} will still be heard: {thud}, {knock}, and {click}."


def walls_sentences(grades: dict[str, str], given: bool) -> str:
    """What the walls do, in words; empty where they carry no more than the ceiling.

    grades : of `page_heard.walls_carry`; given : the design describes its walls.
    """
    if not grades:
        return ""
    names = listed([f"the {region}" for region in grades])
    now = listed([f"the {region} is {grade}" for region, grade in grades.items()])
    if len(set(grades.values())) == 1:
        all_of_them = {1: "it is", 2: "both are"}.get(len(grades), "all are")
        now = f"{all_of_them} {next(iter(grades.values()))}"
    whose = "" if given else " The design does not describe them: usual walls."
    return (
        f"The walls carry more of {names} than this ceiling: with them {now}. No ceiling stops "
        f"that; bars and lists leave it out.{whose}"
    )


def listed(words: list[str]) -> str:
    """Words as a list in a sentence: a, b and c."""
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def _fate(one: Told) -> str:
    before, now = hearing.grade(one.before), hearing.grade(one.now)
    if one.now <= 0:
        return "should not be heard"
    if one.change >= hearing.NOTICED:
        if one.summed is not None and abs(one.summed) < hearing.NOTICED:
            return f"gets no quieter and is {now}"  # one band stands out more, all together do not
        return f"gets louder and is {now}"
    if one.change > -hearing.NOTICED:
        return f"stays about as it was, {now}"
    if before == now:
        return f"gets softer but stays {now}"
    return f"drops from {before} to {now}"


def told_of(answer: Answer) -> dict[str, Told]:
    """What is said of each region."""
    people, found = answer.get("people"), {}
    for region in bands.REGIONS:
        source = page_heard.loudest(people, region)
        bar = people[source]["bars"][region]
        found[region] = Told(
            source, bar[f"bare_{page_heard.EXCESS}"], bar[page_heard.EXCESS], bar.get("change_db")
        )  # fmt: skip
    return found


def _answer(prediction: Prediction, answer: Answer, carried: dict[str, str]) -> tuple[Block, ...]:
    """The sentence, what stops the work, and both tables. carried : `page_heard.walls_carry`."""
    told = told_of(answer)
    blocks: list[Block] = [Paragraph((answer_sentence(told, bool(carried)),), "answer")]
    severities = {found["code"]: found["severity"] for found in answer.get("warnings") or []}
    grade, louder = severities.get("thud_worse_than_bare_floor"), told["thud"].change
    if grade and (grade != "low" or louder >= advice.AMPLIFIES):
        blocks.append(Paragraph((WORSE if louder > 0 else FELT,), "alarm"))
    if "above" in (answer.get("loads.verdict") or ""):
        text = "Stop: some hangers carry more than their rated load. Change it before you build."
        blocks.append(Paragraph((said_of(prediction.design.hangers, text),), "alarm"))
    if carried:
        text = walls_sentences(carried, any(wall["given"] for wall in prediction.walls))
        blocks.append(Paragraph((text,), "alarm"))
    rows = []
    for region, one in told.items():
        path = f"people.{one.source}.bars.{region}"
        rows.append((
            (region.capitalize(),),
            _loud(answer, hearing.grade(one.before), f"{path}.bare_{page_heard.EXCESS}"),
            _loud(answer, answer.get(f"{path}.grade"), f"{path}.{page_heard.EXCESS}"),
        ))  # fmt: skip
    right = (
        Table(("Loudest steps", "Without", "With the ceiling"), tuple(rows)),
        Paragraph((SCALE + ("" if prediction.design.room.background else SILENT),), "note"),
        Heading("What will still be heard"), *_heard(page_heard.rows(prediction, answer.answer)),
    )  # fmt: skip
    bars = page_pictures.bars({r: (one.before, one.now) for r, one in told.items()})
    return (*blocks, Columns((bars,), right))


def goal(answer: Answer) -> tuple[Block, ...]:
    """How far the prediction lies from the design's target, with the walls where it is one of a
    building: no verdict; nothing where there is no target or no prediction of it."""
    target = answer.get("target")
    known = {} if not target else target["predicted"]
    case = next((one for one in ("in_building", "ceiling") if known.get(one) is not None), None)
    if target is None or case is None:
        return ()
    heard = told_of(answer)["thud"].now > 0
    margin = answer.get(f"target.margin_db.{case}")
    far: Runs = (answer.size(f"target.margin_db.{case}", 0), " on the ",
                 "wrong side" if margin < 0 else "good side")  # fmt: skip
    if round(margin) == 0:
        far = ("right at it",)
    runs = (
        f"{target_words(target)} was asked for. ",
        answer.value(f"target.predicted.{case}", 0), " is predicted, ", *far,
        TOO_CLOSE if -0.5 <= margin < CLOSE else "", ".",
        LITTLE if heard and target["band_hz"] is None else "",
    )  # fmt: skip
    return Heading("Your goal"), Paragraph(runs, "alarm" if margin < 0 else "")


def _loud(answer: Answer, grade: str, path: str) -> Runs:
    """A grade with its number, where there is something to be heard."""
    words = page_heard.graded(grade)
    if answer.get(path) < 0.5:
        return (words,)
    return words, ", ", answer.value(path, 0), "\N{NO-BREAK SPACE}dB"


def _heard(rows: list[page_heard.Heard]) -> tuple[Block, ...]:
    body: list[tuple[Runs, ...]] = [
        ((row.name,), *((page_heard.graded(row.bars[r]["grade"]),) for r in bands.REGIONS))
        for row in rows
    ]
    return (
        Table(("With the ceiling", *(r.capitalize() for r in bands.REGIONS)), tuple(body)),
        Paragraph(
            ("The fuller the disc, the louder. Chairs are left out: nobody has published how hard "
             "they hit a floor.",), "note",
        ),
    )  # fmt: skip


def _pictures(prediction: Prediction, answer: Answer) -> Columns:
    return Columns(
        (page_pictures.before_after(prediction),),
        (page_pictures.springs(prediction, answer.answer),),
    )


def _sure(answer: Answer, told_already: bool) -> tuple[Block, ...]:
    """What to doubt. told_already : the answer speaks of the walls."""
    first: Runs = (UNKNOWN,)
    if answer.get("spread.numbers.thud"):
        first = (
            "Deep sounds are hard to predict. In nine such floors of ten the thud should lie "
            "between ", answer.size("spread.numbers.thud.low_db", 0), " dB below and ",
            answer.size("spread.numbers.thud.high_db", 0), " dB above what is shown.",
        )  # fmt: skip
    first = (*first, what_is_left(*_gain(answer)))
    edge = any(w["code"] == "open_edge" and w["severity"] != "low"
               for w in answer.get("warnings") or ())  # fmt: skip
    walls = () if told_already else ((WALLS_TOO,),)
    return (Items((first, *((text,) for text in SURE), *((OPEN_EDGE,),) * edge, *walls)),)


def what_is_left(gain: float, higher: float) -> str:
    """What becomes of the thud's `gain`, as heard, where its level is `higher` than shown [dB];
    empty where there is no gain to lose, or enough of it stays to be noticed."""
    if gain < hearing.NOTICED or gain - higher >= hearing.NOTICED:
        return ""
    become = "none" if gain <= higher else "one that is hardly noticed"
    return f" That can turn a clear gain into {become}."


def _gain(answer: Answer) -> tuple[float, float]:
    """How much less thud is heard of the steps that stand out most, and how much higher than shown
    it may be [dB]."""
    source = page_heard.loudest(answer.get("people"), "thud")
    higher = answer.get("spread.numbers.thud.high_db")
    return -answer.get(f"people.{source}.bars.thud.change_db"), 5.0 if higher is None else higher


def _options(
    prediction: Prediction, answer: Answer, layout: Layout, options: tuple[Option, ...]
) -> tuple[Block, ...]:
    *sum_of_first, left_out = page_costs.money(layout) or ("",)
    rows = [_option_row("this design", prediction, answer, tuple(sum_of_first))]
    blocks: list[Block] = []
    for option in options:
        name = textwrap.shorten(option.prediction.design.name, LONGEST, placeholder=" …")
        cost = page_costs.money(option.layout)
        if cost[-1:] == (left_out,):  # said once, in what it takes
            cost = cost[:-1]
        rows.append(_option_row(name, option.prediction, option.answer, cost))
        for found in option.pair["alarms"]:
            text = (
                f"Take care with {option.pair['second']}: its rating is better, but the deep bands "
                f"get stronger: more thud may be heard or felt. ({found['message']})"
            )
            blocks.append(Paragraph((text,), "alarm"))
    head = ("Option", "Thud", "Knock", "Click", "Height", "Weight", "Cost")
    return (Table(head, tuple(rows)), *blocks)


def _option_row(name: str, prediction: Prediction, answer: Answer, cost: Runs) -> tuple[Runs, ...]:
    people = answer.get("people")
    cells: list[Runs] = [(name,)]
    for region in bands.REGIONS:
        path = f"people.{page_heard.loudest(people, region)}.bars.{region}"
        cells.append((page_heard.graded(answer.get(f"{path}.grade")),))
    used = prediction.design.taken
    cells.append((Value(show(used, "length", answer.units), "height_used_m", used,
                        f"design:{answer.source}"),))  # fmt: skip
    added = "loads.floor.added_kg_m2"  # as in what it takes; without a load check the boards alone
    hangs = answer.get(added) and not answer.get("loads.own_joists")
    weight = added if hangs else "mass_per_area_kg_m2.ceiling"
    cells.append((answer.quantity(weight, "mass per area"),))
    cells.append(tuple(
        Value(run.shown, run.key, run.number, f"layout:{answer.source}")
        if isinstance(run, Value) else run for run in cost
    ) or ("–",))  # fmt: skip
    return tuple(cells)
