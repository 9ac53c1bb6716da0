"""The phone's page: self-contained, escaped, without scripts, and saying what the paper says."""

from __future__ import annotations

import base64
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from nestwatch.report.marking import read_night, write_marking
from nestwatch.report.marking.pen_drawing import INK, QUIET, SPOT, ZONE
from nestwatch.report.palette import DARK, LIGHT
from nestwatch.site.stake import best_arcs
from nestwatch.site.tape import format_length
from tests.marking.nights import PLACE, POSTS, a_dig, a_night, a_site


class Page(HTMLParser):
    """Collects tags with their attributes and the text between them."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data

    def named(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


@pytest.fixture(scope="module")
def night(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return a_night(tmp_path_factory.mktemp("phone"), [a_dig(), a_dig(2, "unclear")])


def page_of(night: Path, name: str = "Linden Fen") -> str:
    document = read_night(night)
    site = replace(a_site(), name=name)
    marked = write_marking(site, document, document["digs"], night, paper="a4")
    return marked.page.read_text(encoding="utf-8")


def test_nothing_is_fetched_and_nothing_runs(night: Path) -> None:
    page = Page(page_of(night))
    assert not page.named("script")
    assert not page.named("link")
    for attributes in (attributes for _, attributes in page.tags):
        for key in ("src", "href", "xlink:href"):
            assert (attributes.get(key) or "#").startswith(("data:image/jpeg;base64,", "#"))
        assert not any(key.startswith("on") for key in attributes)
    sources = [image["src"] or "" for image in page.named("img")]
    assert len(sources) == 6
    for source in sources:
        assert base64.b64decode(source.partition(",")[2])[:2] == b"\xff\xd8"
    assert all(image["alt"] for image in page.named("img"))


def test_it_says_what_the_paper_says(night: Path) -> None:
    page = Page(page_of(night))
    arcs = best_arcs(POSTS, PLACE)
    assert arcs is not None
    for far in (arcs.first_m, arcs.second_m):
        assert format_length(far, "metric") in page.text
    assert f"look to {arcs.second}: the two tapes meet on your {arcs.side.upper()}" in page.text
    assert page.text.index("Fence off and confirmed dead") < page.text.index(
        format_length(arcs.first_m, "metric")
    )
    assert len(page.named("svg")) == 2
    assert len([box for box in page.named("input") if box["type"] == "checkbox"]) == 2 * 9


def test_names_are_escaped(night: Path) -> None:
    html = page_of(night, name="<script>alert(1)</script> & Fen")
    assert "<script>" not in html
    assert "&lt;script&gt;" in html


def luminance(colour: str) -> float:
    """WCAG 2.2, relative luminance (w3.org/TR/WCAG22/#dfn-relative-luminance)."""
    shares = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    red, green, blue = (s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, contrast ratio (w3.org/TR/WCAG22/#dfn-contrast-ratio): 21 for black on white."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_formula() -> None:
    """#767676 on white is 4.54 and #777777 is 4.48 (WebAIM's checker; from memory)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("ground", ["#ffffff", ZONE])
def test_contrast_on_the_plan(ground: str) -> None:
    """AA: 4.5 for text, 3 for marks."""
    for ink in (INK, QUIET, SPOT):
        assert contrast(ink, ground) >= 4.5


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_contrast_of_every_pair_the_page_uses(night: Path, colours: dict[str, str]) -> None:
    """Pairs read from the page's own style: text colours on the ground and on the sheet."""
    style = page_of(night)
    used = set(re.findall(r"[ ;{]color: var\(--([a-z-]+)\)", style)) - {"loud-ink"}
    assert used == {"ink", "faded", "link"}
    for text in used:
        for ground in ("ground", "sheet"):
            assert contrast(colours[text], colours[ground]) >= 4.5, (text, ground)
    assert contrast(colours["loud-ink"], colours["loud"]) >= 4.5
    assert contrast(colours["rule"], colours["sheet"]) >= 3
