"""The report as one HTML file that needs nothing else: no network, no script, no font.

All text goes through jinja2's escaping; the page's own policy forbids to load or run anything.
"""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING, Any

from impact import __version__
from impact.report import page_client, page_contractor, page_engineer, page_tables
from impact.report.page_blocks import MARKER, Answer, Document, Sound, Value
from impact.study.compare import compare
from impact.study.layout import Layout, lay_out

if TYPE_CHECKING:
    from collections.abc import Sequence

    from markupsafe import Markup

    from impact.chain import Prediction
    from impact.site.tolerance import Tolerance


def layout_of(prediction: Prediction) -> Layout:
    """The layout of a predicted design with the prediction's own loads."""
    return lay_out(prediction.design, None, prediction.loads)


def document(
    prediction: Prediction, others: Sequence[Prediction] = (), sounds: tuple[Sound, ...] = (),
    seed: int | None = None, faults: Tolerance | None = None,
) -> Document:  # fmt: skip
    """Everything that the page and the PDF show.

    others : predictions set beside the first. sounds : players of the client's part; seed : theirs.
    faults : what faults cost the first, of `tolerance(design, page_engineer.FAULT_SEED)`.
    """
    design = prediction.design
    answer = Answer(prediction.as_dict(), design.units)
    layout = layout_of(prediction)
    options = tuple(
        page_client.Option(
            other, Answer(other.as_dict(), design.units, f"other{number}"), layout_of(other),
            compare(prediction, other),
        )
        for number, other in enumerate(others, 1)
    )  # fmt: skip
    digest = design.digest[:12]
    return Document(
        title=design.name,
        subtitle=design.note,
        client=str(design.options.get("client", "")),
        parts=(
            page_client.part(prediction, answer, layout, options, sounds),
            page_engineer.part(prediction, answer, layout, seed, faults),
            page_contractor.part(layout, faults),
            page_tables.part(prediction, answer, options),
        ),
        marks=(("program", f"impact {__version__}"), ("design", digest)),
        marker=f"{MARKER} {__version__}, design {digest}",
        units=design.units,
    )


def html(made: Document) -> str:
    """The page as text."""
    from itertools import count

    from jinja2 import Environment, PackageLoader, StrictUndefined

    from impact.report import page_svg

    env = Environment(
        loader=PackageLoader("impact.report"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    numbers = count(1)

    def svg(picture: Any) -> Markup:
        return page_svg.svg(picture, next(numbers))

    env.filters |= {
        "kind": lambda block: type(block).__name__, "svg": svg,
        "is_value": lambda run: isinstance(run, Value),
        "data_uri": lambda data: "data:audio/wav;base64," + base64.b64encode(data).decode(),
    }  # fmt: skip
    template = env.get_template("page.html.j2")
    return template.render(doc=made, theme=page_svg.css()) + "\n"
