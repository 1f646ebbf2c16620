"""`impact explain` on paper: steps with their docstrings, and the list of what was assumed."""

from __future__ import annotations

import difflib
import inspect
import math
import re
from typing import Any

from impact.base import bands
from impact.base.units import show
from impact.design.catalogue import PROPERTIES
from impact.design.fixings import cautions_of, said_of
from impact.design.origin import Spread
from impact.design.parts import Design
from impact.design.schema import Key
from impact.errors import Fault, InputError
from impact.heard.strikes import SOURCES
from impact.rating import summary
from impact.report import explain_chain, explain_heard
from impact.report.explain_chain import Chain, Step, number
from impact.report.lines import WIDTH, cautions, heading, wrapped

LOAD = "hanger_load"


def quantities() -> dict[str, str]:
    """Everything that can be asked for -> what it is; SOURCE@BAND stands for many."""
    found = {name: what for name, (what, *_) in explain_chain.VALUES.items()}
    found[LOAD] = "greatest load on one hanger at rest"
    found.update({row.key: f"{row.symbol}, {row.clause}" for row in summary.ROWS})
    found.update({f"{name}@BAND": f"{one.label}, {one.kind}" for name, one in SOURCES.items()})
    return found


def explain(design: Design, quantity: str, case: str = "ceiling") -> Chain:
    """The chain from the inputs of `design` to `quantity`.

    quantity : a name of `quantities`; for SOURCE@BAND a nominal third octave [Hz] or "thud",
    "knock", "click" stand for BAND. case : "ceiling", "bare" or "perfect", for levels and ratings.
    Raises InputError for another quantity.
    """
    source, at, band = quantity.partition("@")
    if quantity in explain_chain.VALUES:
        return explain_chain.chain(design, quantity)
    if quantity == LOAD:
        return explain_heard.load(design)
    known = source in SOURCES if at else any(row.key == quantity for row in summary.ROWS)
    if not known:
        raise InputError("impact explain", [Fault("QUANTITY", _unknown(quantity))])
    hertz = _band(quantity, band) if at and band not in bands.REGIONS else 0.0
    from impact.heard.joined import join

    solved = join(design)
    if not at:
        return explain_heard.rating(solved, quantity, case)
    if band in bands.REGIONS:
        return explain_heard.region(solved, source, band, case)
    return explain_heard.level(solved, source, hertz, case)


def _unknown(quantity: str) -> str:
    if quantity in SOURCES:
        return f"'{quantity}' is a source; name the band too, like {quantity}@63 or @thud"
    said, _, band = quantity[:60].partition("@")
    if said in bands.REGIONS:
        return f"'{said}' is of a source; name it too, like walker_barefoot@{said}"
    if said in quantities():
        return f"'{said}' has no bands; ask for {said} alone"
    names = [name.removesuffix("@BAND") for name in quantities() if not band or "@" in name]
    near = difflib.get_close_matches(said, names, n=1, cutoff=0.5)
    if near and near[0] in SOURCES:
        near = [f"{near[0]}@{band or 63}"]
    hint = f"did you mean '{near[0]}'?" if near else "`impact explain DESIGN` lists what can be"
    return f"'{quantity[:60]}' is not known; {hint}"


def _band(quantity: str, band: str) -> float:
    try:
        return bands.NOMINAL[bands.index(float(band))]
    except ValueError:
        listed = ", ".join(f"{each:g}" for each in bands.NOMINAL)
        what = f"'{quantity[:60]}': after @ stands thud, knock, click, or a band of {listed} [Hz]"
        raise InputError("impact explain", [Fault("QUANTITY", what)]) from None


def page(design: Design, chain: Chain) -> str:
    """The chain as text of at most 80 columns."""
    lines = [f"{chain.quantity} = {number(chain.value, chain.unit, design.units)}"]
    lines += wrapped(f"{chain.what}; design {design.name}")
    told: set[str] = set()
    for place, step in enumerate(chain.steps, start=1):
        lines += heading(f"{place}  {step.what}")
        lines.append(f"   = {step.value}")
        lines += _columns(step.inputs)
        lines += _method(step, told)
    lines += heading("Where it holds") + wrapped(chain.holds)
    lines += _spread(design, chain)
    lines += ledger(design, chain.keys)
    return "\n".join(lines + cautions(cautions_of(design)))


def _columns(rows: tuple[tuple[str, str], ...]) -> list[str]:
    width = max((len(name) for name, _ in rows), default=0)
    lines = []
    for name, value in rows:
        lines += wrapped(value, f"   {name:<{width}}  ", " " * min(width + 5, 30))
    return lines


def _method(step: Step, told: set[str]) -> list[str]:
    """Docstring of what made the step, and once that of its module."""
    lines = []
    for subject in (step.by, inspect.getmodule(step.by)):
        name = place_of(subject)
        if subject is None or name in told:
            continue
        told.add(name)
        lines += ["", f"   {name}:", *_docstring(subject)]
    return lines


def place_of(subject: Any) -> str:
    """Where a function, class or module stands: "impact.advice.resonance.pair_frequency"."""
    if inspect.ismodule(subject):
        return subject.__name__
    return f"{getattr(subject, '__module__', '')}.{getattr(subject, '__qualname__', '')}"


def _docstring(subject: Any) -> list[str]:
    """A docstring set anew in 80 columns: paragraphs are wrapped, equations stay lines."""
    lines: list[str] = []
    for paragraph in re.split(r"\n\s*\n", inspect.getdoc(subject) or ""):
        rows = paragraph.splitlines()
        lines += ["   |"] if lines else []
        if all(row.startswith("    ") for row in rows):
            for row in rows:
                lines += _equation(row)
        else:
            lines += wrapped(" ".join(paragraph.split()), "   | ", "   | ")
    return lines


def _equation(row: str) -> list[str]:
    """An indented line of a docstring, as it is where that fits, else closed up or broken."""
    shown = f"   |   {row[4:]}"
    if len(shown) > WIDTH:
        shown = "   | " + re.sub(r"\s{4,}", "   ", row.strip())
    return [shown] if len(shown) <= WIDTH else wrapped(row.strip(), "   |   ", "   |     ")


def _spread(design: Design, chain: Chain) -> list[str]:
    lines = heading("Spread")
    if chain.spread is None:
        return lines + wrapped(
            "Not computed for this number; that of levels is, with `--case ceiling`. Which inputs "
            "may lie elsewhere, and how far, stands in the list below."
        )
    low, high = (number(end, chain.unit, design.units) for end in chain.spread)
    lines += wrapped(f"{low} to {high}: {chain.method}.")
    if not chain.shares:
        lines += wrapped("No input that has a range moves it.")
    for share in chain.shares[:8]:
        both = (share.low, share.high)
        ends = [f"{end:+.1f} dB" if chain.unit == "dB" else f"{end / chain.value:+.1%}"
                for end in both]  # fmt: skip
        lines += wrapped(f"{ends[0]:>9}{ends[1]:>10}  {share.label}", "  ")
    return lines


def ledger(design: Design, keys: tuple[str, ...] = ("",)) -> list[str]:
    """Every default of the design file below `keys`, with its source and its range."""
    ranges = {spread.path: spread for spread in design.spreads}
    chosen = [one for one in design.defaults if _below(one.path, keys)]
    lines = heading(f"Assumed, as the design file leaves it out ({len(chosen)})")
    for one in chosen:
        own = [ranges.pop(path) for path in list(ranges) if _below(path, (one.path,))]
        lines += wrapped(f"{one.path} = {one.value} [{one.source}]", "", "    ")
        for spread in own:
            lines += wrapped(_range(spread, design.units), "    may be ", "        ")
    rest = [spread for path, spread in ranges.items() if _below(path, keys)]
    if rest:
        lines += heading("Given or from the catalogue, and known only so far")
        for spread in rest:
            lines += wrapped(f"{_range(spread, design.units)} [{spread.source}]", "", "    ")
    return lines


def _below(path: str, keys: tuple[str, ...]) -> bool:
    return any(not key or path == key or path.startswith((f"{key}.", f"{key}[")) for key in keys)


def _range(spread: Spread, system: str) -> str:
    dimension = dimension_of(spread.path)
    ends = [show(end, dimension, system) if dimension else f"{end:g}"
            for end in (spread.low, spread.high)]  # fmt: skip
    return f"{spread.path}: {ends[0]} to {ends[1]}"


def dimension_of(path: str) -> str:
    """Dimension of the value at a key path of the design file; "" for a pure number."""
    from impact.design import schema_ceiling, schema_floor, schema_room

    name = re.sub(r"\[\d+\]$", "", path).rsplit(".", 1)[-1]
    for part in (schema_floor, schema_ceiling, schema_room):
        for rows in vars(part).values():
            for key in rows if isinstance(rows, tuple) else ():
                if isinstance(key, Key) and key.name == name and key.holds == "quantity":
                    return key.dimension
    return PROPERTIES[name][0] if name in PROPERTIES else ""


def overview(design: Design) -> str:
    """What can be asked for, and everything that was assumed."""
    lines = ["What can be explained: impact explain DESIGN QUANTITY", ""]
    held_by = design.hangers
    lines += _columns(tuple((key, said_of(held_by, what)) for key, what in quantities().items()))
    lines += wrapped("BAND is a nominal third octave in Hz, or thud, knock, click.", "   ")
    return "\n".join([*lines, *ledger(design)])


def as_dict(design: Design, chain: Chain) -> dict[str, Any]:
    """The chain in plain numbers and text for JSON."""
    return {
        "design": design.name,
        "design_sha256": design.digest,
        "quantity": chain.quantity,
        "what": chain.what,
        "value": None if math.isnan(chain.value) else chain.value,
        "unit": chain.unit,
        "steps": [
            {"what": step.what, "value": step.value, "inputs": dict(step.inputs),
             "by": place_of(step.by), "method": inspect.getdoc(step.by)}
            for step in chain.steps
        ],
        "holds": chain.holds,
        "spread": chain.spread and list(chain.spread),
        "shares": [vars(share) for share in chain.shares],
        "defaults_used": [vars(one) for one in design.defaults if _below(one.path, chain.keys)],
    }  # fmt: skip
