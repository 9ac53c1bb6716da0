"""Phones of the house: let in by the code only, and only when the keeper asked for it."""

from __future__ import annotations

import threading
import urllib.request

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from nestwatch.desk import pairing as pairing_module
from nestwatch.desk.guard import TOKEN_HEADER, Guard
from nestwatch.desk.pairing import MOST_WRONG, Pairing, house_addresses
from nestwatch.desk.server import LocalServer, make_server
from nestwatch.desk.shell import make_shell

HOST = "192.168.1.20:8123"
BASE = f"http://{HOST}"


@pytest.fixture
def guard() -> Guard:
    return Guard({HOST}, pairing=Pairing())


@pytest.fixture
def app(guard: Guard) -> Flask:
    app = make_shell(guard)
    app.add_url_rule("/", "page", lambda: "the page")
    app.add_url_rule("/api/write", "write", lambda: "written", methods=["POST"])
    return app


def give(client: FlaskClient, code: object, **headers: str) -> TestResponse:
    return client.post("/api/pair", base_url=BASE, json={"code": code}, headers={"Origin": BASE} | headers)


def serve_until_closed(server: LocalServer) -> threading.Thread:
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    return thread


def code_of(guard: Guard) -> str:
    assert guard.pairing is not None
    return guard.pairing.code


def test_the_code_lets_a_phone_in(app: Flask, guard: Guard) -> None:
    phone = app.test_client()
    asked = phone.get("/", base_url=BASE)
    assert (asked.status_code, asked.headers["Location"]) == (303, "/pair")
    assert "The code that stands in the terminal" in phone.get("/pair", base_url=BASE).text
    assert give(phone, f" {code_of(guard).lower().replace('-', ' ')} ").status_code == 200
    assert phone.get("/", base_url=BASE).text == "the page"
    assert app.test_client().get("/", base_url=BASE).status_code == 303  # nobody else


@pytest.mark.parametrize("code", ["", "AAAA-AAAA", None, 7, ["x"], "ü", "x" * 5000])
def test_a_wrong_code(app: Flask, guard: Guard, code: object) -> None:
    phone = app.test_client()
    answer = give(phone, code)
    assert answer.status_code == 403
    assert answer.json == {"why": "That is not the code that the terminal shows; look again."}
    assert phone.get("/", base_url=BASE).status_code == 303


def test_too_many_wrong_codes_close_the_door(app: Flask, guard: Guard) -> None:
    phone = app.test_client()
    for _ in range(MOST_WRONG):
        give(phone, "WRONG")
    answer = give(phone, code_of(guard))
    assert answer.status_code == 403
    assert answer.json is not None
    assert "nobody is let in any more" in answer.json["why"]


@pytest.mark.parametrize("headers", [{"Origin": "http://evil.example"}, {"Sec-Fetch-Site": "cross-site"}])
def test_another_site_may_not_try_codes(app: Flask, guard: Guard, headers: dict[str, str]) -> None:
    assert give(app.test_client(), code_of(guard), **headers).status_code == 403


def test_a_program_without_origin_may_not_try_codes(app: Flask, guard: Guard) -> None:
    answer = app.test_client().post("/api/pair", base_url=BASE, json={"code": code_of(guard)})
    assert answer.status_code == 403


def test_a_foreign_name_is_refused(app: Flask, guard: Guard) -> None:
    for path in ("/", "/pair"):
        assert app.test_client().get(path, base_url="http://evil.example:8123").status_code == 403


def test_a_paired_phone_still_needs_the_pages_token(app: Flask, guard: Guard) -> None:
    phone = app.test_client()
    give(phone, code_of(guard))
    assert phone.post("/api/write", base_url=BASE).status_code == 403
    told = {TOKEN_HEADER: guard.write_token}
    assert phone.post("/api/write", base_url=BASE, headers=told).text == "written"


def test_without_the_option_there_is_no_door() -> None:
    guard = Guard({HOST})
    app = make_shell(guard)
    client = app.test_client()
    assert client.get("/pair", base_url=BASE).status_code == 403
    assert client.post("/api/pair", base_url=BASE, json={"code": ""}).status_code == 403


@pytest.mark.parametrize(
    ("found", "kept"),
    [
        (["192.168.1.20", "10.0.0.3", "172.16.5.5"], ("192.168.1.20", "10.0.0.3", "172.16.5.5")),
        (["8.8.8.8", "127.0.1.1", "169.254.3.4", "0.0.0.0"], ()),
        (["192.168.1.20", "192.168.1.20"], ("192.168.1.20",)),
    ],
)
def test_only_private_networks(
    monkeypatch: pytest.MonkeyPatch, found: list[str], kept: tuple[str, ...]
) -> None:
    """RFC 1918: 10/8, 172.16/12, 192.168/16. Public, loopback and link-local (RFC 3927) ones are left out."""
    monkeypatch.setattr(pairing_module, "_outward", lambda: None)
    monkeypatch.setattr(pairing_module, "_named", lambda: found)
    assert house_addresses() == kept


def test_off_by_default(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the option nothing listens but 127.0.0.1; with it, the house's addresses too."""
    monkeypatch.setattr("nestwatch.desk.server.house_addresses", lambda: ("127.0.0.2",))
    server = make_server(make_shell)
    assert (server.network_urls, server.guard.pairing) == ((), None)
    serve_until_closed(server)
    server.close()
    server = make_server(make_shell, network=True)
    thread = serve_until_closed(server)
    with urllib.request.urlopen(f"{server.network_urls[0]}pair", timeout=20) as answer:
        assert b"The code that stands in the terminal" in answer.read()
    server.close()
    thread.join(timeout=10)


def test_after_the_code_the_phone_goes_where_it_wanted(app: Flask) -> None:
    """A label's code leads to a box; the phone that is not known yet comes there by way of the code."""
    phone = app.test_client()
    asked = phone.get("/eggs/label?box=A1&text=a+b", base_url=BASE)
    assert asked.status_code == 303
    page = phone.get(asked.headers["Location"], base_url=BASE).text
    assert 'data-next="/eggs/label?box=A1&amp;text=a+b"' in page


@pytest.mark.parametrize(
    "wanted",
    ["//evil.example/", "http://evil.example/", "/\\evil.example", "", "javascript:alert(1)", "/\tx"],
)
def test_the_code_page_leads_nowhere_else(app: Flask, wanted: str) -> None:
    page = app.test_client().get("/pair", base_url=BASE, query_string={"next": wanted}).text
    assert 'data-next="/"' in page
