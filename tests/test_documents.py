"""Links and files that the documents name exist, and so do the documents that the code names."""

from __future__ import annotations

import fnmatch
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
FOLDERS = [ROOT / name for name in ("examples", "impact", "tests", "validation")]
KEPT = [*ROOT.glob("*.*"), *(path for folder in FOLDERS for path in folder.rglob("*.*"))]
DOCUMENTS = sorted(path for path in KEPT if path.suffix == ".md")
SOURCES = sorted(path for path in KEPT if path.suffix in {".py", ".toml"})
NAMES = {path.name for path in KEPT}

LINK = re.compile(r"\[[^\]]*\]\(([^)\s]+)\)")
FILE = re.compile(
    r"`([\w.*-]+(?:/[\w.*-]+)*\.(?:py|md|toml|csv|txt|png|html)|[\w-]+(?:/[\w-]+)+/?)`"
)
PART = re.compile(r"`(?:impact\.)?((?:\w+[./])?\w+)\.(\w+)`")  # of a module
MODULE = re.compile(r"python -m ((?:validation|tests)[\w.]*)")
DOCUMENT = re.compile(r"[\w/]*(?:README|SOURCE|DEVELOPERS|numbers_moved|notes/\w+)\.md\b")
WRITTEN = re.compile(r"my_room\.\w+|(?:results/)?NAME_\w+\.csv")  # by who types, or by a run


def id_of(path: Path) -> str:
    return str(path.relative_to(ROOT))


def anchors(path: Path) -> set[str]:
    """Headings as a reader of Markdown links to them: small letters, hyphens for blanks."""
    heads = re.findall(r"^#+ (.+)$", path.read_text(encoding="utf-8"), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


def found(name: str, beside: Path) -> bool:
    """A bare name: a file of this project; a path: from the document's folder or the usual ones."""
    if "/" not in name:
        return bool(fnmatch.filter(NAMES, name))
    places = (beside, ROOT, ROOT / "impact", ROOT / "validation")
    return any(list(place.glob(name.rstrip("/"))) for place in places)


@pytest.mark.parametrize("document", DOCUMENTS, ids=id_of)
def test_links_lead_somewhere(document):
    for target in LINK.findall(document.read_text(encoding="utf-8")):
        path, _, anchor = target.partition("#")
        to = (document.parent / path).resolve() if path else document
        assert to.exists(), target
        assert not anchor or anchor in anchors(to), target


@pytest.mark.parametrize("document", DOCUMENTS, ids=id_of)
def test_files_and_modules_named_exist(document):
    text = document.read_text(encoding="utf-8")
    for name in FILE.findall(text):
        assert WRITTEN.fullmatch(name) or found(name, document.parent), name
    for module in MODULE.findall(text):
        name = module.replace(".", "/")
        assert (ROOT / f"{name}.py").is_file() or (ROOT / name / "__main__.py").is_file(), module


@pytest.mark.parametrize("document", DOCUMENTS, ids=id_of)
def test_parts_of_modules_named_exist(document):
    for module, part in PART.findall(document.read_text(encoding="utf-8")):
        files = list((ROOT / "impact").rglob(f"{module.replace('.', '/')}.py"))
        text = "".join(path.read_text(encoding="utf-8") for path in files)
        assert not files or re.search(rf"\b{part}\b", text) or part == "py", f"{module}.{part}"


def test_documents_that_the_code_names_exist():
    for path in set(SOURCES) - {Path(__file__)}:
        for name in DOCUMENT.findall(path.read_text(encoding="utf-8")):
            assert found(name, path.parent), f"{id_of(path)}: {name}"


def test_every_note_is_named_on_the_page_of_validation():
    page = (ROOT / "validation" / "README.md").read_text(encoding="utf-8")
    notes = sorted(path.name for path in (ROOT / "validation" / "notes").glob("*.md"))
    assert len(notes) > 5
    for name in notes:
        assert f"](notes/{name})" in page, name


def test_what_is_missing_is_seen(tmp_path):
    assert LINK.findall("see [trials](no/where.md)") == ["no/where.md"]
    assert FILE.findall("`no_such.py`, `leaf/no_such`") == ["no_such.py", "leaf/no_such"]
    assert PART.findall("`heard/strikes.SOURCES`") == [("heard/strikes", "SOURCES")]
    assert not found("no_such.py", tmp_path)
    assert not found("leaf/no_such", tmp_path)
    assert found("leaf/basis.py", tmp_path)
    assert "a-case" in anchors(ROOT / "validation" / "README.md")
