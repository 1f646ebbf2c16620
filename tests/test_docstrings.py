"""Every public function says what it takes and gives: in words, with units, shapes and sources.

`impact explain` prints these docstrings as the method behind a number, so they are part of the
output. What is checked is form; whether an equation is right is for the other tests.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1] / "impact"
FILES = sorted(path for path in ROOT.rglob("*.py") if path.name != "__init__.py")
# Where numbers with a dimension are made. Units and shapes are wanted there.
PHYSICS = ("leaf", "link", "energy", "sound", "source", "rating", "gravity")
MODELS = ("leaf", "link", "energy", "sound", "source", "rating")

ARRAY = re.compile(r"\bndarray\b|\bNDArray\b")
NUMBER = re.compile(r"\bfloat\b|\bndarray\b|\bNDArray\b")
# "(28,)", "(P, n)", "(L, n) each", "shape of `centres`", "n bands", "as `levels`", "array-like"
SHAPE = re.compile(
    r"\((?:…|\.\.\.|[A-Za-z0-9' +*]+),(?:[^()]*)\)|shape|array-like|[Ll]ike|as in|\bn\b|scalar"
)
# "[Hz]", "[N/m3]", "dB", "Hz", "a level", "-", "share", "ratio": what the number counts
UNIT = re.compile(
    r"\[[^\]]{1,30}\]|\bdB\b|\bHz\b|\bkHz\b|\b(?:N|Pa|kg|m|s|rad)/|\bm2\b|\bm3\b|\bphon\b|\bpoints\b|"
    r"\b(?:metres|seconds|share|shares|ratio|factor|weights?|matrix|count|number|fraction|relative)\b"
    r"|\b\d+ (?:N|kg|m|s)\b|ratios?\b|kg\^|(?:^|[Ii]n |, )(?:m|s|N|Pa|kg|-)(?:[.;,)]| )"
)
SOURCE = re.compile(
    r"\b(?:19|20)\d\d\b|\bISO\b|\bIEC\b|\bASTM\b|\bEN \d|\bJIS\b|\bNIST\b|SCI P\d|design guides|"
    r"from memory|no source|published|[Dd]erived|textbook|Ritz|our own|definition|judgement|"
    r"[Gg]eometry|estimate"
)


def public(tree: ast.Module):
    """Public functions of a module, and public methods of its public classes."""
    for node in tree.body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield from ((node.name, part) for part in node.body if _is_public(part))
        elif _is_public(node):
            yield "", node


def _is_public(node: ast.AST) -> bool:
    return isinstance(node, ast.FunctionDef) and not node.name.startswith("_")


def faults(path: Path) -> list[str]:
    """What is missing in the docstrings of one file."""
    text = path.read_text(encoding="utf-8")
    tree = ast.parse(text)
    found = [] if ast.get_docstring(tree) else ["the module has no docstring"]
    physics = path.relative_to(ROOT).parts[0] in PHYSICS
    for owner, node in public(tree):
        name = f"{owner}.{node.name}" if owner else node.name
        doc = ast.get_docstring(node) or ""
        if len(doc) < 2:
            found.append(f"{name}: no docstring")
            continue
        given = " ".join(ast.unparse(a.annotation) for a in node.args.args if a.annotation)
        made = ast.unparse(node.returns) if node.returns else ""
        if physics and ARRAY.search(f"{given} {made}") and not SHAPE.search(doc):
            found.append(f"{name}: arrays without a shape")
        if physics and NUMBER.search(made) and not UNIT.search(doc):
            found.append(f"{name}: a number without its unit")
    return found


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_public_functions_say_units_and_shapes(path):
    assert faults(path) == []


@pytest.mark.parametrize("folder", MODELS)
def test_models_name_their_sources(folder):
    """A file that computes physics names a book, a standard, or says that it has no source."""
    silent = [
        path.name for path in FILES
        if path.relative_to(ROOT).parts[0] == folder
        and not SOURCE.search(path.read_text(encoding="utf-8"))
    ]  # fmt: skip
    assert silent == []


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("def f(x: float) -> float:\n    return x\n", "no docstring"),
        ('def f(x: float) -> float:\n    """Force of the heel."""\n', "without its unit"),
        ('def f(x: np.ndarray) -> None:\n    """Force of the heel [N]."""\n', "without a shape"),
    ],
)
def test_the_check_sees_what_is_missing(monkeypatch, tmp_path, text, word):
    folder = tmp_path / "link"
    folder.mkdir()
    (folder / "wrong.py").write_text(f'"""A module."""\n{text}', encoding="utf-8")
    monkeypatch.setattr("test_docstrings.ROOT", tmp_path)
    assert word in faults(folder / "wrong.py")[0]


def test_the_check_passes_what_is_complete(monkeypatch, tmp_path):
    (tmp_path / "link").mkdir()
    good = tmp_path / "link" / "good.py"
    good.write_text(
        '"""A module."""\ndef f(x: np.ndarray) -> float:\n    """Sum of forces x (n,) [N]."""\n',
        encoding="utf-8",
    )
    monkeypatch.setattr("test_docstrings.ROOT", tmp_path)
    assert faults(good) == []
