"""The command as a whole: its help, its version, its names, and that it starts fast."""

from __future__ import annotations

import subprocess
import sys

import click
import pytest
from click.testing import CliRunner

import nestwatch
from nestwatch.commands import main as main_module
from nestwatch.commands.main import main

COMMANDS = {"check", "demo", "night"}


def test_the_commands_there_are() -> None:
    assert set(main.commands) >= COMMANDS
    assert main_module.__all__ == ["main"]


def test_version() -> None:
    result = CliRunner().invoke(main, ["--version"])
    assert (result.exit_code, result.stdout) == (0, f"nestwatch {nestwatch.__version__}\n")


def test_no_command_shows_the_help() -> None:
    result = CliRunner().invoke(main, [])
    assert result.exit_code == 2
    assert "Commands:" in result.output


def test_a_misspelt_command_ends_in_2() -> None:
    result = CliRunner().invoke(main, ["nigth"], prog_name="nestwatch")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "No such command 'nigth'." in result.stderr


@pytest.mark.parametrize("name", sorted(main.commands))
def test_help_is_in_full_sentences(name: str) -> None:
    """The short help is a sentence that fits on its line; every option and argument has one of its own."""
    command = main.commands[name]
    short = command.get_short_help_str(limit=68)
    assert short[0].isupper()
    assert not short.endswith("..."), short
    result = CliRunner().invoke(main, [name, "--help"])
    assert result.exit_code == 0
    assert result.stdout.startswith("Usage: ")
    for parameter in command.params:
        text = parameter.help if isinstance(parameter, click.Option | click.Argument) else None
        assert text is not None, parameter.name
        assert text[0].isupper(), text
        assert text.endswith("."), text


HELP = """\
Usage: nestwatch [OPTIONS] COMMAND [ARGS]...

  Find where turtles dug last night, from the recordings of fixed infrared cameras.

  Start with: nestwatch demo. For your own footage, begin with nestwatch outline site.toml --new,
  try it with nestwatch check site.toml, and then run nestwatch night site.toml every morning.

Options:
  --version   Show the version and exit.
  -h, --help  Show this message and exit.

Commands:
  check     Say in words what a site file means and what is missing or doubtful.
  clutch    List or enter clutches; boxes, incubation, hatching.
  demo      Invent a night and its season, watch it, and say where to look.
  desk      Answer last night's digs in the browser, one by one.
  dig       Add a dig that no scan found; it is called by a letter.
  export    Write the season's record as tables, a calendar, and a package.
  female    List the females, enter one, or change one.
  find      List the digs still to be settled, or enter what was found at one.
  fit       Fit the likelihood to what you found at this site.
  marking   Write one sheet a dig: where to put the stake, and what to do there.
  night     Watch one night's recordings and list where turtles probably dug.
  outline   Draw zones and mark posts on a camera's picture, in the browser.
  record    Show what the season's record holds, or go back to a copy of it.
  schedule  Print what makes this computer watch every night by itself.
  season    Tally a year: attempts, nests, eggs, hatching, and nights seen.
  undo      Take back the last entry, or the one with a number.
  watched   List what was watched by eye, or enter it.
"""


def test_the_whole_help() -> None:
    result = CliRunner().invoke(main, ["--help"], prog_name="nestwatch", terminal_width=100)
    assert (result.exit_code, result.stdout) == (0, HELP)


SLOW = ["cv2", "av", "skimage", "scipy", "numpy", "shapely", "pydantic", "ephem", "rich", "flask", "tomlkit"]
SLOW += ["sklearn", "matplotlib"]


@pytest.mark.parametrize("arguments", [["--help"], ["night", "--help"], ["--version"]])
def test_help_imports_nothing_that_computes(arguments: list[str]) -> None:
    program = (
        "import sys\nfrom nestwatch.commands.main import main\n"
        f"main({arguments!r}, standalone_mode=False)\n"
        f"print('imported:', *[name for name in {SLOW!r} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, check=True, text=True)
    assert done.stdout.splitlines()[-1] == "imported:"


def test_python_dash_m() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "nestwatch", "--version"], capture_output=True, check=True, text=True
    )
    assert done.stdout == f"nestwatch {nestwatch.__version__}\n"
