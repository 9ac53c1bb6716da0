"""An invented site, night, digs and pictures for the report's tests."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.footage.records import Account, Footage, Gap, Unreadable
from nestwatch.nesting.records import Call, Dig, Stage, StageName, Visitor
from nestwatch.report import CameraNight, PlacedDig, SeenVisitor
from nestwatch.site.records import Animal, Camera, Mark, NightHours, Pen, Post, Site, Units, Zone

PARIS = ZoneInfo("Europe/Paris")
PICTURE = (960, 540)
NO_PICTURES = {"before": None, "during": None, "after": None, "overview": None}


def local(clock: str, day: int = 12) -> datetime:
    """An instant of June 2026 at the site, as UTC; hours before noon belong to the next morning."""
    at = time.fromisoformat(clock)
    when = datetime.combine(date(2026, 6, day), at, PARIS)
    return (when + timedelta(days=1) if at.hour < 12 else when).astimezone(UTC)


def a_site(
    *, cameras: Sequence[str] = ("sandbank", "shed side"), units: Units = "metric", name: str = "Linden Fen"
) -> Site:
    posts = (Post("post_sw", (0.0, 0.0)), Post("post_se", (4.2, 0.0)), Post("post_nw", (0.0, 3.0)))
    pen = Pen("sand pen", ((0.0, 0.0), (4.2, 0.0), (4.2, 3.0), (0.0, 3.0)), posts)
    animal = Animal(
        "European pond turtle",
        (12, 20),
        (5, 17),
        (27, 30),
        (55, 75),
        ((5, 15), (7, 20)),
        (time(18), time(3)),
    )
    return Site(
        Path("site.toml"),
        name,
        "Europe/Paris",
        47.2,
        1.6,
        units,
        (time(16), time(9)),
        animal,
        (pen,),
        tuple(a_camera(each) for each in cameras),
    )


def a_camera(name: str) -> Camera:
    bank = Zone("sand bank", "nesting", ((120, 60), (700, 55), (900, 500), (40, 500)))
    water = Zone("pool", "water", ((720, 20), (950, 20), (950, 300)))
    return Camera(
        name,
        "sand pen",
        Path("footage") / "cam",
        None,
        "local",
        0.0,
        PICTURE,
        (bank, water),
        (Mark("post_sw", (14.0, 402.5)),),
    )


def some_hours() -> NightHours:
    return NightHours(
        date(2026, 6, 12),
        local("16:00"),
        local("09:00"),
        (local("18:00"), local("03:00")),
        local("22:02"),
        local("05:57"),
    )


def a_dig(
    start: str = "21:14",
    end: str = "23:18",
    *,
    camera: str = "sandbank",
    call: Call = "nest",
    likelihood: float = 0.93,
    chamber: tuple[float, float] = (531.0, 424.0),
    reasons: tuple[str, ...] = (
        "stayed 2 h 04 min on one spot",
        "hind-end movement for 1 h 50 min, a quiet 22 min in the middle",
        "ground differs afterwards",
    ),
) -> Dig:
    began, ended = local(start), local(end)
    return Dig(
        camera,
        "sand bank",
        began,
        ended,
        True,
        True,
        call,
        likelihood,
        reasons,
        () if call == "rest" else some_stages(began, ended),
        chamber,
        9.0,
        (chamber[0] + 14, chamber[1] - 20),
        48.0,
        True,
        began - timedelta(minutes=4),
        began + (ended - began) / 2,
        ended + timedelta(minutes=4),
    )


def some_stages(start: datetime, end: datetime) -> tuple[Stage, ...]:
    names: tuple[StageName, ...] = ("search", "dig", "lay", "cover")
    edges = [start + (end - start) * share for share in (0, 0.12, 0.6, 0.77, 1)]
    return tuple(Stage(name, edges[n], edges[n + 1]) for n, name in enumerate(names))


def a_placed(dig: Dig | None = None, *, marks: bool = True) -> PlacedDig:
    dig = dig or a_dig()
    if not marks:
        return PlacedDig(dig, (dig.camera,), None, None, None, NO_PICTURES, None)
    return PlacedDig(dig, (dig.camera,), (2.70, 0.72), 0.06, 16.1, NO_PICTURES, None)


def a_gap(start: str, end: str, why: str = "no recording") -> Gap:
    return Gap(local(start), local(end), why)


def a_night(
    camera: str = "sandbank",
    gaps: Sequence[Gap] = (),
    *,
    digs: Sequence[PlacedDig] = (),
    visitors: Sequence[SeenVisitor] = (),
    unreadable: Sequence[Unreadable] = (),
    looked_min: float | None = None,
) -> CameraNight:
    hours = some_hours()
    expected = (hours.end - hours.start).total_seconds()
    lost = sum((gap.end - gap.start).total_seconds() for gap in gaps)
    account = Account(
        camera, hours.start, hours.end, expected, expected - lost, tuple(gaps), tuple(unreadable), ()
    )
    return CameraNight(account, tuple(digs), tuple(visitors), looked_min)


def a_visitor(camera: str = "sandbank") -> SeenVisitor:
    return SeenVisitor(Visitor(camera, local("01:12"), local("01:15"), "larger animal", (300.0, 200.0)), None)


def some_footage(folder: Path, *, size: tuple[int, int] = (1920, 1080)) -> Footage:
    hours = some_hours()
    scale = (size[0] / PICTURE[0], size[1] / PICTURE[1])
    return Footage("sandbank", folder, hours.start, hours.end, (), (), (), *size, scale)


class SandReader:
    """Stands for `read_pictures`: infrared-like sand, an animal while the dig lasts, changed ground after.

    `asked` keeps every instant that was asked for. `missing` lists stretches without a frame.
    """

    def __init__(
        self,
        dig: Dig,
        *,
        size: tuple[int, int] = (1920, 1080),
        missing: Sequence[tuple[datetime, datetime]] = (),
        noise: float = 5.0,
    ) -> None:
        self.dig, self.size, self.missing = dig, size, missing
        self.asked: list[datetime] = []
        rng = np.random.default_rng(7)
        grain = rng.normal(0, 1, (size[1], size[0])).astype(np.float32)
        self.noise = [rng.normal(0, noise, grain.shape).astype(np.float32) for _ in range(7)]
        fine, broad = (cv2.GaussianBlur(grain, (0, 0), width) for width in (1.2, 12.0))
        falloff = np.hypot(*np.meshgrid(np.linspace(-1, 1, size[0]), np.linspace(-1, 1, size[1])))
        sand = 120 - 40 * falloff + 5 * fine / fine.std() + 8 * broad / broad.std()
        self.sand = sand.astype(np.float32)

    def __call__(
        self, footage: Footage, times: Sequence[datetime], *, width: int | None = None, reach_s: float = 30.0
    ) -> Iterator[NDArray[np.uint8] | None]:
        for at in times:
            self.asked.append(at)
            gone = any(start <= at < end for start, end in self.missing)
            yield None if gone else self.frame(at)

    def frame(self, at: datetime) -> NDArray[np.uint8]:
        zoom = self.size[0] / PICTURE[0]
        picture = self.sand.copy()
        x, y = (round(zoom * each) for each in self.dig.chamber)
        if at >= self.dig.start + (self.dig.end - self.dig.start) / 2:
            cv2.circle(picture, (x, y), round(12 * zoom), 122, -1)
        if self.dig.start <= at < self.dig.end:
            body = tuple(round(zoom * each) for each in self.dig.body)
            cv2.ellipse(picture, body, (round(24 * zoom), round(18 * zoom)), -55, 0, 360, 48, -1)
            cv2.ellipse(picture, body, (round(20 * zoom), round(14 * zoom)), -55, 0, 360, 66, 2)
        picture += self.noise[int(at.timestamp()) % len(self.noise)]
        grey = np.clip(picture, 0, 255).astype(np.uint8)
        return np.repeat(grey[:, :, None], 3, axis=2)
