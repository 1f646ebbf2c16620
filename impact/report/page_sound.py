"""Players of the report's page: the recordings of `impact listen`, shortened, all at one scale."""

from __future__ import annotations

import io
import wave
from typing import TYPE_CHECKING

import numpy as np

from impact.report.page_blocks import Sound
from impact.study import listen

if TYPE_CHECKING:
    from collections.abc import Sequence

    from impact.chain import Prediction

SECONDS = 8.0  # a file: some ten steps, half a megabyte in the page
LARGEST = 2**15 - 1  # of a 16 bit sample


def players(prediction: Prediction, others: Sequence[Prediction], seed: int) -> tuple[Sound, ...]:
    """Barefoot steps without and with the ceiling, of each other design, and the test tone."""
    found = _samples(prediction, ("bare", "design"), seed)
    tracks = [
        ("Steps without the ceiling", found["bare"]), ("Steps with the ceiling", found["design"]),
    ]  # fmt: skip
    for other in others:
        found = _samples(other, ("design",), seed)
        tracks.append((f"Steps with: {other.design.name}", found["design"]))
    tracks.append(("Test tone, first high, then deep", listen.reference_tone()))
    scale = listen.one_two_five(max(float(np.abs(samples).max()) for _, samples in tracks))
    return tuple(Sound(title, wav(samples, scale)) for title, samples in tracks)


def _samples(prediction: Prediction, variants: tuple[str, ...], seed: int) -> dict[str, np.ndarray]:
    """Sound pressure [Pa] of barefoot steps below each of the variants."""
    made = listen.render(prediction.joined, seconds=SECONDS, seed=seed, variants=variants)
    return {name: made.recordings[name].samples for name in variants}


def wav(samples: np.ndarray, full_scale: float) -> bytes:
    """Mono WAV of 16 bit integers, which every browser plays; the largest is `full_scale` [Pa]."""
    numbers = np.round(np.asarray(samples) / full_scale * LARGEST).astype("<i2")
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(listen.RATE)
        file.writeframes(numbers.tobytes())
    return out.getvalue()
