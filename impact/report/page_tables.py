"""Tables of the report to look up line by line: levels, bands, differences, loads, inputs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from impact.base import bands
from impact.design.fixings import said_of
from impact.gravity.parts import deflection
from impact.heard import strikes
from impact.rating import summary
from impact.report import page_inputs
from impact.report.bandtable import SHORT, hung
from impact.report.page_blocks import Answer, Block, Paragraph, Part, Runs, Section, Table
from impact.study.layout_rules import at

if TYPE_CHECKING:
    from collections.abc import Sequence

    from impact.chain import Prediction
    from impact.report.page_client import Option

CASES = (("bare", "levels_bare_db"), ("ceiling", "levels_db"), ("best", "levels_best_case_db"))


def part(prediction: Prediction, answer: Answer, options: Sequence[Option]) -> Part:
    """Everything that is looked up line by line."""
    sections = [Section("Levels by band", _bands(prediction, answer))]
    if answer.get("levels_low_db"):
        sections.append(Section("90 % band with this ceiling", _band_90(answer)))
    for number, option in enumerate(options, 1):
        pair = Answer(option.pair, answer.units, f"pair{number}")
        sections.append(Section(f"Against {pair.get('second')}", _against(pair)))
    if answer.get("loads.hangers"):
        title = said_of(prediction.design.hangers, "Loads on the hangers, one by one")
        sections.append(Section(title, _hangers(answer)))
    if answer.get("flanking"):
        sections.append(Section("Flanking walls", _flanking(answer)))
    sections.append(Section("Inputs", page_inputs.tables(prediction.design)))
    return Part("tables", "Tables to check", tuple(sections))


def _bands(prediction: Prediction, answer: Answer) -> tuple[Block, ...]:
    sources = list(answer.get("levels_db"))
    cases = CASES if hung(prediction) else CASES[:-1]
    head = ["Hz"] + [f"{SHORT.get(s, s)} {name}" for s in sources for name, _ in cases]
    rows = tuple(
        ((bands.label(band),),
         *((answer.value(f"{key}.{s}[{i}]"),) for s in sources for _, key in cases))
        for i, band in enumerate(answer.get("bands_hz"))
    )  # fmt: skip
    kinds = "; ".join(f"{strikes.SOURCES[s].label}: {strikes.SOURCES[s].kind}" for s in sources)
    caption = f"dB re 20 µPa. {kinds}.{' Best: perfect hangers.' * hung(prediction)}"
    return (Table(tuple(head), rows, caption, numeric=True, small=True),)


def _band_90(answer: Answer) -> tuple[Block, ...]:
    sources = [s for s in answer.get("levels_db") if answer.get(f"levels_low_db.{s}")]
    head = ["Hz"] + [f"{SHORT.get(s, s)}, {side}" for s in sources for side in ("low", "high")]
    band = tuple(
        ((bands.label(f),),
         *((answer.value(f"levels_{side}_db.{s}[{i}]", 0),)
           for s in sources for side in ("low", "high")))
        for i, f in enumerate(answer.get("bands_hz"))
    )  # fmt: skip
    caption = "dB re 20 µPa. 90 % of such floors should lie between."
    return (Table(tuple(head), band, caption, numeric=True, small=True),)


def _against(pair: Answer) -> tuple[Block, ...]:
    blocks: list[Block] = [
        Paragraph((alarm["message"],), "alarm") for alarm in pair.get("alarms") or []
    ]
    sources = list(pair.get("difference_db"))
    rows = tuple(
        ((bands.label(band),),
         *((pair.value(f"difference_db.{s}[{i}]", 1, sign=True),) for s in sources))
        for i, band in enumerate(pair.get("bands_hz"))
    )  # fmt: skip
    caption = (
        f"Change of the levels, {pair.get('second')} minus this design [dB]: minus is quieter."
    )
    head = ("Hz", *(SHORT.get(source, source) for source in sources))
    blocks.append(Table(head, rows, caption, numeric=True, small=True))
    rated: list[tuple[Runs, ...]] = [
        ((row.symbol,), (pair.value(f"ratings_first.{row.key}", 0),),
         (pair.value(f"ratings_second.{row.key}", 0),))
        for row in summary.ROWS if row.key != "unfavourable_sum_db"
    ]  # fmt: skip
    blocks.append(Table(("", "this design", str(pair.get("second"))), tuple(rated), numeric=True))
    return tuple(blocks)


def _hangers(answer: Answer) -> tuple[Block, ...]:
    listed = tuple(
        ((str(hanger["number"]),),
         *((answer.worded(f"loads.hangers[{i}].{key}", at),) for key in ("x_m", "y_m")),
         *((answer.quantity(f"loads.hangers[{i}].{key}", "force"),)
           for key in ("load_n", "tributary_n")),
         (answer.worded(f"loads.hangers[{i}].deflection_mm", deflection, 1e-3),),
         (hanger["verdict"],))
        for i, hanger in enumerate(answer.get("loads.hangers"))
    )  # fmt: skip
    head = ("no.", "from west", "from south", "load", "by area", "deflection", "verdict")
    return (Table(head, listed, small=True),)


def _flanking(answer: Answer) -> tuple[Block, ...]:
    rows = tuple(
        ((wall["name"],), ("given" if wall["given"] else "DEFAULT",), (wall["junction"],),
         (answer.quantity(f"flanking[{i}].mass_per_area_kg_m2", "mass per area"),),
         (answer.value(f"flanking[{i}].Ln_w", 0),))
        for i, wall in enumerate(answer.get("flanking"))
    )  # fmt: skip
    head = ("wall", "from", "junction", "mass per area", "alone, L'n,w")
    return (Table(head, rows, small=True),)
