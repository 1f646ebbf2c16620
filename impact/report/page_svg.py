"""A picture as SVG that lives inside a web page: its own names, and the page's colours.

Colours become CSS variables, so that one drawing serves light and dark pages and print.
"""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

from markupsafe import Markup, escape

from impact.report import style

if TYPE_CHECKING:
    from impact.report.page_blocks import Picture

# Colour as drawn -> (name of the CSS variable, the same in the dark).
THEME: dict[str, tuple[str, str]] = {
    style.BLACK: ("ink", "#ece6da"), "#ffffff": ("card", "#1d262a"),
    style.GREY: ("grey", "#a9b3b3"), style.PALE: ("pale", "#3a474c"),
    "#e5e5e5": ("grid", "#2e3a3f"), style.BLUE: ("blue", "#6db7f2"),
    style.VERMILION: ("vermilion", "#ff9457"), style.SKY: ("sky", "#2f7ca8"),
    style.GREEN: ("green", "#43c59e"), style.ORANGE: ("orange", "#f2b632"),
    style.PURPLE: ("purple", "#e2a3c4"), "#f4f4f4": ("zone1", "#222c30"),
    "#e9e9e9": ("zone2", "#2a363b"), "#dcdcdc": ("zone3", "#344248"),
    "#cfcfcf": ("zone4", "#3e4e55"), "#c2c2c2": ("zone5", "#495b63"),
    "#e6cf9f": ("wood", "#6b572c"), "#cfe3f1": ("board", "#2c4a60"),
    "#efe3c8": ("deck", "#5a4c2c"), "#f2f2f2": ("old", "#333d41"),
    "#fbf3d0": ("wool", "#4b4626"), "#b8a860": ("fibre", "#8d824d"),
}  # fmt: skip
_HEX = re.compile(r"#[0-9a-f]{6}\b")
_ID = re.compile(r' id="([^"]+)"')
_HREF = re.compile(r'(?:xlink:)?href="#([^"]+)"')
_FINE = re.compile(r"(\d\.\d\d)\d+")  # hundredths of a point are fine enough
_URL = re.compile(r"url\(#([^)]+)\)")


def svg(picture: Picture, number: int) -> Markup:
    """The picture as an <svg> element; `number` keeps its names apart from other pictures'."""
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    out = io.BytesIO()
    with style.look():
        about = {"Date": None, "Creator": None}
        canvas = FigureCanvasSVG(picture.figure)
        canvas.print_svg(out, metadata=about)  # savefig would draw it twice
    text = out.getvalue().decode()
    text = text[text.index("<svg") :]
    text = re.sub(r"<metadata>.*?</metadata>", "", text, flags=re.DOTALL)
    text = re.sub(r"\s*<!--.*?-->", "", text, flags=re.DOTALL)  # comments repeat labels
    meant = set(_HREF.findall(text)) | set(_URL.findall(text))
    text = _ID.sub(lambda id: f' id="p{number}-{id[1]}"' if id[1] in meant else "", text)
    text = _HREF.sub(rf'href="#p{number}-\1"', text)
    text = _URL.sub(rf"url(#p{number}-\1)", text)
    text = _HEX.sub(_variable, text)
    text = re.sub(r">\s+<", "><", _FINE.sub(r"\1", text)).replace(" \n", " ")
    text = re.sub(r"'?DejaVu Sans'?(, [^;\"]*)?", "var(--font)", text)
    head = text[: text.index(">")]
    box = re.search(r'viewBox="[^"]+"', head)
    assert box is not None
    label = escape(picture.alt)
    new = f'<svg xmlns="http://www.w3.org/2000/svg" {box[0]} role="img" aria-label="{label}"'
    return Markup(new + text[len(head) :])


def _variable(found: re.Match[str]) -> str:
    known = THEME.get(found[0])
    return f"var(--{known[0]})" if known else found[0]


def css() -> Markup:
    """The variables of `THEME` for light and dark."""
    light = "".join(f"--{name}:{colour};" for colour, (name, _) in THEME.items())
    dark = "".join(f"--{name}:{colour};" for name, colour in THEME.values())
    return Markup(
        f":root{{{light}}}@media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}"
    )
