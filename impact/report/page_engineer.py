"""The engineer's part: inputs, section, spectra, resonances, ratings, loads, and how it was got."""

from __future__ import annotations

from typing import TYPE_CHECKING

from impact.advice.findings import HEAVES
from impact.base.units import height_left
from impact.design.fixings import called, said_of
from impact.gravity.parts import deflection
from impact.rating import astm, summary
from impact.report import methods, page_load_map, page_people, page_pictures, spread, style, tables
from impact.report.bandtable import (
    BELOW_50,
    aim_said,
    bare_name,
    hung,
    lever_aim,
    target_cases,
    target_path,
    target_words,
    too_quiet,
)
from impact.report.page_blocks import (
    UNKNOWN,
    Answer,
    Block,
    Columns,
    Gallery,
    Heading,
    Items,
    Paragraph,
    Part,
    Picture,
    Run,
    Runs,
    Section,
    Table,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from impact.chain import Prediction
    from impact.site.tolerance import Tolerance
    from impact.study.layout import Layout

SOURCES_READ: tuple[str, ...] = (
    "Third octaves: IEC 61260-1:2014.",
    "Ratings: the clause stands beside each.",
    "Rubber ball, fast maxima, absorption area: ISO 16283-2:2020.",
    "Hearing threshold: ISO 226:2023; below 20 Hz, where none is standardized, a measured one.",
    "Mass-spring-mass resonance, slabs, in-situ losses: ISO 12354-1 and -2.",
    "Step forces, materials, hanger classes: as named beside each default.",
)


WORKMANSHIP = (
    "Workmanship is taken as good; impact report DESIGN --faults adds what faults of building cost."
)
FAULT_SEED = 0  # of the faults' places


def part(
    prediction: Prediction, answer: Answer, layout: Layout, seed: int | None,
    faults: Tolerance | None = None,
) -> Part:  # fmt: skip
    """All of the engineer's part; what a prediction does not hold is left out.

    seed : of the sounds, None without. faults : their cost, computed with FAULT_SEED.
    """
    people = Columns(
        (Heading("People above"), *page_people.above(prediction, answer)),
        (Heading("What would change it"), *_levers(prediction, answer)),
    )
    sections = [
        Section(
            "", (Columns(_identity(answer, _drawn(seed, faults)), _target(prediction, answer)),)
        ),
        Section("Warnings", _warnings(answer)),
        Section("Ratings", _ratings(prediction, answer)),
        Section("Section", (_section(layout),)),
        Section("", (people,)),
        Section("Spectra", _spectra(prediction)),
        Section("Resonances", (Columns(_resonances(prediction, answer), _modes(answer)),)),
    ]
    if answer.get("feel"):
        sections.append(Section("What feet feel", page_people.felt(answer)))
    if answer.get("loads.hangers"):
        sections.append(Section("Loads at rest", _loads(prediction, answer)))
    if answer.get("spread"):
        sections.append(Section("How sure", _sure(answer)))
    good = WORKMANSHIP
    if faults is not None:
        from impact.report import page_faults

        sections.append(page_faults.engineer(faults, answer.units, FAULT_SEED))
        good = "Workmanship is taken as good but for the table of faults."
    sections.append(Section("Assumptions and sources", _assumptions(prediction, answer, good)))
    return Part("engineer", "For the engineer", tuple(sections))


def _drawn(seed: int | None, faults: Tolerance | None) -> str:
    """What was drawn at random, with its seed."""
    drawn = [f"{seed}, of the sounds"] if seed is not None else []
    drawn += [f"{FAULT_SEED}, of the faults' places"] if faults is not None else []
    return "; ".join(drawn) or "none: nothing is drawn at random"


def _identity(answer: Answer, drawn: str) -> tuple[Block, ...]:
    rows: tuple[tuple[Runs, ...], ...] = (
        (("program",), (f"impact {answer.get('version')}",)),
        (("design, sha256",), (f"{answer.get('design_sha256')}"[:16],)),
        (("seed",), (drawn,)),
        (("modes below, energy above",), (answer.value("crossover_hz", 0), " Hz")),
    )
    return (Table(("", ""), rows),)


def _target(prediction: Prediction, answer: Answer) -> tuple[Block, ...]:
    target = answer.get("target")
    if not target:
        return ()
    title = f"Target: {target_words(target)}"
    if not target_cases(prediction):
        return (Paragraph((f"{title}. {tables.UNKNOWN_TARGET}",)),)
    rows = tuple(
        ((name,), (answer.value(f"target.predicted.{case}", 1),),
         (answer.value(f"target.margin_db.{case}", 1, sign=True),))
        for case, name in target_cases(prediction).items()
    )  # fmt: skip
    title += f": {target_path(prediction)}. Margin positive on the good side."
    return (Table(("case", "predicted", "margin"), rows, title, numeric=True),)


def _warnings(answer: Answer) -> tuple[Block, ...]:
    found = answer.get("warnings") or []
    if not found:
        return (Paragraph(("None: no resonance lies in the footfall range, 10-100 Hz.",)),)
    return tuple(
        Paragraph((f"{w['severity'].upper()}: {w['message']} ({w['code']})",), "alarm")
        for w in found
    )


def _section(layout: Layout) -> Picture:
    from impact.report.drawing import draw_section

    def draw(figure: Figure) -> None:
        ax = draw_section(layout, style.place(figure, 0, 0, 0, 0))
        ax.set_anchor("W")  # what a telephone shows first

    across = "Section across the joists" if layout.design.floor.joists else "Section"
    return Picture(draw, 6.9, 2.5, f"{across} at a wall: every layer, gap and the finished height.",
                   wide=True)  # fmt: skip


def _spectra(prediction: Prediction) -> tuple[Block, ...]:
    pictures = [page_pictures.spectrum(prediction, source) for source in prediction.levels]
    return (
        Gallery((*pictures, page_pictures.spectrum_key(prediction))),
        Paragraph((BELOW_50.lstrip("* "),), "note"),
    )


def _resonances(prediction: Prediction, answer: Answer) -> tuple[Block, ...]:
    held_by = called(prediction.design.hangers)
    names = (
        ("floor alone, lowest", "floor_fundamental"), (f"{held_by} only", "hanger_only"),
        ("air only", "air_only"), ("mass-spring-mass", "mass_spring_mass"),
    )  # fmt: skip
    rows: list[tuple[Runs, ...]] = [
        ((name,), (answer.value(f"resonances_hz.{key}"), " Hz"))
        for name, key in names
        if answer.get(f"resonances_hz.{key}") is not None
    ]
    for name, shown in (("air", "air"), ("hangers", held_by)):
        path = f"stiffness_per_area_n_m3.{name}"
        if answer.get(path) is not None:
            cell = answer.quantity(path, "stiffness per area")
            rows.append(((f"stiffness per area, {shown}",), (cell,)))
    for name in ("floor", "ceiling"):
        cell = answer.quantity(f"mass_per_area_kg_m2.{name}", "mass per area")
        rows.append(((f"mass per area, {name}",), (cell,)))
    governs = "air" if answer.get("governing_spring") == "air" else held_by
    rows.append((("governing spring",), (governs,)))
    return (Table(("", ""), tuple(rows)),)


def _modes(answer: Answer) -> tuple[Block, ...]:
    modes = answer.get("coupled_modes") or []
    chosen = [i for i, mode in enumerate(modes) if mode["heave"] >= HEAVES]
    chosen = sorted(chosen, key=lambda i: -modes[i]["heave"])[: tables.MODES_SHOWN]
    if not chosen:
        reach = answer.value("coupled_modes_to_hz", 0)
        text = ("No mode below ", reach, " Hz moves the ceiling as a whole.")
        return (Paragraph(text),)
    leaves = list(modes[0]["share"])
    rows = []
    for i in sorted(chosen, key=lambda i: modes[i]["frequency_hz"]):
        path = f"coupled_modes[{i}]"
        rows.append((
            (answer.value(f"{path}.frequency_hz"),),
            (answer.size(f"{path}.heave", 0, 100), " %"),
            *((answer.size(f"{path}.share.{leaf}", 0, 100), " %") for leaf in leaves),
        ))  # fmt: skip
    caption = (
        "Coupled modes that radiate most. Heave: how far the ceiling moves as one; others: share "
        f"of the moving energy. {len(modes)} modes in all."
    )
    return (Table(("Hz", "heave", *leaves), tuple(rows), caption, numeric=True),)


def _ratings(prediction: Prediction, answer: Answer) -> tuple[Block, ...]:
    cases = {"ratings_bare": "bare", "ratings": "ceiling"}
    if hung(prediction):
        cases["ratings_best_case"] = "best"
    if answer.get("ratings_in_building"):
        cases["ratings_in_building"] = "in building"
    rows: list[tuple[Runs, ...]] = []
    for row in summary.ROWS:
        paths = [f"{case}.{row.key}" for case in cases]
        if row.key == "unfavourable_sum_db" or all(answer.get(path) is None for path in paths):
            continue
        clause = f"ASTM {astm.LATEST}" if row.key == "IIC" else row.clause
        rows.append(((row.symbol,), *((answer.value(path, 0),) for path in paths), (clause,)))
    blocks: list[Block] = [
        Table(("", *cases.values(), "clause"), tuple(rows),
              "Of the predicted levels; all but those in the building: ceiling path alone."),
        Paragraph((
            f"{summary.which_way()} None counts what is below 50 Hz. In the building, with "
            f"flanking walls, Ln,w reads L'n,w and IIC reads AIIC.{too_quiet(prediction)}",),
            "note"),
    ]  # fmt: skip
    return tuple(blocks)


def _levers(prediction: Prediction, answer: Answer) -> tuple[Block, ...]:
    aim = lever_aim(prediction)
    rows: list[tuple[Runs, ...]] = []
    for i, lever in enumerate(answer.get("levers") or []):
        path = f"levers[{i}]"
        told: list[Runs] = []
        if aim:
            known = lever["target_value"] is not None
            told.append((answer.value(f"{path}.target_value", 0) if known else "–",))
        rows.append((
            (lever["change"],), (answer.value(f"{path}.gain_db", 1, sign=True),),
            (answer.value(f"{path}.band_gain_db", 1, sign=True), " at ",
             answer.value(f"{path}.band_hz", 0 if lever["band_hz"] % 1 == 0 else 1), " Hz"),
            *told,
        ))  # fmt: skip
    caption = "dB less thud of a barefoot walker, weighted by hearing; minus is louder. Computed."
    if aim:
        caption += f" {aim_said(prediction)}"
    heads = ("change", "thud", "most, in band", *([aim] if aim else []))
    return (Table(heads, tuple(rows), caption, numeric=True),)


def _loads(prediction: Prediction, answer: Answer) -> tuple[Block, ...]:
    def row(name: str, *found: Run) -> tuple[Runs, ...]:
        known = [run for run in found if run != UNKNOWN]
        cells = [cell for run in known for cell in (" to ", run)][1:]
        return (name,), tuple(cells) or ("not given",)

    def force(*keys: str) -> list[Run]:
        return [answer.quantity(f"loads.{key}_n", "force") for key in keys]

    def moved(*keys: str) -> list[Run]:
        return [answer.worded(f"loads.{key}_mm", deflection, 1e-3) for key in keys]

    points = prediction.design.hangers
    rows = (
        (("verdict",), (str(answer.get("loads.verdict")),)),
        row("weight", *force("weight")),
        row(said_of(points, "sum of the hangers' loads"), *force("sum")),
        row(said_of(points, "load on a hanger"), *force("best.load", "worst.load")),
        row("rated load", *force("rated_minimum", "rated_maximum")),
        row("deflection", *moved("best.deflection", "worst.deflection")),
        row("long term, at most", *moved("worst.deflection_long")),
        row("added to the floor above",
            answer.quantity("loads.floor.added_kg_m2", "mass per area")),
        row("lowest finished height", answer.worded("loads.headroom.lowest_m", height_left)),
    )  # fmt: skip
    hangers = answer.get("loads.hangers")
    findings = tuple((finding["message"],) for finding in answer.get("loads.findings") or [])
    worst = answer.quantity("loads.worst.load_n", "force")
    blocks: list[Block] = [
        Columns((page_load_map.load_map(prediction, hangers, worst),), (Table(("", ""), rows),))
    ]
    if findings:
        blocks.append(Items(findings))
    return tuple(blocks)


def _sure(answer: Answer) -> tuple[Block, ...]:
    """The 90 % band: how it was found, what makes it, and the band itself."""
    found = answer.get("spread")
    below = "" if found["calibrated_below_50_hz"] else " Uncalibrated below 50 Hz."
    told = f"Found with {found['method']}. {found['remark']}{below}"
    numbers = [
        (f"{spread.NAMES[name]}, 90 % band about the prediction: ",
         answer.value(f"spread.numbers.{name}.low_db", 1, sign=True), " to ",
         answer.value(f"spread.numbers.{name}.high_db", 1, sign=True), " dB")
        for name in found["numbers"]
    ]  # fmt: skip
    rows: list[tuple[Runs, ...]] = []
    for name, shares in found["measure_next"].items():
        for i, share in enumerate(shares[: spread.SHOWN]):
            path = f"spread.measure_next.{name}[{i}]"
            rows.append((
                (share["label"],), (spread.SHORT[name],),
                (answer.size(f"{path}.of_variance", 0, 100), " %"),
                (answer.value(f"{path}.low_db", 1, sign=True), " / ",
                 answer.value(f"{path}.high_db", 1, sign=True)),
                (share["measure"],),
            ))  # fmt: skip
    return (
        Paragraph((told,)),
        Items(tuple(numbers)),
        Table(("input", "of", "share", "dB at its ends", "how to measure it"), tuple(rows),
              "Measure this next: inputs that make most of the spread.", small=True),
    )  # fmt: skip


def _assumptions(prediction: Prediction, answer: Answer, workmanship: str) -> tuple[Block, ...]:
    names = {"bare": bare_name(prediction), "design": "this ceiling", "best": "perfect hangers"}
    if not hung(prediction):
        del names["best"]
    cases = [(name, key) for key, name in names.items()
             if answer.get(f"crossover_mismatch_db.{key}")]  # fmt: skip
    rows: tuple[tuple[Runs, ...], ...] = tuple(
        ((name,), *((answer.value(f"crossover_mismatch_db.{key}[{i}]", 1, sign=True),)
                    for i in range(3)))
        for name, key in cases
    )  # fmt: skip
    mismatch = Table(("energy minus modes, dB", "below", "crossover", "above"), rows,
                     "Where one method hands over to the other.", numeric=True)  # fmt: skip
    said = (
        methods.LIMITS_OF_TABLE, *methods.shared_modes(prediction),
        *methods.by_formulas(prediction), *methods.checked(prediction),
        *(["Perfect hangers: none at all, same boards and depth."] if hung(prediction) else []),
        "Floors and ceilings are rectangles.", workmanship,
        *(answer.get("notes") or []), *answer.get("cautions"),
    )  # fmt: skip
    read = Items(tuple((text,) for text in SOURCES_READ))
    return (Columns((mismatch, read), (Items(tuple((text,) for text in said)),)),)
