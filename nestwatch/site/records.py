"""What the keeper tells us, as read-only records. Read from the site file by `site.file`.

Places on a picture are `(x, y)` pixels of the picture size named in `Camera.picture` (the one the
outlines were drawn on); places on the plan are `(x, y)` metres. Instants are aware UTC datetimes.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import Literal

Point = tuple[float, float]
ZoneKind = Literal["nesting", "water", "ignore"]
Units = Literal["metric", "imperial"]
Security = Literal["starttls", "tls", "none"]


@dataclass(frozen=True, slots=True)
class Zone:
    """An outline on a camera's picture, `outline` in `(x, y)` pixels, not closed (last != first)."""

    name: str
    kind: ZoneKind
    outline: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Mark:
    """A post of the pen pointed at in the picture: `pixel` is `(x, y)`."""

    post: str
    pixel: Point


@dataclass(frozen=True, slots=True)
class Camera:
    """One fixed camera.

    `footage` is absolute. `stamp` is a strptime pattern of a file's stem, None where the container's
    creation time is to be used. `clock` is "local" (follows summer time), "utc" or a fixed offset such
    as "+02:00". `clock_error_s` is how many seconds the camera's clock is ahead of true time.
    `picture` is `(width, height)`. `pen` is None where the camera is tied to no pen.
    """

    name: str
    pen: str | None
    footage: Path
    stamp: str | None
    clock: str
    clock_error_s: float
    picture: tuple[int, int]
    zones: tuple[Zone, ...]
    marks: tuple[Mark, ...]

    def zones_of(self, kind: ZoneKind) -> tuple[Zone, ...]:
        """The zones of one kind, in the order of the file."""
        return tuple(zone for zone in self.zones if zone.kind == kind)


@dataclass(frozen=True, slots=True)
class Post:
    """A named post of a pen at `at` metres on the plan."""

    name: str
    at: Point


@dataclass(frozen=True, slots=True)
class Tape:
    """A distance measured between two posts, in metres; `sigma_m` (above 0) is its standard deviation."""

    between: tuple[str, str]
    metres: float
    sigma_m: float = 0.01


@dataclass(frozen=True, slots=True)
class Square:
    """A right angle at the post `at`, between the directions to two other posts."""

    at: str
    between: tuple[str, str]


@dataclass(frozen=True, slots=True)
class Pen:
    """One enclosure: `outline` in metres on the plan.

    `tapes` and `squares` are what was measured between posts; `known` are then the places that were written
    for some of them (`posts` has the solved ones). `post_covariance` is how well the posts' places are known:
    2n x 2n square metres, in the order x, y of the first post, x, y of the second and so on; None where
    places were only given (then `site.survey.TAPE_SIGMA_M` each way is meant).
    """

    name: str
    outline: tuple[Point, ...]
    posts: tuple[Post, ...]
    tapes: tuple[Tape, ...] = ()
    squares: tuple[Square, ...] = ()
    known: tuple[Post, ...] = ()
    post_covariance: tuple[tuple[float, ...], ...] | None = None


@dataclass(frozen=True, slots=True)
class Animal:
    """The animal kept, as the site file says. Pairs are (low, high); None where the file says nothing.

    `nesting_season` is ((month, day), (month, day)); `nesting_hours` are local times that may cross midnight.
    """

    name: str
    shell_length_cm: tuple[float, float]
    clutch_size: tuple[int, int] | None
    incubation_c: tuple[float, float] | None
    incubation_days: tuple[float, float] | None
    nesting_season: tuple[tuple[int, int], tuple[int, int]] | None
    nesting_hours: tuple[time, time] | None


@dataclass(frozen=True, slots=True)
class Mail:
    """How a message goes out by e-mail. `user` is None where the server asks for no name and password.

    `security`: encrypted after greeting (`starttls`), from the first byte (`tls`), or not at all.
    """

    server: str
    port: int
    security: Security
    user: str | None
    sender: str
    to: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Notify:
    """Who is told after a night: by e-mail, by a program that gets the message on stdin, or both.

    `command` is the program and its arguments. `places`: whether the message tells where the digs are.
    """

    mail: Mail | None
    command: tuple[str, ...] | None
    places: bool


@dataclass(frozen=True, slots=True)
class Site:
    """A whole site file. `path` is the file, relative paths in it were resolved against its folder.

    `notify` is None where the file has no such table.
    """

    path: Path
    name: str
    timezone: str
    latitude: float
    longitude: float
    units: Units
    night: tuple[time, time]
    animal: Animal
    pens: tuple[Pen, ...]
    cameras: tuple[Camera, ...]
    notify: Notify | None = None

    def pen_of(self, camera: Camera) -> Pen | None:
        """The pen a camera looks at; the only pen where the camera names none; None without pens."""
        if camera.pen is None:
            return self.pens[0] if len(self.pens) == 1 else None
        return next(pen for pen in self.pens if pen.name == camera.pen)


@dataclass(frozen=True, slots=True)
class NightHours:
    """One night as instants (aware UTC). Named by the evening's `date` at the site.

    `nesting` is the part of the night in which the keeper expects digs (the whole night where the site
    file names no nesting hours); `sunset` and `sunrise` are None where the sun does not set or rise.
    """

    date: date
    start: datetime
    end: datetime
    nesting: tuple[datetime, datetime]
    sunset: datetime | None
    sunrise: datetime | None
