"""Labels' codes: read from the printed page as a telephone would, and opened on the desk."""

from __future__ import annotations

import io
import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import cv2
import numpy as np
import pdfplumber
import pytest
from click.testing import CliRunner

from nestwatch.commands.main import main
from nestwatch.desk import make_server, morning_app
from nestwatch.desk import server as server_module
from nestwatch.desk.running import NAME, running_desk, told_beside
from nestwatch.desk.server import LocalServer
from nestwatch.season.incubation.containers import change_container
from nestwatch.season.incubation.labels import NAMES, Label, Size
from nestwatch.site.records import Site
from tests.desk.eggs.boxes import HOST, EggDesk, boxed, nine_eggs, open_at, plain

HOUSE = "192.168.1.20:8123"
TEXT = (
    "Box A1\nEuropean pond turtle (Emys orbicularis)\nClutch 2026-06-12 dig 1\nLaid 2026-06-12, 9 eggs\n"
    "Hatch 2026-08-06 to 2026-08-26\nTHIS SIDE UP, never turn the eggs"
)


def read_back(pdf: bytes) -> str:
    """What OpenCV reads of the first page at 300 dots an inch, an ordinary printer's.

    By its detector of markers: the older one misses some codes of this size that lie exactly straight, and
    reads them turned by 10 degrees (tried with 32 addresses).
    """
    with pdfplumber.open(io.BytesIO(pdf)) as opened:
        picture = np.asarray(opened.pages[0].to_image(resolution=300).original.convert("L"))
    text, _, _ = cv2.QRCodeDetectorAruco().detectAndDecode(picture)
    return text


@pytest.fixture
def site(site_file: Path) -> Site:
    return boxed(site_file)


@pytest.mark.parametrize("size", NAMES)
def test_a_desk_of_the_house_puts_its_address_into_the_code(site: Site, size: Size) -> None:
    desk = EggDesk(site, house=(HOUSE,))
    code = read_back(desk.get(f"/eggs/labels.pdf?size={size}").data)
    address = urlsplit(code)
    assert (address.scheme, address.netloc, address.path) == ("http", HOUSE, "/eggs/label")
    assert parse_qs(address.query) == {"box": ["A1"], "text": [TEXT]}


def test_the_code_opens_the_box(site: Site) -> None:
    desk = EggDesk(site, house=(HOUSE,))
    code = read_back(desk.get("/eggs/labels.pdf?box=A1").data)
    page = plain(desk.get(code.removeprefix(f"http://{HOUSE}")).text)
    assert "What its printed label says Box A1 European pond turtle (Emys orbicularis)" in page
    assert "Eggs: 9 of 9 left" in page
    stranger = desk.client.application.test_client()
    assert stranger.get(code).status_code == 403


def test_what_a_label_says_is_shown_as_text(site: Site) -> None:
    page = EggDesk(site).get("/eggs/label?box=A1&text=%3Cscript%3Ealert(1)%3C/script%3E").text
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert "<script>alert" not in page


def test_the_label_of_a_box_that_has_another_name(site: Site) -> None:
    with open_at(site) as record:
        change_container(record, site, "A1", {"label": "Z9"})
    answer = EggDesk(site).get("/eggs/label?box=A1&text=Laid%202026-06-12")
    assert answer.status_code == 404
    assert 'there is no box "A1"' in plain(answer.text)
    assert "What the label says: Laid 2026-06-12" in plain(answer.text)


def test_a_desk_that_phones_cannot_reach_prints_the_text(site: Site) -> None:
    desk = EggDesk(site)
    assert read_back(desk.get("/eggs/labels.pdf").data) == TEXT
    assert "Their codes carry the label's text" in desk.get("/eggs/").text


def test_without_eggs_there_is_no_label(site_file: Path) -> None:
    answer = EggDesk(nine_eggs(site_file)).get("/eggs/labels.pdf")
    assert answer.status_code == 404
    assert "no label was made: no egg lies in a box." in answer.text


def test_text_survives_the_address() -> None:
    label = Label("B/2 & ü", ("Clutch of Žofie, 50 % + more",))
    query = parse_qs(urlsplit(label.code("http://10.0.0.2:8000/")).query)
    assert query == {"box": [label.box], "text": [label.text]}
    assert label.code(None) == label.text


@contextmanager
def running(site: Site, monkeypatch: pytest.MonkeyPatch) -> Iterator[LocalServer]:
    """A desk for phones; the test's network is this computer itself."""
    monkeypatch.setattr(server_module, "house_addresses", lambda: ("127.0.0.2",))
    server = make_server(morning_app(site, site.path.parent / "nights"), network=True)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    try:
        yield server
    finally:
        server.close()
        thread.join(timeout=10)


def test_a_running_desk_is_found(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """In its file while it runs, and no longer; a file left behind by a killed desk leads to none."""
    left = site.path.parent / NAME
    with running(site, monkeypatch) as server:
        assert running_desk(site) is None
        with told_beside(site, server.network_urls):
            assert running_desk(site) == server.network_urls[0]
            content = left.read_text()
        assert not left.exists()
        left.write_text(content)
        assert running_desk(site) == server.network_urls[0]
    assert running_desk(site) is None


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"desk": 3}', '{"desk": ["file:///etc/passwd", 7]}', "\0"])
def test_a_file_that_says_nothing(site: Site, text: str) -> None:
    (site.path.parent / NAME).write_text(text)
    assert running_desk(site) is None


def test_another_desk_of_the_site_keeps_its_word(site: Site) -> None:
    left = site.path.parent / NAME
    with told_beside(site, ("http://10.0.0.2:8000/",)):
        left.write_text(json.dumps({"desk": ["http://10.0.0.2:9000/"]}))
    assert "9000" in left.read_text()
    with told_beside(site, ()):
        assert "9000" in left.read_text(), "a desk for this computer alone says nothing"


def test_labels_of_the_command_open_the_desk(
    site: Site, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "labels.pdf"
    with running(site, monkeypatch) as server, told_beside(site, server.network_urls):
        result = CliRunner().invoke(main, ["clutch", "labels", str(site.path), "--desk", "--out", str(out)])
        assert (result.exit_code, result.stdout.splitlines()) == (
            0,
            [
                f"1 label, to print at 100 %: {out}",
                f"Their codes open {server.network_urls[0]} while a desk runs there: start it with the same "
                "--port each time.",
            ],
        )
        assert read_back(out.read_bytes()).startswith(
            f"{server.network_urls[0]}eggs/label?box=A1&text=Box+A1"
        )


def test_no_desk_runs(site: Site) -> None:
    result = CliRunner().invoke(main, ["clutch", "labels", str(site.path), "--desk"])
    assert result.exit_code == 2
    assert result.stderr.endswith("leave --desk out: then the codes carry the text alone.\n")
    assert not (site.path.parent / "labels.pdf").exists()
    assert HOST not in result.output
