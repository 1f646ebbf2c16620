"""A short seeded part of the fuzz in every test run; the long one with `pytest -m fuzz`."""

from __future__ import annotations

import itertools

import pytest

from . import run, trials


def crashes(of) -> list[str]:
    return [f"{kind}, seed {seed}: {verdict}" for kind, seed, verdict in of if "CRASH" in verdict]


def test_a_few_hundred_mutants_are_refused_or_read_as_written(tmp_path):
    found = list(run.run(450, seed=7, folder=tmp_path))
    assert crashes(found) == []
    verdicts = {(kind.split(",")[0], verdict) for kind, _, verdict in found}
    for kind in (
        "design",
        "spectrum",
        "command line",
        "meter file",
    ):  # both sides of the door are tried
        assert (kind, trials.ACCEPTED) in verdicts
        assert (kind, trials.REJECTED) in verdicts


def test_the_judge_sees_what_is_wrong():
    """A trial that fails in each of the ways is called a crash."""
    from impact.errors import Fault, InputError

    def fails(error):
        def trial():
            raise error

        return trial

    def hangs():
        for number in itertools.count():
            number.bit_length()

    for trial in (
        fails(KeyError("x")), fails(InputError("a.toml", [])),
        fails(InputError("a.toml", [Fault("", "no place is named here")])),
        fails(InputError("a.toml", [Fault("room", "bad")])), fails(trials.Wrong("misread")),
    ):  # fmt: skip
        assert trials.judged(trial).startswith("CRASH")
    assert "Hang" in trials.judged(hangs, seconds=0.1)
    sound = InputError("a.toml", [Fault("room.length", "0 m; must be 1 to 60 m")])
    assert trials.judged(fails(sound)) == trials.REJECTED


@pytest.mark.fuzz
def test_ten_thousand_mutants(tmp_path):
    assert crashes(run.run(10_000, seed=1, folder=tmp_path)) == []
