"""Local pages in the browser: drawing outlines on a camera's picture. Nothing leaves the computer.

outline_app(site file)   the drawing page
make_server(...)         serves a page on 127.0.0.1, for one browser
open_browser(url)        shows it
"""

from nestwatch.desk.outline import outline_app
from nestwatch.desk.server import LocalServer, make_server, open_browser

__all__ = ["LocalServer", "make_server", "open_browser", "outline_app"]
