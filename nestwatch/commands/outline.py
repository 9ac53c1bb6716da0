"""`nestwatch outline`: a local page for drawing zones and marking posts on a camera's picture."""

from __future__ import annotations

from pathlib import Path

import click

from nestwatch.commands.boundary import answer, log_beside
from nestwatch.commands.options import site_argument


@click.command()
@site_argument
@click.option("--no-browser", is_flag=True, help="Only print the page's address; open it yourself.")
@click.option(
    "--port",
    type=click.IntRange(1024, 65535),
    metavar="N",
    help="Use this port of this computer. Default: a free one.",
)
def outline(site_file: Path, no_browser: bool, port: int | None) -> None:
    """Draw zones and mark posts on a camera's picture, in the browser.

    The page is served to this computer only. The address that is printed works once. End with Ctrl-C.
    """
    from nestwatch.desk import make_server, open_browser, outline_app
    from nestwatch.site.draft import load_draft

    load_draft(site_file)  # what drawing cannot mend is told here, before a page opens
    log_beside(site_file.parent)
    server = make_server(outline_app(site_file), port=port or 0)
    answer(f"The page is open to one browser on this computer: {server.start_url}")
    answer("Stop with Ctrl-C when you have saved.")
    if not no_browser:
        open_browser(server.start_url)
    server.run()
    answer("The page is closed. What was saved is in the site file.")
