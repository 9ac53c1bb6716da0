"""The season's page: well formed, self-contained, escaped, the same every time, its numbers the records'."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from html.parser import HTMLParser

import pytest

from nestwatch.report import palette
from nestwatch.season.tally.page.records import Fitted, Table
from nestwatch.season.tally.page.whole import season_body, season_page, season_style
from nestwatch.season.tally.records import Hatch, MapNest, Row, Season, Share
from tests.report.test_report_page import Reader
from tests.season.tally.page_seasons import a_full_season, a_pen, a_season, a_site, an_attempt, empty_season

EVIL = "<b>Ada</b> \"onload='x'\" $x^2$ 龜"


class Tables(HTMLParser):
    """The page's tables as lists of rows of text, by the label of the region around them."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: dict[str, list[list[str]]] = {}
        self._label, self._cell = "", False
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        known = dict(attrs)
        if known.get("role") == "region":
            self._label = known["aria-label"] or ""
            self.found[self._label] = []
        elif tag == "tr" and self._label:
            self.found[self._label].append([])
        elif tag in {"td", "th"} and self._label:
            self.found[self._label][-1].append("")
            self._cell = True

    def handle_endtag(self, tag: str) -> None:
        if tag == "table":
            self._label = ""
        elif tag in {"td", "th"}:
            self._cell = False

    def handle_data(self, data: str) -> None:
        if self._cell and self._label:
            self.found[self._label][-1][-1] += data

    def records(self, label: str) -> list[dict[str, str]]:
        head, *rows = self.found[label]
        return [dict(zip(head, row, strict=True)) for row in rows]


def named(season: Season, name: str) -> Season:
    """The season with one name wherever a name can stand."""
    attempts = tuple(replace(each, female=name, pen=name, zone=name, label=name) for each in season.attempts)
    females = tuple(replace(each, name=name, typical_by=name, why=name) for each in season.females[:2])
    nests = tuple(replace(each, female=name, pen=name, label=name) for each in season.nests)
    groups = {by: tuple(replace(row, name=name) for row in rows) for by, rows in season.groups.items()}
    cameras = tuple(replace(each, camera=name, pen=name) for each in season.nights.cameras)
    performance = replace(season.performance, missed=((date(2026, 6, 1), name),))
    return replace(
        season, site=name, attempts=attempts, females=females, nests=nests, earlier=nests, groups=groups,
        nights=replace(season.nights, cameras=cameras), performance=performance, notes=(name,),
    )  # fmt: skip


def test_tags_are_balanced_and_the_order_is_the_keepers() -> None:
    words = Reader(season_page(a_full_season(), a_site())).words()
    order = [
        "Linden Fen , season 2026", "14 nests", "Not seen: 5 of 67 nights", "67 nights counted", "Who is due",
        "Due now:", "Where the nests are", "sand pen", "By week", "By hour of the night",
        "Eggs and hatching by female", "By warmth", "What was looked at", "How nestwatch did here",
        "as the program was built", "To know with these", "no legal and no veterinary advice",
    ]  # fmt: skip
    places = [words.index(each) for each in order]
    assert places == sorted(places)


def test_every_drawing_is_described_and_its_numbers_stand_in_a_table() -> None:
    page = Reader(season_page(a_full_season(), a_site()))
    drawn = [attrs for tag, attrs in page.tags if attrs.get("role") == "img"]
    assert len(drawn) == len(page.all("svg")) == 7
    assert all(len(each["aria-label"] or "") > 40 for each in drawn)
    assert all(svg["aria-hidden"] == "true" for svg in page.all("svg"))
    assert len(page.all("table")) >= len(drawn) + 1


def test_nothing_is_fetched_and_no_script_runs() -> None:
    text = season_page(named(a_full_season(), EVIL), a_site(a_pen(EVIL)))
    assert not re.search(r"https?:|//[a-z]|@import|<script|<iframe|<link|xmlns", text, re.IGNORECASE)
    assert set(re.findall(r"url\((.)", text)) <= {"#"}
    assert all((attrs.get("href") or "#").startswith("#") for _, attrs in Reader(text).tags)


def test_names_are_harmless_and_shown() -> None:
    text = season_page(named(a_full_season(), EVIL), a_site(a_pen(EVIL), name=EVIL))
    page = Reader(text)
    assert "<b>" not in text
    assert all("onload" not in attrs for _, attrs in page.tags)
    assert page.words().count(EVIL) >= 20


def test_identifiers_are_unique_and_lead_somewhere() -> None:
    text = season_page(a_full_season(40, females=12), a_site())
    ids = re.findall(r' id="([^"]+)"', text)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r'(?:href="#|url\(#)([^")]+)', text)) <= set(ids)
    labels = {attrs["aria-labelledby"] for _, attrs in Reader(text).tags if "aria-labelledby" in attrs}
    assert labels <= set(ids)


def test_the_same_season_gives_the_same_page() -> None:
    first, second = (season_page(a_full_season(6), a_site()) for _ in range(2))
    assert first == second


def test_drawings_have_no_colours_but_the_pages_own() -> None:
    """So that they follow light and dark, and the palette's own test holds for them too."""
    drawings = re.findall(r"<svg.*?</svg>", season_page(a_full_season(), a_site()), re.DOTALL)
    colours = {each for svg in drawings for each in re.findall(r'(?:fill|stroke)="([^"]+)"', svg)}
    used = {match[1] for each in colours if (match := re.fullmatch(r"var\(--([a-z-]+)\)", each))}
    assert {each for each in colours if not each.startswith(("var(", "url("))} <= {"none"}
    assert used <= set(palette.LIGHT)
    assert {"ink", "sheet", "bar", "loud"} <= used


def test_the_body_fits_into_a_page_that_forbids_inline_styles() -> None:
    body = season_body(a_full_season(), a_site())
    page = Reader(body)
    assert not page.all("style")
    assert not page.all("h1")
    assert all("style" not in attrs for _, attrs in page.tags)
    rules = re.findall(r"^\s*([^@{}\n][^{}\n]*)\{", season_style(), re.MULTILINE)
    assert rules
    assert all(part.strip().startswith(".season") for rule in rules for part in rule.split(","))


def test_a_year_before_anything_happened_reads_well() -> None:
    page = Reader(season_page(empty_season(), a_site()))
    words = page.words()
    assert "No night of the nesting season has passed yet" in words
    assert "Nothing was looked at yet" in words
    assert "Nobody is due now" in words
    assert "No nest has a place on a plan" in words
    assert "no case yet" in words
    assert "seen ." not in words
    assert not page.all("svg")
    assert not re.search(r"\bNone\b|\bnan\b|of 0\b|0 %", words)


def test_nothing_found_is_never_told_without_what_was_not_seen() -> None:
    season = a_season([], unseen=[date(2026, 6, 1)])
    words = Reader(season_page(season, a_site())).words()
    assert "No attempt was counted. Read first what was not seen. Not seen: 1 of 67 nights (1 Jun)." in words


def test_all_seen_is_said_quietly() -> None:
    season = a_season([an_attempt(1, date(2026, 6, 12))])
    season = replace(season, nights=replace(season.nights, read_h=season.nights.expected_h))
    page = Reader(season_page(season, a_site()))
    assert "All of the nesting time of every night was seen." in page.words()
    assert not [attrs for _, attrs in page.tags if "loud" in (attrs.get("class") or "").split()]


def as_text(row: Row, name: str) -> list[str]:
    hatch = row.hatch
    return [name, *(str(n) for n in (row.attempts, row.nests, row.trials, row.open, hatch.eggs or 0)),
            *(str(n) for n in (hatch.dead_in_shell, hatch.infertile, hatch.lost, hatch.pending))]  # fmt: skip


_COLUMNS = (
    "Attempts",
    "Nests",
    "Trial digs",
    "Open",
    "Eggs",
    "Dead in shell",
    "Infertile",
    "Lost",
    "Pending",
)


@pytest.mark.parametrize(
    ("label", "by", "head"),
    [
        ("By week", "week", "Week"), ("By hour of the night", "hour", "Hour of the night"),
        ("Eggs and hatching by female", "female", "Female"), ("By rain", "rain", "Rain"),
    ],
)  # fmt: skip
def test_tables_say_what_the_records_say(label: str, by: str, head: str) -> None:
    season = a_full_season()
    rows = season.groups[by]  # type: ignore[index]
    shown = Tables(season_page(season, a_site())).records(label)
    read = [[each[head], *(each[c].replace("–", "0") for c in _COLUMNS)] for each in shown]
    assert read == [as_text(row, row.name or "female not known") for row in rows]
    hatched = [each["Hatched"] for each in shown if each["Hatched"] != "–"]
    settled = [row.hatched for row in rows if row.hatched.of]
    assert [text.split(" (")[0] for text in hatched] == [f"{each.count} of {each.of}" for each in settled]


def test_the_nests_table_has_every_nest_with_its_place() -> None:
    season = a_full_season()
    page = Tables(season_page(season, a_site()))
    rows = page.records("Nests of 2026, sand pen")
    read = {(row["Night"], row["Dig"], row["Female"], row["x"], row["y"]) for row in rows}
    assert [row["No."] for row in rows] == [str(n + 1) for n in range(len(season.nests))]
    assert read == {
        (n.night.isoformat(), n.label, n.female, f"{n.plan_m[0]:.2f} m", f"{n.plan_m[1]:.2f} m")
        for n in season.nests
    }
    assert len(page.records("Nests of earlier years, sand pen")) == len(season.earlier)


def test_feet_where_the_site_has_feet() -> None:
    season = a_season([an_attempt(1, date(2026, 6, 12), place=(0.3048, 0.9144), within=0.0762)])
    (row,) = Tables(season_page(season, a_site(units="imperial"))).records("Nests of 2026, sand pen")
    assert (row["x"], row["y"], row["Within"]) == ("1 ft 0 in", "3 ft 0 in", "3 in")


def test_a_pen_that_is_gone_from_the_site_file_keeps_its_table() -> None:
    season = a_season([an_attempt(1, date(2026, 6, 12), pen="old pen")])
    text = season_page(season, a_site())
    assert "no pen of this name any more" in Reader(text).words()
    assert len(Tables(text).records("Nests of 2026, old pen")) == 1


def test_unknown_is_not_shown_as_nought() -> None:
    hatch = Hatch(None, 0, 0, 0, 0, 0)
    season = a_season([an_attempt(1, date(2026, 6, 12), female=None, within=None, hatch=hatch)])
    text = season_page(season, a_site())
    (row,) = Tables(text).records("Nests of 2026, sand pen")
    assert (row["Female"], row["Within"], row["Eggs"]) == ("not known", "not known", "not counted")
    assert "1 attempt, 1 nest, eggs not counted; no egg in a box." in Reader(text).words()


def test_the_likelihoods_are_told_with_their_pictures() -> None:
    svg = b'<?xml version="1.0"?><svg width="9"><path style="fill: #1c211e"/></svg>'
    pictures = (("Diagram: as built", b"\x89PNG not looked at"), ("Diagram: fitted", svg))
    fit = Fitted(("In force: fitted.",), pictures, Table(("Likelihood", "Given"), (("as built", "0.90"),)))
    text = season_page(a_full_season(4), a_site(), fit=fit)
    page = Reader(text)
    assert "In force: fitted." in page.words()
    assert "as the program was built, not fitted" not in page.words()
    assert [each["src"][:22] for each in page.all("img") if each["src"]] == ["data:image/png;base64,"]
    assert '<svg aria-hidden="true" stroke-linejoin="round"><path fill="#1c211e"/></svg>' in text
    assert Tables(text).records("Likelihoods given and what was found")[0]["Given"] == "0.90"


def test_two_hundred_nests_and_forty_females() -> None:
    text = season_page(a_full_season(200, females=40), a_site())
    assert len(text.encode()) < 3_000_000
    words = Reader(text).words()
    assert "200 nests of 2026" in words
    assert re.search(
        r"\d+ nests too close to others to be numbered here; the table has their places\.", words
    )
    assert len(Tables(text).records("Nests of 2026, sand pen")) == 200


def test_a_place_far_from_the_pen_is_told_and_does_not_shrink_the_map() -> None:
    near = an_attempt(1, date(2026, 6, 12), place=(1.0, 1.0))
    far = an_attempt(2, date(2026, 6, 13), place=(90.0, 1.0))
    words = Reader(season_page(a_season([near, far]), a_site())).words()
    assert "Too far from the pen to be drawn, so marks or posts are doubtful: 2." in words


def _same_night(nests: Sequence[MapNest]) -> bool:
    return len({nest.night for nest in nests}) < len(nests)


def test_nests_of_one_night_keep_their_own_eggs() -> None:
    """The eggs of a nest are found by night and dig, not by night alone."""
    night = date(2026, 6, 12)
    both = [
        an_attempt(n, night, label=str(n), place=(n, 1.0), hatch=Hatch(4 + n, 0, 0, 0, 0, 0)) for n in (1, 2)
    ]
    season = a_season(both)
    assert _same_night(season.nests)
    rows = Tables(season_page(season, a_site())).records("Nests of 2026, sand pen")
    assert [row["Eggs"] for row in rows] == ["5", "6"]


def test_a_long_season_of_one_nest_has_a_chart_of_all_weeks() -> None:
    """Where the file names no nesting season the nights of a whole year may be counted."""
    season = a_season([an_attempt(1, date(2026, 6, 12))])
    nights = replace(season.nights, season=(date(2026, 1, 1), date(2026, 12, 31)))
    Reader(season_page(replace(season, nights=nights), a_site()))


def test_shares_are_told_with_their_interval() -> None:
    """13 of 14: Clopper and Pearson 1934 give 0.661 to 0.998 (scipy's binomtest, method exact)."""
    season = a_full_season(4)
    performance = replace(season.performance, recall=Share(13, 14, 0.6613, 0.9982))
    words = Reader(season_page(replace(season, performance=performance), a_site())).words()
    assert "13 of 14 (93 %; 66–100 %)" in words
    assert "Missed, found by you: 2026-06-19 dig A." in words
    assert "2026-06-03 dig 2, 2026-06-22 dig 1." in words


def test_a_due_female_without_a_clutch_is_shown() -> None:
    season = a_full_season(4)
    due = (date(2026, 6, 1), date(2026, 6, 1) + timedelta(days=14))
    female = replace(
        season.females[0], clutches=(), days_between=(), due=due, is_due=True, why="her usual days"
    )
    page = season_page(replace(season, females=(female,)), a_site())
    assert f"Due now: {female.name}: 1–15 Jun (her usual days)" in Reader(page).words()
    assert Tables(page).records("Clutches by female")[0]["Clutches"] == "none this year"
