"""Only one browser of this computer gets in, and no other site can act through it."""

from __future__ import annotations

import re
import socket
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask, request
from flask.testing import FlaskClient

from nestwatch.desk.guard import LARGEST_BODY, TOKEN_HEADER, Guard
from nestwatch.desk.server import make_server
from nestwatch.desk.shell import make_shell
from nestwatch.errors import NestwatchError, OutputError

HOST = "127.0.0.1:8123"
BASE = f"http://{HOST}"


@pytest.fixture
def guard() -> Guard:
    return Guard({HOST, "localhost:8123"})


@pytest.fixture
def app(guard: Guard) -> Flask:
    app = make_shell(guard)
    app.add_url_rule("/", "page", lambda: "the page")
    app.add_url_rule("/api/write", "write", lambda: f"{len(request.get_data())} bytes", methods=["POST"])
    return app


@pytest.fixture
def client(app: Flask) -> Iterator[FlaskClient]:
    with app.test_client() as client:
        yield client


def let_in(client: FlaskClient, guard: Guard) -> None:
    answer = client.get(f"/start?token={guard.start_token}", base_url=BASE)
    assert (answer.status_code, answer.headers["Location"]) == (303, "/")


def write(client: FlaskClient, guard: Guard, **headers: str) -> int:
    headers = {TOKEN_HEADER: guard.write_token} | {k.replace("_", "-"): v for k, v in headers.items()}
    return client.post("/api/write", base_url=BASE, headers=headers, data=b"x").status_code


def test_the_start_address_lets_one_browser_in(app: Flask, client: FlaskClient, guard: Guard) -> None:
    assert client.get("/", base_url=BASE).status_code == 403
    let_in(client, guard)
    assert client.get("/", base_url=BASE).text == "the page"
    let_in(client, guard)  # the same browser again: no harm
    other = app.test_client().get(f"/start?token={guard.start_token}", base_url=BASE)
    assert other.status_code == 403
    assert "This address has been used already, and it works once." in other.text
    assert "run it again for a new one" in other.text


@pytest.mark.parametrize("token", ["", "wrong", "ü", "x" * 5000])
def test_a_wrong_start_token(client: FlaskClient, guard: Guard, token: str) -> None:
    answer = client.get("/start", query_string={"token": token}, base_url=BASE)
    assert answer.status_code == 403
    assert "use the one the terminal shows" in answer.text
    let_in(client, guard)  # a wrong guess does not use the right one up


def test_the_cookie_is_closed_to_scripts_and_other_sites(client: FlaskClient, guard: Guard) -> None:
    """RFC 6265bis: HttpOnly keeps it from scripts, SameSite=Strict from requests that other sites make."""
    answer = client.get(f"/start?token={guard.start_token}", base_url=BASE)
    cookie = answer.headers["Set-Cookie"]
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= {part.strip() for part in cookie.split(";")}
    assert guard.start_token not in cookie
    assert guard.write_token not in cookie


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8123", "127.0.0.1:9999", "127.0.0.1", "nestwatch.local:8123"]
)
def test_a_foreign_host_is_refused(client: FlaskClient, guard: Guard, host: str) -> None:
    """A name that is made to point here (DNS rebinding) still arrives under its own name."""
    let_in(client, guard)
    answer = client.get("/", base_url=f"http://{host}")
    assert answer.status_code == 403
    assert "the page" not in answer.text


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "https://127.0.0.1:8123", "http://127.0.0.1:9999"]
)
def test_a_foreign_origin_is_refused(client: FlaskClient, guard: Guard, origin: str) -> None:
    let_in(client, guard)
    assert write(client, guard) == 200
    assert write(client, guard, Origin=BASE) == 200
    assert write(client, guard, Origin=origin) == 403
    assert client.get("/", base_url=BASE, headers={"Origin": origin}).status_code == 403


@pytest.mark.parametrize(
    ("site", "code"), [("cross-site", 403), ("same-site", 403), ("same-origin", 200), ("none", 200)]
)
def test_what_the_browser_says_of_the_request(
    client: FlaskClient, guard: Guard, site: str, code: int
) -> None:
    """W3C Fetch Metadata: `same-site` is another port of this computer, which is another program."""
    let_in(client, guard)
    assert client.get("/", base_url=BASE, headers={"Sec-Fetch-Site": site}).status_code == code


@pytest.mark.parametrize("token", [None, "", "wrong", "ü"])
def test_a_write_needs_the_pages_token(client: FlaskClient, guard: Guard, token: str | None) -> None:
    let_in(client, guard)
    headers = {} if token is None else {TOKEN_HEADER: token}
    answer = client.post("/api/write", base_url=BASE, headers=headers, data=b"x")
    assert answer.status_code == 403
    assert answer.json == {"why": "This page is from an earlier run of the command; load it again."}


def test_a_write_needs_the_cookie_too(client: FlaskClient, guard: Guard) -> None:
    assert write(client, guard) == 403


def test_a_huge_body_is_not_read(client: FlaskClient, guard: Guard) -> None:
    let_in(client, guard)
    headers = {TOKEN_HEADER: guard.write_token}
    answer = client.post("/api/write", base_url=BASE, headers=headers, data=b"x" * (LARGEST_BODY + 1))
    assert answer.status_code == 413
    assert answer.json == {"why": "That is more than this page ever sends, so it was not read."}


@pytest.mark.parametrize(
    "path",
    [
        "/static/../shell.py",
        "/static/%2e%2e/shell.py",
        "/static/..%2fshell.py",
        "/static/..%5cshell.py",
        "/static//etc/passwd",
        "/static/%2fetc%2fpasswd",
        "/../../site.toml",
        "/static/outline/../../guard.py",
    ],
)
def test_path_tricks_find_nothing(client: FlaskClient, guard: Guard, path: str) -> None:
    let_in(client, guard)
    answer = client.get(path, base_url=BASE)
    assert answer.status_code in {404, 308}
    assert b"import" not in answer.data
    assert b"root:" not in answer.data


def test_every_answer_is_closed(client: FlaskClient, guard: Guard) -> None:
    let_in(client, guard)
    for path in ("/", "/nothing", "/style.css", "/static/nestwatch.svg"):
        answer = client.get(path, base_url=BASE)
        headers = answer.headers
        answer.close()
        policy = dict(part.strip().split(" ", 1) for part in headers["Content-Security-Policy"].split(";"))
        assert policy["default-src"] == "'none'"
        assert policy["script-src"] == policy["style-src"] == policy["connect-src"] == "'self'"
        assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
        assert "unsafe" not in headers["Content-Security-Policy"]
        assert "http" not in headers["Content-Security-Policy"]
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Referrer-Policy"] == "no-referrer"


def test_errors_of_the_program_are_words_without_a_traceback(app: Flask, guard: Guard) -> None:
    def broken() -> str:
        raise ZeroDivisionError("oh")

    def told() -> str:
        raise NestwatchError("the disk is away; connect it.")

    app.add_url_rule("/api/broken", "broken", broken)
    app.add_url_rule("/told", "told", told)
    client = app.test_client()
    let_in(client, guard)
    answer = client.get("/api/broken", base_url=BASE)
    assert answer.status_code == 500
    assert (
        "This is a fault of the program, not of your files (ZeroDivisionError: oh)."
        in answer.get_json()["why"]
    )
    assert "Traceback" not in answer.text
    answer = client.get("/told", base_url=BASE)
    assert (answer.status_code, "the disk is away; connect it." in answer.text) == (409, True)
    assert app.debug is False


def test_a_server_listens_to_this_computer_only() -> None:
    server = make_server(make_shell)
    thread = threading.Thread(target=server.run)
    thread.start()
    found = re.fullmatch(r"http://127\.0\.0\.1:(\d+)/start\?token=[\w-]{40,}", server.start_url)
    assert found
    port = int(found[1])
    with pytest.raises(OutputError, match=f"cannot open port {port} .*leave --port out"):
        make_server(make_shell, port=port)
    with pytest.raises(ConnectionRefusedError):  # 127.0.0.2 is this computer too, by another address
        socket.create_connection(("127.0.0.2", port), timeout=2).close()
    server.close()
    thread.join(timeout=10)
    assert not thread.is_alive()


def test_the_page_names_no_outside_address() -> None:
    """Nothing that the browser is given asks for anything from elsewhere (XML namespaces are only names)."""
    root = Path(make_shell.__code__.co_filename).parent
    files = [path for folder in ("static", "templates") for path in (root / folder).rglob("*.*")]
    assert len(files) > 15
    for path in files:
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert "http:" not in text, path
        assert "https:" not in text, path
        assert "//" not in text.replace("// ", "").replace("https://", ""), path
