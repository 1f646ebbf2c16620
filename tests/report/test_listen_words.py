"""What the sheet of sound files says of a change. Thresholds: ISO 226:2023 Table 1."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import designs
import numpy as np

from impact.base import bands
from impact.report import listen


def test_what_is_below_the_threshold_is_not_called_half_as_loud():
    """63 Hz (threshold 37.5 dB) 50 to 44 dB: 6 dB, noticeable from 4.7 up. 200 Hz (14.4 dB) 30 to 5
    dB is no longer heard. 1 kHz (2.4 dB) lies under it with and without."""
    bare, design = np.full(28, -200.0), np.full(28, -200.0)
    for hertz, before, after in ((63, 50.0, 44.0), (200, 30.0, 5.0), (1000, 1.0, -30.0)):
        bare[bands.index(hertz)], design[bands.index(hertz)] = before, after
    made = SimpleNamespace(recordings={
        name: SimpleNamespace(name=name, levels=levels, a_fast=30.0)
        for name, levels in (("bare", bare), ("design", design))
    })  # fmt: skip
    text = " ".join(" ".join(listen.summary(made)).split())
    assert "thud as heard (20 to 80 Hz), design against bare: -6.0 dB, noticeably quieter" in text
    assert "knock as heard (100 to 315 Hz), design against bare: -25.0 dB, no longer heard" in text
    assert "(400 to 5000 Hz), design against bare: -31.0 dB, not heard in either" in text


def test_the_picture_names_its_design_and_carries_the_cautions():
    from impact.report import style

    one = SimpleNamespace(name="bare", samples=np.ones(48000) * 1e-3, a_fast=30.0)
    made = SimpleNamespace(design=replace(designs.basement(), name="Flat 2"), who="child",
                           recordings={"bare": one, "design": one})  # fmt: skip
    with style.look():
        figure = listen.picture(made)
    assert figure.get_suptitle() == "Flat 2: a running child"
    assert "licensed" in figure.get_supxlabel()
