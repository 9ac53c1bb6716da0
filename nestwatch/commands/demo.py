"""`nestwatch demo`: invent a night and the season around it, watch the night, and say where to look."""

from __future__ import annotations

import json
import os
import shutil
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

import nestwatch
from nestwatch.commands.boundary import PARTIAL, answer, log_beside
from nestwatch.commands.night import night_text
from nestwatch.commands.progress import Watcher
from nestwatch.errors import OutputError
from nestwatch.season.clock import MARKER
from nestwatch.writing import staged

if TYPE_CHECKING:
    from nestwatch.night import NightResult

_OURS = ("footage", "nights", "site.toml", "truth.json", MARKER)
"""What a demo's folder holds beside its season; nothing else is ever removed."""
_SHORTER = {"plain-nest": {"night.from": "18:00", "night.to": "03:00"}}
"""Nesting hours alone: with the quiet hours around them the demo would take longer than three minutes."""


@dataclass(frozen=True, slots=True)
class _Drawing:
    """How far the invented recordings are, as a `progress.Step`."""

    camera: str
    done: float
    of: float
    doing: str


@click.command()
@click.argument(
    "folder",
    metavar="DIR",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("nestwatch-demo"),
    help="A new folder, or that of an earlier demo. Default: nestwatch-demo.",
)
@click.option("--scenario", default="plain-nest", show_default=True, help="What kind of night to invent.")
@click.option("--seed", type=int, default=1, show_default=True, help="Another number gives another night.")
@click.pass_context
def demo(ctx: click.Context, folder: Path, scenario: str, seed: int) -> None:
    """Invent a night and its season, watch it, and say where to look.

    Everything shown is made up by the computer: no real pen and no real animal. It takes up to three
    minutes and 300 MB of disk.
    """
    log_beside(folder)
    site_file = _rendered(folder, scenario, seed)
    _with_season(site_file, folder)
    result = _watched(site_file, folder / "nights")
    answer(night_text(result))
    answer(f"What was really drawn: {folder / 'truth.json'}. A site file to start from: {site_file}")
    answer(_how_to_look(site_file))
    if result.partial:
        ctx.exit(PARTIAL)


def _rendered(folder: Path, scenario: str, seed: int) -> Path:
    """The site file of an invented night in `folder`; one that is there already and whole is kept."""
    from nestwatch.synthetic import load_scenario, render_night

    night = load_scenario(scenario, _SHORTER.get(scenario))
    wanted: dict[str, object] = {"scenario": scenario, "seed": seed, "version": nestwatch.__version__}
    made_from = {name: value for name, value in _begun(folder).items() if name != "morning"}
    if made_from == wanted | {"whole": True}:
        return folder / "site.toml"
    _make_room(folder)
    _mark(folder, wanted | {"whole": False})
    click.echo(f"inventing a night ({scenario}, seed {seed})", err=True)
    with Watcher() as watcher:
        site_file = render_night(
            night,
            folder,
            seed=seed,
            processes=os.cpu_count() or 1,
            progress=lambda done, of: watcher(_Drawing("recordings", done, of, "drawing")),
        )
    _mark(folder, wanted | {"whole": True})
    return site_file


def _with_season(site_file: Path, folder: Path) -> None:
    """The season around the night, invented once; a half-made one is made anew."""
    from nestwatch.demo.make import MADE, make_season

    begun = _begun(folder)
    if "morning" in begun:
        return
    click.echo("inventing the season around it", err=True)
    for name in (*MADE, "nights"):
        _remove(folder / name)
    morning = make_season(site_file, _night(site_file), int(begun.get("seed", 1)))
    _mark(folder, begun | {"morning": morning.isoformat()})


def _how_to_look(site_file: Path) -> str:
    """The commands that show the season."""
    return "\n".join(
        [
            "An invented season lies around that night; its clock stands on the morning after. Look at it:",
            f"  nestwatch desk {site_file}      the morning, boxes and season in the browser",
            f"  nestwatch season {site_file}    the season's tally, as a page too",
            f"  nestwatch clutch window {site_file}    when hatchlings are to be expected",
            f"  nestwatch export {site_file}    tables, a calendar and a package to pass on",
        ]
    )


def _night(site_file: Path) -> date:
    truth = json.loads(site_file.with_name("truth.json").read_text(encoding="utf-8"))
    return date.fromisoformat(truth["night"])


def _watched(site_file: Path, out: Path) -> NightResult:
    from nestwatch.night import run_night
    from nestwatch.site import load_site

    site, night = load_site(site_file), _night(site_file)
    with Watcher() as watcher:
        return run_night(site, night, out, progress=watcher)


def _make_room(folder: Path) -> None:
    """An empty folder: a former demo is cleared, anything else in the way is refused."""
    try:
        if folder.is_dir() and any(folder.iterdir()):
            if not (folder / MARKER).is_file():
                raise OutputError(f"{folder} is not empty and no former demo; name a new folder.")
            _clear(folder)
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"{folder}: cannot be used ({error.strerror}); name another folder.") from error


def _clear(folder: Path) -> None:
    """Remove what a demo made, its marker last so that a clearing cut short can be repeated."""
    from nestwatch.demo.make import MADE

    for name in (*MADE, *_OURS):
        _remove(folder / name)


def _remove(path: Path) -> None:
    if path.is_dir():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)


def _begun(folder: Path) -> dict[str, Any]:
    """What a former demo in the folder was made from; empty where there is none or it cannot be read."""
    try:
        told = json.loads((folder / MARKER).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return told if isinstance(told, dict) else {}


def _mark(folder: Path, content: dict[str, object]) -> None:
    """Note what the demo is made from, whole or not at all."""
    try:
        with staged(folder / MARKER) as temporary:
            temporary.write_text(json.dumps(content), encoding="utf-8")
    except OSError as error:
        raise OutputError(f"{folder}: cannot be written ({error.strerror}); name another folder.") from error
