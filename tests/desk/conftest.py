"""A real browser, a served page, a small site to draw on. Without a browser these tests fail, never skip."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from nestwatch.desk import LocalServer, make_server, outline_app

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "synthetic" / "night"
_PATIENCE_MS = 30_000  # a busy computer is slow, not wrong
expect.set_options(timeout=_PATIENCE_MS)


@pytest.fixture
def night_folder(tmp_path: Path) -> Path:
    """The small kept night (docs/synthetic.md) in a folder of its own, to be drawn on."""
    folder = tmp_path / "Föhn site"
    shutil.copytree(SAMPLE, folder)
    return folder


@pytest.fixture
def site_file(night_folder: Path) -> Path:
    return night_folder / "site.toml"


@pytest.fixture
def serve() -> Iterator[Callable[[Path], LocalServer]]:
    """`serve(site_file)` serves the drawing page until the test ends."""
    served: list[tuple[LocalServer, threading.Thread]] = []

    def start(path: Path) -> LocalServer:
        server = make_server(outline_app(path))
        thread = threading.Thread(target=server.run, daemon=True)
        thread.start()
        served.append((server, thread))
        return server

    yield start
    for server, thread in served:
        server.close()
        thread.join(timeout=10)


OpenPage = Callable[..., Page]


@pytest.fixture
def open_page(browser: Browser, serve: Callable[[Path], LocalServer]) -> Iterator[OpenPage]:
    """`open_page(site_file)` is the loaded page; an error in its scripts, or a request elsewhere, fails the
    test."""
    contexts: list[BrowserContext] = []
    faults: list[str] = []

    def start(path: Path, **options: object) -> Page:
        server = serve(path)
        options.setdefault("viewport", {"width": 1280, "height": 860})
        context = browser.new_context(**options)  # type: ignore[arg-type]
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(_PATIENCE_MS)
        page.on("pageerror", lambda error: faults.append(str(error)))
        here = server.start_url.split("/start")[0]
        page.on(
            "request",
            lambda request: faults.append(request.url) if _is_elsewhere(request.url, here) else None,
        )
        page.goto(server.start_url)
        page.wait_for_selector("#picture image[data-shown]", state="attached")
        return page

    yield start
    for context in contexts:
        context.close()
    assert faults == []


def _is_elsewhere(url: str, here: str) -> bool:
    return not url.startswith((f"{here}/", f"blob:{here}/"))
