"""`impact materials`: list and show the catalogue."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from impact.cli import options

if TYPE_CHECKING:
    from impact.design.catalogue import Entry, Property

KINDS = (
    "board", "timber", "slab", "fill", "loose fill", "mat", "covering", "hanger",
    "resilient channel", "direct fixing", "channel", "i-joist", "open-web", "steel", "sealant",
)  # fmt: skip
INTRO = (
    "Generic classes, no products. Each value has a spread, about its 5 % and 95 % points, and a "
    "source. A design file may change any value, or add entries of its own in [materials], "
    "[hanger_classes] and [channels]."
)


@click.command()
@click.argument("name", metavar="[NAME]", required=False)
@click.option(
    "--kind", type=click.Choice(KINDS), metavar="KIND", help=f"Only one kind: {', '.join(KINDS)}."
)
@options.units("metric", "Units of the text; JSON is in SI.")
@options.output_format("json")
def materials(name: str | None, kind: str | None, units: str, output_format: str) -> None:
    """List materials, hanger classes and channels, or show one in full.

    NAME is the name of one entry, or a part of several names. Without it everything is listed.
    """
    from impact.design import catalogue

    kinds = (kind,) if kind else ()
    found = _matching(name, kinds)
    if output_format == "json":
        options.print_json([_as_data(entry) for entry in found])
    elif name and (len(found) == 1 or catalogue.plain(found[0].name) == catalogue.plain(name)):
        click.echo(_in_full(found[0], units))
    else:
        click.echo(_listing(found, units))


def _matching(name: str | None, kinds: tuple[str, ...]) -> list[Entry]:
    from impact.design import catalogue
    from impact.errors import Fault, InputError

    if name is None:
        return catalogue.entries(*kinds)
    exact = catalogue.find(name, *kinds)
    if exact is not None:
        return [exact]
    part = catalogue.plain(name)
    inside = [e for e in catalogue.entries(*kinds) if part and part in catalogue.plain(e.name)]
    if inside:
        return inside
    near = catalogue.suggest(name, *kinds)
    hint = f"did you mean '{near}'?" if near else "'impact materials' lists every name"
    raise InputError("catalogue", [Fault("name", f"'{name}' is not known; {hint}")])


def _as_data(entry: Entry) -> dict[str, Any]:
    from impact.base.units import SI
    from impact.design.catalogue import PROPERTIES

    properties = {
        key: {
            "value": found.value, "low": found.low, "high": found.high,
            "unit": SI[PROPERTIES[key][0]] if PROPERTIES[key][0] else "1",
            "condition": found.condition or None, "source": found.source,
        }
        for key, found in entry.properties.items()
    }  # fmt: skip
    return {"name": entry.name, "kind": entry.kind, "about": entry.about,
            "channel": entry.channel or None, "properties": properties}  # fmt: skip


def _value(found: float, key: str, units: str) -> str:
    from impact.base.units import show
    from impact.design.catalogue import PROPERTIES

    dimension = PROPERTIES[key][0]
    return show(found, dimension, units) if dimension else f"{found:g}"


def _in_full(entry: Entry, units: str) -> str:
    from impact.design.catalogue import PROPERTIES
    from impact.report.lines import wrapped

    lines = [f"{entry.name} ({entry.kind})", *wrapped(entry.about), ""]
    if entry.channel:
        lines += [f"usual channel: {entry.channel}", ""]
    for key, found in entry.properties.items():
        lines.append(f"{key}: {_value(found.value, key, units)}{_range(found, key, units)}")
        text = f"{PROPERTIES[key][1]}; {found.condition}" if found.condition else PROPERTIES[key][1]
        lines += wrapped(text, "    ") + wrapped(f"source: {found.source}", "    ")
    return "\n".join(lines)


def _range(found: Property, key: str, units: str) -> str:
    if found.low == found.high:
        return ""
    return f" (from {_value(found.low, key, units)} to {_value(found.high, key, units)})"


# What a line of the list shows of each kind.
_SHORT = {
    "board": ("density", "youngs_modulus"), "timber": ("density", "youngs_modulus"),
    "slab": ("density", "youngs_modulus"), "fill": ("flow_resistivity", "density"),
    "loose fill": ("density", "loss_factor"), "mat": ("stiffness_per_area", "loss_factor"),
    "covering": ("contact_stiffness", "mass_per_area"),
    "hanger": ("dynamic_stiffness", "load_maximum"),
    "resilient channel": ("dynamic_stiffness", "loss_factor"),
    "direct fixing": ("dynamic_stiffness", "loss_factor"),
    "channel": ("bending_stiffness", "mass_per_length"),
    "i-joist": ("bending_stiffness", "mass_per_length"),
    "open-web": ("bending_stiffness", "mass_per_length"),
    "steel": ("bending_stiffness", "mass_per_length"),
    "sealant": ("shear_modulus", "loss_factor"),
}  # fmt: skip


def _listing(found: list[Entry], units: str) -> str:
    from impact.design.catalogue import PROPERTIES
    from impact.report.lines import wrapped

    lines, kind = wrapped(INTRO), ""
    for entry in found:
        keys = _SHORT[entry.kind]
        if entry.kind != kind:
            kind = entry.kind
            heads = [PROPERTIES[key][1].split(",")[0] for key in keys]
            lines += ["", f"{kind}: {', '.join(heads)}"]
        cells = [_value(entry.properties[key].value, key, units) if key in entry.properties else "-"
                 for key in keys]  # fmt: skip
        lines.append(f"  {entry.name:<40} {cells[0]:>17} {cells[1]:>17}")
    return "\n".join([*lines, "", "'impact materials NAME' shows one with its spread and sources."])
