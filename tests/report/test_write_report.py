"""A report is put in place whole, the night file last, or not at all."""

from __future__ import annotations

import errno
import json
import os
from pathlib import Path

import av.error
import pytest

from nestwatch import report
from nestwatch.errors import OutputError
from nestwatch.report import write_report
from nestwatch.report.files import output_errors, replacing, write_together
from tests.report.scenes import a_night, a_placed, a_site, some_hours

NIGHTS = [a_night("sandbank"), a_night("shed side")]


def test_writes_the_three_files_and_returns_the_document(tmp_path: Path) -> None:
    folder = tmp_path / "nights" / "2026-06-12 été"
    document = write_report(a_site(), some_hours(), NIGHTS, [a_placed()], folder, "0.1.0")
    assert sorted(path.name for path in folder.iterdir()) == ["digs.csv", "index.html", "night.json"]
    assert json.loads((folder / "night.json").read_text("utf-8")) == document


def test_the_night_file_is_put_in_place_last(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    order: list[str] = []
    really = os.replace

    def noted(source: Path, target: Path) -> None:
        order.append(Path(target).name)
        really(source, target)

    monkeypatch.setattr(os, "replace", noted)
    write_report(a_site(), some_hours(), NIGHTS, [], tmp_path, "0.1.0")
    assert order == ["digs.csv", "index.html", "night.json"]


@pytest.mark.parametrize("which", [0, 1, 2])
def test_a_full_disk_leaves_the_earlier_results(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, which: int
) -> None:
    write_report(a_site(), some_hours(), NIGHTS, [a_placed()], tmp_path, "0.1.0")
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    really, calls = Path.write_bytes, []

    def full(self: Path, data: bytes) -> int:
        calls.append(self.name)
        if len(calls) - 1 == which:
            really(self, data[:10])
            raise OSError(errno.ENOSPC, "No space left on device")
        return really(self, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(OutputError, match=r"the disk is full; free some space and run again$"):
        write_report(a_site(), some_hours(), NIGHTS, [], tmp_path, "0.2.0")
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "the disk is full; free some space and run again"),
        (
            errno.EACCES,
            "no permission, or another program has it open; close that or choose another folder with --out",
        ),
        (errno.EROFS, "that disk is read-only; choose another folder with --out"),
        (errno.EIO, "check the disk and run again"),
    ],
)
def test_each_failure_says_what_to_do_next(number: int, words: str) -> None:
    with pytest.raises(OutputError) as caught, output_errors(Path("nights/x.json")):
        raise OSError(number, os.strerror(number))
    text = str(caught.value)
    assert text.startswith("cannot write ")
    assert text.endswith(words)
    assert "\n" not in text


def test_a_table_held_open_by_a_spreadsheet_leaves_the_earlier_results(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_report(a_site(), some_hours(), NIGHTS, [a_placed()], tmp_path, "0.1.0")
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    really = os.replace

    def held(source: Path, target: Path) -> None:
        if Path(target).name == "digs.csv":  # as Windows answers
            raise PermissionError(errno.EACCES, "The process cannot access the file")
        really(source, target)

    monkeypatch.setattr(os, "replace", held)
    with pytest.raises(OutputError, match="another program has it open"):
        write_report(a_site(), some_hours(), NIGHTS, [], tmp_path, "0.2.0")
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_errors_of_the_video_writer_are_output_errors_too() -> None:
    with pytest.raises(OutputError, match="the disk is full"), output_errors(Path("clips/a.mp4")):
        av.error.err_check(-errno.ENOSPC)


def test_an_error_in_between_leaves_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    path.write_text("old")

    def half() -> None:
        with replacing(path) as temporary:
            temporary.write_text("half")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        half()
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_write_together_keeps_the_order_of_the_names(tmp_path: Path) -> None:
    write_together(tmp_path, {"b": b"1", "a": b"2"})
    assert (tmp_path / "b").read_bytes() == b"1"
    assert (tmp_path / "a").read_bytes() == b"2"


def test_public_names_exist_and_are_sorted() -> None:
    assert report.__all__ == sorted(report.__all__)
    assert all(hasattr(report, name) for name in report.__all__)
