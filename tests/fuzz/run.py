"""Fuzz for developers: `python -m tests.fuzz.run [--count 10000] [--seed 1]`.

Mutates designs, spectra, exports of meters and command lines, and prints how many were rejected and
accepted and how many crashed, which must be none. A crash prints the seed that makes it again. A
tenth of the accepted designs is weighed (`impact.gravity`); `--predict N` predicts N more.
"""

from __future__ import annotations

import argparse
import itertools
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from impact.design.reader import read
from impact.errors import InputError

from . import commands, meters, mutate, seeds, trials

SHARE = {"design": 0.55, "spectrum": 0.15, "command": 0.15, "meter": 0.15}
WEIGHED = 10  # every tenth accepted design
WEIGHING = 120.0  # s: a load check of the largest room allowed is a calculation, not a refusal


def main() -> int:
    """Run it; exit code 1 when something crashed."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz.run", description=__doc__)
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--predict", type=int, default=0, metavar="N")
    asked = parser.parse_args()
    counts: Counter[tuple[str, str]] = Counter()
    crashes = []
    kept = Path(tempfile.mkdtemp(prefix="fuzz-"))
    started = time.monotonic()
    trials_of = (run(asked.count, asked.seed, kept), predicted(asked.predict, asked.seed, kept))
    for kind, seed, verdict in itertools.chain(*trials_of):
        counts[kind, verdict.split(":")[0]] += 1
        if verdict.startswith("CRASH"):
            crashes.append(f"{kind}, seed {seed}: {verdict}")
    print(f"seed {asked.seed}, {time.monotonic() - started:.0f} s")
    print(table(counts))
    print("\n".join(crashes[:100]))
    return 1 if crashes else 0


def table(counts: Counter[tuple[str, str]]) -> str:
    """Inputs, rejected, accepted, crashes of each kind, and their sums."""
    kinds = list(dict.fromkeys(kind for kind, _ in sorted(counts)))
    lines = [f"{'':<28}{'inputs':>9}{'rejected':>10}{'accepted':>10}{'crashes':>9}"]
    for kind in [*kinds, "all"]:
        cells = [
            sum(n for (k, v), n in counts.items() if kind in (k, "all") and v == verdict)
            for verdict in (trials.REJECTED, trials.ACCEPTED, "CRASH")
        ]
        lines.append(f"{kind:<28}{sum(cells):>9}{cells[0]:>10}{cells[1]:>10}{cells[2]:>9}")
    return "\n".join(lines)


def run(count: int, seed: int, folder: Path) -> Iterator[tuple[str, str, str]]:
    """(kind, seed to make it again, verdict) of `count` trials in `folder`."""
    numbers = {kind: round(share * count) for kind, share in SHARE.items()}
    yield from designs(numbers["design"], seed, folder)
    for number in range(numbers["spectrum"]):
        rng = random.Random(f"{seed}/spectrum/{number}")
        content = trials.mutated_spectrum(rng.choice(seeds.SPECTRA), rng)
        verdict = trials.judged(lambda content=content: trials.spectrum(content, folder))
        yield "spectrum", f"{seed}/spectrum/{number}", verdict
    yield from commands.run(numbers["command"], seed, folder)
    yield from meters.run(numbers["meter"], seed, folder)


def predicted(count: int, seed: int, folder: Path) -> Iterator[tuple[str, str, str]]:
    """Predictions of `count` designs with a scaled number that the reader accepts."""
    texts, done = seeds.designs(), 0
    for number in range(50 * count):
        label = f"{seed}/predicted/{number}"
        rng = random.Random(label)
        made = mutate.KINDS["a scaled number"][0](texts[rng.choice(sorted(texts))], rng)
        path = folder / "predicted.toml"
        path.write_bytes(made.content)
        try:
            read(path)
        except InputError:
            continue
        verdict = trials.judged(lambda path=path: trials.prediction(path), seconds=600)
        yield "prediction", label, verdict
        done += 1
        if done == count:
            return


def designs(count: int, seed: int, folder: Path) -> Iterator[tuple[str, str, str]]:
    """The trials of design files; each tenth accepted one is weighed too."""
    originals = {}
    for name, text in seeds.designs().items():
        path = folder / "original.toml"
        path.write_text(text, encoding="utf-8")
        originals[name] = (text, read(path))
    accepted = 0
    for number in range(count):
        label = f"{seed}/design/{number}"
        rng = random.Random(label)
        text, original = originals[rng.choice(sorted(originals))]
        made = mutate.mutant(text, rng)
        verdict = trials.judged(
            lambda made=made, text=text, original=original: trials.design(
                original, text, made, folder
            )
        )
        yield f"design, {made.kind}", label, verdict
        if verdict == trials.ACCEPTED:
            accepted += 1
            if accepted % WEIGHED == 0:
                yield (
                    "loads of it",
                    label,
                    trials.judged(lambda: trials.loads(folder / "fuzzed.toml"), WEIGHING),
                )


if __name__ == "__main__":
    sys.exit(main())
