"""The season's page in a browser: legible on a phone and in the dark, nothing fetched, nothing cut off."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from nestwatch.season.tally.page.whole import season_page
from nestwatch.season.tally.records import Season
from tests.desk.served import DESKTOP, PHONE, violations
from tests.season.tally.page_seasons import a_full_season, a_pen, a_site, empty_season

Show = Callable[..., Page]
SMALL = a_pen(width=1.6, height=1.2)


@pytest.fixture
def show(browser: Browser, tmp_path: Path) -> Iterator[Show]:
    """A window on the page as a file; a request for anything else fails the test."""
    asked: list[str] = []
    pages: list[Page] = []

    def start(season: Season, **options: object) -> Page:
        file = tmp_path / "season.html"
        file.write_text(season_page(season, a_site(SMALL)), encoding="utf-8")
        page = browser.new_page(**options)  # type: ignore[arg-type]
        pages.append(page)
        page.on("request", lambda request: asked.append(request.url))
        page.goto(file.as_uri())
        return page

    yield start
    assert {url for url in asked if not url.endswith("/season.html")} == set()
    for page in pages:
        page.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desktop", "phone"])
def test_axe_finds_nothing(show: Show, scheme: str, size: dict[str, int]) -> None:
    """Deque's axe-core, as packaged by axe-playwright-python."""
    page = show(a_full_season(30, pen=SMALL), color_scheme=scheme, viewport=size)
    page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_the_empty_year_too(show: Show) -> None:
    assert violations(show(empty_season(), viewport=PHONE)) == []


@pytest.mark.parametrize(("scheme", "ink"), [("light", "rgb(28, 33, 30)"), ("dark", "rgb(236, 233, 224)")])
def test_drawings_follow_light_and_dark(show: Show, scheme: str, ink: str) -> None:
    """The palette's ink is what letters of a drawing are filled with; the browser says so."""
    page = show(a_full_season(4, pen=SMALL), color_scheme=scheme)
    filled = page.evaluate("getComputedStyle(document.querySelector('svg [fill=\"var(--ink)\"]')).fill")
    assert filled == ink


def test_paper_is_always_light_and_shows_the_numbers(show: Show) -> None:
    page = show(a_full_season(4, pen=SMALL), color_scheme="dark")
    page.emulate_media(media="print", color_scheme="dark")
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(28, 33, 30)"
    assert (
        page.evaluate("document.querySelector('details:not([open]) table').getBoundingClientRect().height")
        > 50
    )
