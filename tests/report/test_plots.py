"""What is drawn is what was predicted."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import predictions
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb

from impact.base.bands import NOMINAL
from impact.gravity.parts import ABOVE, BELOW, WITHIN
from impact.report import page_load_map, page_pictures, plots, style

SIGNATURES = {"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}  # of the file formats


@pytest.fixture(scope="module")
def shown():
    """Prediction whose three spectra differ in every band, and its figure."""
    slope = np.linspace(90.0, 10.0, 28)
    made = predictions.by_hand(
        levels={"walker_barefoot": slope - 10, "tapping_machine": slope - 12},
        bare={"walker_barefoot": slope, "tapping_machine": slope + 1},
        best={"walker_barefoot": slope - 15, "tapping_machine": slope - 16},
    )
    room = replace(made.design.room, background=tuple(slope - 20), background_name="NC 25")
    made = replace(made, design=replace(made.design, room=room))
    with style.look():
        return made, plots.spectra(made)


def panels(figure):
    return [ax for ax in figure.axes if ax.get_title(loc="left")]


def drawn(ax):
    return {each.get_label(): each for each in ax.lines if not each.get_label().startswith("_")}


def test_curves_are_the_prediction(shown):
    made, figure = shown
    for ax, source in zip(panels(figure), plots.SHOWN, strict=True):
        curves = drawn(ax)
        for label, levels in (
            ("bare floor", made.bare), ("with this ceiling", made.levels),
            ("with perfect hangers", made.best),
        ):  # fmt: skip
            np.testing.assert_array_equal(curves[label].get_ydata(), levels[source])
        # ISO 226:2023 Table 1: 78.1 dB at 20 Hz, the fourth band; nothing below.
        threshold = curves["hearing threshold (ISO 226)"].get_ydata()
        assert threshold[3] == 78.1
        assert np.isnan(threshold[:3]).all()
        assert "background, NC 25" in curves


def test_axis_has_nominal_labels(shown):
    ax = panels(shown[1])[0]
    labels = [tick.get_text() for tick in ax.get_xticklabels()]
    assert len(labels) == len(NOMINAL)
    assert labels[:3] == ["10", "12.5", "16"]
    assert labels[-3:] == ["3.15k", "4k", "5k"]


def test_resonances_and_footfall_range_are_marked(shown):
    made, figure = shown
    words = " ".join(text.get_text() for text in panels(figure)[0].texts)
    assert "floor 18.0 Hz" in words
    assert "mass-spring-mass 26.0 Hz" in words
    places = [each.get_xdata()[0] for each in panels(figure)[0].lines]
    assert made.resonances.mass_spring_mass in places
    # IEC 61260-1: edges of the bands 10 and 100 Hz, by hand 10/1.122 = 8.91 and 100 x 1.122.
    (span,) = [each for each in panels(figure)[0].patches if each.get_width() > 50]
    assert span.get_x() == pytest.approx(8.913, abs=0.001)
    assert span.get_x() + span.get_width() == pytest.approx(112.2, abs=0.01)


def test_curves_differ_without_colour(shown):
    curves = list(drawn(panels(shown[1])[0]).values())[:3]
    assert len({(each.get_linestyle(), each.get_marker()) for each in curves}) == 3
    for each in curves:  # dark enough on white: luminance of Rec. 709 below a half
        assert np.dot(to_rgb(each.get_color()), (0.2126, 0.7152, 0.0722)) < 0.5


def test_cautions_stand_under_the_picture(shown):
    foot = " ".join(plots.foot(shown[0]).split())
    assert "Loads not checked." in foot
    assert "licensed engineer" in foot
    assert shown[1].get_supxlabel() == plots.foot(shown[0])


@pytest.mark.parametrize("kind", SIGNATURES)
def test_files_are_of_their_kind(kind, shown, tmp_path):
    path = style.save(shown[1], tmp_path / f"spectra.{kind}")
    assert path.read_bytes().startswith(SIGNATURES[kind])


def test_a_letter_that_the_font_lacks_is_drawn_without_a_warning(tmp_path):
    with style.look():
        drawing = style.figure()
        drawing.suptitle("房间")
    assert style.save(drawing, tmp_path / "room.png").stat().st_size > 1000


def test_any_number_of_sources():
    made = predictions.by_hand()
    with style.look():
        figure = plots.spectra(made, ["rubber_ball"])
    assert len(panels(figure)) == 1
    assert "rubber ball" in panels(figure)[0].get_title(loc="left")


def test_designs_lie_over_one_another(shown):
    first, _ = shown
    quieter = replace(first, levels={name: each - 3 for name, each in first.levels.items()})
    with style.look():
        figure = plots.designs([first, quieter])
    for ax, source in zip(panels(figure), plots.SHOWN, strict=True):
        curves = [line for label, line in drawn(ax).items() if label[:2] in ("1:", "2:")]
        found = [line.get_ydata() for line in curves]
        assert found[0] == pytest.approx(first.levels[source])
        assert found[0] - found[1] == pytest.approx(3.0)
        assert len({(line.get_linestyle(), line.get_marker()) for line in curves}) == 2
    assert "licensed" in figure.get_supxlabel()


@pytest.mark.parametrize("height", [1.0, 0.7])
@pytest.mark.parametrize("loud", [60.0, 85.0])
def test_the_client_s_key_hides_no_line(height, loud):
    """In the lowest picture that paper sets (0.7 of its height) and on a loud floor: no point of a
    line lies behind the key."""

    level = np.linspace(95.0, loud, 28)
    levels = {"walker_barefoot": level}
    picture = page_pictures.before_after(predictions.by_hand(levels=levels, bare=levels))
    figure = replace(picture, height=picture.height * height).figure
    renderer = FigureCanvasAgg(figure).get_renderer()
    figure.draw(renderer)
    ax = figure.axes[0]
    key = ax.get_legend().get_window_extent(renderer)
    for line in ax.lines:
        if not line.get_label().startswith("_"):
            inside = key.count_contains(line.get_transform().transform(line.get_xydata()))
            assert inside == 0, line.get_label()
    assert key.width / 72 < page_pictures.KEY[0]
    assert key.height / 72 < page_pictures.KEY[1]


@pytest.mark.parametrize(("background", "at_16_hz"), [(30.0, 88.0), (95.0, 95.0)])
def test_a_still_room_does_not_make_infrasound_heard(background, at_16_hz):
    """At 16 Hz the client's spectrum has the measured threshold (88 dB, `hearing`), or a background
    above it; ISO 226, which begins at 20 Hz with 78.1 dB, says nothing there."""
    shown = predictions.by_hand()
    room = replace(shown.design.room, background=(background,) * 28)
    shown = replace(shown, design=replace(shown.design, room=room))
    ax = page_pictures.before_after(shown).figure.axes[0]
    heard = drawn(ax)["least level heard here"].get_ydata()
    assert heard[2] == at_16_hz
    assert heard[3] == max(78.1, background)


def test_the_load_map_is_drawn_in_the_order_of_its_hangers():
    """Not in the order of a set of words, which changes from run to run: the same file each
    time."""
    for words in itertools.permutations((ABOVE, BELOW, WITHIN)):
        hangers = [{"x_m": x, "y_m": 1.0, "load_n": 100.0 + x, "verdict": word}
                   for x, word in enumerate(words)]  # fmt: skip
        with style.look():
            ax = style.figure(3, 2).subplots()
            page_load_map.draw_load_map(ax, hangers, (3.0, 2.0), "metric")
        drawn_first = [group.get_offsets()[0][0] for group in ax.collections[:3]]
        assert drawn_first == [0, 1, 2]


@pytest.mark.parametrize("apart", [0.1, 0.25, 0.5])
def test_numbers_on_the_load_map_hide_nothing(apart):
    """Pairs of channel lines 100 mm apart, as beside a bulkhead: no number lies on another or on
    the dot of another hanger, and the largest is there."""
    places = [(x + shift, y) for x in (0.6, 1.9, 3.2) for shift in (0.0, apart)
              for y in (0.5, 1.3, 2.1, 2.9)]  # fmt: skip
    hangers = [{"x_m": x, "y_m": y, "load_n": 100.0 + i, "verdict": WITHIN}
               for i, (x, y) in enumerate(places)]  # fmt: skip
    picture = page_load_map.load_map(predictions.by_hand(), hangers, "135 N")
    figure = picture.figure
    figure.draw(FigureCanvasAgg(figure).get_renderer())
    ax = figure.axes[0]
    numbers = {each.xy: each.get_window_extent() for each in ax.texts}
    assert places[-1] in numbers
    assert len(numbers) > len(places) / 2
    for (a, one), (b, other) in itertools.combinations(numbers.items(), 2):
        assert not one.overlaps(other), (a, b)
    dots = ax.transData.transform(places)
    for at, box in numbers.items():
        hidden = [p for p, dot in zip(places, dots, strict=True) if box.contains(*dot) and p != at]
        assert not hidden, (at, hidden)


def test_a_long_name_stays_on_the_picture():
    """Two lines of a picture 8 in wide at most, measured by the renderer; the design's number,
    which stands behind the name, is kept."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    for name, count in (("Flat 2", 1), ("Cellar of a house " * 5, 2), ("Übergeschoss " * 40, 2)):
        with style.look():
            figure = style.figure(8.0, 5.0)
            style.titled(figure, name.strip(), "   (design 0123456789ab)")
            FigureCanvasAgg(figure).draw()
            title = figure._suptitle
            box = title.get_window_extent()
        assert title.get_text().count("\n") == count - 1
        assert title.get_text().endswith("(design 0123456789ab)")
        assert box.x0 >= 0
        assert box.x1 <= figure.bbox.width
