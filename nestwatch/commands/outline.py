"""`nestwatch outline`: a local page for drawing zones and marking posts on a camera's picture."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from nestwatch.commands.boundary import answer, log_beside
from nestwatch.commands.options import no_browser_option, port_option, site_argument
from nestwatch.errors import OutputError

if TYPE_CHECKING:
    from nestwatch.desk.found import FoundCamera
    from nestwatch.site.first import Setting

_NEW_ONLY = ("footage", "name", "timezone", "latitude", "longitude", "units", "animal")


@click.command()
@site_argument
@no_browser_option
@port_option
@click.option("--new", is_flag=True, help="Write the site file first, from a folder of recordings.")
@click.option(
    "--footage",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="With --new: the folder of recordings, a sub-folder for each camera.",
)
@click.option("--name", metavar="TEXT", help="With --new: what the place is called.")
@click.option("--timezone", metavar="ZONE", help="With --new: its time zone, such as Europe/Paris.")
@click.option("--latitude", type=click.FloatRange(-90, 90), metavar="DEG", help="With --new: degrees north.")
@click.option(
    "--longitude", type=click.FloatRange(-180, 180), metavar="DEG", help="With --new: degrees east."
)
@click.option("--units", type=click.Choice(["metric", "imperial"]), help="With --new: units for people.")
@click.option("--animal", metavar="TEXT", help="With --new: what is kept there.")
def outline(site_file: Path, no_browser: bool, port: int | None, new: bool, **given: Any) -> None:
    """Draw zones and mark posts on a camera's picture, in the browser.

    The page is served to this computer only. The address that is printed works once. End with Ctrl-C.
    With --new the site file is made first: what is not given as an option is asked for on a terminal.
    """
    log_beside(site_file.parent)
    if new:
        _begin(site_file, given)
    else:
        _refuse_stray(given)
    _serve(site_file, port or 0, no_browser)


def _serve(site_file: Path, port: int, no_browser: bool) -> None:
    from nestwatch.desk import make_server, open_browser, outline_app
    from nestwatch.site.draft import load_draft

    load_draft(site_file)  # what drawing cannot mend is told here, before a page opens
    server = make_server(outline_app(site_file), port=port)
    answer(f"The page is open to one browser on this computer: {server.start_url}")
    answer("Stop with Ctrl-C when you have saved.")
    if not no_browser:
        open_browser(server.start_url)
    server.run()
    answer("The page is closed. What was saved is in the site file.")


def _refuse_stray(given: dict[str, Any]) -> None:
    stray = next((key for key in _NEW_ONLY if given[key] is not None), None)
    if stray:
        raise click.UsageError(f"--{stray} goes with --new; change a site file that is there by hand.")


def _begin(site_file: Path, given: dict[str, Any]) -> None:
    """Find the cameras, ask for the rest, write the file."""
    from nestwatch.desk.found import find_cameras
    from nestwatch.site.first import first_site
    from nestwatch.site.keep import write_new

    if site_file.exists():
        raise OutputError(
            f"{site_file} is there already and is not overwritten; leave --new out to draw in it, "
            "or name another."
        )
    folder = given["footage"] or Path(_asked("Folder of recordings", str(site_file.parent / "footage")))
    setting = _setting(given)
    cameras = find_cameras(folder, setting.timezone)
    text = first_site(site_file, setting, [_first(camera) for camera in cameras])
    write_new(site_file, text.encode())
    for camera in cameras:
        answer(_told(camera))
    answer(f"Written: {site_file}. Correct in it what is not so: place, animal, clock.")


def _setting(given: dict[str, Any]) -> Setting:
    from nestwatch.site.first import Setting

    usual = Setting(timezone=_own_timezone())
    texts = {"name": "Name of the place", "timezone": "Time zone", "animal": "Animal"}
    chosen = {key: given[key] or _asked(words, getattr(usual, key)) for key, words in texts.items()}
    for key in ("latitude", "longitude"):
        chosen[key] = given[key] if given[key] is not None else _asked(key.capitalize(), getattr(usual, key))
    return Setting(**chosen, units=given["units"] or usual.units)


def _asked(words: str, usual: Any) -> Any:
    """The keeper's answer on a terminal, the usual value elsewhere."""
    return click.prompt(words, default=usual, err=True) if sys.stdin.isatty() else usual


def _own_timezone() -> str:
    """The computer's time zone; one that is no place is of no use for summer time."""
    import tzlocal

    try:
        name = tzlocal.get_localzone_name()
    except Exception:  # whatever a computer's odd settings raise: it is only a default
        name = None
    return name if name and "/" in name and not name.startswith("Etc/") else "Europe/Paris"


def _first(camera: FoundCamera) -> Any:
    from nestwatch.site.first import FirstCamera

    remark = ""
    if camera.stamp is None:
        remark = "its file names tell no time, so the time inside the files is believed"
    elif camera.unread:
        remark = f"{camera.unread} of its file names do not fit this stamp; see: nestwatch check"
    return FirstCamera(camera.name, camera.folder, camera.stamp, camera.clock, camera.picture, remark)


def _told(camera: FoundCamera) -> str:
    size = f"{camera.picture[0]} x {camera.picture[1]} pixels"
    stamp = (
        f"names such as {camera.stamp}, {camera.clock} time" if camera.stamp else "names that tell no time"
    )
    return f'Camera "{camera.name}": {camera.files} recordings, {size}, {stamp}.'
