"""A clutch of nine eggs on the desk, boxes for them and readings, at a time that can be set."""

from __future__ import annotations

import io
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from flask.testing import FlaskClient
from werkzeug.datastructures import FileStorage
from werkzeug.test import TestResponse, encode_multipart

from nestwatch.desk.guard import TOKEN_FIELD, Guard
from nestwatch.desk.morning import morning_app
from nestwatch.season.clutches import clutch_of
from nestwatch.season.digs import dig_called
from nestwatch.season.finds import enter_find
from nestwatch.season.incubation.containers import add_container
from nestwatch.season.incubation.eggs import put_eggs
from nestwatch.season.incubation.probes import enter_probe
from nestwatch.season.nights import catch_up
from nestwatch.season.open import Record, open_record
from nestwatch.season.records import Clutch, Eggs
from nestwatch.site import load_site
from nestwatch.site.records import Site
from tests.desk.mornings import MORNING, NIGHT, a_dig, footage_entry, write_night

HOST = "127.0.0.1:8123"
LATER = MORNING + timedelta(days=61)


def open_at(site: Site, at: datetime = LATER) -> Record:
    return open_record(site, clock=lambda: at)


def nine_eggs(site_file: Path) -> Site:
    """A night was scanned, and nine eggs were found at dig 1."""
    bare: dict[str, Any] = {"pictures": {}, "clip": None}
    digs = [a_dig(1, "21:20", "22:50", **bare), a_dig(2, "21:40", "22:20", call="unclear", **bare)]
    write_night(site_file.parent, digs, footage=[footage_entry(zone_seen=None)])
    site = load_site(site_file)
    with open_at(site, MORNING) as record:
        catch_up(record, site, site_file.parent / "nights")
        enter_find(record, site, dig_called(record, NIGHT, "1"), "eggs", eggs=Eggs(whole=9))
    return site


def boxed(site_file: Path) -> Site:
    """The nine eggs lie in box A1 with the probe p1."""
    site = nine_eggs(site_file)
    with open_at(site, MORNING) as record:
        add_container(record, site, "A1", {"medium": "vermiculite", "start_g": 905.0, "incubator": "left"})
        put_eggs(record, the_clutch(record), "A1", 9, top_marked=True)
        enter_probe(record, "p1", {"container": "A1", "lies": "substrate"})
    return site


def the_clutch(record: Record) -> Clutch:
    found = clutch_of(record, dig_called(record, NIGHT, "1").id)
    assert found is not None
    return found


def a_file(
    days: float, celsius: float = 28.4, start: datetime = MORNING, header: str = "time,temp °C"
) -> str:
    """A logger's file with a reading every hour."""
    local = start.astimezone(UTC) + timedelta(hours=2)
    lines = [
        f"{local + timedelta(hours=n):%Y-%m-%d %H:%M},{celsius + n % 3 / 10}" for n in range(int(24 * days))
    ]
    return "\n".join([header, *lines] if header else lines)


def a_log(content: str | bytes, **fields: str) -> dict[str, object]:
    """The form's fields for a file."""
    raw = content if isinstance(content, bytes) else content.encode()
    return {"probe": "p1", "file": (io.BytesIO(raw), "log.csv"), **fields}


class EggDesk:
    """One desk on incubation, let in; forms are sent as a browser without scripts sends them."""

    def __init__(self, site: Site, at: datetime = LATER, house: tuple[str, ...] = ()) -> None:
        self.site, self.at = site, at
        self.guard = Guard({HOST, *house}, house=house)
        app = morning_app(site, site.path.parent / "nights", clock=lambda: at)(self.guard)
        self.client: FlaskClient = app.test_client()
        self.get(f"/start?token={self.guard.start_token}")

    def get(self, path: str, **more: Any) -> TestResponse:
        return self.client.get(path, base_url=f"http://{HOST}", buffered=True, **more)

    def send(self, kind: str, **fields: Any) -> TestResponse:
        """Send a form; a redirect is not followed."""
        data = {TOKEN_FIELD: self.guard.write_token, "page": "box", "box": "A1", **fields}
        return self.client.post(f"/eggs/enter/{kind}", base_url=f"http://{HOST}", data=data)

    def send_large(self, kind: str, **fields: Any) -> TestResponse:
        """As `send`, without the test client's own temporary file, which it leaves open."""
        data = {TOKEN_FIELD: self.guard.write_token, "page": "box", "box": "A1", **fields}
        edge, body = encode_multipart(
            {name: FileStorage(*value) if isinstance(value, tuple) else value for name, value in data.items()}
        )
        form = f'multipart/form-data; boundary="{edge}"'
        return self.client.post(
            f"/eggs/enter/{kind}", base_url=f"http://{HOST}", data=body, content_type=form
        )

    def egg(self, number: int, kind: str, **fields: Any) -> TestResponse:
        return self.send(kind, page="egg", number=number, **fields)

    def record(self) -> Record:
        return open_at(self.site, self.at)


def told(answer: TestResponse) -> str:
    """What the page says is wrong, as text."""
    found = re.search(r'<p id="told-words">(.*?)</p>', answer.text, re.DOTALL)
    return "" if found is None else plain(found[1])


def plain(html: str) -> str:
    """HTML as its words."""
    text = re.sub(r"<[^>]+>", " ", html)
    for name, letter in (("&#34;", '"'), ("&#39;", "'"), ("&lt;", "<"), ("&gt;", ">"), ("&amp;", "&")):
        text = text.replace(name, letter)
    return " ".join(text.split())
