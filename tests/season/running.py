"""A command run on a site as its user would, and its answer where nothing went wrong."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from click.testing import CliRunner, Result

from nestwatch.commands.main import main

Run = Callable[..., Result]


def runner(site_file: Path) -> Run:
    """`run(name, *arguments)` runs `nestwatch name SITE arguments`."""

    def run(name: str, *arguments: str) -> Result:
        return CliRunner().invoke(main, [name, str(site_file), *arguments], prog_name="nestwatch")

    return run


def told(result: Result) -> str:
    """What was answered by a command that ended well and had nothing to remark."""
    assert (result.exit_code, result.stderr) == (0, "")
    return result.stdout
