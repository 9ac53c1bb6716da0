"""The progress bar on a terminal: there, gone at the end, and without colour if so wished."""

from __future__ import annotations

import io
from contextlib import redirect_stderr

import pytest

from nestwatch.commands.progress import Watcher
from tests.commands.fakes import Progress


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> Terminal:
    """stderr of a plain terminal, 100 columns wide."""
    stream = Terminal()
    for name, value in {"TERM": "xterm-256color", "COLUMNS": "100"}.items():
        monkeypatch.setenv(name, value)
    for name in ("NO_COLOR", "FORCE_COLOR", "TTY_COMPATIBLE", "TTY_INTERACTIVE"):
        monkeypatch.delenv(name, raising=False)
    return stream


def drawn(terminal: Terminal) -> str:
    with redirect_stderr(terminal), Watcher() as watcher:
        for done in (0.0, 25.0, 100.0):
            watcher(Progress("sandbank", done, 100.0, "reading"))
        watcher(Progress("[pond]", 10.0, 50.0, "looking closely"))
    return terminal.getvalue()


def test_a_bar_for_each_camera_with_the_time_left(terminal: Terminal) -> None:
    text = drawn(terminal)
    assert "sandbank: reading" in text
    assert "[pond]: looking closely" in text  # not taken for markup
    assert "100%" in text
    assert "left" in text


def test_the_bar_is_taken_away_at_the_end(terminal: Terminal) -> None:
    """The last thing drawn erases the lines (ANSI: erase in line), so that the answer stands alone."""
    assert "\x1b[2K" in drawn(terminal).split("looking closely")[-1]


def test_no_color_is_honoured(terminal: Terminal, monkeypatch: pytest.MonkeyPatch) -> None:
    coloured = drawn(terminal)
    assert "\x1b[3" in coloured
    monkeypatch.setenv("NO_COLOR", "1")
    terminal.truncate(0)
    assert "\x1b[3" not in drawn(terminal)


def test_a_failure_takes_the_bar_away_too(terminal: Terminal) -> None:
    def stopped() -> None:
        with redirect_stderr(terminal), Watcher() as watcher:
            watcher(Progress("sandbank", 1.0, 2.0, "reading"))
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stopped()
    assert "\x1b[2K" in terminal.getvalue()
