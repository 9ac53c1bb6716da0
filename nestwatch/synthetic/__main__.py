"""`python -m nestwatch.synthetic SCENARIO FOLDER`: render an invented night."""

from __future__ import annotations

import sys
import tomllib
from pathlib import Path

import click

from nestwatch.errors import NestwatchError
from nestwatch.synthetic import load_scenario, render_night


def _value(text: str) -> object:
    """A TOML value, or the text itself where it is none."""
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except tomllib.TOMLDecodeError:
        return text


def _setting(text: str) -> tuple[str, object]:
    key, sign, value = text.partition("=")
    if not sign:
        raise click.UsageError(f"--set {text}: write key=value, for example --set video.fps=2.")
    return key.strip(), _value(value.strip())


@click.command()
@click.argument("scenario")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--seed", default=1, show_default=True, help="Another seed gives another night.")
@click.option("--set", "settings", multiple=True, metavar="KEY=VALUE", help="Change a key, e.g. video.fps=2.")
@click.option("--processes", default=1, show_default=True, help="Files rendered at the same time.")
def main(scenario: str, folder: Path, seed: int, settings: tuple[str, ...], processes: int) -> None:
    """Render the SCENARIO (a TOML file, or a name from samples/synthetic) into FOLDER."""
    overrides = dict(_setting(text) for text in settings)
    try:
        site = render_night(
            load_scenario(scenario, overrides), folder, seed=seed, processes=processes, progress=_tell
        )
    except NestwatchError as wrong:
        click.echo(f"Error: {wrong}", err=True)
        sys.exit(wrong.exit_code)
    click.echo(site)


def _tell(done: int, total: int) -> None:
    click.echo(f"{done} of {total} files", err=True)


if __name__ == "__main__":
    main()
