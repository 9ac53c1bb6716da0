"""Local pages in the browser: drawing outlines on a camera's picture, and the morning after a night.

outline_app(site file)   the drawing page
morning_app(site, ...)   the morning page, on the season's record
make_server(...)         serves a page on 127.0.0.1, for one browser (and phones of the house, if asked for)
open_browser(url)        shows it
"""

from nestwatch.desk.morning import morning_app
from nestwatch.desk.outline import outline_app
from nestwatch.desk.server import LocalServer, make_server, open_browser

__all__ = ["LocalServer", "make_server", "morning_app", "open_browser", "outline_app"]
