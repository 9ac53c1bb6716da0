"""A desk that phones of the house can reach tells where it is, in a small file beside the site's record.

The file is there while the desk runs. It may outlive a desk that was killed, so whoever reads it asks at the
address whether a desk of this program answers.
"""

from __future__ import annotations

import http.client
import json
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from importlib import resources
from pathlib import Path
from urllib.parse import urlsplit

from nestwatch.site.records import Site
from nestwatch.writing import forget, staged

NAME = ".nestwatch-desk.json"
_SIGN = "nestwatch.svg"
"""Given to everybody, and the same in every desk."""
_PATIENCE_S = 2.0


@contextmanager
def told_beside(site: Site, addresses: Sequence[str]) -> Iterator[None]:
    """Have `addresses` (`http://host:port/`, the likeliest first) in the file while the block runs.

    Without any, nothing is written. Raises `OSError` where the folder takes no file.
    """
    path = site.path.parent / NAME
    told = json.dumps({"desk": list(addresses)})
    if addresses:
        with staged(path) as temporary:
            temporary.write_text(told, encoding="utf-8")
    try:
        yield
    finally:
        if addresses and _read(path) == told:  # another desk of this site may have come after
            forget(path)


def running_desk(site: Site) -> str | None:
    """The address of a running desk of this site, None where none answers."""
    try:
        told = json.loads(_read(site.path.parent / NAME) or "{}")
    except ValueError:
        return None
    addresses = told.get("desk") if isinstance(told, dict) else None
    known = addresses if isinstance(addresses, list) else []
    return next((each for each in known if isinstance(each, str) and _answers(each)), None)


def _read(path: Path) -> str | None:
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return None


def _answers(address: str) -> bool:
    """Whether a desk of this program is there: asked directly, never through a proxy."""
    parts = urlsplit(address)
    if parts.scheme != "http" or parts.hostname is None:
        return False
    sign = (resources.files("nestwatch.desk") / "static" / _SIGN).read_bytes()
    try:
        asked = http.client.HTTPConnection(parts.hostname, parts.port or 80, timeout=_PATIENCE_S)
        with closing(asked):
            asked.request("GET", f"/static/{_SIGN}")
            return asked.getresponse().read(len(sign) + 1) == sign
    except (OSError, http.client.HTTPException, ValueError):
        return False
