"""One camera's finished night as the joining of cameras sees it: on the plan, and who was too large."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from nestwatch.nesting.call import HUNG, SPIDER
from nestwatch.nesting.fusion import PlanPlace
from nestwatch.nesting.join import Seen
from nestwatch.nesting.raid import (
    REACH_SHELLS,
    Lingering,
    came_for,
    larger_animal,
    no_turtle,
    of_one_body,
    opened,
    opened_until,
)
from nestwatch.nesting.records import Dig, Visitor, VisitorKind
from nestwatch.report.records import CameraNight, PlacedDig
from nestwatch.site.plan import PlanMap, plan_map
from nestwatch.site.records import Camera, Point, Site

_SHELL_HEIGHT_M, _HEIGHT_SIGMA_M = 0.035, 0.02
_VISITOR_HEIGHT_M = 0.15
_BODY_SHELLS, _SPOT_SHELLS = 0.25, 0.6
"""90 % radius of an animal's middle in shell lengths: with an outline, and where only a spot is known."""
_USUAL_SHELL_SHARE = 18 / 640
_TOO_LONG = 1.5
_SAME_CHAMBER_SHELLS = 1.5


@dataclass(frozen=True, slots=True, eq=False)
class CameraView:
    """A camera's night with its mapping. `pen`: name, None without one; `plan`: None without marks.

    `shell_cm`: (shortest, longest) shell of the animals kept.
    """

    night: CameraNight
    camera: Camera
    pen: str | None
    plan: PlanMap | None
    shell_cm: tuple[float, float]

    @property
    def name(self) -> str:
        """The camera's name."""
        return self.camera.name

    @property
    def shell_m(self) -> float:
        """Length of a middling shell, metres."""
        return sum(self.shell_cm) / 200

    def digs(self) -> list[PlacedDig]:
        """The camera's digs; those of animals too large to be turtles are called nests no more."""
        stops = self._stops()
        return [
            replace(each, dig=no_turtle(each.dig)) if self._is_larger(each, stops) else each
            for each in self.night.digs
        ]

    def lingering(self) -> list[Lingering]:
        """Where larger animals and people stayed, whether they were seen as visitors or as digs."""
        stops = self._stops()
        placed = [each for each in self.night.digs if not {HUNG, SPIDER} & {*each.dig.reasons}]
        digs = [each.dig for each in placed]
        large = [each.dig for each in placed if self._is_larger(each, stops)]
        large += [dig for dig in digs if of_one_body(dig, digs, reach_px=self.reach_px(dig))]
        seen = [self._lingering("larger animal", dig.start, dig.end, dig.body) for dig in large]
        return stops + seen + self._arrivals(digs) + self._openings(digs)

    def _openings(self, digs: Sequence[Dig]) -> list[Lingering]:
        """Later stays on a nest, and ground that was no more as it had been there."""
        return [
            self._lingering("larger animal", dig.start, opened_until(dig), dig.body)
            for dig in digs
            if opened(dig, digs, reach_px=_SAME_CHAMBER_SHELLS * self._shell_px(dig))
        ]

    def _arrivals(self, digs: Sequence[Dig]) -> list[Lingering]:
        """Stays that began as a larger animal came by."""
        visits = self.visits()
        came = [(dig, came_for(dig, digs, visits)) for dig in digs]
        return [
            self._lingering(who[0], dig.start, max(dig.start, who[1]), dig.body) for dig, who in came if who
        ]

    def visits(self) -> list[Visitor]:
        """People and larger animals that came by."""
        return [each.visitor for each in self.night.visitors if each.visitor.what != "light"]

    def seen(self, placed: PlacedDig) -> Seen:
        """A dig of this camera, ready to be joined."""
        dig, shell = placed.dig, self._shell_px(placed.dig)
        body = (_BODY_SHELLS if dig.shell_length_px else _SPOT_SHELLS) * shell
        return Seen(
            dig=dig,
            pen=self.pen,
            body=self._place(dig.body, body, _SHELL_HEIGHT_M),
            chamber=self._place(dig.chamber, dig.chamber_radius_px, 0.0) if placed.plan_m else None,
            shell_m=self.shell_m,
            pictured=placed.pictures.get("during") is not None,
        )

    def reach_px(self, dig: Dig) -> float:
        """How far from a dig of this camera a larger animal at work on it may be seen, picture pixels."""
        return REACH_SHELLS * self._shell_px(dig)

    def _shell_px(self, dig: Dig) -> float:
        usual = dig.shell_length_px or self.camera.picture[0] * _USUAL_SHELL_SHARE
        expected = usual if self.plan is None else self.plan.shell_pixels(dig.body, self.shell_m)
        return expected if math.isfinite(expected) else usual

    def _longest_px(self, dig: Dig) -> float:
        """The longest shell of the animals kept as it would be seen there; infinite where nothing tells."""
        if self.plan is None:
            return math.inf
        longest = self.plan.shell_pixels(dig.body, self.shell_cm[1] / 100)
        return longest if math.isfinite(longest) else math.inf

    def _place(self, pixel: Point, radius_px: float, height_m: float) -> PlanPlace | None:
        if self.plan is None:
            return None
        own = self.plan.spread([pixel], 0.0, height_sigma_m=_HEIGHT_SIGMA_M)[0]
        both = self.plan.spread([pixel], radius_px, height_sigma_m=_HEIGHT_SIGMA_M)[0]
        at = np.array(self.plan.below(pixel, height_m))
        known = np.isfinite(at).all() and np.isfinite(both).all()
        return PlanPlace(at, own, both - own) if known else None

    def _stops(self) -> list[Lingering]:
        return [
            self._lingering(visitor.what, stop.start, stop.end, stop.place)
            for visitor in self.visits()
            for stop in visitor.stops
        ]

    def _lingering(self, what: VisitorKind, start: datetime, end: datetime, pixel: Point) -> Lingering:
        place = None if self.plan is None else self.plan.below(pixel, _VISITOR_HEIGHT_M)
        known = place is not None and all(math.isfinite(v) for v in place)
        return Lingering(self.name, self.pen, what, start, end, pixel, place if known else None)

    def _is_larger(self, placed: PlacedDig, stops: list[Lingering]) -> bool:
        too_long = (placed.dig.shell_length_px or 0.0) > _TOO_LONG * self._longest_px(placed.dig)
        return larger_animal(placed.dig, stops, reach_px=self.reach_px(placed.dig), too_long=too_long)


def view_of(site: Site, night: CameraNight) -> CameraView:
    """A camera's night as a view. Raises `SiteError` where its marks fix no mapping."""
    camera = next(each for each in site.cameras if each.name == night.account.camera)
    pen = site.pen_of(camera)
    return CameraView(
        night, camera, pen.name if pen else None, plan_map(site, camera), site.animal.shell_length_cm
    )
