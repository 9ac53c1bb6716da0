"""The page: well formed, self-contained, escaped, legible, and in the order a keeper needs."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from nestwatch.footage.records import Unreadable
from nestwatch.report import night_document, night_page, palette
from nestwatch.report.page import portion, position
from nestwatch.report.records import CameraNight, PlacedDig
from nestwatch.site.records import Units
from tests.report.scenes import a_dig, a_gap, a_night, a_placed, a_site, a_visitor, some_hours

_VOID = {"meta", "img", "br", "link", "input", "hr", "source"}


class Reader(HTMLParser):
    """Checks that tags are balanced and keeps what was met."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in _VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag, f"</{tag}> in {self.open}"

    def handle_data(self, data: str) -> None:
        if not self.open or self.open[-1] != "style":
            self.text.append(data)

    def words(self) -> str:
        return " ".join(" ".join(self.text).split())

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attrs for name, attrs in self.tags if name == tag]


PICTURES = {name: f"pictures/{name} é.jpg" for name in ("before", "during", "after", "overview")}


def _page(
    folder: Path,
    *digs: PlacedDig,
    cameras: tuple[CameraNight, ...] = (),
    units: Units = "metric",
    name: str = "Linden Fen",
) -> str:
    cameras = cameras or (a_night("sandbank"), a_night("shed side"))
    site = a_site(cameras=[each.account.camera for each in cameras], units=units, name=name)
    document = night_document(site, some_hours(), cameras, digs, "0.1.0")
    return night_page(site, some_hours(), document, folder)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "pictures").mkdir()
    for name in PICTURES.values():
        (tmp_path / name).write_bytes(b"\xff\xd8 not looked at \xff\xd9")
    return tmp_path


def _full(dig: PlacedDig) -> PlacedDig:
    return replace(dig, pictures=PICTURES, clip="clips/a b.mp4")


def _everything(folder: Path, **how: Any) -> str:
    cameras = (
        a_night(
            "sandbank",
            [a_gap("22:10", "22:40")],
            visitors=[replace(a_visitor(), picture=PICTURES["during"])],
            unreadable=[Unreadable("x/y.mp4", "cut off")],
        ),
        a_night("shed side", looked_min=500.0),
    )
    digs = (_full(a_placed()), a_placed(a_dig(call="unclear"), marks=False), a_placed(a_dig(call="rest")))
    return _page(folder, *digs, cameras=cameras, **how)


def test_tags_are_balanced_and_pictures_described(folder: Path) -> None:
    page = Reader(_everything(folder))
    images = page.all("img")
    assert len(images) == 5  # four of the dig, one of the visitor
    assert all(image["alt"] for image in images)
    assert all((image["src"] or "").startswith("data:image/jpeg;base64,") for image in images)


def test_nothing_is_fetched_from_elsewhere(folder: Path) -> None:
    text = _everything(folder)
    assert not re.search(r"https?:|//[a-z]|url\(|@import|<script|<iframe|<link", text, re.IGNORECASE)
    for tag, attrs in Reader(text).tags:
        for name in ("href", "src", "poster"):
            where = attrs.get(name) or ""
            assert not re.match(r"[a-z]+:(?!image/jpeg)|/", where), (tag, where)


def test_the_clip_is_a_relative_file_and_waits_to_be_asked(folder: Path) -> None:
    (video,) = Reader(_everything(folder)).all("video")
    assert video["src"] == "clips/a%20b.mp4"
    assert video["poster"] == "pictures/during%20%C3%A9.jpg"
    assert (video["preload"], "controls" in video) == ("none", True)


def test_what_was_not_seen_comes_first_then_digs_rests_visitors_footage_cautions(folder: Path) -> None:
    words = Reader(_everything(folder)).words()
    order = [
        "Not seen: sandbank 22:10–22:40",
        "1. nest",
        "fence off and confirmed dead",
        "Likely digs",
        "eggs very likely (93 %)",
        "Looked at and set aside",
        "Visitors",
        "larger animal",
        "What the cameras saw",
        "cut off",
        "Cautions",
        "at least 20 seconds",
        "no legal and no veterinary advice",
    ]
    places = [words.index(each) for each in order]
    assert places == sorted(places)


def test_headline_is_the_only_first_heading_and_loud_when_it_must_be(folder: Path) -> None:
    assert [each.get("class") for each in Reader(_everything(folder)).all("h1")] == ["loud"]
    assert [each.get("class") for each in Reader(_page(folder)).all("h1")] == [None]


def test_names_are_harmless(folder: Path) -> None:
    evil = "<script>alert(1)</script>\" onload='x"
    dig = a_dig(camera=evil, reasons=(evil,))
    night = a_night(evil, [a_gap("22:10", "22:40", evil)], unreadable=[Unreadable(evil, evil)])
    text = _page(folder, _full(a_placed(dig)), cameras=(night,), name=evil)
    page = Reader(text)
    assert page.all("script") == []
    assert not any("onload" in attrs for _, attrs in page.tags)
    assert evil in page.words()


def test_no_digs_never_stands_without_what_was_seen(folder: Path) -> None:
    words = Reader(_page(folder, cameras=(a_night("a"), a_night("b", [a_gap("18:00", "03:00")])))).words()
    assert "Not seen: b all nesting hours" in words
    assert "No dig found in what was seen" in words


def test_a_missing_picture_is_said_to_be_missing(folder: Path) -> None:
    gone = replace(a_placed(), pictures={**PICTURES, "before": None, "after": "pictures/gone.jpg"})
    page = Reader(_page(folder, gone))
    assert len(page.all("img")) == 2
    assert page.words().count("no picture: nothing was recorded then") == 2


def test_no_marks_means_no_distance(folder: Path) -> None:
    words = Reader(_page(folder, a_placed(marks=False))).words()
    assert "no marks on this camera, so no distance: use the pictures (pixel 531, 424)" in words


def test_imperial_sites_read_feet_and_inches_only(folder: Path) -> None:
    words = Reader(_page(folder, a_placed(), units="imperial")).words()
    assert "x 8 ft 10½ in, y 2 ft 4½ in" in words
    assert "about 6.3 in long" in words
    assert not re.search(r"\d c?m\b", words)


def test_tape_distances_are_shown(folder: Path) -> None:
    # hypot(2.70, 0.72) = 2.794; hypot(4.2 - 2.70, 0.72) = 1.664
    words = Reader(_page(folder, a_placed())).words()
    assert "2.79 m from post_sw" in words
    assert "1.66 m from post_se" in words


def test_many_digs_get_a_list_with_links(folder: Path) -> None:
    page = Reader(_page(folder, *[a_placed()] * 30))
    links = [each["href"] for each in page.all("a") if (each["href"] or "").startswith("#dig-")]
    assert links == [f"#dig-{rank}" for rank in range(1, 31)]
    ids = [attrs["id"] for _, attrs in page.tags if attrs.get("id")]
    assert len(ids) == len(set(ids))
    assert {link.removeprefix("#") for link in links if link} <= set(ids)


def test_stages_are_told_in_words_beside_the_pattern(folder: Path) -> None:
    page = Reader(_page(folder, a_placed()))
    (label,) = [
        attrs["aria-label"] or ""
        for _, attrs in page.tags
        if (attrs.get("aria-label") or "").startswith("Stages")
    ]
    assert label == "Stages: search 21:14–21:28, dig 21:28–22:28, lay 22:28–22:49, cover 22:49–23:18"
    assert "search 21:14–21:28" in page.words()


def test_many_gaps_are_folded_away_but_all_there(folder: Path) -> None:
    gaps = [
        a_gap(f"{hour}:{minute:02d}", f"{hour}:{minute + 2:02d}")
        for hour in (19, 20)
        for minute in (0, 9, 19, 29, 39)
    ]
    page = Reader(_page(folder, cameras=(a_night("a", gaps),)))
    assert "10 stretches not seen: show all" in page.words()
    assert "20:39–20:41 2 min no recording" in page.words()


def test_portion_of_a_bar() -> None:
    whole = {"from": "2026-06-12T20:00:00+02:00", "to": "2026-06-13T00:00:00+02:00"}
    start, end = "2026-06-12T21:00:00+02:00", "2026-06-12T23:00:00+02:00"
    assert portion(start, end, whole) == "left:25.00%;width:50.00%"
    assert portion("2026-06-12T19:00:00+02:00", end, whole) == "left:0.00%;width:75.00%"
    assert portion(start, start, whole) == "left:25.00%;width:0.15%"
    assert position(end, whole) == "left:75.00%"


def _contrast(one: str, other: str) -> float:
    """W3C, WCAG 2.2: contrast ratio from relative luminance."""

    def luminance(colour: str) -> float:
        parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
        linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_formula() -> None:
    # The WCAG extremes, and the commonly quoted lightest grey that passes AA on white.
    assert _contrast("#ffffff", "#000000") == pytest.approx(21)
    assert _contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("colours", [palette.LIGHT, palette.DARK], ids=["light", "dark"])
def test_every_pair_is_legible(colours: dict[str, str]) -> None:
    # WCAG 2.2: 1.4.3 (AA) asks 4.5 : 1 of text, 1.4.11 asks 3 : 1 of marks that carry meaning.
    for text, ground in palette.TEXT_PAIRS:
        assert _contrast(colours[text], colours[ground]) >= 4.5, (text, ground)
    for mark, ground in palette.MARK_PAIRS:
        assert _contrast(colours[mark], colours[ground]) >= 3, (mark, ground)


def test_the_page_uses_no_colour_outside_the_palette(folder: Path) -> None:
    text = _everything(folder)
    known = set(palette.LIGHT.values()) | set(palette.DARK.values()) | {"#000"}
    style = text[text.index("<style>") : text.index("</style>")]
    assert set(re.findall(r"#[0-9a-f]{3,6}\b", style)) <= known
    assert palette.LIGHT.keys() == palette.DARK.keys()
