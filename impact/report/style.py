"""One look for every picture: colours, lines, fonts, third-octave axes, byte-identical files.

Figures are made without pyplot, so nothing opens a window and nothing global is changed:
`with style.look(): ...` sets the look, `style.save` writes without dates or random names.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from impact.base.bands import NOMINAL, label
from impact.report import letters

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

# Okabe & Ito (2008), "Color universal design": told apart by all common kinds of colour vision.
BLACK, ORANGE, SKY, GREEN, YELLOW, BLUE, VERMILION, PURPLE = (
    "#000000", "#e69f00", "#56b4e9", "#009e73", "#f0e442", "#0072b2", "#d55e00", "#cc79a7",
)  # fmt: skip
GREY, PALE = "#666666", "#d9d9d9"

# Series in order of use. Each differs in colour, line and marker, so that it reads in grey too;
# yellow is left out, it vanishes on paper.
SERIES: tuple[dict[str, Any], ...] = (
    {"color": BLUE, "linestyle": "-", "marker": "o"},
    {"color": VERMILION, "linestyle": "--", "marker": "s"},
    {"color": GREEN, "linestyle": "-.", "marker": "^"},
    {"color": BLACK, "linestyle": ":", "marker": "D"},
    {"color": PURPLE, "linestyle": (0, (5, 1, 1, 1, 1, 1)), "marker": "v"},
    {"color": ORANGE, "linestyle": (0, (7, 2)), "marker": "P"},
    {"color": SKY, "linestyle": (0, (1, 1)), "marker": "X"},
)
REFERENCE: dict[str, Any] = {"color": GREY, "linestyle": (0, (2, 2)), "linewidth": 1.0}
BAND: dict[str, Any] = {"color": PALE, "alpha": 0.6, "linewidth": 0}
SEQUENTIAL = "cividis"  # rises evenly in lightness: the same order in grey and to all eyes

RC: Any = {
    "font.family": "DejaVu Sans",  # comes with matplotlib
    "font.size": 9,
    "axes.titlesize": 10,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "grid.color": "#e5e5e5",
    "grid.linewidth": 0.6,
    "axes.axisbelow": True,
    "lines.linewidth": 1.5,
    "lines.markersize": 4.5,
    "legend.frameon": False,
    "legend.fontsize": 8,
    "figure.dpi": 100,
    "savefig.dpi": 150,
    "svg.fonttype": "none",
    "svg.hashsalt": "impact",
    "pdf.fonttype": 42,
    "pdf.use14corefonts": False,
    "path.simplify": True,
    "axes.unicode_minus": True,
    "text.parse_math": False,  # a "$" in a room's name is a dollar
}


def load() -> None:
    """Load what draws pages and paper, which takes half a second."""
    import jinja2  # noqa: F401
    import matplotlib.backends.backend_pdf
    import matplotlib.backends.backend_svg
    import matplotlib.figure  # noqa: F401


@contextmanager
def look() -> Iterator[None]:
    """The project's look for everything drawn or saved inside the with block. Letters that no font
    has are boxes in pictures and on paper, without a warning (`letters`); in SVG a reader with
    other fonts sees them."""
    import matplotlib

    with matplotlib.rc_context(), letters.quietly():
        matplotlib.rcdefaults()  # a user's own settings must not change a drawing
        matplotlib.rcParams.update(RC)
        yield


def figure(width: float = 8.0, height: float = 5.0) -> Figure:
    """An empty figure of `width` x `height` [inches on paper]; call inside `look()`."""
    from matplotlib.figure import Figure

    return Figure(figsize=(width, height), layout="constrained")


def drawn(draw: Callable[[Figure], None], width: float, height: float) -> Figure:
    """A figure filled by `draw`, without backgrounds, its places settled for good.

    Where `place` was used they are known; else the layout's solver finds them, and they are
    rounded, for its last digits differ from run to run.
    """
    with look():
        made = figure(width, height)
        made.dpi = 72  # as on page and paper
        draw(made)
        letters.lettered(made)
        engine = made.get_layout_engine()
        if engine is not None:
            engine.execute(made)
            made.set_layout_engine("none")
            for ax in made.axes:
                x, y, wide, tall = ax.get_position(original=True).bounds
                ax.set_position((round(x, 4), round(y, 4), round(wide, 4), round(tall, 4)))
    for patch in (made.patch, *(ax.patch for ax in made.axes)):
        patch.set_visible(False)
    return made


def place(figure: Figure, left: float, bottom: float, right: float, top: float) -> Axes:
    """Axes of a figure by its margins [in], in place of the layout's solver, which takes longer
    than the drawing."""
    figure.set_layout_engine("none")
    wide, tall = figure.get_size_inches()
    return figure.add_axes(
        (left / wide, bottom / tall, 1 - (left + right) / wide, 1 - (bottom + top) / tall)
    )


def series(number: int) -> dict[str, Any]:
    """Colour, line and marker of the series with this number, from 0; they repeat in the end."""
    return dict(SERIES[number % len(SERIES)])


def band_axis(ax: Axes, low: float = 10, high: float = 5000, every: int = 1) -> Axes:
    """Logarithmic frequency axis from `low` to `high` [nominal Hz], ticks at every nominal third
    octave (or every `every`-th), labelled with the nominal value."""
    shown = [band for band in NOMINAL if low <= band <= high]
    ax.set_xscale("log")
    ax.set_xlim(low / 1.12, high * 1.12)
    ax.set_xticks(shown[::every], [label(band) for band in shown[::every]], rotation=90)
    ax.set_xticks([], minor=True)
    ax.set_xlabel("third-octave band [Hz]")
    return ax


def titled(drawing: Figure, name: str, rest: str = "", size: float = 11, **how: Any) -> None:
    """Write a title above everything drawn: `name`, which may be long, and `rest`. What does not
    fit the width goes on a second line; of a name too long for both the end is left out."""
    import textwrap

    room = int(drawing.get_figwidth() * 72 / (0.62 * size))  # letters are 0.62 of their size wide
    name = textwrap.shorten(name, max(2 * room - len(rest) - 10, 20), placeholder=" …")
    lines = textwrap.wrap(f"{name}{rest}", room) if len(name + rest) > room else [name + rest]
    drawing.suptitle("\n".join(lines), fontsize=size, **how)


def cautioned(drawing: Figure, said: Iterable[str]) -> None:
    """Write the standing cautions below everything drawn, once all else is there."""
    import textwrap

    drawing.supxlabel("\n".join(textwrap.wrap(" ".join(said), 120)), fontsize=7.5)


def save(drawing: Figure, path: Path, description: str = "") -> Path:
    """Save as .svg, .pdf or .png by the suffix: the same bytes for the same drawing, no dates.

    `description` is stored in the file's own metadata. Raises ValueError for another suffix.
    """
    kind = path.suffix.lower().lstrip(".")
    if kind not in METADATA:
        raise ValueError(f"'.{kind}' cannot be drawn; use .svg, .pdf or .png")
    fixed, key = METADATA[kind]
    with look():
        letters.lettered(drawing)
        if drawing.get_layout_engine() is not None:
            drawing.draw_without_rendering()  # settle the layout once: each save would move it
            drawing.set_layout_engine("none")
        drawing.savefig(path, format=kind, metadata={**fixed, key: description or "impact"})
    return path


# Per format: what keeps files free of dates and versions, and where a description goes.
METADATA: dict[str, tuple[dict[str, Any], str]] = {
    "svg": ({"Date": None, "Creator": "impact"}, "Description"),
    "pdf": ({"CreationDate": None, "Creator": "impact", "Producer": None}, "Subject"),
    "png": ({"Software": None}, "Description"),
}
