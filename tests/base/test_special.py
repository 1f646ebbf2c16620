"""Functions of mathematics against tables, against scipy, and against their own definitions."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from scipy import fft
from scipy import special as theirs

from impact.base import decay, special


def test_normal_quantiles_of_tables():
    # Abramowitz/Stegun table 26.5, and of statistical tables anywhere: 97.5 %
    for p, x in ((0.5, 0.0), (0.975, 1.959963984540), (0.995, 2.575829303549), (0.05, -1.64485363)):
        assert float(special.normal_quantile(p)) == pytest.approx(x, abs=1e-8)


def test_normal_quantiles_of_scipy_to_both_tails():
    p = np.r_[
        10.0 ** -np.arange(1, 300, 7), np.linspace(0.001, 0.999, 999), 1 - 2.0 ** -np.arange(9, 50)
    ]
    np.testing.assert_allclose(special.normal_quantile(p), theirs.ndtri(p), rtol=1e-13, atol=1e-15)


def test_elliptic_integrals_of_tables_and_of_scipy():
    # Abramowitz/Stegun table 17.1, m = 0.5: K = 1.85407 46773 01372, E = 1.35064 38810 47676
    found = [float(each) for each in special.elliptic(0.5)]
    assert found == pytest.approx([1.854074677301372, 1.350643881047676], rel=1e-14)
    assert [float(each) for each in special.elliptic(0.0)] == pytest.approx([np.pi / 2] * 2)
    m = np.r_[10.0 ** -np.arange(1, 20), np.linspace(0, 0.9999, 500), 1 - 10.0 ** -np.arange(1, 13)]
    first, second = special.elliptic(m)
    np.testing.assert_allclose(first, theirs.ellipk(m), rtol=1e-13)
    np.testing.assert_allclose(second, theirs.ellipe(m), rtol=1e-13)


def test_trigamma_of_its_closed_values_and_of_scipy():
    # psi'(1) = pi²/6, psi'(1/2) = pi²/2 (Abramowitz/Stegun 6.4.2, 6.4.4)
    found = special.trigamma(np.array([1.0, 0.5]))
    np.testing.assert_allclose(found, [np.pi**2 / 6, np.pi**2 / 2], rtol=1e-13)
    x = np.geomspace(0.01, 1e4, 500)
    np.testing.assert_allclose(special.trigamma(x), theirs.polygamma(1, x), rtol=1e-13)


@pytest.mark.parametrize("real", [False, True])
def test_fast_lengths_are_those_of_scipy(real):
    for count in [*range(1, 700), *range(700, 200_000, 997)]:
        assert special.fast_length(count, real) == fft.next_fast_len(count, real=real)


@pytest.mark.parametrize("largest", [special.LARGE, 0])
def test_generalized_modes_of_two_masses_on_three_springs(monkeypatch, largest):
    """m = 1 and 4 kg, 2 N/m to either wall, 2 N/m between: (4 - w²)(4 - 4 w²) = 4, w² = (5 -+
    sqrt(13))/2."""
    monkeypatch.setattr(special, "LARGE", largest)
    stiffness, mass = np.array([[4.0, -2.0], [-2.0, 4.0]]), np.diag([1.0, 4.0])
    squares, vectors = special.generalized(stiffness, mass)
    np.testing.assert_allclose(squares, (5 + np.sqrt(13) * np.array([-1, 1])) / 2, rtol=1e-13)
    np.testing.assert_allclose(vectors.T @ mass @ vectors, np.eye(2), atol=1e-13)
    np.testing.assert_allclose(stiffness @ vectors, mass @ vectors * squares, atol=1e-12)


@pytest.mark.parametrize("count", [0, 1, 63, 64, 65, 1000, 10_000])
def test_a_meter_averages_sample_by_sample(count):
    values = np.random.default_rng(3).random((2, count))
    for kept in (0.0, 0.3, 0.984, 0.999_99):
        level, expected = np.zeros(2), np.zeros(values.shape)
        for n in range(count):
            level = kept * level + (1 - kept) * values[:, n]
            expected[:, n] = level
        np.testing.assert_allclose(decay.smoothed(values, kept), expected, rtol=1e-11, atol=0)


def test_what_predicts_loads_no_scipy():
    script = (
        "import sys, impact.chain, impact.report.tables, impact.design.reader\n"
        "sys.exit(any(name.split('.')[0] == 'scipy' for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0
