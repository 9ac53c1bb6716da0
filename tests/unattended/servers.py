"""Mail servers on this computer, with a certificate of our own making, and what they were given."""

from __future__ import annotations

import socket
import ssl
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from email.message import EmailMessage
from typing import Any

import trustme
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult, LoginPassword

AUTHORITY = trustme.CA()
USER, PASSWORD = "keeper", "wren & robin 7"


@dataclass
class Taken:
    """What the server took: the letters, their recipients, and whether the connection was encrypted."""

    letters: list[EmailMessage] = field(default_factory=list)
    recipients: list[str] = field(default_factory=list)
    encrypted: list[bool] = field(default_factory=list)
    greeted_by: list[str] = field(default_factory=list)

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        letter = message_from_bytes(envelope.content, policy=policy.default)
        assert isinstance(letter, EmailMessage)
        self.letters.append(letter)
        self.recipients += envelope.rcpt_tos
        self.encrypted.append(session.ssl is not None)
        self.greeted_by.append(session.host_name)
        return "250 OK"


def trusted() -> ssl.SSLContext:
    """Believes the certificates of our servers, and no others."""
    context = ssl.create_default_context()
    AUTHORITY.configure_trust(context)
    return context


def _own() -> ssl.SSLContext:
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    AUTHORITY.issue_cert("127.0.0.1").configure_cert(context)
    return context


def free_port() -> int:
    with socket.socket() as sock:
        sock.bind(("127.0.0.1", 0))
        port: int = sock.getsockname()[1]
        return port


def _check(server: Any, session: Any, envelope: Any, mechanism: str, data: Any) -> AuthResult:
    good = (
        isinstance(data, LoginPassword) and data.login == USER.encode() and data.password == PASSWORD.encode()
    )
    return AuthResult(success=good, handled=False)


@contextmanager
def running(*, starttls: bool = False) -> Iterator[tuple[int, Taken]]:
    """A server on 127.0.0.1; with `starttls` it takes letters only encrypted and with name and password."""
    taken = Taken()
    options: dict[str, Any] = {}
    if starttls:
        options = {
            "tls_context": _own(),
            "require_starttls": True,
            "authenticator": _check,
            "auth_required": True,
        }
    controller = Controller(taken, hostname="127.0.0.1", port=free_port(), **options)
    controller.start()
    try:
        yield controller.port, taken
    finally:
        controller.stop()
