"""E-mail against servers on this computer: what arrives, who sees the password, and every failure."""

from __future__ import annotations

import socket
import sys
import types
from dataclasses import replace

import pytest

from nestwatch.errors import NotifyError
from nestwatch.site.records import Mail
from nestwatch.unattended import mail as mail_module
from nestwatch.unattended.mail import send_mail
from nestwatch.unattended.message import Message
from nestwatch.unattended.secret import VARIABLE
from tests.unattended.servers import PASSWORD, USER, free_port, running, trusted

MESSAGE = Message(
    "nestwatch, Lindenmoor (Süd), 2026-06-12: 1 nest", ("Not seen: 22:10–22:40.", "1. nest, eggs 93 %")
)
PLAIN = Mail("127.0.0.1", 25, "none", None, "nestwatch@example.org", ("a@example.org", "b@example.org"))
SECURE = replace(PLAIN, security="starttls", user=USER)


@pytest.fixture(autouse=True)
def _no_secret(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(VARIABLE, raising=False)
    monkeypatch.setitem(sys.modules, "keyring", None)


def failure(mail: Mail) -> str:
    with pytest.raises(NotifyError) as raised:
        send_mail(mail, MESSAGE, trusted=trusted())
    return str(raised.value)


def test_what_arrives() -> None:
    with running() as (port, taken):
        send_mail(replace(PLAIN, port=port), MESSAGE)
    (letter,) = taken.letters
    assert letter["Subject"] == MESSAGE.subject
    assert (letter["From"], letter["To"]) == ("nestwatch@example.org", "a@example.org, b@example.org")
    assert letter.get_content().splitlines() == list(MESSAGE.lines)
    assert taken.recipients == ["a@example.org", "b@example.org"]


def test_the_computer_s_name_does_not_travel() -> None:
    with running() as (port, taken):
        send_mail(replace(PLAIN, port=port), MESSAGE)
    name = socket.gethostname()
    assert name
    assert name not in taken.letters[0].as_string()
    assert taken.greeted_by == ["localhost.localdomain"]


def test_starttls_with_a_password_from_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(VARIABLE, PASSWORD)
    with running(starttls=True) as (port, taken):
        send_mail(replace(SECURE, port=port), MESSAGE, trusted=trusted())
    assert (len(taken.letters), taken.encrypted) == (1, [True])


def test_a_password_from_the_system_s_store(monkeypatch: pytest.MonkeyPatch) -> None:
    store = types.ModuleType("keyring")
    store.__dict__["get_password"] = lambda service, user: {("nestwatch", USER): PASSWORD}.get(
        (service, user)
    )
    monkeypatch.setitem(sys.modules, "keyring", store)
    with running(starttls=True) as (port, taken):
        send_mail(replace(SECURE, port=port), MESSAGE, trusted=trusted())
    assert len(taken.letters) == 1


def test_no_password_says_where_to_put_it() -> None:
    with running(starttls=True) as (port, taken):
        said = failure(replace(SECURE, port=port))
    assert taken.letters == []
    assert said == (
        "there is no password for keeper: put it into the environment as NESTWATCH_MAIL_PASSWORD, or into "
        "the system's store with: keyring set nestwatch keeper (docs/schedule.md)."
    )


def test_a_wrong_password(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(VARIABLE, "wrong")
    with running(starttls=True) as (port, taken):
        said = failure(replace(SECURE, port=port))
    assert taken.letters == []
    assert said == (
        f"the mail server 127.0.0.1:{port} refuses the name or the password; many servers want a password "
        "made for programs."
    )
    assert "wrong" not in said


def test_a_password_that_the_protocol_cannot_carry(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(VARIABLE, "größer")
    with running(starttls=True) as (port, taken):
        said = failure(replace(SECURE, port=port))
    assert taken.letters == []
    assert said.endswith("letters beyond plain English do not fit; change it.")


def test_a_server_without_encryption_gets_no_password(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(VARIABLE, PASSWORD)
    with running() as (port, taken):
        said = failure(replace(SECURE, port=port))
    assert taken.letters == []
    assert said.endswith('offers no encryption there; try security = "tls", or another port.')


def test_a_certificate_nobody_vouches_for_gets_no_password(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(VARIABLE, PASSWORD)
    with running(starttls=True) as (port, taken), pytest.raises(NotifyError, match="cannot be trusted"):
        send_mail(replace(SECURE, port=port), MESSAGE)
    assert taken.letters == []


def test_nobody_there() -> None:
    port = free_port()
    said = failure(replace(PLAIN, port=port))
    assert said.startswith(f"the mail server 127.0.0.1:{port} cannot be reached (")
    assert said.endswith("); check the network, server and port.")


def test_a_server_that_never_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mail_module, "PATIENCE_S", 0.3)
    with socket.socket() as silent:
        silent.bind(("127.0.0.1", 0))
        silent.listen()
        said = failure(replace(PLAIN, port=silent.getsockname()[1]))
    assert said.endswith("does not answer within 0 s; check the network, server and port.")
