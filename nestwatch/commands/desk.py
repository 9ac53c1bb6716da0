"""`nestwatch desk`: the morning page in the browser."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nestwatch.commands.boundary import answer, log_beside
from nestwatch.commands.options import nights_option, no_browser_option, port_option, site_argument

if TYPE_CHECKING:
    from nestwatch.desk import LocalServer
    from nestwatch.site.records import Site


@click.command()
@site_argument
@no_browser_option
@port_option
@click.option(
    "--network",
    is_flag=True,
    help="Let phones in the same house in as well, with a code. Anyone on that network can read along.",
)
@nights_option
def desk(site_file: Path, no_browser: bool, port: int | None, network: bool, out: Path | None) -> None:
    """Answer last night's digs in the browser, one by one.

    Boxes, their eggs, readings and hatchlings are kept there too. The page is served to this computer only,
    unless --network is given. The address that is printed works once. End with Ctrl-C; every entry is kept
    at once.
    """
    from nestwatch.desk import make_server, morning_app, open_browser
    from nestwatch.season.open import open_record
    from nestwatch.site import load_site

    site = load_site(site_file)
    log_beside(site_file.parent)
    with open_record(site) as record:  # what is wrong with the record is told here, before a page opens
        for line in record.notes:
            click.echo(line, err=True)
    server = make_server(
        morning_app(site, out or site_file.parent / "nights"), port=port or 0, network=network
    )
    for line in _told(server):
        answer(line)
    if not no_browser:
        open_browser(server.start_url)
    with _told_beside(site, server):
        server.run()
    answer("The page is closed. What was entered is in the record.")


@contextmanager
def _told_beside(site: Site, server: LocalServer) -> Iterator[None]:
    """Where the desk is, for `nestwatch clutch labels --desk`; a folder that takes no file is told of."""
    from nestwatch.desk.running import told_beside

    with ExitStack() as stack:
        try:
            stack.enter_context(told_beside(site, server.network_urls))
        except OSError as error:
            click.echo(f"nestwatch clutch labels --desk cannot find this desk ({error.strerror}).", err=True)
        yield


def _told(server: LocalServer) -> list[str]:
    lines = [f"The page is open to one browser on this computer: {server.start_url}"]
    if server.guard.pairing is not None:
        lines += [
            *(f"On a phone in the same network: {address}" for address in server.network_urls),
            *(
                []
                if server.network_urls
                else ["No network was found: connect this computer and start again."]
            ),
            f"The phone asks for this code: {server.guard.pairing.code}",
            "WARNING: what goes to the phone is not encrypted. Anyone on the same network can read along, "
            "and with the code also write. Use it at home, not in a public network.",
        ]
    return [*lines, "Stop with Ctrl-C."]
