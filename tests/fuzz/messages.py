"""Which lines and which messages of faults a run under `coverage` has reached, by folder.

    coverage run --source=impact -m pytest; coverage run -a --source=impact -m tests.fuzz.run
    python -m tests.fuzz.messages [.coverage] [--missing]

A message is a place in the code that makes one: a fault of an input, or an error raised. That it
was reached says that some test has brought it about, not that its words were looked at; the fuzz
looks at every one for file, place and reason (`trials.fit_to_read`).
"""

from __future__ import annotations

import argparse
import ast
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

# what users read, as these names are called to make it
FAULTS = {"Fault", "fault", "ask", "UnitError", "BadParameter", "UsageError"}
WRAPPERS = {"InputError", "DesignError", "Question"}  # of faults that are made elsewhere


@dataclass(frozen=True)
class Message:
    """A place that makes one. kind : "input", what users read, or "misuse", of the library."""

    path: Path
    line: int
    kind: str
    text: str


def messages(path: Path) -> Iterator[Message]:
    """All places of one file, by the first line of their statement."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = {}
    for statement in ast.walk(tree):
        if isinstance(statement, ast.Raise) and isinstance(statement.exc, ast.Call):
            name = _name(statement.exc)
            if name not in FAULTS | WRAPPERS:
                found[statement.lineno] = ("misuse", _text(statement.exc))
    for statement in ast.walk(tree):
        for part in _own_parts(statement):
            if isinstance(part, ast.Call) and _name(part) in FAULTS:
                found[statement.lineno] = ("input", _text(part))  # type: ignore[attr-defined]
    for line, (kind, text) in sorted(found.items()):
        yield Message(path, line, kind, text)


def _own_parts(statement: ast.AST) -> Iterator[ast.AST]:
    """Expressions of a statement, without those of the statements inside it."""
    if not isinstance(statement, ast.stmt) or isinstance(statement, ast.FunctionDef | ast.ClassDef):
        return
    waiting = list(ast.iter_child_nodes(statement))
    while waiting:
        part = waiting.pop()
        if not isinstance(part, ast.stmt):
            yield part
            waiting += ast.iter_child_nodes(part)


def _name(call: ast.Call) -> str:
    return call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")


def _text(call: ast.Call) -> str:
    return " ".join(ast.unparse(call).split())[:100]


def main() -> None:
    """Print lines and messages by folder; with --missing, those not reached."""
    from coverage import Coverage

    parser = argparse.ArgumentParser(prog="python -m tests.fuzz.messages")
    parser.add_argument("data", nargs="?", default=".coverage")
    parser.add_argument("--missing", action="store_true")
    parser.add_argument("--package", type=Path, default=Path(__file__).parents[2] / "impact")
    asked = parser.parse_args()
    known = Coverage(data_file=asked.data, config_file=False)
    known.load()
    counts: Counter[tuple[str, str]] = Counter()
    left = []
    for path in sorted(asked.package.rglob("*.py")):
        folder = path.relative_to(asked.package).parts[0].removesuffix(".py")
        _, statements, _, missing, _ = known.analysis2(str(path))
        counts[folder, "lines"] += len(statements)
        counts[folder, "lines reached"] += len(statements) - len(missing)
        for one in messages(path):
            reached = one.line not in missing
            counts[folder, one.kind] += 1
            counts[folder, f"{one.kind} reached"] += reached
            if not reached:
                left.append(f"{path.relative_to(asked.package)}:{one.line} {one.kind}: {one.text}")
    print("\n".join(table(counts)))
    if asked.missing:
        print("\n".join(["", "not reached", *left]))


def table(counts: Counter[tuple[str, str]]) -> list[str]:
    """Lines of the table; the last one sums up."""
    folders = sorted({folder for folder, _ in counts})
    out = [f"{'':<12}{'lines':>22}{'messages to users':>22}{'to callers':>18}"]
    for folder in [*folders, "all"]:
        cells = []
        for kind, width in (("lines", 22), ("input", 22), ("misuse", 18)):
            whole, part = (
                sum(n for (at, what), n in counts.items() if what == key and folder in (at, "all"))
                for key in (kind, f"{kind} reached")
            )
            cells.append(f"{f'{part} of {whole}, {part / whole:.0%}' if whole else '-':>{width}}")
        out.append(f"{folder:<12}{''.join(cells)}")
    return out


if __name__ == "__main__":
    main()
