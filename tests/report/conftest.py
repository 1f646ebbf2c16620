"""One report for all tests of the page: a small room, priced, with faults, beside another design.

Made once in a test run, for pages and predictions are what takes time here.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from impact.report import page, page_engineer, page_sound
from impact.report.page_blocks import Sound
from impact.site.tolerance import tolerance
from impact.study.listen import RATE

SMALL, OTHER = "06_cannot_lose_a_hanger.toml", "01_basement_rental.toml"
# Invented; one of each kind that a design can name.
PRICES = {"hanger": 22.0, "channel_per_m": 2.6, "board_per_m2": 7.5, "fill_per_m2": 11.8}


@pytest.fixture(scope="session")
def small(predicted):
    """The prediction of a small room, with prices."""
    made = predicted(SMALL)
    client = "A client of " + "Llanfair" * 8  # no place to break, wider than a telephone
    named = {**made.design.options, "currency": "USD", "client": client}
    return replace(made, design=replace(made.design, prices=PRICES, options=named))


@pytest.fixture(scope="session")
def faults(small):
    """What faults would cost it."""
    return tolerance(small.design, page_engineer.FAULT_SEED)


@pytest.fixture(scope="session")
def report(small, predicted, faults):
    """The document with another design, one second of tone and the faults."""
    tone = Sound("A tone", page_sound.wav(np.sin(np.arange(RATE)), 1.0))
    return page.document(small, [predicted(OTHER)], (tone,), 1, faults)


@pytest.fixture(scope="session")
def report_page(report):
    """The same as HTML."""
    return page.html(report)
