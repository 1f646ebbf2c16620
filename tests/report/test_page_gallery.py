"""The reports under examples/gallery belong to the designs beside them and to their commands."""

from __future__ import annotations

import re

import pytest
from texts import EXAMPLES

import impact
from impact.report.page_blocks import MARKER

GALLERY = EXAMPLES / "gallery"
README = (GALLERY / "README.md").read_text(encoding="utf-8")
COMMANDS = re.findall(r"^    impact report (\S+)( --against \S+)? -o (\S+)$", README, re.MULTILINE)


def test_three_reports_are_linked_and_there():
    assert len(COMMANDS) == 3
    for _, _, stem in COMMANDS:
        page = EXAMPLES.parent / f"{stem}.html"
        assert page.is_file()
        assert f"({page.name})" in README


@pytest.mark.parametrize(("design", "against", "stem"), COMMANDS)
def test_page_is_that_of_its_design(design, against, stem):
    """A changed design leaves an old page behind: run the command of the README again."""
    page = (EXAMPLES.parent / f"{stem}.html").read_text(encoding="utf-8")
    digest = impact.read(EXAMPLES.parent / design).digest[:12]
    assert f"{MARKER} {impact.__version__}, design {digest}" in page
    if against:
        other = impact.read(EXAMPLES.parent / against.split()[-1])
        assert other.name in page
    assert "invented" in page.lower()
    assert len(page) < 700_000  # kept small enough to be mailed


def test_designs_of_the_gallery_say_that_they_are_invented():
    designs = list(GALLERY.glob("*.toml"))
    assert designs
    for path in designs:
        assert "invented" in path.read_text(encoding="utf-8").lower()
