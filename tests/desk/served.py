"""Desks that are served, browser windows on them, and what axe-core finds there."""

from __future__ import annotations

import threading
from datetime import datetime
from pathlib import Path
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page

from nestwatch.desk import LocalServer, make_server, morning_app
from nestwatch.site import load_site
from tests.desk.mornings import MORNING

PATIENCE_MS = 30_000
PHONE = {"width": 390, "height": 800}
DESKTOP = {"width": 1280, "height": 860}


class Served:
    """Desks that are served until the test ends, and the browser windows on them."""

    def __init__(self, browser: Browser) -> None:
        self._browser = browser
        self._servers: list[tuple[LocalServer, threading.Thread]] = []
        self._contexts: list[BrowserContext] = []
        self.faults: list[str] = []

    def open(self, path: Path, at: datetime = MORNING, **options: Any) -> Page:
        """A window of its own on a desk of its own, on the morning page."""
        server = make_server(morning_app(load_site(path), path.parent / "nights", clock=lambda: at))
        thread = threading.Thread(target=server.run, daemon=True)
        thread.start()
        self._servers.append((server, thread))
        context = self._browser.new_context(**{"viewport": DESKTOP, "reduced_motion": "reduce"} | options)
        self._contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        here = server.start_url.split("/start")[0]
        page.on("pageerror", lambda error: self.faults.append(str(error)))
        page.on("request", lambda request: self._watch(request.url, here))
        page.goto(server.start_url)
        return page

    def _watch(self, url: str, here: str) -> None:
        if not url.startswith((f"{here}/", f"blob:{here}/")):
            self.faults.append(f"asked for {url}")

    def close(self) -> None:
        for context in self._contexts:
            context.close()
        for server, thread in self._servers:
            server.close()
            thread.join(timeout=10)


def violations(page: Page) -> list[str]:
    """Broken rules of axe-core: WCAG 2.2 A and AA and best practice."""
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    found = Axe().run(page, options={"runOnly": {"type": "tag", "values": tags}})
    return [f"{each['id']}: {each['nodes'][0]['html']}" for each in found.response["violations"]]
