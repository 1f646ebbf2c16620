"""Every number in the page stands in the prediction's JSON."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser

import pytest

from impact.base.units import parse
from impact.report import page
from impact.report.page_blocks import Answer
from impact.study.compare import compare


class Numbers(HTMLParser):
    """Collects <data> elements, and the text of a part outside of them."""

    def __init__(self):
        super().__init__()
        self.found, self.inside, self.skip, self.loose, self.part = [], None, 0, [], ""

    def handle_starttag(self, tag, attributes):
        known = dict(attributes)
        if tag == "section" and known.get("class") == "part":
            self.part = known["id"]
        if tag == "data":
            self.inside = [known["data-from"], known["data-key"], known["value"], ""]
        if tag in ("svg", "style"):
            self.skip += 1

    def handle_endtag(self, tag):
        if tag == "data":
            self.found.append(tuple(self.inside))
            self.inside = None
        if tag in ("svg", "style"):
            self.skip -= 1

    def handle_data(self, data):
        if self.skip:
            return
        if self.inside is not None:
            self.inside[3] += data
        elif self.part == "client":
            self.loose.append(data)


@pytest.fixture(scope="module")
def read(report_page, small, predicted, faults):
    other = predicted("01_basement_rental.toml")
    parser = Numbers()
    parser.feed(report_page)
    parser.close()
    answers = {
        "predict": json.loads(json.dumps(small.as_dict())),
        "other1": json.loads(json.dumps(other.as_dict())),
        "pair1": json.loads(json.dumps(compare(small, other))),
        "tolerance": json.loads(json.dumps(faults.as_dict())),
    }
    return parser, answers


def test_every_number_equals_the_json(read):
    parser, answers = read
    checked = dict.fromkeys(answers, 0)
    for source, key, value, _ in parser.found:
        if source in answers:
            assert Answer(answers[source], "imperial").get(key) == float(value), key
            checked[source] += 1
    assert checked["predict"] > 500
    # One row of six numbers and a band for each number of bridged hangers and each other fault.
    rows = len(answers["tolerance"]["bridged"]) + len(answers["tolerance"]["faults"])
    assert checked["tolerance"] > 5 * rows


def test_what_is_shown_is_the_number(read):
    """The text is the number rounded as shown, or the same quantity in the reader's units."""
    parser, _ = read
    scales = (1, 100, 1e-6)  # as it is, in per cent, in millions
    for _, key, value, shown in parser.found:
        number = float(value)
        text = shown.replace("−", "-").replace(",", "")
        if re.fullmatch(r"[+-]?\d+(\.\d+)?", text):
            digits = len(text.partition(".")[2])
            half = 0.5001 * 10.0**-digits
            near = [abs(abs(float(text)) - abs(number * scale)) <= half for scale in scales]
            assert any(near), (key, value, shown)
        else:
            dimension = dimension_of(key)
            scale = 1e-3 if key.endswith("_mm") else 1
            # a length is shown to 1/16 in, other quantities to three digits
            fine = {"abs": 0.0008} if dimension == "length" else {"rel": 0.006}
            if key.endswith("headroom.lowest_m"):  # what is left is never rounded up
                assert -1e-6 <= number - parse(text, dimension) < 0.0254 / 16, (key, shown)
                continue
            assert parse(text, dimension) == pytest.approx(number * scale, **fine), (key, shown)


def dimension_of(key):
    if key.endswith("_n"):
        return "force"
    if "stiffness_per_area" in key:
        return "stiffness per area"
    if "mass_per_area" in key or key.endswith("kg_m2"):
        return "mass per area"
    return "length"


def test_no_loose_numbers_in_the_client_part(read):
    """What is left are definitions and names: nothing that was predicted."""
    parser, _ = read
    text = " ".join(parser.loose)
    known = [
        # what a change is; the caveat; a board's thickness in a lever's words
        r"less than 5 dB", r"10 dB less",
        r"5 dB", r"100 Hz", r"\(5/8 in, 15\.9 mm\)",
        r"2 in \(50 mm\)", r"4 psf \(20 kg/m2\)", r"16 to 200 Hz",
    ]  # fmt: skip
    for pattern in known:
        text = re.sub(pattern, "", text)
    assert not re.search(r"\d", text), re.findall(r".{20}\d+.{10}", text)


def test_layout_and_design_numbers(read, small):
    parser, _ = read
    layout = page.layout_of(small)
    found = {(source, key): float(value) for source, key, value, _ in parser.found}
    # The sum of the bill, line by line at the prices given.
    by_hand = sum(item.cost for item in layout.items if item.cost is not None)
    assert found["layout", "cost"] == pytest.approx(by_hand)
    # 9 in clear and three boards of 5/8 in, as the file has them: 10 7/8 in.
    assert found["design", "height_used_m"] == pytest.approx(10.875 * 0.0254, abs=1e-4)
