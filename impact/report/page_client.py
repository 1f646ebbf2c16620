"""The client's page: what will be heard, how sure that is, what it costs, what to do next.

Plain words, short sentences. Every number comes from the prediction's JSON or from the layout.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from impact.advice import findings as advice
from impact.base.units import show
from impact.report import page_heard, page_pictures
from impact.report.page_blocks import (
    Answer,
    Block,
    Columns,
    Heading,
    Items,
    Paragraph,
    Part,
    Run,
    Runs,
    Section,
    Sound,
    Table,
    Value,
)
from impact.sound import hearing
from impact.study import quantities
from impact.study.compare import used_height
from impact.study.layout import lay_out

if TYPE_CHECKING:
    from impact.chain import Prediction
    from impact.study.layout import Layout

REGIONS = page_heard.REGIONS
SURE: tuple[str, ...] = (
    "Deep sounds are hard to predict. Below 100 Hz the true level may be 5 dB higher or lower, or "
    "more. That can turn a clear gain into none.",
    "The thud also changes by some dB as you move about the room.",
    "People walk and hear in different ways.",
    "Walls can carry sound past a ceiling; the bars leave them out.",
    "Poor work can undo the gain.",
    "To meet a code does not mean that you will hear no steps.",
)
HELD = {
    "within": "each hanger carries no more than its rated load",
    "above rated maximum": "some hangers carry MORE than their rated load",
    "below rated minimum": "some hangers carry too little to work well",
    "no rated load": "no rated load of the hangers is known",
    "no hangers": "the ceiling hangs on its own joists",
}
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
    and with the ceiling, and the change of the region's level [dB]."""

    source: str
    before: float
    now: float
    change: float


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
        (Heading("How sure is this?"), *_sure(answer, bool(carried))),
        (
            Heading("What it takes"), Items(_costs(prediction, answer, layout)),
            Heading("What to do next"), Paragraph(_next(prediction, answer, layout)),
        ),
    )  # fmt: skip
    return Part("client", "For you", (*sections, Section("", (last,))))


def answer_sentence(told: dict[str, Told], walls: bool = False) -> str:
    """The answer in one sentence: the fate of thud, knock and click, for whoever stands out.

    walls : they carry more than the ceiling, so the sentence must say what it is about.
    """
    if not any(one.now > 0 for one in told.values()):
        where = "through this ceiling" if walls else "in this room"
        return f"You should not hear steps from above {where}."
    thud, knock, click = (f"the {region} {_fate(told[region])}" for region in REGIONS)
    who = "Through this ceiling you" if walls else "You"
    return f"{who} will still hear steps: {thud}, {knock}, and {click}."


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
    whose = "" if given else " Nobody has described them, so usual walls are taken."
    return (
        f"The walls carry more of {names} than this ceiling: with them {now}. A ceiling cannot "
        f"stop that. The bars leave the walls out.{whose}"
    )


def listed(words: list[str]) -> str:
    """Words as a list in a sentence: a, b and c."""
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def _fate(one: Told) -> str:
    before, now = hearing.grade(one.before), hearing.grade(one.now)
    if one.now <= 0:
        return "should not be heard"
    if one.change >= hearing.NOTICED:
        return f"gets louder and is {now}"
    if one.change > -hearing.NOTICED or before == now:
        softer = "stays about as it was" if one.change > -hearing.NOTICED else "gets softer"
        return f"{softer}, {now}"
    return f"drops from {before} to {now}"


def told_of(prediction: Prediction, answer: Answer) -> dict[str, Told]:
    """What is said of each region."""
    people, background = answer.get("people"), prediction.design.room.background
    found = {}
    for region in REGIONS:
        source = page_heard.loudest(people, region)
        bar = people[source]["bars"][region]
        found[region] = Told(
            source, page_heard.excess_of(prediction.bare[source], background, region),
            bar["over_threshold_and_background_db"], bar["change_db"],
        )  # fmt: skip
    return found


def _answer(prediction: Prediction, answer: Answer, carried: dict[str, str]) -> tuple[Block, ...]:
    """The sentence, what stops the work, and both tables. carried : `page_heard.walls_carry`."""
    told = told_of(prediction, answer)
    blocks: list[Block] = [Paragraph((answer_sentence(told, bool(carried)),), "answer")]
    codes = {warning["code"] for warning in answer.get("warnings") or []}
    if "thud_worse_than_bare_floor" in codes:
        text = (
            "Stop: this ceiling makes the thud louder than no ceiling. Change it before you build."
        )
        blocks.append(Paragraph((text,), "alarm"))
    if "above" in (answer.get("loads.verdict") or ""):
        text = "Stop: some hangers carry more than their rated load. Change it before you build."
        blocks.append(Paragraph((text,), "alarm"))
    if carried:
        text = walls_sentences(carried, any(wall["given"] for wall in prediction.walls))
        blocks.append(Paragraph((text,), "alarm"))
    rows = []
    for region, one in told.items():
        path = f"people.{one.source}.bars.{region}"
        rows.append((
            (region.capitalize(),),
            (f"{hearing.grade(one.before)} → {page_heard.mark(one.now)} "
             f"{answer.get(f'{path}.grade')}",),
            (f"{answer.get(f'{path}.change')}, ",
             answer.value(f"{path}.change_db", 0, sign=True), " dB"),
        ))  # fmt: skip
    heard = page_heard.rows(prediction, answer.answer)
    right = (
        Table(("", "Without → with it", "Change"), tuple(rows)),
        Heading("What you will still hear"), *_heard(heard),
    )  # fmt: skip
    bars = page_pictures.bars({r: (one.before, one.now) for r, one in told.items()})
    return (*blocks, Columns((bars,), right))


def _heard(rows: list[page_heard.Heard]) -> tuple[Block, ...]:
    body: list[tuple[Runs, ...]] = [
        ((row.name,), *((f"{page_heard.mark(row.excess[r])} {row.grades[r]}",) for r in REGIONS))
        for row in rows
    ]
    return (
        Table(("With the ceiling", *(r.capitalize() for r in REGIONS)), tuple(body)),
        Paragraph(
            ("The fuller the disc, the louder. Chairs: no force is published.",), "note",
        ),
    )  # fmt: skip


def _pictures(prediction: Prediction, answer: Answer) -> Columns:
    return Columns(
        (page_pictures.before_after(prediction),),
        (page_pictures.springs(prediction, answer.answer),),
    )


def _sure(answer: Answer, told_already: bool) -> tuple[Block, ...]:
    """What to doubt. told_already : the answer speaks of the walls."""
    items: list[Runs] = [(text,) for text in SURE if not (told_already and "Walls" in text)]
    if answer.get("spread.numbers.thud"):
        items[1] = (
            "In nine such floors of ten the thud should lie between ",
            answer.size("spread.numbers.thud.low_db", 0), " dB below and ",
            answer.size("spread.numbers.thud.high_db", 0), " dB above what is shown. It also "
            "changes from place to place.",
        )  # fmt: skip
    return (Items(tuple(items)),)


def money(layout: Layout) -> Runs:
    """The sum at the user's prices; empty without prices."""
    total, missing = quantities.total(layout.items)
    if total is None:
        return ()
    currency = str(layout.design.options.get("currency", ""))
    names = dict.fromkeys(name.split(":")[0] for name in missing)
    left_out = f" ({', '.join(names)} not counted)" if missing else ""
    return (Value(f"{total:,.0f}", "cost", total, "layout"), f" {currency}{left_out}")


def _costs(prediction: Prediction, answer: Answer, layout: Layout) -> tuple[Runs, ...]:
    used = used_height(prediction)
    units = prediction.design.units
    height: list[Run] = [
        "Height: it takes ", Value(show(used, "length", units), "height_used_m", used, "design"),
    ]  # fmt: skip
    items: list[Runs] = []
    if answer.get("loads"):
        height += [" and leaves ", answer.quantity("loads.headroom.lowest_m", "length")]
        least = answer.get("loads.headroom.minimum_m")
        if least is not None:
            enough = answer.get("loads.headroom.lowest_m") >= least - 1e-9
            wanted = answer.quantity("loads.headroom.minimum_m", "length")
            height += [f", {'more' if enough else 'LESS'} than the ", wanted, " you asked for"]
        weight: list[Run] = ["Weight: it weighs ", answer.quantity("loads.weight_n", "force")]
        if answer.get("loads.floor.added_kg_m2"):
            added = answer.quantity("loads.floor.added_kg_m2", "mass per area")
            weight += [", or ", added, " more for the floor above to carry."]
        else:
            weight += [" and rests on joists of its own."]
        items.append(tuple(weight))
    items.insert(0, (*height, "."))
    cost = money(layout)
    items.append(("Money: ", *cost, " at the prices given.") if cost
                 else ("Money: no prices were given, so no sum is shown.",))  # fmt: skip
    items.append((f"Safety: {_held(answer)}. A ceiling that falls can kill: have a licensed "
                  "engineer check it.",))  # fmt: skip
    return tuple(items)


def _held(answer: Answer) -> str:
    """The load check in a client's words."""
    verdict = answer.get("loads.verdict")
    if verdict is None:
        return "nobody has checked the loads yet"
    text = HELD.get(verdict, f"hangers: {verdict}")
    fragile = answer.get("loads.lost_hanger.cannot_lose_one")
    return f"{text}, but if one is lost, others carry too much" if fragile else text


def _next(prediction: Prediction, answer: Answer, layout: Layout) -> Runs:
    """The cheapest step that is noticed, or the largest of those that are not."""
    levers = answer.get("levers") or []
    useful = [i for i, lever in enumerate(levers) if lever["gain_db"] >= 0.5]
    if not useful:
        return ("No change of this ceiling gains much. Look at the floor above: carpet for the "
                "click, more weight for the thud.",)  # fmt: skip
    noticed = [i for i in useful if levers[i]["gain_db"] >= hearing.NOTICED]
    costs = {i: extra_cost(prediction, layout, levers[i]["kind"]) for i in noticed or useful}
    known = [(cost, i) for i, cost in costs.items() if cost is not None]
    best = min(known)[1] if noticed and known else (noticed or useful)[0]
    gain = answer.value(f"levers[{best}].gain_db", 1)
    runs: list[Run] = []
    if noticed:
        how = "The cheapest step that you would notice" if known else "The step that gains most"
        runs = [f"{how}: {levers[best]['change']}. It takes ", gain, " dB off the thud"]
    else:
        runs = ["No single step gains enough to be noticed by itself. The largest is: ",
                f"{levers[best]['change']}. It takes ", gain, " dB off the thud"]  # fmt: skip
    cost = costs[best]
    if cost is not None:
        currency = layout.design.options.get("currency", "")
        runs += [" and costs ", Value(f"{cost:,.0f}", f"extra.{best}", cost, "layout"),
                 f" {currency} more"]  # fmt: skip
    return (*runs, ".")


def extra_cost(prediction: Prediction, layout: Layout, kind: str) -> float | None:
    """What a lever costs more at the user's prices; None where a price is not known.

    Softer hangers and a heavier floor have no price of their own in a design.
    """
    changed = advice.variants(prediction.design).get(kind)
    if changed is None or kind in ("stiffness", "floor"):
        return None
    changed_items = lay_out(changed[1]).items
    now, _ = quantities.total(layout.items)
    then, _ = quantities.total(changed_items)
    if now is None or then is None or _unpriced(layout.items) != _unpriced(changed_items):
        return None
    return then - now


def _unpriced(items: tuple[quantities.Item, ...]) -> dict[str, float]:
    """What must be bought without a price, by kind; screws are left out as small change."""
    found: dict[str, float] = {}
    for item in items:
        kind = item.name.split(":")[0]
        if item.cost is None and kind != "screw":
            found[kind] = found.get(kind, 0.0) + item.count
    return found


def _options(
    prediction: Prediction, answer: Answer, layout: Layout, options: tuple[Option, ...]
) -> tuple[Block, ...]:
    rows = [_option_row("this design", prediction, answer, layout, None)]
    blocks: list[Block] = []
    for number, option in enumerate(options, 1):
        pair = Answer(option.pair, answer.units, f"pair{number}")
        rows.append(_option_row(option.prediction.design.name, option.prediction, option.answer,
                                option.layout, pair))  # fmt: skip
        for found in option.pair["alarms"]:
            text = (
                f"Take care with {option.pair['second']}: its rating is better, but the deep bands "
                f"get louder. You would hear more thud. ({found['message']})"
            )
            blocks.append(Paragraph((text,), "alarm"))
    head = ("Option", "Thud", "Knock", "Click", "Height", "Load", "Cost")
    return (Table(head, tuple(rows)), *blocks)


def _option_row(
    name: str, prediction: Prediction, answer: Answer, layout: Layout, pair: Answer | None
) -> tuple[Runs, ...]:
    people = answer.get("people")
    cells: list[Runs] = [(name,)]
    for region in REGIONS:
        path = f"people.{page_heard.loudest(people, region)}.bars.{region}"
        excess = answer.get(f"{path}.over_threshold_and_background_db")
        cells.append((f"{page_heard.mark(excess)} {answer.get(f'{path}.grade')}",))
    used = used_height(prediction)
    cells.append((Value(show(used, "length", answer.units), "height_used_m", used,
                        f"design:{answer.source}"),))  # fmt: skip
    cells.append((answer.quantity("mass_per_area_kg_m2.ceiling", "mass per area"),))
    cost = money(layout)
    cells.append(tuple(
        Value(run.shown, run.key, run.number, f"layout:{answer.source}")
        if isinstance(run, Value) else run for run in cost
    ) or ("–",))  # fmt: skip
    return tuple(cells)
