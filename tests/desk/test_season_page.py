"""The season among the desk's pages: the tally's own body, years beside each other, nobody let in unasked."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from nestwatch.season.nights import catch_up
from tests.desk.eggs.boxes import EggDesk, boxed, open_at, plain
from tests.desk.mornings import MORNING, a_dig, footage_entry, write_night
from tests.desk.served import DESKTOP, PHONE, Served, violations

EARLIER = date(2025, 6, 20)


@pytest.fixture
def two_years(site_file: Path) -> Path:
    """A nest in 2025, and nine eggs of 2026 in a box."""
    site = boxed(site_file)
    dig = a_dig(1, "21:20", "22:50", night=EARLIER, pictures={}, clip=None)
    write_night(site_file.parent, [dig], EARLIER, footage=[footage_entry(EARLIER, zone_seen=None)])
    with open_at(site, MORNING) as record:
        catch_up(record, site, site_file.parent / "nights")
    return site_file


@pytest.fixture
def open_desk(browser: Browser) -> Iterator[Callable[..., Page]]:
    served = Served(browser)
    yield served.open
    served.close()
    assert served.faults == []


def desk_on(site_file: Path) -> EggDesk:
    return EggDesk(boxed(site_file), MORNING + timedelta(days=61))


def test_the_latest_season_and_the_one_before(two_years: Path) -> None:
    from nestwatch.site import load_site

    desk = EggDesk(load_site(two_years))
    page = plain(desk.get("/season/").text)
    assert "Season 2026" in page
    assert "Not seen: 66 of 67 nights" in page, "what was not looked at stands first"
    assert 'href="/season/2025"' in desk.get("/season/").text
    assert "Season 2025" in plain(desk.get("/season/2025").text)
    missing = desk.get("/season/1999")
    assert missing.status_code == 404
    assert "holds no night of 1999; it has 2025, 2026" in plain(missing.text)


def test_a_record_without_a_night(site_file: Path) -> None:
    from nestwatch.site import load_site

    answer = EggDesk(load_site(site_file)).get("/season/")
    assert answer.status_code == 200
    assert "holds no night yet, so there is no season to tally" in plain(answer.text)


def test_weather_that_asks_something_is_left_out_and_told(site_file: Path) -> None:
    desk = desk_on(site_file)
    (site_file.parent / "weather.csv").write_text(
        "date,temp,rain\n05/07/2026 10:00,20,0\n05/07/2026 11:00,21,0\n"
    )
    assert "The weather is left out. weather.csv: " in plain(desk.get("/season/").text)


def test_nobody_else_sees_it(site_file: Path) -> None:
    stranger = desk_on(site_file).client.application.test_client()
    for path in ("/season/", "/season/2026", "/season/season.css"):
        assert stranger.get(path, base_url="http://127.0.0.1:8123").status_code == 403


@pytest.mark.parametrize(("scheme", "size"), [("light", PHONE), ("dark", DESKTOP)], ids=["phone", "desktop"])
def test_axe_finds_nothing(
    open_desk: Callable[..., Page], two_years: Path, scheme: str, size: dict[str, int]
) -> None:
    """Deque's axe-core; and that the page's policy lets its drawings stand."""
    page = open_desk(two_years, color_scheme=scheme, viewport=size)
    refused: list[str] = []
    page.on("console", lambda message: refused.append(message.text) if message.type == "error" else None)
    page.get_by_role("link", name="Season").click()
    assert violations(page) == []
    assert refused == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    tall = "[...document.querySelectorAll('.top nav a')].map(each => each.getBoundingClientRect().height)"
    assert max(page.evaluate(tall)) < 60, "a word of the menu is broken"
