"""Plain text on paper: a PDF with the lines as they are, for forms and checklists."""

from __future__ import annotations

from pathlib import Path

from impact.report import letters, style
from impact.report.pdf_paper import POINT, SIZES

MARGIN = 0.8  # inches
POINTS = 9.0
LEADING = 1.32  # line height over type size


def pages(text: str, units: str) -> list[list[str]]:
    """Lines of each page; no heading is left alone at the foot, no question without its answer."""
    height = SIZES[units][1] - 2 * MARGIN
    fit = int(height / (POINTS * LEADING * POINT)) - 2
    lines = text.rstrip("\n").split("\n")
    out = []
    while lines:
        count = min(fit, len(lines))
        if count < len(lines):
            empty = [i for i in range(count * 2 // 3, count) if not lines[i].strip()]
            whole = [i for i in range(count * 2 // 3, count + 1) if not lines[i].startswith("    ")]
            count = (empty or whole or [count])[-1]
        out.append(lines[:count])
        lines = lines[count:]
        while lines and not lines[0].strip():
            lines = lines[1:]
    return out


def save(text: str, path: Path, units: str, title: str) -> Path:
    """Write `text` as a PDF on A4 or letter paper, the same bytes each time."""
    from matplotlib.backends.backend_pdf import PdfPages

    wide, high = SIZES[units]
    sheets = pages(text, units)
    facts = {"Title": title, "Creator": "impact", "Producer": None, "CreationDate": None}
    with style.look(), PdfPages(path, metadata=facts) as book:
        for number, lines in enumerate(sheets, 1):
            figure = style.figure(wide, high)
            figure.set_layout_engine("none")
            figure.text(
                MARGIN / wide, 1 - MARGIN / high, "\n".join(lines), va="top", ha="left",
                family="DejaVu Sans Mono", fontsize=POINTS, linespacing=LEADING,
            )  # fmt: skip
            foot = f"{title}   {number}/{len(sheets)}"
            figure.text(0.5, 0.5 * MARGIN / high, foot, ha="center", fontsize=7.5)
            letters.lettered(figure)
            book.savefig(figure)
    return path
