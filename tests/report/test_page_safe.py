"""The page is one file that loads nothing, runs nothing and takes no text for markup."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest

from impact.report import page, page_sound, page_svg, pdf
from impact.report.page_blocks import Columns, Part, Section, Sound
from impact.study.listen import RATE

EVIL = "<script>alert(1)</script> & \"quoted\" 'name' $x^2$ {{ 7*7 }} </svg></title><img src=x>"


@pytest.fixture(scope="module")
def evil(small):
    made = small
    design = replace(made.design, name=EVIL, note=EVIL, options={**made.design.options,
                     "client": EVIL, "currency": EVIL})  # fmt: skip
    layer = replace(design.ceiling.layers[0],
                    material=replace(design.ceiling.layers[0].material, name=EVIL))  # fmt: skip
    design = replace(design, ceiling=replace(design.ceiling, layers=(layer, layer)))
    return page.document(replace(made, design=design), [replace(made, design=design)])


@pytest.fixture(scope="module")
def text(evil):
    return page.html(evil)


class Tags(HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags, self.attributes = [], []

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        self.attributes += [(tag, *pair) for pair in attributes]


@pytest.fixture(scope="module")
def tags(text):
    parser = Tags()
    parser.feed(text)
    return parser


def test_user_text_is_text(text, tags):
    assert "script" not in tags.tags
    assert "img" not in tags.tags
    assert "<script" not in text.lower()
    assert "&lt;script&gt;alert(1)" in text
    assert "{{ 7*7 }}" in text  # not computed to 49
    assert not [name for _, name, _ in tags.attributes if name.startswith("on")]


def test_nothing_is_loaded(text, tags):
    assert "default-src 'none'" in text
    links = [value for _, name, value in tags.attributes if name in ("href", "src", "xlink:href")]
    assert links
    assert all(value.startswith(("#", "data:")) for value in links)
    assert not re.search(r"url\((?!#)", text)
    assert "@import" not in text


def test_names_are_unique_and_every_reference_is_met(tags):
    ids = [value for _, name, value in tags.attributes if name == "id"]
    doubles = {one for one in ids if ids.count(one) > 1}
    assert not doubles
    for _, name, value in tags.attributes:
        if name in ("href", "xlink:href") and value.startswith("#"):
            assert value[1:] in ids
        if name == "aria-labelledby":
            assert value in ids


def test_every_picture_has_words_and_every_table_a_head(tags):
    drawn = [value for tag, name, value in tags.attributes if (tag, name) == ("svg", "aria-label")]
    assert len(drawn) == tags.tags.count("figure")
    assert all(len(words) > 30 for words in drawn)
    assert ("html", "lang", "en") in tags.attributes
    assert tags.tags.count("main") == 1
    assert tags.tags.count("h1") == 1


def luminance(colour: str) -> float:
    """WCAG 2.2, "relative luminance"."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return float(np.dot(linear, (0.2126, 0.7152, 0.0722)))


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_by_hand():
    # WCAG 2.2: black on white is 21:1; #777777 on white is 4.48:1, a well-known near miss.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("dark", [False, True])
def test_text_stands_out(text, dark):
    # WCAG 2.2 success criterion 1.4.3: 4.5:1 for text; 1.4.11: 3:1 for lines of a drawing.
    css = text[text.index("<style>") : text.index("</style>")]
    rules = re.findall(r":root\{([^}]*)\}", css)
    at_first = dict(re.findall(r"--([\w-]+):(#\w+)", ";".join(rules)[: len(css)]))
    light: dict[str, str] = {}
    for place in re.finditer(r"(@media ([^{]*)\{)?:root\{([^}]*)\}", css):
        if place[2] is None or (dark and "dark" in place[2]):
            light.update(re.findall(r"--([\w-]+):(#[0-9a-f]{6})\b", place[3]))
    assert at_first
    for back in ("paper", "card"):
        for front in ("text", "soft", "link", "mark"):
            assert contrast(light[front], light[back]) >= 4.5, (front, back)
    assert contrast(light["band-text"], light["band"]) >= 4.5
    for zone in ("card", "zone1", "zone2", "zone3", "zone4", "zone5", "pale"):
        assert contrast(light["ink"], light[zone]) >= 4.5, zone
    for line in ("blue", "vermilion", "green", "purple", "grey"):
        # orange and purple are never used alone: marker and dash tell them apart as well
        least = 2.2 if line in ("purple",) else 3.0
        assert contrast(light[line], light["card"]) >= least, line


def test_same_document_same_bytes(evil, text, tmp_path):
    assert page.html(evil) == text
    one = pdf.save(evil, tmp_path / "one.pdf").read_bytes()
    two = pdf.save(evil, tmp_path / "two.pdf").read_bytes()
    assert one == two
    assert one.startswith(b"%PDF")
    assert page.MARKER.encode() in one


def test_pictures_take_the_colours_of_the_page(evil):
    sides = [block for block in evil.parts[0].sections[0].blocks if isinstance(block, Columns)]
    picture = sides[0].left[0]
    drawn = page_svg.svg(picture, 1)
    assert "var(--blue)" in drawn
    assert not set(re.findall(r"#[0-9a-f]{6}\b", drawn)) & set(page_svg.THEME)


def test_sound_in_the_page_is_a_wav_of_true_scale(evil):
    import io

    from scipy.io import wavfile

    samples = 0.5 * np.sin(2 * np.pi * 31.5 * np.arange(RATE) / RATE)
    data = page_sound.wav(samples, 2.0)
    rate, numbers = wavfile.read(io.BytesIO(data))
    assert rate == RATE
    # 0.5 Pa at full scale 2 Pa: a quarter of 32767; one step of rounding.
    assert np.max(numbers) == pytest.approx(32767 / 4, abs=1)
    alone = Part("client", "For you", (Section("Listen", (Sound("A tone", data),)),))
    text = page.html(replace(evil, parts=(alone,)))
    assert text.count("<audio") == 1
    assert "data:audio/wav;base64,UklGR" in text  # "RIFF"
