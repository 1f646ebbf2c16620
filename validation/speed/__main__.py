"""Times everything, prints the table, and writes it here with the machine's name.

python -m validation.speed            about five minutes on an idle machine
"""

from __future__ import annotations

from pathlib import Path

import impact
from validation.speed import growth, measure
from validation.speed.measure import Row

HERE = Path(__file__).parent
HEAD = "| what | ours | other way | ratio | aim | reached |\n| --- | --- | --- | --- | --- | --- |"


def rows() -> list[Row]:
    """Every timing, one after the other."""
    design = impact.read(measure.STANDING)
    return [
        *measure.start_up(), *measure.warm(design), *measure.finite_elements(),
        measure.variants(design), measure.faults(design), measure.memory(), measure.large_room(),
        *measure.estimate(),
    ]  # fmt: skip


def line(row: Row) -> str:
    """One row as Markdown."""
    other = "" if row.other is None else f"{row.other:.3g} ({row.other_is})"
    ratio = "" if row.ratio is None else f"{row.ratio:.3g}"
    reached = ("yes" if row.kept else "no") if row.aim else ""
    return f"| {row.what} | {row.ours:.3g} | {other} | {ratio} | {row.aim} | {reached} |"


def main() -> None:
    """Measure, print, write `results.md` and `growth.png`."""
    text = ["# Timings", "", measure.machine(), "", "Seconds unless said otherwise.", "", HEAD]
    text += [line(row) for row in rows()]
    found = growth.measured()
    growth.draw(found, HERE / "growth.png")
    text += ["", "How the time of one frequency (of a search: of all) grows; see `growth.png`.", ""]
    for one in found:
        sizes = ", ".join(f"{size:g}" for size in one.sizes)
        times = ", ".join(f"{seconds:.3g}" for seconds in one.seconds)
        text.append(f"- {one.what}: power {one.exponent:.2f} ({sizes}: {times} s)")
    print("\n".join(text))
    (HERE / "results.md").write_text("\n".join(text) + "\n")


if __name__ == "__main__":
    main()
