"""The shape of the site file, for pydantic: keys, types and ranges. What keys mean together is in `checks`.

Every message below continues a sentence that starts with the place ("[site] timezone: ...").
"""

from __future__ import annotations

import re
from datetime import date, time
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from nestwatch.site.names import check_name, check_stamp, check_timezone
from nestwatch.site.tape import parse_length

FORMAT = "nestwatch-site/1"

_CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)")
_OFFSET = re.compile(r"[+-](0\d|1[0-4]):[0-5]\d")
_ADDRESS = re.compile(r"[^@\s<>,;:\"]+@[^@\s<>,;:\"]+")

Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
Whole = Annotated[int, Field(strict=True)]
Text = Annotated[str, Field(strict=True, min_length=1)]
Name = Annotated[Text, AfterValidator(check_name)]


def _two(value: object) -> object:
    if isinstance(value, list) and len(value) != 2:
        raise ValueError(f"must hold exactly two values, not {len(value)}")
    return value


def _rising(value: tuple[float, float]) -> tuple[float, float]:
    if value[0] > value[1]:
        raise ValueError(f"must be [low, high], but {value[0]:g} is more than {value[1]:g}; swap them")
    return value


def _clock_time(value: object) -> time:
    found = _CLOCK.fullmatch(value) if isinstance(value, str) else None
    if found is None:
        raise ValueError(f'{_shown(value)} is not a time; write hours and minutes in quotes, such as "18:30"')
    return time(int(found[1]), int(found[2]))


def _month_day(value: object) -> tuple[int, int]:
    try:
        # A leap year, so that 29 February is a day; strptime alone would also take "5-1".
        day = date.fromisoformat(f"2000-{value}")
    except ValueError:
        raise ValueError(
            f'{_shown(value)} is not a day; write month-day in quotes, such as "05-15"'
        ) from None
    return day.month, day.day


def _shown(value: object) -> str:
    return f'"{value}"' if isinstance(value, str) else str(value)


def _clock_kind(value: str) -> str:
    if value not in {"local", "utc"} and not _OFFSET.fullmatch(value):
        raise ValueError(
            f'"{value}" is not a clock; write "local" (follows summer time), "utc", or for example "+02:00"'
        )
    return value


def _not_blank(value: str) -> str:
    if not value.strip() or any(ord(letter) < 32 for letter in value):
        raise ValueError("must be text on one line")
    return value.strip()


def _address(value: str) -> str:
    if not _ADDRESS.fullmatch(value):
        raise ValueError(f'"{value}" is not an e-mail address; write for example "keeper@example.org"')
    return value


def _some(value: tuple[str, ...]) -> tuple[str, ...]:
    if not value:
        raise ValueError("is empty; write something between the brackets")
    return value


def _open_outline(value: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    return value[:-1] if len(value) > 1 and value[0] == value[-1] else value


Pair = Annotated[tuple[Number, Number], BeforeValidator(_two)]
ClockTime = Annotated[time, BeforeValidator(_clock_time)]
ClockSpan = Annotated[tuple[ClockTime, ClockTime], BeforeValidator(_two)]
MonthDay = Annotated[tuple[int, int], BeforeValidator(_month_day)]
Outline = Annotated[tuple[Pair, ...], AfterValidator(_open_outline)]
Address = Annotated[Text, AfterValidator(_not_blank), AfterValidator(_address)]


WholeSpan = Annotated[tuple[Whole, Whole], BeforeValidator(_two), AfterValidator(_rising)]
Span = Annotated[tuple[Number, Number], BeforeValidator(_two), AfterValidator(_rising)]


def _within(low: float, high: float) -> AfterValidator:
    """Both values of a pair lie in a range."""

    def check(value: tuple[float, float]) -> tuple[float, float]:
        if min(value) < low or max(value) > high:
            raise ValueError(f"must lie between {low:g} and {high:g}")
        return value

    return AfterValidator(check)


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class SitePart(_Part):
    """`[site]`: where it is, and from when to when a night runs."""

    name: Annotated[Text, AfterValidator(_not_blank)] = Field(examples=["Linden Fen"])
    timezone: Annotated[Text, AfterValidator(check_timezone)] = Field(examples=["Europe/Paris"])
    latitude: Number = Field(ge=-90, le=90, examples=[47.2])
    longitude: Number = Field(ge=-180, le=180, examples=[1.6])
    units: Literal["metric", "imperial"] = "metric"
    night: ClockSpan = Field(default=(time(16), time(9)), examples=[["16:00", "09:00"]])


class AnimalPart(_Part):
    """`[animal]`: what is kept there. Lengths in cm, temperatures in °C."""

    name: Annotated[Text, AfterValidator(_not_blank)] = Field(examples=["European pond turtle"])
    shell_length_cm: Annotated[Span, _within(1, 250)] = Field(examples=[[12, 20]])
    clutch_size: Annotated[WholeSpan, _within(1, 500)] | None = Field(None, examples=[[5, 17]])
    incubation_c: Annotated[Span, _within(10, 45)] | None = Field(None, examples=[[27, 30]])
    incubation_days: Annotated[Span, _within(1, 500)] | None = Field(None, examples=[[55, 75]])
    nesting_season: Annotated[tuple[MonthDay, MonthDay], BeforeValidator(_two)] | None = Field(
        None, examples=[["05-15", "07-20"]]
    )
    nesting_hours: ClockSpan | None = Field(None, examples=[["18:00", "03:00"]])


class PostPart(_Part):
    """`[[pen.post]]`: a point that a tape can reach, in metres on the pen's plan; measured where no `at`."""

    name: Name = Field(examples=["post_sw"])
    at: Pair | None = Field(None, examples=[[0.0, 0.0]])


class TapePart(_Part):
    """`[[pen.tape]]`: a distance between two posts; metres, or text with units."""

    between: Annotated[tuple[Text, Text], BeforeValidator(_two)] = Field(examples=[["post_sw", "post_se"]])
    length: Annotated[float, BeforeValidator(parse_length)] = Field(examples=[4.2])


class SquarePart(_Part):
    """`[[pen.square]]`: a right angle at a post, between the directions to two others."""

    at: Text = Field(examples=["post_sw"])
    between: Annotated[tuple[Text, Text], BeforeValidator(_two)] = Field(examples=[["post_se", "post_nw"]])


class PenPart(_Part):
    """`[[pen]]`: one enclosure, its outline in metres."""

    name: Name = Field(examples=["sand pen"])
    outline: Outline = Field(examples=[[[0, 0], [4.2, 0], [4.2, 3.0], [0, 3.0]]])
    post: tuple[PostPart, ...] = ()
    tape: tuple[TapePart, ...] = ()
    square: tuple[SquarePart, ...] = ()


class ZonePart(_Part):
    """`[[camera.zone]]`: an outline on the camera's picture, in pixels."""

    name: Name = Field(examples=["sand bank"])
    kind: Literal["nesting", "water", "ignore"] = Field(examples=["nesting"])
    outline: Outline = Field(examples=[[[120, 60], [700, 55], [900, 500], [40, 500]]])


class MarkPart(_Part):
    """`[[camera.mark]]`: where a post is seen in the picture, in pixels."""

    post: Text = Field(examples=["post_sw"])
    pixel: Pair = Field(examples=[[14.0, 402.5]])


class CameraPart(_Part):
    """`[[camera]]`: one fixed camera."""

    name: Name = Field(examples=["sandbank"])
    pen: Text | None = None
    footage: Annotated[Text, AfterValidator(_not_blank)] = Field(examples=["footage/sandbank"])
    stamp: Annotated[Text, AfterValidator(check_stamp)] | None = None
    clock: Annotated[Text, AfterValidator(_clock_kind)] = "local"
    clock_error_s: Number = 0.0
    picture: Annotated[tuple[Whole, Whole], BeforeValidator(_two), _within(16, 20000)] = Field(
        examples=[[960, 540]]
    )
    zone: tuple[ZonePart, ...] = ()
    mark: tuple[MarkPart, ...] = ()


class MailPart(_Part):
    """`[notify.mail]`: the server that takes the message, and whom it is for. The password is never here."""

    server: Annotated[Text, AfterValidator(_not_blank)] = Field(examples=["mail.example.org"])
    port: Whole | None = Field(None, ge=1, le=65535)
    security: Literal["starttls", "tls", "none"] = "starttls"
    user: Annotated[Text, AfterValidator(_not_blank)] | None = None
    sender: Address = Field(examples=["nestwatch@example.org"])
    to: Annotated[tuple[Address, ...], AfterValidator(_some)] = Field(examples=[["keeper@example.org"]])

    @model_validator(mode="after")
    def _no_password_in_clear(self) -> MailPart:
        if self.security == "none" and self.user is not None:
            raise ValueError(
                'user: a password would travel for all to read; write security = "starttls" (or "tls"), or '
                "leave user out"
            )
        return self


class NotifyPart(_Part):
    """`[notify]`: who is told after `nestwatch night --notify`."""

    mail: MailPart | None = None
    command: Annotated[tuple[Text, ...], AfterValidator(_some)] | None = None
    places: Annotated[bool, Field(strict=True)] = False

    @model_validator(mode="after")
    def _somebody_is_told(self) -> NotifyPart:
        if self.mail is None and self.command is None:
            raise ValueError("tells nobody; add a table [notify.mail], or command = [...]")
        return self


class SiteFile(_Part):
    """The whole file."""

    format: Literal["nestwatch-site/1"] = Field(examples=[FORMAT])
    site: SitePart
    animal: AnimalPart
    pen: tuple[PenPart, ...] = ()
    camera: tuple[CameraPart, ...]
    notify: NotifyPart | None = None
