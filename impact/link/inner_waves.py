"""Waves inside hangers: from about their own first resonance up they are no plain springs.

A spring with mass hands on waves. Below its first resonance with both ends held it is the spring it
is at rest; above, what one end hands to the other no longer falls behind a stiff link, but rises
with frequency from resonance to resonance ("wave effects": J. C. Snowdon, Vibration and Shock in
Damped Mechanical Systems, 1968; L. Cremer, M. Heckl, B. A. T. Petersson, Structure-Borne Sound, 3rd
ed. 2005, ch. 3 and 5). Rubber is a rod of one wave, the thin leg of a channel a beam in bending;
the surge of coil springs is left out. That thin steel profiles between boards are springs up to
some 400 Hz only, and from there on are stiffer the higher the frequency, was found from measured
walls: J. L. Davy, C. Guigou-Carter, M. Villot, J. Acoust. Soc. Am. 131 (2012) 4615 (its abstract,
from memory).

What one end hands to the other is not what it feels itself: the transfer stiffness turns its sign
at each resonance, and taken for a spring it would give energy away. The averages by energy take
both (`energy.balance.point_link`); the modes a spring of the same size that loses (`in_band`).
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from impact.design.parts import Hangers

HELD = 4.730040744862704  # k L of a beam with both ends held in its first mode: cos x cosh x = 1
# Points of one ceiling are not alike: 5 and 95 % of their own resonances lie at f1/1.5, 1.5 f1, as
# far apart as thickness and length in a class make them (our choice, no source).
DIFFERENT = np.log(1.5) / ndtri(0.95)
SAMPLES = 96  # of these: most lie closer than a resonance of loss factor 0.02 is wide


def rod(ratio: Any, loss_factor: float) -> NDArray:
    """Transfer stiffness of a rod / its stiffness at rest, x/sin x, x = pi f/f1 [-].

    ratio : f/f1, any shape, f1 where half a wave fits; x is complex with the loss. Of its shape.
    """
    x = np.pi * np.asarray(ratio) / np.sqrt(1 + 1j * loss_factor)
    return np.asarray(x / np.sin(x))


def rod_end(ratio: Any, loss_factor: float) -> NDArray:
    """Stiffness at one end of a `rod` whose other end is held / its stiffness at rest, x cot x [-].

    ratio : as in `rod`. Of its shape.
    """
    x = np.pi * np.asarray(ratio) / np.sqrt(1 + 1j * loss_factor)
    return np.asarray(x / np.tan(x))


def leg(ratio: Any, loss_factor: float) -> NDArray:
    """Transfer stiffness of a beam / its stiffness at rest, 12 EI/L³, ends held from turning [-].

    EI k³ (sin kL + sinh kL)/(1 - cos kL cosh kL), from the beam's equation; kL = 4.730 at its first
    resonance f1 with both ends held. ratio : f/f1, any shape. Of its shape.
    """
    x = _along_leg(ratio, loss_factor)
    return np.asarray(x**3 / 12 * (np.sin(x) + np.sinh(x)) / (1 - np.cos(x) * np.cosh(x)))


def leg_end(ratio: Any, loss_factor: float) -> NDArray:
    """Stiffness at one end of a `leg` whose other end is held / its stiffness at rest [-].

    EI k³ (sin kL cosh kL + cos kL sinh kL)/(1 - cos kL cosh kL). ratio : as in `leg`. Of its shape.
    """
    x = _along_leg(ratio, loss_factor)
    turned = np.sin(x) * np.cosh(x) + np.cos(x) * np.sinh(x)
    return np.asarray(x**3 / 12 * turned / (1 - np.cos(x) * np.cosh(x)))


def _along_leg(ratio: Any, loss_factor: float) -> NDArray:
    """k L of a leg, complex with its loss; not quite at rest, where all is 0/0."""
    x = HELD * np.sqrt(np.asarray(ratio)) / (1 + 1j * loss_factor) ** 0.25
    return np.asarray(np.maximum(np.real(x), 1e-2) + 1j * np.imag(x))


def stiffness(hangers: Hangers, frequencies: NDArray) -> tuple[NDArray, NDArray]:
    """Stiffness of points of unlike own resonance, with loss [N/m], both (n, SAMPLES): from end to
    end, and at one end with the other held.

    frequencies (n,) [Hz]. The resonances are quantiles of a normal distribution of their
    logarithm. Points without one: (n, 1), as at rest.
    """
    if not np.isfinite(hangers.own_resonance):
        return (np.full((np.size(frequencies), 1), _at_rest(hangers)),) * 2
    across, end = _rise(*_law(hangers), tuple(np.ravel(frequencies)))
    return _at_rest(hangers) * across, _at_rest(hangers) * end


def in_band(hangers: Hangers, frequencies: Any, at_rest: Any = None) -> NDArray:
    """Springs in place of points in the third octave that each frequency lies in [N/m], with
    their loss, of the shape of `frequencies` [Hz]. As large as the mean of what points that differ
    hand from end to end, which is what they do together; what each does apart from the mean is left
    to the averages over energy. They lose at least what they do at rest: see the module.

    at_rest : complex stiffness of points of the same mass, of that shape; None for the hangers'
    own. In steps of bands, so that all lines of one have the same. Points without a resonance, and
    far below it, are as at rest.
    """
    own, f = _at_rest(hangers), np.asarray(frequencies, float)
    k = np.broadcast_to(own if at_rest is None else np.asarray(at_rest, complex), f.shape)
    if not np.isfinite(hangers.own_resonance):
        return np.array(k)
    centre = 1000 * 10 ** (np.round(10 * np.log10(f / 1000)) / 10)
    ratio = np.sqrt(np.maximum(np.abs(k) / abs(own), 1e-9))  # f1 goes with the root, see `stiffer`
    rise = _rise(*_law(hangers), tuple(np.ravel(centre / ratio)))[0].mean(axis=1).reshape(f.shape)
    phase = np.clip(np.angle(rise), 0.0, np.pi / 2 - np.angle(k))
    return np.asarray(k * np.abs(rise) * np.exp(1j * phase))


def stiffer(hangers: Hangers, dynamic_stiffness: float) -> Hangers:
    """The same points of another stiffness [N/m] and the same mass: f1 goes with its root."""
    ratio = dynamic_stiffness / hangers.dynamic_stiffness
    return replace(
        hangers, dynamic_stiffness=dynamic_stiffness,
        own_resonance=hangers.own_resonance * ratio**0.5,
    )  # fmt: skip


def _at_rest(hangers: Hangers) -> complex:
    return hangers.dynamic_stiffness * (1 + 1j * hangers.loss_factor)


def _law(hangers: Hangers) -> tuple[str, float, float]:
    return hangers.kind, hangers.own_resonance, hangers.loss_factor


@lru_cache(maxsize=128)
def _rise(
    kind: str, own: float, loss_factor: float, frequencies: tuple[float, ...]
) -> tuple[NDArray, NDArray]:
    """From end to end, and at an end, over the spring at rest, both (n, SAMPLES)."""
    apart = np.exp(DIFFERENT * ndtri((np.arange(SAMPLES) + 0.5) / SAMPLES))
    ratio = np.array(frequencies)[:, None] / (own * apart)
    laws = (leg, leg_end) if kind == "resilient channel" else (rod, rod_end)
    return laws[0](ratio, loss_factor), laws[1](ratio, loss_factor)
