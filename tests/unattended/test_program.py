"""A program of the keeper's choice gets the message; whatever goes wrong with it is one line."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from nestwatch.errors import NotifyError
from nestwatch.site.records import Mail, Notify
from nestwatch.unattended import program as program_module
from nestwatch.unattended.message import Message
from nestwatch.unattended.program import run_program
from nestwatch.unattended.secret import VARIABLE
from nestwatch.unattended.tell import tell
from tests.unattended.servers import free_port, running

MESSAGE = Message("Lindenmoor: 1 nest", ("Not seen: 22:10–22:40.", "1. nest"))

KEEP = """\
import json, os, sys
text = sys.stdin.buffer.read().decode("utf-8")
kept = {"text": text, "arguments": sys.argv[1:], "here": os.getcwd()}
kept["secret"] = os.environ.get("NESTWATCH_MAIL_PASSWORD")
open(sys.argv[1], "w", encoding="utf-8").write(json.dumps(kept))
"""


def test_the_message_arrives_on_stdin(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(VARIABLE, "hush")
    out = tmp_path / "kept größer.json"
    run_program([sys.executable, "-c", KEEP, str(out), "$HOME; *"], MESSAGE, tmp_path)
    kept = json.loads(out.read_text(encoding="utf-8"))
    assert kept["text"] == "Lindenmoor: 1 nest\n\nNot seen: 22:10–22:40.\n1. nest\n"
    assert kept["arguments"] == [str(out), "$HOME; *"]  # no shell has touched them
    assert Path(kept["here"]).resolve() == tmp_path.resolve()
    assert kept["secret"] is None


@pytest.mark.parametrize(
    ("code", "ending"),
    [
        ("import sys; sys.exit(7)", "ended with 7."),
        (
            "import sys; print('first\\nno network', file=sys.stderr); sys.exit(1)",
            "ended with 1 (no network).",
        ),
    ],
)
def test_a_program_that_fails(tmp_path: Path, code: str, ending: str) -> None:
    with pytest.raises(NotifyError) as raised:
        run_program([sys.executable, "-c", code], MESSAGE, tmp_path)
    assert str(raised.value) == f'"{sys.executable}" {ending}'


def test_no_such_program(tmp_path: Path) -> None:
    with pytest.raises(NotifyError) as raised:
        run_program(["no-such-program-anywhere"], MESSAGE, tmp_path)
    said = str(raised.value)
    assert said.startswith('"no-such-program-anywhere" cannot be run (')
    assert said.endswith("); check command in [notify].")


def test_a_program_that_hangs_is_ended(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(program_module, "PATIENCE_S", 0.5)
    with pytest.raises(NotifyError, match="took longer than"):
        run_program([sys.executable, "-c", "import time; time.sleep(60)"], MESSAGE, tmp_path)


def test_one_way_that_fails_does_not_stop_the_other(tmp_path: Path) -> None:
    out = tmp_path / "kept.json"
    mail = Mail("127.0.0.1", free_port(), "none", None, "a@example.org", ("b@example.org",))
    notify = Notify(mail, (sys.executable, "-c", KEEP, str(out)), False)
    with pytest.raises(
        NotifyError, match=r"^nobody may have been told: the mail server .* cannot be reached"
    ):
        tell(notify, MESSAGE, tmp_path)
    assert out.is_file()


def test_all_that_fails_is_told_in_one_line(tmp_path: Path) -> None:
    mail = Mail("127.0.0.1", free_port(), "none", None, "a@example.org", ("b@example.org",))
    with pytest.raises(NotifyError) as raised:
        tell(Notify(mail, ("no-such-program",), False), MESSAGE, tmp_path)
    assert " Also: " in str(raised.value)
    assert "\n" not in str(raised.value)


def test_both_ways(tmp_path: Path) -> None:
    out = tmp_path / "kept.json"
    with running() as (port, taken):
        mail = Mail("127.0.0.1", port, "none", None, "a@example.org", ("b@example.org",))
        tell(Notify(mail, (sys.executable, "-c", KEEP, str(out)), False), MESSAGE, tmp_path)
    assert (len(taken.letters), out.is_file()) == (1, True)
