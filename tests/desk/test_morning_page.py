"""Whole mornings in a real browser: what is entered there is what the record then says."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from nestwatch.season.clutches import clutch_of
from nestwatch.season.digs import dig_called, digs_of
from nestwatch.season.open import open_record
from nestwatch.season.records import Clutch, Dig
from nestwatch.site import load_site
from tests.desk.mornings import MORNING, NEXT_MORNING, NIGHT, a_dig, three_digs, write_night
from tests.desk.served import DESKTOP, PHONE, Served, violations

Open = Callable[..., Page]


@pytest.fixture
def morning(browser: Browser) -> Iterator[Open]:
    """`morning(site_file, at)`; a fault in the page's scripts, or a request elsewhere, fails the test."""
    served = Served(browser)
    yield served.open
    served.close()
    assert served.faults == []


@pytest.fixture
def night(site_file: Path) -> Path:
    """The site file of a place with one scanned night of three digs."""
    write_night(site_file.parent, three_digs())
    return site_file


def found(path: Path, label: str) -> str | None:
    """What the record says of a dig, read by itself."""
    with open_record(load_site(path)) as record:
        find = dig_called(record, NIGHT, label).find
    return None if find is None else find.found


def clutch(path: Path, label: str) -> Clutch:
    with open_record(load_site(path)) as record:
        entered = clutch_of(record, dig_called(record, NIGHT, label).id)
    assert entered is not None
    return entered


def digs(path: Path) -> tuple[Dig, ...]:
    with open_record(load_site(path)) as record:
        return digs_of(record, NIGHT)


def shows(page: Page, label: str) -> None:
    """That a dig is the one to be answered, and has the focus's reading place."""
    expect(page.locator("#dig-title .rank")).to_have_text(label)
    expect(page.locator("#dig-title")).to_be_focused()


def test_a_whole_morning_and_the_next(morning: Open, night: Path) -> None:
    """Three digs: one eggs, one empty, one left; next morning the one that was left is on top."""
    page = morning(night)
    expect(page.locator(".headline")).to_contain_text("Not seen: sandbank 23:00–23:10")
    page.get_by_role("button", name="Eggs").click()
    shows(page, "2")
    expect(page.locator("#said")).to_have_text(
        "Entered for dig 1 of the night of 2026-06-12: eggs. Count the eggs"
    )
    page.keyboard.press("2")
    shows(page, "3")
    page.keyboard.press("3")
    expect(page.locator("#dig-title")).to_have_text("All answered for today")
    expect(page.locator(".done")).to_contain_text("1 is not dug yet and will stand at the top again")
    assert [found(night, label) for label in "123"] == ["eggs", "empty", "not-yet"]

    write_night(
        night.parent, [a_dig(1, "22:00", "23:00", night=NIGHT + timedelta(days=1))], NIGHT + timedelta(days=1)
    )
    page = morning(night, NEXT_MORNING)
    expect(page.locator("#dig-title .rank")).to_have_text("3")
    expect(page.locator(".since")).to_have_text("Laid about 22:50–23:02, 31 h 20 min ago")
    expect(page.locator("[data-show]")).to_have_count(2)
    page.keyboard.press("2")
    shows(page, "1")
    expect(page.locator("[data-show]")).to_have_count(1)  # settled: it waits no more
    assert found(night, "3") == "empty"


def test_set_aside_and_undo_by_keys_alone(morning: Open, night: Path) -> None:
    page = morning(night)
    page.keyboard.press("4")
    expect(page.get_by_role("button", name="another animal")).to_be_focused()
    page.keyboard.press("Escape")
    expect(page.locator("#aside")).to_be_hidden()
    page.keyboard.press("4")
    page.keyboard.press("Enter")  # the first reason offered
    shows(page, "2")
    assert found(night, "1") == "set-aside"
    page.keyboard.press("u")
    expect(page.locator("#said")).to_contain_text("Taken back: 2026-06-12 dig 1")
    shows(page, "1")
    assert found(night, "1") is None
    page.keyboard.press("n")
    shows(page, "2")
    page.keyboard.press("p")
    shows(page, "1")
    page.keyboard.press("4")
    page.fill("#why", "1 2 3 a mole")  # keys typed into a field answer nothing
    page.keyboard.press("Enter")
    shows(page, "2")
    assert [found(night, label) for label in "123"] == ["set-aside", None, None]


def test_single_keys_can_be_switched_off(morning: Open, night: Path) -> None:
    """WCAG 2.2, 2.1.4: single-character shortcuts can be turned off."""
    page = morning(night)
    page.click(".foot summary")
    page.uncheck("#keys")
    page.keyboard.press("1")
    page.reload()
    page.keyboard.press("2")
    expect(page.locator("#dig-title .rank")).to_have_text("1")
    assert found(night, "1") is None


def test_everything_is_reached_with_the_tab_key(morning: Open, night: Path) -> None:
    """From the dig's title, Tab reaches the answers; Enter answers."""
    page = morning(night)
    page.locator("#dig-title").focus()
    for _ in range(6):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.dataset.found") == "empty":
            break
    page.keyboard.press("Enter")
    shows(page, "2")
    assert found(night, "1") == "empty"


def test_the_clutch_after_the_eggs(morning: Open, night: Path) -> None:
    page = morning(night, viewport=PHONE, has_touch=True)
    page.get_by_role("button", name="Eggs").tap()
    page.locator("#said a").tap()
    for _ in range(9):
        page.get_by_role("button", name="One whole egg more").tap()
    page.get_by_role("button", name="One whole egg less").tap()
    page.get_by_role("button", name="One cracked egg more").tap()
    expect(page.locator("#total")).to_have_text("9 eggs")
    page.get_by_label("or a new name or number").fill("Ada")
    page.get_by_role("button", name="Just now").tap()
    page.get_by_role("button", name="Enter the clutch").tap()
    expect(page.locator("#said")).to_have_text("Entered: the clutch of dig 1 of the night of 2026-06-12.")
    expect(page.locator("#dig-title .rank")).to_have_text("2")
    entered = clutch(night, "1")
    assert (entered.eggs.whole, entered.eggs.cracked, entered.female) == (8, 1, "Ada")
    assert entered.lifted_at == MORNING.replace(second=0)


def test_too_many_eggs(morning: Open, night: Path) -> None:
    page = morning(night)
    page.keyboard.press("1")
    page.locator("#said a").click()
    page.get_by_label("Whole", exact=True).fill("12000")
    page.get_by_role("button", name="Enter the clutch").click()
    expect(page.locator("#told-words")).to_contain_text("12000 whole eggs cannot be")
    expect(page.locator("#told-sure")).to_be_hidden()
    page.get_by_label("Whole", exact=True).fill("60")
    page.get_by_role("button", name="Enter the clutch").click()
    expect(page.locator("#told-words")).to_contain_text("60 eggs are very many for one clutch")
    page.get_by_role("button", name="It is so").click()
    expect(page.locator("#said")).to_contain_text("Entered: the clutch")
    assert clutch(night, "1").eggs.total == 60


def test_a_missed_dig_from_stills(morning: Open, night: Path) -> None:
    """Scrubbed, pointed at and timed with the mouse; the place is where was clicked, to a pixel or two."""
    page = morning(night)
    page.get_by_role("link", name="Add a dig that was missed").click()
    expect(page.locator("#film button img")).to_have_count(12)
    page.locator("#film button").nth(9).click()
    page.click("#from-here")
    page.click("[data-by='600']")
    page.click("#to-here")
    expect(page.locator("#still-image")).to_have_attribute("data-shown", page.input_value("#slider"))
    script = """([x, y]) => { const m = document.getElementById('still').getScreenCTM();
                const p = new DOMPoint(x, y).matrixTransform(m); return [p.x, p.y]; }"""
    page.locator("#still").scroll_into_view_if_needed()
    page.mouse.click(*page.evaluate(script, [259.8, 69.4]))
    expect(page.locator("#spot-words")).to_contain_text("The spot is set: pixel 260, 69.")
    page.get_by_role("button", name="Add this dig").click()
    expect(page.locator("#said")).to_have_text("Added: dig A of the night of 2026-06-12.")
    expect(page.locator("#dig-title")).to_contain_text("Added by hand from footage")
    added = next(dig for dig in digs(night) if dig.label == "A")
    assert added.pixel == pytest.approx((259.8, 69.4), abs=2)
    assert added.plan_m == pytest.approx((1.95, 1.575), abs=0.06)  # stake_5 of the site file
    assert added.end - added.start == timedelta(minutes=10)
    page.keyboard.press("1")
    expect(page.locator("#said")).to_contain_text("dig A of the night of 2026-06-12: eggs")


def test_a_missed_dig_by_keys_alone(morning: Open, night: Path) -> None:
    page = morning(night)
    page.goto(page.url.replace("/?", "").rstrip("/") + "/night/2026-06-12/add")
    page.locator("#still-image[data-shown]").wait_for(state="attached")
    page.locator("#still").focus()
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Enter")
    expect(page.locator("#spot-words")).to_contain_text("The spot is set: pixel 185, 103.")
    page.fill("#from", "21:02")
    page.fill("#to", "21:14")
    page.locator("#to").press("Enter")
    expect(page.locator("#said")).to_have_text("Added: dig A of the night of 2026-06-12.")
    added = next(dig for dig in digs(night) if dig.label == "A")
    assert added.pixel == pytest.approx((176 + 8.8, 104 - 0.88), abs=0.06)  # the middle, ten steps and one


def test_two_desks_open_at_once(morning: Open, night: Path) -> None:
    one, other = morning(night), morning(night)
    one.keyboard.press("2")
    shows(one, "2")
    other.keyboard.press("1")
    expect(other.locator("#told-words")).to_contain_text("is now: empty")
    expect(other.locator(".entered")).to_contain_text("empty")
    assert found(night, "1") == "empty"
    other.keyboard.press("Escape")
    other.keyboard.press("1")  # having seen it, the keeper may change it
    shows(other, "2")
    assert found(night, "1") == "eggs"


def test_the_program_is_stopped(morning: Open, browser: Browser, night: Path) -> None:
    page = morning(night)
    page.route("**/api/**", lambda route: route.abort())
    page.keyboard.press("1")
    expect(page.locator("#told-words")).to_contain_text("does not answer; it was probably stopped")
    assert found(night, "1") is None


def test_the_calendar(morning: Open, night: Path) -> None:
    page = morning(night)
    page.keyboard.press("1")
    shows(page, "2")
    page.get_by_role("link", name="Nights").click()
    page.get_by_role("link", name="2026-06-12: 1 nest, 2 still to be settled").click()
    expect(page.locator("h1")).to_have_text("Night of Friday 12 June 2026")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desktop", "phone"])
def test_axe_finds_nothing(morning: Open, night: Path, scheme: str, size: dict[str, int]) -> None:
    """Deque's axe-core, as packaged by axe-playwright-python."""
    page = morning(night, color_scheme=scheme, viewport=size)
    here = page.url.rstrip("/")
    page.click(".account summary")
    page.keyboard.press("4")
    assert violations(page) == []
    page.get_by_role("button", name="another animal").click()
    shows(page, "2")
    for path in ("/clutch/1", "/nights/2026-06", "/entries", "/night/2026-06-12/add"):
        page.goto(here + path)
        page.wait_for_load_state("networkidle")
        assert violations(page) == [], path


@pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desktop", "phone"])
def test_targets_for_wet_hands(morning: Open, night: Path, size: dict[str, int]) -> None:
    """WCAG 2.2, 2.5.5 (AAA): 44 by 44 CSS pixels, for all that is pressed on the way."""
    page = morning(night, viewport=size)
    page.keyboard.press("4")
    script = """() => [...document.querySelectorAll('button, a.button, .dig-row, .top nav a')]
        .filter(each => each.checkVisibility())
        .map(each => [each.textContent, each.getBoundingClientRect()])
        .filter(([, box]) => box.height < 44 || box.width < 44).map(([text]) => text)"""
    assert page.evaluate(script) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
