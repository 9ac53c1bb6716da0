"""`nestwatch marking`: whole output, exit codes, and what is written."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from nestwatch.commands.main import main
from nestwatch.site.stake import best_arcs
from nestwatch.site.tape import format_length
from tests.marking.nights import NAMES, PLACE, POSTS, SPOTS, a_dig, a_night
from tests.site.cameras import seen
from tests.site.sites import GOOD


def written(folder: Path, *, units: str = "metric", marks: int = 8) -> Path:
    """A site file whose posts and marks are those of the hand-placed camera."""
    head, _ = GOOD.split("[[pen.post]]", 1)
    posts = "".join(
        f'[[pen.post]]\nname = "{name}"\nat = [{x}, {y}]\n' for name, (x, y) in zip(NAMES, SPOTS, strict=True)
    )
    camera = GOOD[GOOD.index("[[camera]]") : GOOD.index("[[camera.mark]]")]
    pixels = seen(SPOTS[:marks])
    pointed = "".join(
        f'[[camera.mark]]\npost = "{name}"\npixel = [{x:.2f}, {y:.2f}]\n'
        for name, (x, y) in zip(NAMES[:marks], pixels, strict=True)
    )
    path = folder / "site.toml"
    text = (head + posts + camera + pointed).replace('"metric"', f'"{units}"')
    path.write_text(text, encoding="utf-8")
    return path


def marking(site: Path, *arguments: str) -> Result:
    return CliRunner().invoke(main, ["marking", str(site), *arguments])


@pytest.mark.parametrize(("units", "paper"), [("metric", "A4"), ("imperial", "Letter")])
def test_the_answer_is_the_tape_and_two_files(tmp_path: Path, units: str, paper: str) -> None:
    site, night = written(tmp_path, units=units), a_night(tmp_path, [a_dig(), a_dig(2, "rest")])
    arcs = best_arcs(POSTS, PLACE)
    assert arcs is not None
    one, two = (format_length(far, units) for far in (arcs.first_m, arcs.second_m))  # type: ignore[arg-type]
    result = marking(site, "2026-06-12")
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout == (
        f"1. Nest: {one} from {arcs.first} and {two} from {arcs.second}\n"
        f"To print at 100 % (1 page, {paper}): {night / 'marking.pdf'}\n"
        f"For the phone: {night / 'marking.html'}\n"
    )
    assert sorted(path.name for path in night.glob("marking*")) == ["marking.html", "marking.pdf"]


def test_chosen_digs_have_files_of_their_own(tmp_path: Path) -> None:
    site, night = written(tmp_path), a_night(tmp_path, [a_dig(), a_dig(2, "rest")])
    result = marking(site, "2026-06-12", "--dig", "2", "--paper", "letter")
    assert result.exit_code == 0
    assert "(1 page, Letter)" in result.stdout
    assert sorted(path.name for path in night.glob("marking*")) == ["marking-2.html", "marking-2.pdf"]


def test_without_marks(tmp_path: Path) -> None:
    site = written(tmp_path, marks=3)
    a_night(tmp_path, [a_dig(place=None)])
    result = marking(site, "2026-06-12")
    assert result.exit_code == 0
    assert result.stdout.startswith("1. Nest: No distance can be given: this camera has 3 marks, and 4 or ")


def test_no_dig_says_first_what_was_not_seen(tmp_path: Path) -> None:
    site, night = written(tmp_path), a_night(tmp_path, [a_dig(1, "rest")])
    document = json.loads((night / "night.json").read_text(encoding="utf-8"))
    gap = {"from": "2026-06-12T18:00:00+02:00", "to": "2026-06-12T20:00:00+02:00", "why": "no recording"}
    document["not_seen"] = [{"camera": "sandbank", **gap}]
    (night / "night.json").write_text(json.dumps(document), encoding="utf-8")
    result = marking(site, "2026-06-12")
    assert result.exit_code == 0
    assert result.stdout == (
        "Not seen: sandbank 18:00–20:00 (no recording). 2 h of 9 h nesting time.\n"
        "No sheet was made: no likely dig in what was seen. 1 rest is listed: add --rests for sheets.\n"
    )
    assert marking(site, "2026-06-12", "--rests").stdout.startswith("1. Rest, no digging: ")


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (("2026-06-13",), 1, "there is no such night; the last one here is 2026-06-12"),
        (("2026-06-12", "--dig", "9"), 1, "the night of 2026-06-12 has no dig 9; its only one is 1."),
        (("12 June",), 2, '"12 June" is not a date; write year-month-day'),
        (("2026-06-12", "--dig", "0"), 2, "0 is not in the range"),
        (("2026-06-12", "--paper", "a5"), 2, "'a5' is not one of"),
    ],
)
def test_what_cannot_be_done_is_one_line(
    tmp_path: Path, arguments: tuple[str, ...], code: int, words: str
) -> None:
    site = written(tmp_path)
    a_night(tmp_path, [a_dig()])
    result = marking(site, *arguments)
    assert (result.exit_code, result.stdout) == (code, "")
    assert words in result.stderr
    assert "Traceback" not in result.stderr


def test_a_folder_that_cannot_be_written(tmp_path: Path) -> None:
    """A folder lies where the PDF should go: said so, and the phone's page of before is kept."""
    site, night = written(tmp_path), a_night(tmp_path, [a_dig()])
    (night / "marking.pdf").mkdir()
    (night / "marking.html").write_text("before", encoding="utf-8")
    result = marking(site, "2026-06-12")
    assert result.exit_code == 1
    assert "cannot write" in result.stderr
    assert (night / "marking.html").read_text(encoding="utf-8") == "before"
    assert not list(night.glob(".*.part"))
