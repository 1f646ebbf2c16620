"""Faults of building in the report: what the contractor reads and what the engineer reads.

The costs are put together by hand, so that each sentence follows from numbers that stand here.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from impact.base import bands
from impact.report import page_contractor, page_engineer, page_faults
from impact.report.page_blocks import Gallery, Items, Paragraph, Table, plain
from impact.site.tolerance import Cost, Threshold, Tolerance

REGIONS = {"thud": 0.5, "knock": 3.0, "click": 8.0}


def cost(key: str, count: int, loss: float, band: float) -> Cost:
    """A cost whose only loss is `loss` [dB] in one band."""
    change = np.zeros(28)
    change[bands.index(band)] = loss
    losses = tuple(change.tolist())
    heard = dict.fromkeys(REGIONS, 0.0) if key == "missing" else REGIONS
    return Cost(key, f"{count} of 40", count, 6, losses, losses, losses, heard,
                {"Ln_w": 2, "IIC": -2}, losses)  # fmt: skip


THUD = (Threshold(3.0, 2, 40, 80.0, 5.2), Threshold(5.0, 2, 40, 80.0, 5.2),
        Threshold(10.0, 6, 40, 80.0, 11.0))  # fmt: skip
BY_HAND = Tolerance(
    "A room", "0" * 64, 40,
    curve=(cost("bridged", 0, 0.0, 80.0), cost("bridged", 2, 5.2, 80.0)),
    thresholds={"all bands": THUD, "thud": THUD, "knock": (Threshold(3.0, 1, 40, 315.0, 3.4),),
                "click": ()},
    others=(cost("missing", 1, 0.0, 80.0), cost("missing", 5, 0.4, 80.0),
            cost("touching", 1, 9.0, 31.5), cost("touching", 4, 21.0, 31.5),
            cost("flanking", 1, 30.0, 500.0)),
    chosen=None, cases=123,
)  # fmt: skip


def of(section, kind):
    return [block for block in section.blocks if isinstance(block, kind)]


def test_the_contractor_reads_how_few_screws_cost_how_much():
    said = [plain(item) for item in of(page_faults.contractor(BY_HAND, "metric"), Items)[0].items]
    assert said == [
        "Thud: 2 bridged of 40 cost 5 dB at 80 Hz; 6 cost 11 dB at 80 Hz.",
        "Knock: 1 bridged of 40 costs 3 dB at 315 Hz.",
        "Click: no number of them costs 3 dB in a band.",
    ]


def test_no_screw_is_blamed_that_cannot_reach_the_floor():
    said = []
    for reach in (True, False):
        section = page_faults.contractor(replace(BY_HAND, screws_reach=reach), "metric")
        said.append(plain(of(section, Paragraph)[0].runs))
    assert said[0].startswith("A screw that is too long reaches the floor above")
    assert said[1].startswith("No usual screw reaches the floor above here. A strap, rod or block")


def test_what_to_watch_comes_with_the_costliest_first_and_without_walls():
    table = of(page_faults.contractor(BY_HAND, "metric"), Table)[0]
    rows = [[plain(cell) for cell in row] for row in table.rows]
    assert [row[:2] for row in rows] == [
        ["ceiling edge hard against walls", "knock +3 dB, click +8 dB"],
        ["hangers missing", "hardly any sound"],
    ]
    # Missing hangers are not heard, but the others carry their load: that must be said.
    assert "load is carried by the others" in rows[1][3]
    assert "feeler gauge" in rows[0][2]


def test_the_engineer_has_curve_and_every_fault():
    section = page_faults.engineer(BY_HAND, "metric", 0)
    bridged, others = of(section, Table)
    assert [plain(c) for c in bridged.rows[1]] == [
        "2", "+0.5", "+3.0", "+8.0", "+2", "−2", "+5.2 dB at 80 Hz",
    ]  # fmt: skip
    assert len(others.rows) == len(BY_HAND.others)
    assert len(of(section, Gallery)[0].pictures) == 2
    assert "123 as-built states computed, places drawn with seed 0." in [
        plain(item) for item in of(section, Items)[0].items
    ]


def test_without_hangers_that_yield_nothing_is_bridged():
    rigid = replace(BY_HAND, curve=(), thresholds=dict.fromkeys(BY_HAND.thresholds, ()))
    for section in (page_faults.contractor(rigid, "metric"),
                    page_faults.engineer(rigid, "metric", 0)):  # fmt: skip
        assert plain(of(section, Paragraph)[0].runs) == page_faults.UNSEEN
        assert not of(section, Gallery)


@pytest.mark.parametrize("number", [0, 1])
def test_the_pictures_show_the_numbers(number):
    picture = of(page_faults.engineer(BY_HAND, "metric", 0), Gallery)[0].pictures[number]
    ax = picture.figure.axes[0]
    drawn = {line.get_label(): np.asarray(line.get_ydata()) for line in ax.lines}
    if number == 0:
        assert drawn["click, 400-5000 Hz"] == pytest.approx([8.0, 8.0])
        assert ax.lines[0].get_xdata() == pytest.approx([0.0, 5.0])  # 2 of 40
    else:
        assert drawn["2 bridged"].max() == pytest.approx(5.2)


def test_a_report_without_faults_says_in_one_line_how_to_get_them(report):
    engineer = next(part for part in report.parts if part.key == "engineer")
    assert page_faults.TITLE in [section.title for section in engineer.sections]
    assert "--faults" in page_engineer.WORKMANSHIP


def test_one_line_and_no_section_without(small):
    from impact.report import page

    made = page.document(small)
    text = "".join(str(part) for part in made.parts)
    assert text.count("--faults") == 1
    assert page_faults.TITLE not in [s.title for part in made.parts for s in part.sections]
    assert page_contractor.part(page.layout_of(small)).sections[-1].title == "Installation sheet"
