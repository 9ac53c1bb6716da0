"""A season of one box in a real browser, with a phone's finger; and what axe-core finds on the pages."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from nestwatch.season.incubation.checks import checks
from nestwatch.season.incubation.containers import container_called
from nestwatch.season.incubation.hatchings import hatchings, settle_egg
from nestwatch.season.incubation.probes import probe_called
from nestwatch.season.incubation.readings import enter_reading, series_of
from tests.desk.eggs.boxes import LATER, a_file, boxed, nine_eggs, open_at
from tests.desk.mornings import MORNING
from tests.desk.served import DESKTOP, PHONE, Served, violations

Open = Callable[..., Page]


@pytest.fixture
def incubation(browser: Browser) -> Iterator[Open]:
    """`incubation(site_file, at)` is the page of all boxes; a fault in its scripts fails the test."""
    served = Served(browser)

    def start(path: Path, at: Any = LATER, **options: Any) -> Page:
        page = served.open(path, at, **options)
        page.get_by_role("link", name="Incubation").click()
        return page

    yield start
    served.close()
    assert served.faults == []


def outcomes(site_file: Path) -> list[tuple[str, str, float | None]]:
    """What the record says became of eggs, read by itself."""
    with open_at(nine_eggs(site_file)) as record:
        return [(each.position, each.outcome, each.mass_g) for each in hatchings(record)]


def enter(page: Page, button: str, form: str, fields: dict[str, str]) -> None:
    """Fill a form's fields by their labels and press its button with a finger."""
    here = page.locator(f"form#{form}")
    for label, value in fields.items():
        here.get_by_label(label).fill(value)
    here.get_by_role("button", name=button).tap()


def test_from_the_box_to_the_hatchling_and_back(incubation: Open, site_file: Path, tmp_path: Path) -> None:
    """Box, eggs, probe, a logger's file, a check, a hatching, a growth entry refused, and taken back."""
    site = nine_eggs(site_file)
    said = "#said"
    page = incubation(site_file, MORNING, viewport=PHONE, has_touch=True)
    enter(page, "Enter the box", "new-box", {"Label": "A1", "What the eggs lie in": "vermiculite"})
    expect(page.locator(said)).to_have_text("Entered: box A1: entered.")
    expect(page.locator("h1")).to_have_text("Box A1")
    enter(page, "Put them in", "place", {"How many": "9"})
    expect(page.locator(said)).to_have_text("Entered: box A1: 9 eggs of 2026-06-12 dig 1.")
    expect(page.locator(".egg")).to_have_count(9)
    enter(page, "Enter the probe", "probe", {"Name": "p1"})
    expect(page.locator(said)).to_have_text("Entered: probe p1.")

    page = incubation(site_file, LATER, viewport=PHONE, has_touch=True)
    page.get_by_role("link", name="A1", exact=True).tap()
    page.set_input_files(
        "form#log input[type=file]",
        {"name": "log.csv", "mimeType": "text/csv", "buffer": a_file(5, 120.0, header="").encode()},
    )
    page.locator("form#log").get_by_role("button", name="Take it in").tap()
    expect(page.locator("#told-words")).to_contain_text("fits eggs in neither; say °C or °F.")
    page.set_input_files(
        "form#log input[type=file]", {"name": "log.csv", "mimeType": "text/csv", "buffer": a_file(5).encode()}
    )
    page.locator("form#log").get_by_label("°C").check()
    page.locator("form#log").get_by_role("button", name="Take it in").tap()
    expect(page.locator(said)).to_have_text("Entered: probe p1: 120 readings of log.csv.")
    expect(page.locator(".plot")).to_have_attribute(
        "aria-label",
        "Temperatures of box A1: probe p1 28.6 °C at 2026-06-18 05:10; lowest 28.4, highest 28.6 °C; "
        "1 stretch without readings",
    )

    page.get_by_role("link", name="Egg 3").tap()
    page.locator("form#check-egg").get_by_label("developing").check()
    page.locator("form#check-egg").get_by_role("button").tap()
    expect(page.locator(said)).to_have_text("Entered: box A1 egg 3: developing.")
    page.locator("form#settle").get_by_label("alive").check()
    enter(page, "Enter what became of it", "settle", {"Hatchling, grams": "6,1", "Name or number": "E1"})
    expect(page.locator(said)).to_have_text("Entered: box A1 egg 3: alive.")
    enter(page, "Enter the measurement", "growth", {"Mass, grams": "64"})
    expect(page.locator("#told-words")).to_contain_text("E1 weighed 6.1 g last, and 64 g now?")
    expect(page.get_by_role("button", name="It is so: enter it")).to_be_focused()
    assert outcomes(site_file) == [("3", "alive", 6.1)]
    page.get_by_role("button", name="Take back: box A1 egg 3: alive").tap()
    expect(page.locator(said)).to_have_text("Taken back: box A1 egg 3: alive.")
    expect(page.locator("form#settle").get_by_label("alive")).not_to_be_checked()
    assert outcomes(site_file) == []
    with open_at(site) as record:
        assert [each.saw for each in checks(record, container_called(record, "A1"))] == ["developing"]
        assert len(series_of(record, probe_called(record, "p1")).seconds) == 120


def test_without_scripts(incubation: Open, site_file: Path) -> None:
    """Forms are ordinary ones: entered, refused with what was typed, confirmed, taken back."""
    boxed(site_file)
    page = incubation(site_file, java_script_enabled=False)
    page.get_by_role("link", name="A1", exact=True).click()
    form = page.locator("form#reading")
    form.get_by_label("Temperature").fill("45")
    form.get_by_role("button", name="Enter the reading").click()
    expect(page.locator("#told-words")).to_contain_text("45.0 °C is far from what is plausible")
    expect(form.get_by_label("Temperature")).to_have_value("45")
    page.get_by_role("button", name="It is so: enter it").click()
    expect(page.locator("#said")).to_have_text("Entered: probe p1: 45.0 °C by hand.")
    page.get_by_role("button", name="Take back").click()
    expect(page.locator("#said")).to_have_text("Taken back: probe p1: 45.0 °C by hand.")


def test_what_was_typed_stays_when_the_program_stops(incubation: Open, site_file: Path) -> None:
    boxed(site_file)
    page = incubation(site_file)
    page.get_by_role("link", name="A1", exact=True).click()
    page.route("**/eggs/enter/**", lambda route: route.abort())
    form = page.locator("form#weigh")
    form.get_by_label("The whole box").fill("890")
    form.get_by_role("button", name="Enter the weighing").click()
    expect(page.locator("#told-words")).to_contain_text("what you typed is still here")
    expect(form.get_by_label("The whole box")).to_have_value("890")


@pytest.mark.parametrize(("scheme", "size"), [("light", PHONE), ("dark", DESKTOP)], ids=["phone", "desktop"])
def test_axe_finds_nothing(incubation: Open, site_file: Path, scheme: str, size: dict[str, int]) -> None:
    """Deque's axe-core, as packaged by axe-playwright-python; and WCAG 2.5.5, targets of 44 pixels."""
    site = boxed(site_file)
    with open_at(site) as record:
        settle_egg(record, "A1", "1", {"outcome": "alive", "name": "E1"})
        for days in (1, 2, 50):
            enter_reading(record, site, "p1", 28.4, at=MORNING + timedelta(days=days))
    page = incubation(site_file, color_scheme=scheme, viewport=size)
    here = page.url.split("/eggs")[0]
    for path in ("/eggs/", "/eggs/box/A1", "/eggs/egg/1", "/eggs/egg/2", "/eggs/label?box=A1&text=Box+A1"):
        page.goto(here + path)
        for summary in page.locator("summary").all():
            summary.click()
        assert violations(page) == [], path
        pressed = "button, a.button, .egg, .top nav a, .jump a, .ticks label, select, summary"
        script = """pressed => [...document.querySelectorAll(pressed)]
            .filter(each => each.checkVisibility()).filter(each => each.getBoundingClientRect().height < 43.9)
            .map(each => each.textContent)"""
        assert page.evaluate(script, pressed) == [], path
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), path
