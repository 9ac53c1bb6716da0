"""Which digs get a sheet, and what is said where a night file cannot be used."""

from __future__ import annotations

from pathlib import Path

import pytest

from nestwatch.errors import NestwatchError
from nestwatch.report.marking import chosen_digs, read_night
from nestwatch.report.marking.sheet import make_sheet
from nestwatch.site.records import Post
from tests.marking.nights import POSTS, a_dig, a_night, a_site, with_posts


def said(folder: Path) -> str:
    with pytest.raises(NestwatchError) as raised:
        read_night(folder)
    return str(raised.value)


def test_rests_are_left_out_unless_asked_for(tmp_path: Path) -> None:
    document = read_night(a_night(tmp_path, [a_dig(1), a_dig(2, "rest")]))
    assert [dig["rank"] for dig in chosen_digs(document, (), rests=False)] == [1]
    assert [dig["rank"] for dig in chosen_digs(document, (), rests=True)] == [1, 2]
    assert [dig["rank"] for dig in chosen_digs(document, (2,), rests=False)] == [2]


@pytest.mark.parametrize(
    ("count", "words"),
    [(0, "it has none at all."), (1, "its only one is 1."), (3, "they go from 1 to 3.")],
)
def test_a_number_that_is_not_there(tmp_path: Path, count: int, words: str) -> None:
    document = read_night(a_night(tmp_path, [a_dig(n) for n in range(1, count + 1)]))
    with pytest.raises(NestwatchError, match="the night of 2026-06-12 has no dig 7; ") as raised:
        chosen_digs(document, (7,), rests=False)
    assert str(raised.value).endswith(words)


def test_no_such_night(tmp_path: Path) -> None:
    assert said(tmp_path / "nights/2026-06-12").endswith(
        "there is no such night; watch it first: nestwatch night SITE --date 2026-06-12"
    )
    a_night(tmp_path, [])
    assert "the last one here is 2026-06-12; or watch it" in said(tmp_path / "nights/2026-06-14")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("{", "is damaged; make it again with nestwatch night."),
        ("[]", "is no night file of the format nestwatch-night/1"),
        ('{"format": "other/1"}', "is no night file of the format"),
        ('{"format": "nestwatch-night/1"}', "has no 'site'; make it again"),
    ],
)
def test_a_file_that_is_none(tmp_path: Path, text: str, words: str) -> None:
    (tmp_path / "night.json").write_text(text, encoding="utf-8")
    assert words in said(tmp_path)


@pytest.mark.parametrize("key", ["tape", "pixel", "pictures", "stages"])
def test_a_dig_without_what_is_needed(tmp_path: Path, key: str) -> None:
    dig = a_dig()
    night = a_night(tmp_path, [dig])
    text = (night / "night.json").read_text(encoding="utf-8")
    (night / "night.json").write_text(text.replace(f'"{key}":', '"other":'), encoding="utf-8")
    assert f"has no '{key}'" in said(night)


def test_a_post_measured_anew_since_asks_for_the_night_again(tmp_path: Path) -> None:
    document = read_night(a_night(tmp_path, [a_dig()]))
    moved = with_posts(a_site(), (Post("stake_w", (0.43, 1.2)), *POSTS[1:]))
    with pytest.raises(NestwatchError, match="were changed after this night was watched"):
        make_sheet(moved, document, document["digs"][0], tmp_path)


def test_a_camera_that_was_renamed(tmp_path: Path) -> None:
    dig = a_dig() | {"camera": "shed"}
    document = read_night(a_night(tmp_path, [dig]))
    with pytest.raises(NestwatchError, match='has no camera "shed", which saw dig 1'):
        make_sheet(a_site(), document, dig, tmp_path)


def test_a_path_out_of_the_folder_is_not_read(tmp_path: Path) -> None:
    dig = a_dig()
    night = a_night(tmp_path, [dig])
    (tmp_path / "secret.jpg").write_bytes(b"not yours")
    dig["pictures"]["after"] = "../../secret.jpg"
    sheet = make_sheet(a_site(), read_night(night), dig, night)
    assert {picture.name: picture.jpeg is None for picture in sheet.pictures}["after"]
