"""The table [notify]: what it means, and one test for each mistake in it."""

from __future__ import annotations

from pathlib import Path

import pytest

from nestwatch.site import load_site
from nestwatch.site.records import Mail, Notify
from tests.site.sites import GOOD, said, written

MAIL = """\
[notify.mail]
server = "mail.example.org"
user = "keeper"
sender = "nestwatch@example.org"
to = ["keeper@example.org"]
"""


def notify(folder: Path, text: str) -> Notify | None:
    return load_site(written(folder, GOOD + text)).notify


def test_without_the_table_nobody_is_told(tmp_path: Path) -> None:
    assert notify(tmp_path, "") is None


def test_mail_and_command(tmp_path: Path) -> None:
    found = notify(tmp_path, '[notify]\ncommand = ["tell-me", "--loud"]\nplaces = true\n' + MAIL)
    mail = Mail(
        "mail.example.org", 587, "starttls", "keeper", "nestwatch@example.org", ("keeper@example.org",)
    )
    assert found == Notify(mail, ("tell-me", "--loud"), True)


@pytest.mark.parametrize(
    ("security", "port"),
    # Submission: RFC 6409, section 3.1; implicit TLS: RFC 8314, section 7.3; relay: RFC 5321.
    [("starttls", 587), ("tls", 465), ("none", 25)],
)
def test_usual_ports(tmp_path: Path, security: str, port: int) -> None:
    text = MAIL.replace('user = "keeper"', f'security = "{security}"')
    found = notify(tmp_path, text)
    assert found is not None
    assert found.mail is not None
    assert (found.mail.port, found.places, found.command) == (port, False, None)


def test_a_port_of_its_own(tmp_path: Path) -> None:
    found = notify(tmp_path, MAIL + "port = 2525\n")
    assert found is not None
    assert found.mail is not None
    assert found.mail.port == 2525


MISTAKES = [
    pytest.param(
        "[notify]\nplaces = true\n",
        ", line 60: [notify]: tells nobody; add a table [notify.mail], or command = [...].",
        id="nobody",
    ),
    pytest.param(
        MAIL.replace("keeper@example.org", "keeper"),
        ', line 64: [notify.mail] to, value 1: "keeper" is not an e-mail address; write for example '
        '"keeper@example.org".',
        id="address",
    ),
    pytest.param(
        MAIL.replace('["keeper@example.org"]', '["a@example.org\\nBcc: b@example.org"]'),
        ", line 64: [notify.mail] to, value 1: must be text on one line.",
        id="header injection",
    ),
    pytest.param(
        MAIL.replace('["keeper@example.org"]', "[]"),
        ", line 64: [notify.mail] to: is empty; write something between the brackets.",
        id="no one",
    ),
    pytest.param(
        MAIL.replace('to = ["keeper@example.org"]', ""),
        ', line 60: [notify.mail] to: missing; add for example to = ["keeper@example.org"].',
        id="missing",
    ),
    pytest.param(
        MAIL + 'password = "x"\n',
        ', line 65: [notify.mail]: unknown key "password"; take it out; keys here are server, port, '
        "security, user, sender, to.",
        id="password",
    ),
    pytest.param(
        MAIL + 'security = "none"\n',
        ", line 60: [notify.mail]: user: a password would travel for all to read; write security = "
        '"starttls" (or "tls"), or leave user out.',
        id="in clear",
    ),
    pytest.param(
        MAIL + 'security = "ssl"\n',
        ', line 65: [notify.mail] security: "ssl" is not known; write "starttls", "tls" or "none".',
        id="security",
    ),
    pytest.param(
        MAIL + "port = 0\n",
        ", line 65: [notify.mail] port: 0 is out of range; it must be at least 1.",
        id="port",
    ),
    pytest.param(
        '[notify]\ncommand = "tell-me"\n',
        ', line 61: [notify] command: must be a list in square brackets, not "tell-me".',
        id="command text",
    ),
    pytest.param(
        '[notify]\ncommand = ["a"]\nplaces = 1\n',
        ", line 62: [notify] places: must be true or false, not 1.",
        id="places",
    ),
    pytest.param(
        '[notify]\ncomand = ["a"]\n',
        ', line 61: [notify]: unknown key "comand"; did you mean "command"?',
        id="misspelt",
    ),
]


@pytest.mark.parametrize(("text", "message"), MISTAKES)
def test_a_mistake_gives_one_line(tmp_path: Path, text: str, message: str) -> None:
    assert said(written(tmp_path, GOOD + text)) == message
