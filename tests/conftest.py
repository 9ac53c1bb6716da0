"""What tests of several folders share: the real clips, and the outside programs that judge us.

Both may be missing on a developer's machine, where the test is skipped with the reason; in CI (the
environment has CI=true) a missing one fails, so that a green run never hides a check that did not happen.
"""

from __future__ import annotations

import os
import shutil
import signal
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser

ROOT = Path(__file__).resolve().parents[1]
_PACKAGES = {"ffprobe": "FFmpeg", "ffmpeg": "FFmpeg", "systemd-analyze": "systemd"}


def _missing(reason: str) -> None:
    """Fail in CI, skip elsewhere."""
    if os.environ.get("CI", "").lower() in {"1", "true", "yes"}:
        pytest.fail(f"{reason} (CI insists on it)", pytrace=False)
    pytest.skip(reason)


def _real_footage(name: str) -> Path:
    folder = Path(os.environ.get("NESTWATCH_REAL_FOOTAGE") or ROOT.parent / "shared" / "footage")
    if not (folder / name).is_file():
        _missing(f"no {name} in {folder}: set NESTWATCH_REAL_FOOTAGE to the folder of real clips")
    return folder / name


def _outside_tool(name: str) -> str:
    found = shutil.which(name)
    if found is None:
        _missing(f"{name} is not on PATH: install {_PACKAGES[name]} to run the tests that compare with it")
    return str(found)


@pytest.fixture(scope="session")
def real_footage() -> Callable[[str], Path]:
    """`real_footage(name)` is the path of a real clip (mark such tests with `footage`)."""
    return _real_footage


@pytest.fixture(scope="session")
def outside_tool() -> Callable[[str], str]:
    """`outside_tool("ffprobe")` is the path of a program that our results are compared with."""
    return _outside_tool


@pytest.fixture(autouse=True, scope="session")
def _ctrl_c_heard() -> None:
    """A shell starts background jobs deaf to Ctrl-C, and the programs that tests start would inherit that."""
    if signal.getsignal(signal.SIGINT) == signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One headless browser for all tests; each test gets its own context."""
    from tests.browsers import one_browser

    yield from one_browser()
