"""The page in a real browser: quiet, offline, fits a telephone, plays; skipped without Chromium."""

from __future__ import annotations

import browser
import pytest


@pytest.fixture(scope="module")
def opened(request, tmp_path_factory):
    program = browser.find()
    if program is None:
        pytest.skip(f"no browser found ({', '.join(browser.NAMES)}): the page was not opened")
    folder = tmp_path_factory.mktemp("page")
    text = request.getfixturevalue("report_page")
    (folder / "page.html").write_text(text, encoding="utf-8")
    shown = browser.Browser(program, folder / "profile")
    yield shown, folder / "page.html"
    shown.close()


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("width", [360, 400, 1280])
def test_quiet_offline_and_no_wider_than_the_window(opened, width, dark):
    shown, path = opened
    shown.size(width)
    shown.dark(dark)
    shown.open(path)
    wide = shown.ask("document.documentElement.scrollWidth")
    assert wide <= shown.ask("window.innerWidth")
    assert wide <= width
    assert shown.complaints() == []
    assert shown.requests() == []
    back = shown.ask("getComputedStyle(document.body).backgroundColor")
    light = sum(int(n) for n in back[4:-1].split(",")) > 3 * 128
    assert light is not dark


def test_sound_loads(opened):
    shown, path = opened
    shown.open(path)
    seconds = shown.ask(
        "new Promise(done => { const a = document.querySelector('audio');"
        "if (a.readyState > 0) done(a.duration); a.onloadedmetadata = () => done(a.duration);"
        "a.onerror = () => done(-1); setTimeout(() => done(-2), 20000); })"
    )
    assert seconds == pytest.approx(1.0, abs=0.01)  # the tone of this test lasts one second


def test_keyboard_reaches_links_tables_and_player(opened):
    shown, path = opened
    shown.open(path)
    kinds = shown.ask(
        "[...document.querySelectorAll('a,audio,[tabindex]')].filter(e => e.tabIndex >= 0)"
        ".map(e => e.tagName).filter((v, i, all) => all.indexOf(v) === i).sort().join()"
    )
    assert {"A", "AUDIO", "DIV", "PRE"} <= set(kinds.split(","))
    wide = shown.ask(
        "[...document.querySelectorAll('table')].filter(t => !t.closest('[tabindex]')).length"
    )
    assert wide == 0


def test_words_of_a_screen_reader(opened):
    shown, path = opened
    shown.open(path)
    nodes = shown.call("Accessibility.getFullAXTree")["nodes"]
    roles = [node.get("role", {}).get("value") for node in nodes]
    pictures = ("image", "img", "graphics-document")
    names = [
        node.get("name", {}).get("value", "")
        for node, role in zip(nodes, roles, strict=True)
        if role in pictures
    ]
    assert "main" in roles
    assert "navigation" in roles
    assert sum("Three bars" in name for name in names) == 1
