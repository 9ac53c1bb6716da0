"""Who may talk to the local page: one browser on this computer, and nobody through it.

The start address holds a token that works once; it is exchanged for a cookie that scripts cannot read and
other sites do not send. Every request must name this server as its host and come from this page; every write
must carry a second token that only the page knows. Any program of the same user could still read all of it:
what is kept out is other web sites, other computers and other users' browsers.

Where the keeper asks for it, phones of the house are let in too, by a code that stands in the terminal.
"""

from __future__ import annotations

import secrets
from collections.abc import Collection, Sequence
from threading import Lock
from urllib.parse import urlencode

from flask import Flask, Response, abort, g, jsonify, redirect, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.wrappers import Response as AnyResponse

from nestwatch.desk.pairing import Pairing

START = "/start"
TOKEN_HEADER = "X-Nestwatch-Token"
TOKEN_FIELD = "write_token"
"""Of a form that is sent without a script."""
LARGEST_BODY = 512 * 1024
"""Bytes of a request; a drawing of fifty zones has about 50 kB."""
PAIR = "/pair"
OPEN_TO_ALL = frozenset({"static", "style", "start", "pair", "pair_code"})
"""Endpoints that need no cookie: they tell nothing of the site."""

_WRONG_CODE = "That is not the code that the terminal shows; look again."
_CLOSED = (
    "There were too many wrong codes, so nobody is let in any more. Stop the command in the terminal "
    "(Ctrl-C) and run it again for a new code."
)

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob:",
        "media-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
_HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}


class Guard:
    """The tokens of one run of the server, and the checks before every request.

    `hosts`: what a browser may call this server, such as "127.0.0.1:8123". `pairing`: how phones are let in,
    None for not at all. `house`: those of `hosts` that phones of the house can reach, the likeliest first.
    """

    def __init__(
        self,
        hosts: Collection[str],
        *,
        cookie: str = "nestwatch",
        pairing: Pairing | None = None,
        house: Sequence[str] = (),
    ) -> None:
        self.hosts = frozenset(hosts)
        self.pairing = pairing
        self.house = tuple(house)
        self.start_token = secrets.token_urlsafe(32)
        self.write_token = secrets.token_urlsafe(32)
        self._cookie = cookie
        self._session = secrets.token_urlsafe(32)
        self._used = False
        self._lock = Lock()

    def protect(self, app: Flask) -> None:
        """Put the checks before, and the headers after, everything that `app` does."""
        app.config["MAX_CONTENT_LENGTH"] = LARGEST_BODY
        app.before_request(self._check)
        app.after_request(_closed)
        app.add_url_rule(START, "start", self._start)
        if self.pairing is not None:
            app.add_url_rule(PAIR, "pair", _pair_page)
            app.add_url_rule("/api/pair", "pair_code", self._pair, methods=["POST"])

    def _check(self) -> AnyResponse | None:
        g.write_token = self.write_token
        _refuse_unless(request.host in self.hosts, "This page answers only under its own address.")
        origin = request.headers.get("Origin")
        _refuse_unless(origin is None or origin in self._origins(), "Another page may not use this one.")
        site = request.headers.get("Sec-Fetch-Site", "none")
        _refuse_unless(site in {"none", "same-origin"}, "Another page may not use this one.")
        known = request.endpoint in OPEN_TO_ALL or self._is_known()
        if not known and self.pairing is not None and _is_page():
            return redirect(_pair_address(), 303)
        _refuse_unless(
            known,
            "This browser has not been let in. Use the address that the terminal shows, or stop the command "
            "there (Ctrl-C) and run it again for a new one.",
        )
        if request.method not in {"GET", "HEAD"} and request.endpoint != "pair_code":
            given = request.headers.get(TOKEN_HEADER) or request.form.get(TOKEN_FIELD, "")
            _refuse_unless(
                secrets.compare_digest(given.encode(), self.write_token.encode()),
                "This page is from an earlier run of the command; load it again.",
            )
        return None

    def _origins(self) -> set[str]:
        return {f"http://{host}" for host in self.hosts}

    def _is_known(self) -> bool:
        given = request.cookies.get(self._cookie, "")
        return secrets.compare_digest(given.encode(), self._session.encode())

    def _start(self) -> AnyResponse:
        """Exchange the token for the cookie; the second time only for the browser that has it already."""
        if not self._is_known():
            self._let_in(request.args.get("token", ""))
        return self._known(redirect("/", 303))

    def _pair(self) -> ResponseReturnValue:
        """Exchange the code for the cookie. Only a page of ours may try: the origin has to be told."""
        assert self.pairing is not None
        _refuse_unless("Origin" in request.headers, "Open this page's own address and type the code there.")
        body = request.get_json(silent=True)
        given = body.get("code") if isinstance(body, dict) else None
        if not self.pairing.accepts(given if isinstance(given, str) else ""):
            return jsonify(why=_CLOSED if self.pairing.is_closed else _WRONG_CODE), 403
        return self._known(jsonify(said="Let in."))

    def _known(self, answer: AnyResponse) -> AnyResponse:
        answer.set_cookie(self._cookie, self._session, httponly=True, samesite="Strict", path="/")
        return answer

    def _let_in(self, given: str) -> None:
        right = secrets.compare_digest(given.encode(), self.start_token.encode())
        _refuse_unless(right, "This address is not from the running command; use the one the terminal shows.")
        with self._lock:
            used, self._used = self._used, True
        _refuse_unless(
            not used,
            "This address has been used already, and it works once. Go on in the window that it opened, or "
            "stop the command in the terminal (Ctrl-C) and run it again for a new one. Nothing is lost that "
            "was saved.",
        )


def _pair_page() -> str:
    wanted = request.args.get("next", "")
    return render_template("pair.html.j2", wanted=wanted if _is_ours(wanted) else "/")


def _pair_address() -> str:
    """Where the code is asked for, with the page that was wanted."""
    asked = request.full_path.rstrip("?")
    return PAIR if asked == "/" else f"{PAIR}?{urlencode({'next': asked})}"


def _is_ours(address: str) -> bool:
    """A path of this server; `//host` and backslashes would lead elsewhere."""
    return address.startswith("/") and address[1:2] != "/" and "\\" not in address and address.isprintable()


def _is_page() -> bool:
    """Something that a person opens, not a script's request."""
    return request.method == "GET" and not request.path.startswith("/api/")


def _refuse_unless(allowed: bool, why: str) -> None:
    if not allowed:
        abort(403, why)


def _closed(answer: Response) -> Response:
    for name, value in _HEADERS.items():
        answer.headers.setdefault(name, value)  # a page of another kind may bring a policy of its own
    if request.endpoint != "static":
        answer.headers["Cache-Control"] = "no-store"
    return answer
