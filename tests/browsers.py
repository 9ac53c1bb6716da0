"""One headless browser for all tests of pages. Without a browser they fail, never skip."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import suppress

import pytest
from playwright.sync_api import Browser, Playwright, sync_playwright
from playwright.sync_api import Error as PlaywrightError

_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge")


def launch(driver: Playwright) -> Browser:
    """The browser that NESTWATCH_BROWSER names, else the first on PATH, else an installed Chrome or Edge,
    else the one that `playwright install chromium` fetched. Without any the test fails."""
    program = os.environ.get("NESTWATCH_BROWSER") or next(filter(None, map(shutil.which, _NAMES)), None)
    if program:
        return driver.chromium.launch(executable_path=program)
    for channel in ("chrome", "msedge", None):
        with suppress(PlaywrightError):
            return driver.chromium.launch(channel=channel)
    pytest.fail(
        "no Chromium was found: install one (Debian: apt-get install chromium; anywhere: playwright install "
        "chromium), or name it in NESTWATCH_BROWSER; the pages are never left untested",
        pytrace=False,
    )


def one_browser() -> Iterator[Browser]:
    """The browser, closed in the end. Playwright allows a process only one of these at a time."""
    with sync_playwright() as driver:
        browser = launch(driver)
        yield browser
        browser.close()
