"""The load check as it is read, in JSON and in words, against one ceiling worked out by hand.

A square of 2 x 2 m under boards so stiff that they stay flat, on four hangers of 100 N/mm at x =
0.4 and 1.6 m, y = 0.2 and 1.2 m: statics alone. W = 4 x 21.942 kg/m2 x 9.80665 = 860.71 N. Its
centre is at y = 1.0 m, so that the two rows carry 0.2 W and 0.8 W, each hanger half of that.

One lost: the other three are statically determinate. Without 1 the others carry 0.2, 0.5 and 0.3 W
(2, 3, 4) and the corner hangs by 0.2 + 0.5 - 0.3 = 0.4 W/k; without 3 they carry 0.5, -0.3 and
0.8 W (1, 2, 4) and it hangs by 0.5 + 0.8 + 0.3 = 1.6 W/k. Hangers and room are invented.
"""

from __future__ import annotations

from dataclasses import replace

import designs
import pytest

from impact import gravity
from impact.gravity import findings
from impact.report import installation_hangers
from impact.study import layout

W, K = 860.7103, 100.0  # N, N/mm
FLAT = {"rel": 2e-3}  # what boards of 1e14 Pa still bend, and rounding to four decimals


@pytest.fixture(scope="module")
def hung():
    base = designs.basement()
    material = replace(base.ceiling.layers[0].material, youngs_modulus=1e14,
                       youngs_modulus_across=1e14, shear_modulus=4e13)  # fmt: skip
    layer = replace(base.ceiling.layers[0], material=material)
    hangers = replace(
        base.hangers, load_deflection=((300.0, 3e-3),), mass=0.0, channel=None,
        load_maximum=300.0, positions=((0.4, 0.2), (1.6, 0.2), (0.4, 1.2), (1.6, 1.2)),
    )  # fmt: skip
    return replace(base, hangers=hangers, units="metric",
                   ceiling=replace(base.ceiling, layers=(layer, layer)),
                   room=replace(base.room, length=2.0, width=2.0))  # fmt: skip


def test_json_by_hand(hung):
    found = gravity.loads(hung, elastic_floor=False, coupled=False).as_dict()
    assert (found["weight_n"], found["sum_n"]) == pytest.approx((W, W), rel=1e-5)
    assert (found["rated_minimum_n"], found["rated_maximum_n"]) == (45.0, 300.0)
    assert (found["worst"]["number"], found["best"]["number"]) == (3, 1)
    worst = found["hangers"][2]
    assert worst == found["worst"]
    assert (worst["x_m"], worst["y_m"], worst["verdict"]) == (0.4, 1.2, "above rated maximum")
    assert found["hangers"][0]["verdict"] == "within"
    by_hand = {
        "load_n": 0.4 * W, "deflection_mm": 0.4 * W / K, "deflection_long_mm": 1.3 * 0.4 * W / K,
        "deflection_cold_mm": 0.4 * W / K / 1.4, "deflection_by_boards_mm": 0.4 * W / K,
        "spare_load_n": 1.5 * 0.4 * W,  # three boards in place of two
        "tributary_n": W / 4 * 1.0 * 1.3,  # of 2 m2 in all: 1.0 m by halfway, 0.7 m, to 2 m
    }  # fmt: skip
    for name, value in by_hand.items():
        assert worst[name] == pytest.approx(value, **FLAT), name
    assert found["margin"]["worst_load_n"] == pytest.approx(1.5 * 0.4 * W, **FLAT)
    assert found["margin"]["one_more_layer_n"] == pytest.approx(1.5 * 0.4 * W, **FLAT)


@pytest.mark.parametrize(("most", "told"), [(500.0, True), (520.0, False)])
def test_one_more_layer_is_weighed_whatever_margin_is_asked_for(hung, most, told):
    """1.5 x 0.4 W = 516 N on the worst of them, and no spare layer wanted."""
    kind = replace(hung.hangers, load_maximum=most)
    design = replace(hung, hangers=kind, options={"limits": {"spare_layers": 0}})
    checked = gravity.loads(design, elastic_floor=False, coupled=False)
    said = findings.another_layer(checked)
    assert ("would carry 516 N of at most 500 N" in said) is told
    assert bool(said) is told


def test_losses_in_json_by_hand(hung):
    found = gravity.loads(hung, elastic_floor=False, coupled=False).as_dict()
    first, third = (found["hangers"][i]["if_lost"] for i in (0, 2))
    assert (first["worst_hanger"], third["worst_hanger"]) == (3, 4)
    assert first["worst_load_n"] == pytest.approx(0.5 * W, **FLAT)
    assert third["worst_load_n"] == pytest.approx(0.8 * W, **FLAT)
    assert first["sag_mm"] == pytest.approx(0.4 * W / K, rel=0.01)
    assert third["sag_mm"] == pytest.approx(1.6 * W / K, rel=0.01)
    lost = found["lost_hanger"]
    assert (lost["cannot_lose_one"], lost["fatal"], lost["worst_lost"]) == (True, 0, 3)
    assert lost["worst_load_n"] == pytest.approx(0.8 * W, **FLAT)
    assert lost["worst_sag_mm"] == pytest.approx(1.6 * W / K, rel=0.01)


def test_sag_floor_and_height_in_json_by_hand(hung):
    """The slope is 0.3 W/k over 1 m; wool of 0.15 m x 15 kg/m3 between joists of 38 at 406.4 mm;
    one joist of 4.2 m as in the findings, EI = 410 969 N m2, GA = 4.465e6 N."""
    found = gravity.loads(hung, elastic_floor=False, coupled=False).as_dict()
    slope = 0.3 * W / K  # mm in 1 m
    sag = found["sag"]
    assert sag["most_mm"] == pytest.approx(0.4 * W / K + 0.8 * slope, rel=0.01)
    assert sag["edge_mm"] == sag["most_mm"]
    assert sag["least_mm"] == pytest.approx(0.1 * W / K - 0.2 * slope, rel=0.02)
    assert sag["edge_slope"] == pytest.approx(slope / 1000, rel=0.01)
    left = 6.35 - 1.3 * slope / 1000 * 31.8
    assert sag["perimeter_gap_left_mm"] == pytest.approx(left, abs=0.002)
    added = 21.942 + 0.15 * 15 * (1 - 38 / 406.4)
    line = added * 9.80665 * 0.4064
    alone = 5 * line * 4.2**4 / 384 / 410_969 + line * 4.2**2 / 8 / 4.465e6
    floor = found["floor"]
    assert floor["added_kg_m2"] == pytest.approx(added, rel=1e-4)
    assert floor["joist_line_load_n_m"] == pytest.approx(line, rel=1e-4)
    assert floor["joist_deflection_mm"] == pytest.approx(1000 * alone, rel=1e-3)
    height = 2.4 - 0.041 - 0.0318 - 1.3 * (0.4 * W / K + 0.8 * slope) / 1000
    assert found["headroom"]["ceiling_m"] == pytest.approx(height, abs=1e-4)
    assert found["headroom"]["minimum_m"] == 2.1336


def test_words_by_hand(hung):
    """As above, rounded; 860.71 N = 193.495 lb, 3.44 mm = 0.136 in, by hand."""
    text = " ".join(gravity.loads(hung, elastic_floor=False, coupled=False).lines_of_text())
    for words in (
        "without hanger 3 hanger 4 would carry 689 N of at most 300 N",
        "(4 of 4 hangers cannot be lost)",
        "4 hangers: 2 above rated maximum, 2 within; load 86.1 N to 344 N",
        "weight 861 N, sum of the hangers' loads 861 N; hangers deflect 0.9 mm to 3.4 mm",
        "with creep (factor 1.3) to 4.5 mm, hung in the cold (1.4 times as stiff) only to 2.5 mm",
        "boards hang 0.3 mm to 5.5 mm lower than before loading, slope at the walls 2.6 in 1000",
        "of the gap of 6.35 mm left at the perimeter in the long term: 6.2 mm",
        "24 kg/m2 more (2.04 kg/m2 of it the fill", "9.75 kg/m of a joist, which alone would sink",
        "finished height 2320 mm",
    ):  # fmt: skip
        assert words in text, words
    inches = replace(hung, units="imperial")
    text = " ".join(gravity.loads(inches, elastic_floor=False, coupled=False).lines_of_text())
    assert "hangers deflect 0.034 in to 0.14 in" in text
    assert "weight 193 lb" in text


def test_one_of_many_strong_hangers_lost_in_words(hung):
    """Rated to 1 kN all may be lost: 0.8 W is the most, 1.6 W/k the deepest."""
    strong = replace(hung, hangers=replace(hung.hangers, load_maximum=1000.0))
    text = " ".join(gravity.loads(strong, elastic_floor=False, coupled=False).lines_of_text())
    assert "any one hanger lost: another carries at most 689 N" in text
    assert "sinks there by 13.8 mm in all" in text
    assert "cannot lose" not in text


def test_the_table_that_is_read_on_site_by_hand(hung):
    """A ruler shows 0.861 mm with 0.5 mm to either side, or 3.443 mm with a fifth of it, 0.689 mm;
    300 N are rated, and 200 N at least would leave the first row low."""
    kind = replace(hung.hangers, load_minimum=200.0)
    held = gravity.loads(replace(hung, hangers=kind), elastic_floor=False, coupled=False)
    text = installation_hangers.table(layout.lay_out(held.design, held=held))
    assert text[1].split() == ["1", "400", "mm", "200", "mm", "1", "86.1", "N", "0.9", "mm",
                               "0.4-1.4", "mm", "LOW"]  # fmt: skip
    assert text[4].split() == ["4", "1600", "mm", "1200", "mm", "3", "344", "N", "3.4", "mm",
                               "2.8-4.1", "mm", "HIGH"]  # fmt: skip
    said = " ".join(" ".join(text).split())
    assert "3.4 mm at most under its whole load, grows to about 1.3 times: 4.5 mm" in said
    assert "Do not build before it is mended" in said
    assert held.verdict == "some above rated maximum, some below rated minimum"


def test_a_line_of_channel_lost_by_hand(hung):
    """Lines at x = 0.3, 1.0 and 1.7 m, two hangers each: without the third the second carries all,
    0.5 W a hanger, as it stands below the centre, and the third's places hang by 2 x 0.5 W/k; the
    second lost leaves 0.25 W to each of the others."""
    points = tuple((x, y) for x in (0.3, 1.0, 1.7) for y in (0.5, 1.5))
    channel = replace(designs.hangers().channel, mass_per_length=0.0)
    kind = replace(hung.hangers, positions=points, channel=channel, load_maximum=1000.0)
    checked = gravity.loads(replace(hung, hangers=kind), elastic_floor=False, coupled=False)
    lines = checked.as_dict()["lost_hanger"]["channel_lines"]
    assert [line["distance_m"] for line in lines] == [0.3, 1.0, 1.7]
    for line, load, sunk in zip(lines, (0.5, 0.25, 0.5), (1.0, 0.25, 1.0), strict=True):
        assert line["worst_load_n"] == pytest.approx(load * W, **FLAT)
        assert line["sag_mm"] == pytest.approx(sunk * W / K, rel=0.01)
    assert [line["worst_hanger"] in hangers for line, hangers in zip(
        lines, ((3, 4), (1, 2, 5, 6), (3, 4)), strict=True)] == [True] * 3  # fmt: skip
    text = " ".join(checked.lines_of_text())
    assert "any one channel line lost: a hanger carries at most 430 N, sag 8.6 mm" in text
    weak = replace(hung, hangers=replace(kind, load_maximum=400.0))
    text = " ".join(gravity.loads(weak, elastic_floor=False, coupled=False).lines_of_text())
    assert "at most 430 N, above the rated 400 N, sag 8.6 mm" in text


def test_a_channel_in_json_and_words_by_hand():
    """One channel of 900 N m2 on two hangers 0.6 m apart, with free ends of 0.7 m to the walls of a
    room of 0.6 x 2.0 m: w = (2 x 10.971 x 0.6 + 0.6) kg/m x g = 134.99 N/m. 5 w L4/384 EI, w a2/2,
    and for an overhang w a (4 a2 L - L3 + 3 a3)/24 EI (any table of beams). 3 %: the channel ends
    6 mm before the wall, and single forces stand for an even load."""
    base = designs.on_slab()
    kind = replace(base.hangers, positions=((0.3, 0.7), (0.3, 1.3)), load_maximum=None)
    design = replace(base, units="metric", hangers=kind,
                     room=replace(base.room, length=0.6, width=2.0))  # fmt: skip
    checked = gravity.loads(design, coupled=False)
    found = checked.as_dict()["channel"]
    w, a, span = 134.99, 0.7, 0.6
    bent = 1000 * 5 * w * span**4 / 384 / 900
    end = 1000 * w * a * (4 * a**2 * span - span**3 + 3 * a**3) / 24 / 900
    assert (found["span_m"], found["spans"]) == (pytest.approx(0.6), "single")
    assert found["deflection_mm"] == pytest.approx(bent, rel=0.01)
    assert found["span_over_deflection"] == pytest.approx(600 / bent, rel=0.01)
    assert found["moment_n_m"] == pytest.approx(w * a**2 / 2, rel=0.01)
    assert found["overhang_m"] == pytest.approx(0.7 - 0.00635, abs=1e-4)
    assert found["end_deflection_mm"] == pytest.approx(end, rel=0.03)
    assert found["end_span_over_deflection"] == pytest.approx(2 * 700 / end, rel=0.03)
    assert (found["limit_span_over_deflection"], found["allowable_moment_n_m"]) == (240.0, None)
    said = " ".join(checked.lines_of_text())
    assert f"channel spans 600 mm (single span), bends {bent:.1f} mm" in said
    assert "(limit L/240), moment 33 N m" in said
