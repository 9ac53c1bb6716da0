"""The PDF read back with pdfplumber: paper, the bar, one page a dig, and the distances that were computed."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pdfplumber
import pytest

from nestwatch.report.marking import Marked, chosen_digs, read_night, write_marking
from nestwatch.report.marking.records import PAPERS, Paper
from nestwatch.report.marking.where import side_words
from nestwatch.site.records import Post, Site, Units
from nestwatch.site.stake import best_arcs, from_wall
from nestwatch.site.tape import format_length, parse_length
from tests.marking.nights import NAMES, PLACE, POSTS, a_dig, a_night, a_site, with_posts

MM = 25.4 / 72  # a PDF point is 1/72 in (ISO 32000-1, 8.3.2.3)


def made(
    folder: Path, digs: list[dict[str, Any]], site: Site | None = None, *, paper: Paper = "a4"
) -> Marked:
    night = a_night(folder, digs)
    document = read_night(night)
    wanted = chosen_digs(document, (), rests=False)
    return write_marking(site or a_site(), document, wanted, night, paper=paper)


def pages(marked: Marked) -> list[Any]:
    with pdfplumber.open(io.BytesIO(marked.pdf.read_bytes())) as pdf:
        return [(page.width * MM, page.height * MM, page.lines, flowing(page)) for page in pdf.pages]


def flowing(page: Any) -> str:
    """The words of a page in the order in which they were set, whatever their size."""
    return " ".join(word["text"] for word in page.extract_words(use_text_flow=True))


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_paper_and_the_bar_that_proves_the_scale(tmp_path: Path, paper: Paper) -> None:
    """ISO 216: A4 is 210 x 297 mm. Letter is 8.5 x 11 in. The bar is 100 mm to 0.2 mm."""
    ((width, height, lines, text),) = pages(made(tmp_path, [a_dig()], paper=paper))
    assert (width, height) == pytest.approx(PAPERS[paper], abs=0.1)
    published = {"a4": (210.0, 297.0), "letter": (8.5 * 25.4, 11 * 25.4)}
    assert PAPERS[paper] == pytest.approx(published[paper])
    level = [line for line in lines if abs(line["top"] - line["bottom"]) < 0.01]
    lengths = [(line["x1"] - line["x0"]) * MM for line in level if line["top"] * MM > height - 30]
    assert any(abs(length - 100) <= 0.2 for length in lengths), lengths
    assert "This bar is 100 mm" in text


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_nothing_runs_off_the_paper(tmp_path: Path, paper: Paper, units: Units) -> None:
    """Printers leave about 5 mm free (common practice, no source)."""
    site = a_site(units=units)
    long = tuple(replace(post, name=f"the very long name of post {n}") for n, post in enumerate(POSTS))
    dig = a_dig()
    dig["tape"] = [{"post": long[0].name, "m": round(math.dist(POSTS[0].at, PLACE), 3)}]
    camera = replace(
        site.cameras[0],
        marks=tuple(replace(m, post=long[n].name) for n, m in enumerate(site.cameras[0].marks)),
    )
    marked = made(tmp_path, [dig], replace(with_posts(site, long), cameras=(camera,)), paper=paper)
    with pdfplumber.open(io.BytesIO(marked.pdf.read_bytes())) as pdf:
        (page,) = pdf.pages
        for letter in page.chars:
            across, down = ((letter[a] * MM, letter[b] * MM) for a, b in (("x0", "x1"), ("top", "bottom")))
            assert min(across[0], down[0]) > 5, letter["text"]
            assert across[1] < PAPERS[paper][0] - 5, letter["text"]
            assert down[1] < PAPERS[paper][1] - 5, letter["text"]


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_distances_printed_are_those_computed(tmp_path: Path, units: Units) -> None:
    site = a_site(units=units)
    ((_, _, _, text),) = pages(made(tmp_path, [a_dig()], site))
    arcs, wall = best_arcs(POSTS, PLACE), from_wall(site.pens[0], PLACE)
    assert arcs is not None
    for post, far in ((arcs.first, arcs.first_m), (arcs.second, arcs.second_m)):
        assert far == pytest.approx(
            math.dist(dict(zip(NAMES, (p.at for p in POSTS), strict=True))[post], PLACE)
        )
        assert f"{format_length(far, units)} from {post}" in text
        step = 0.01 if units == "metric" else 0.0254 / 4
        assert parse_length(format_length(far, units)) == pytest.approx(far, abs=step / 2 + 1e-9)
    assert f"go {format_length(wall.along_m, units)} along the wall" in text
    assert f"then {format_length(wall.out_m, units)} straight out" in text
    assert arcs.side.upper() in text


def test_the_side_by_hand() -> None:
    """Both posts on the south wall, the place north of them: from the western one looking east it is left."""
    west, east = Post("west", (0.0, 0.0)), Post("east", (4.2, 0.0))
    arcs = best_arcs([west, east], PLACE)
    assert side_words(arcs) == "Stand at west, look to east: the two tapes meet on your LEFT."
    flat = best_arcs([west, east], (2.1, 0.2))
    assert "flat angle" in side_words(flat)
    assert "straight line through west and east" in side_words(best_arcs([west, east], (1.0, 0.0)))


def test_one_page_for_each_dig_in_rank_order_without_rests(tmp_path: Path) -> None:
    digs = [a_dig(1), a_dig(2, "unclear"), a_dig(3, "trial"), a_dig(4, "rest")]
    texts = [page[3] for page in pages(made(tmp_path, digs))]
    assert [text.split()[0] for text in texts] == ["1", "2", "3"]
    assert ["Nest" in texts[0], "Unclear" in texts[1], "Trial dig" in texts[2]] == [True] * 3


def test_the_same_night_gives_the_same_bytes(tmp_path: Path) -> None:
    one, two = (made(tmp_path / name, [a_dig()]) for name in ("one", "two"))
    assert one.pdf.read_bytes() == two.pdf.read_bytes()
    assert one.page.read_text(encoding="utf-8") == two.page.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def text(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The words of a sheet with everything on it."""
    return str(pages(made(tmp_path_factory.mktemp("sheet"), [a_dig()]))[0][3])


def test_what_to_do_stands_in_order(text: str) -> None:
    order = [
        "Fence off, confirmed dead",
        "Hands and tools",
        "Dig by hand from the side",
        "Mark the top of each egg",
        "Never turn it",
        "Fence on again",
        "Wash",
        "fence maker's manual",
    ]
    places = [text.index(each) for each in order]
    assert places == sorted(places)
    for law in ("local law", "permit", "licence", "vet"):
        assert law in text


def test_when_it_was_laid_and_how_long_ago_that_is(text: str) -> None:
    """Laid from 22:30: at 06:00 that is 7 h 30 min (by hand); 3 h after is 01:30."""
    assert "Laid about 22:30–22:52." in text
    assert "7 h 30 min" in text
    assert "best done by 01:30" in text
    assert "sea turtles" in text


def test_without_marks_there_are_pictures_and_no_distance(tmp_path: Path) -> None:
    ((_, _, _, text),) = pages(made(tmp_path, [a_dig(place=None)], a_site(marks=3)))
    assert "No distance can be given: this camera has 3 marks, and 4 or more are needed." in text
    assert " from stake" not in text
    with pdfplumber.open(tmp_path / "nights/2026-06-12/marking.pdf") as pdf:
        assert len(pdf.pages[0].images) == 3


def test_deleted_and_damaged_pictures_are_said_to_be_missing(tmp_path: Path) -> None:
    night = a_night(tmp_path, [a_dig()])
    (night / "pictures/1_during.jpg").unlink()
    (night / "pictures/1_after.jpg").write_bytes(b"\xff\xd8 half")
    document = read_night(night)
    text = pages(write_marking(a_site(), document, document["digs"], night, paper="a4"))[0][3]
    assert "pictures/1_during.jpg is gone; watch the night again" in text
    assert "damaged" in text


def test_a_name_that_the_font_lacks_is_no_end(tmp_path: Path) -> None:
    dig = a_dig()
    dig["zone"] = "砂 $x$ zürich"
    assert "zone ? $x$ zürich" in pages(made(tmp_path, [dig]))[0][3]
