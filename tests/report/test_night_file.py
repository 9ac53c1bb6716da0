"""The night file against its contract, field by field: names, types, order, nothing else."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Annotated, Any, Literal

import pytest
from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from nestwatch.footage.records import Unreadable
from nestwatch.nesting.scale import Scale, SiteFit, put_right
from nestwatch.report import night_document, night_page, write_night
from nestwatch.report.nightfile import encode, tape_from
from nestwatch.site.records import NightHours, Post
from tests.report.scenes import (
    a_dig,
    a_gap,
    a_night,
    a_placed,
    a_site,
    a_visitor,
    local,
    some_hours,
)

# ISO 8601 extended format with seconds and a numeric offset.
_ISO = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d")


def _iso(text: str) -> str:
    assert _ISO.fullmatch(text), text
    return text


Instant = Annotated[str, AfterValidator(_iso)]


class Part(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class Span(Part):
    start: Instant = Field(alias="from")
    to: Instant


class Lost(Span):
    why: str


class LostBy(Lost):
    camera: str


class Bad(Part):
    file: str
    why: str


class HealthModel(Span):
    what: Literal[
        "moved", "sagged", "lost", "dark", "frozen", "glare", "fogged", "blurred", "covered", "burnt"
    ]
    words: str


class ZoneModel(Part):
    minutes: float = Field(ge=0)
    of_minutes: float = Field(gt=0)
    share: float = Field(ge=0, le=1)
    picture: str | None


class FootageModel(Span):
    camera: str
    seconds_expected: float
    seconds_read: float
    nesting_seconds_expected: float
    nesting_seconds_read: float
    looked_min: float | None
    zone_seen: ZoneModel | None
    health: list[HealthModel]
    gaps: list[Lost]
    unreadable: list[Bad]
    notes: list[str]


class StageModel(Span):
    stage: Literal["search", "dig", "lay", "cover"]


class TapeModel(Part):
    post: str
    m: float


class Pictures(Part):
    before: str | None
    during: str | None
    after: str | None
    overview: str | None


class DigModel(Span):
    rank: int
    camera: str
    cameras: list[str]
    zone: str
    from_seen: bool
    to_seen: bool
    in_nesting_hours: bool
    call: Literal["nest", "trial", "rest", "unclear"]
    likelihood: float = Field(ge=0, le=1)
    likelihood_as_built: Annotated[float, Field(ge=0, le=1)] | None
    reasons: list[str]
    stages: list[StageModel]
    pixel: list[float] = Field(min_length=2, max_length=2)
    within_px: float
    plan_m: list[float] | None = Field(min_length=2, max_length=2)
    within_m: float | None
    tape: list[TapeModel]
    shell_length_cm: float | None
    pictures: Pictures
    clip: str | None


class VisitorModel(Span):
    camera: str
    what: Literal["larger animal", "person", "smaller animal", "light"]
    pixel: list[float] | None
    picture: str | None


class RaidModel(Span):
    camera: str
    what: Literal["larger animal", "person"]
    nest: str
    dig: Annotated[int, Field(ge=1)] | None
    pixel: Annotated[list[float], Field(min_length=2, max_length=2)]
    plan_m: Annotated[list[float], Field(min_length=2, max_length=2)] | None
    words: str


class ClockModel(Part):
    camera: str
    other: str
    ahead_s: Annotated[float, Field(ge=0)]
    within_s: Annotated[float, Field(gt=0)]
    events: Annotated[int, Field(ge=3)]
    by: str
    words: str | None


class FitModel(Part):
    slope: Annotated[float, Field(gt=0)]
    offset: float
    finds: Annotated[int, Field(ge=1)]
    with_eggs: Annotated[int, Field(ge=1)]
    at: Instant
    words: str


class NightModel(Span):
    format: Literal["nestwatch-night/1"]
    site: str
    night: str
    version: str
    timezone: str
    nesting_hours: Span
    sunset: Instant | None
    sunrise: Instant | None
    raids: list[RaidModel]
    clocks: list[ClockModel]
    likelihood_fit: FitModel | None
    not_seen: list[LostBy]
    footage: list[FootageModel]
    digs: list[DigModel]
    visitors: list[VisitorModel]


def _document(**changes: Any) -> dict[str, Any]:
    nights = [
        a_night(
            "sandbank",
            [a_gap("16:30", "18:10"), a_gap("22:10", "22:40")],
            visitors=[a_visitor()],
            unreadable=[Unreadable("x/y.mp4", "cut off")],
        ),
        a_night("shed side"),
    ]
    given = {
        "site": a_site(),
        "hours": some_hours(),
        "cameras": nights,
        "digs": [a_placed(), a_placed(a_dig(call="rest"), marks=False)],
        "version": "0.1.0",
    }
    return night_document(**{**given, **changes})


def test_every_field_of_the_contract_is_there_and_no_other() -> None:
    NightModel.model_validate_json(encode(_document()))


def test_a_fit_to_the_site_s_finds_is_told_with_the_numbers_as_built() -> None:
    fit = SiteFit(Scale(1.5, -0.4), 64, 31, datetime(2026, 7, 1, 22, 30, tzinfo=UTC))
    dig = put_right(a_dig(likelihood=0.93), fit.scale)
    document = _document(digs=[a_placed(dig)], fit=fit)
    told = NightModel.model_validate_json(encode(document))
    # log odds of 0.93 are 2.5867; 1.5 of them less 0.4 are 3.4800, and 1 / (1 + e^-3.48) is 0.97012.
    assert (told.digs[0].likelihood, told.digs[0].likelihood_as_built) == (0.970, 0.93)
    assert told.likelihood_fit is not None
    # 22:30 UTC on the 1st is already the 2nd in Paris (CEST is UTC+2).
    assert told.likelihood_fit.words == (
        "Likelihoods are fitted to 64 finds of this site (31 with eggs), on 2026-07-02."
    )
    page = night_page(a_site(), some_hours(), document, Path("nowhere"))
    assert f"<p>{told.likelihood_fit.words}</p>" in page


def test_without_a_fit_the_page_says_so() -> None:
    document = _document()
    assert document["likelihood_fit"] is None
    assert {dig["likelihood_as_built"] for dig in document["digs"]} == {None}
    page = night_page(a_site(), some_hours(), document, Path("nowhere"))
    assert "<p>Likelihoods were set on invented nights only, not on finds of this site.</p>" in page


def test_the_contract_example_comes_out() -> None:
    document = _document()
    dig = document["digs"][0]
    assert (document["format"], document["site"], document["night"]) == (
        "nestwatch-night/1",
        "Linden Fen",
        "2026-06-12",
    )
    assert (dig["rank"], dig["camera"], dig["call"], dig["likelihood"]) == (1, "sandbank", "nest", 0.93)
    assert (dig["pixel"], dig["plan_m"], dig["within_m"]) == ([531.0, 424.0], [2.70, 0.72], 0.06)
    # Paris keeps UTC+2 in June.
    assert (dig["from"], dig["to"]) == ("2026-06-12T21:14:00+02:00", "2026-06-12T23:18:00+02:00")


def test_unknown_is_null() -> None:
    dig = _document()["digs"][1]
    assert (dig["rank"], dig["plan_m"], dig["within_m"], dig["shell_length_cm"], dig["clip"]) == (
        2,
        None,
        None,
        None,
        None,
    )
    assert dig["pictures"] == {"before": None, "during": None, "after": None, "overview": None}
    assert dig["tape"] == []


def test_not_seen_is_cut_to_nesting_hours() -> None:
    document = _document()
    assert document["not_seen"] == [
        {
            "camera": "sandbank",
            "from": "2026-06-12T18:00:00+02:00",
            "to": "2026-06-12T18:10:00+02:00",
            "why": "no recording",
        },
        {
            "camera": "sandbank",
            "from": "2026-06-12T22:10:00+02:00",
            "to": "2026-06-12T22:40:00+02:00",
            "why": "no recording",
        },
    ]
    footage = document["footage"][0]
    assert footage["nesting_seconds_expected"] == 9 * 3600
    assert footage["nesting_seconds_read"] == 9 * 3600 - 40 * 60
    assert footage["seconds_expected"] - footage["seconds_read"] == 130 * 60


def test_a_camera_without_a_result_saw_nothing() -> None:
    document = _document(cameras=[a_night("sandbank")])
    assert [each["camera"] for each in document["footage"]] == ["sandbank", "shed side"]
    assert document["footage"][1]["seconds_read"] == 0
    assert document["not_seen"][0]["camera"] == "shed side"


def test_each_instant_has_the_offset_of_its_own_moment() -> None:
    # Summer time ended on 2026-10-25 at 03:00 CEST = 01:00 UTC (EU directive 2000/84/EC).
    start = datetime(2026, 10, 24, 14, tzinfo=UTC)
    end = datetime(2026, 10, 25, 8, tzinfo=UTC)
    hours = NightHours(date(2026, 10, 24), start, end, (start, end), None, None)
    document = _document(hours=hours, digs=[], cameras=[])
    assert (document["from"], document["to"]) == ("2026-10-24T16:00:00+02:00", "2026-10-25T09:00:00+01:00")
    assert (document["sunset"], document["sunrise"]) == (None, None)


def test_visitors_come_in_order_of_time() -> None:
    early = replace(a_visitor(), visitor=replace(a_visitor().visitor, start=local("20:00")))
    document = _document(cameras=[a_night(visitors=[a_visitor(), early])])
    assert [each["from"][11:16] for each in document["visitors"]] == ["20:00", "01:12"]


def test_file_is_json_with_names_as_they_are(tmp_path: Path) -> None:
    document = _document(site=a_site(name='Étang <b>"1"</b>'))
    text = write_night(tmp_path, document).read_text("utf-8")
    assert "Étang" in text
    assert json.loads(text) == document


def test_nan_is_refused_rather_than_written() -> None:
    with pytest.raises(ValueError, match="JSON compliant"):
        encode(_document(digs=[replace(a_placed(), within_m=math.nan)]))


def test_tape_takes_the_squarest_pair_and_a_third_to_tell_the_side() -> None:
    # A 3-4-5 triangle (Euclid I.47): (3, 4) lies 5 from the origin, 4 above (3, 0) and 3 beside (0, 4).
    posts = [Post("o", (0.0, 0.0)), Post("s", (3.0, 0.0)), Post("w", (0.0, 4.0)), Post("far", (30.0, 40.0))]
    assert tape_from((3.0, 4.0), posts) == [("s", 4.0), ("w", 3.0), ("o", 5.0)]


def test_tape_needs_two_posts() -> None:
    assert tape_from((1.0, 1.0), [Post("o", (0.0, 0.0))]) == []
    assert tape_from((1.0, 1.0), []) == []


def test_a_dig_over_midnight_ends_the_next_day() -> None:
    dig = _document(digs=[a_placed(a_dig("23:30", "01:45"))])["digs"][0]
    start, end = (datetime.fromisoformat(dig[key]) for key in ("from", "to"))
    assert end - start == timedelta(hours=2, minutes=15)
