"""A camera that does not stay where it was: knocked at an instant, or sinking slowly."""

from __future__ import annotations

from math import cos, radians, sin
from typing import ClassVar

import cv2
import numpy as np

from nestwatch.synthetic.layout import Layout
from nestwatch.synthetic.nuisances.base import (
    NO_SHIFT,
    Bytes,
    CameraSettings,
    Nuisance,
    Plan,
    Settings,
    Shift,
    register,
)
from nestwatch.synthetic.scenario import Span


class MoveSettings(CameraSettings):
    """`shift_px`: how far a 640 wide picture moves, towards `direction_deg` (0 right, 90 down).
    `turn_deg`: how far it turns about its middle, clockwise."""

    shift_px: Span = (7.0, 7.0)
    turn_deg: Span = (0.33, 0.33)
    direction_deg: Span = (0.0, 360.0)


class _Moved(Nuisance):
    """The picture moves to its full `MoveSettings` and never comes back."""

    def share(self, t: float) -> float:
        """Share of the full move that is done, 0..1."""
        raise NotImplementedError

    def shift(self, t: float) -> Shift:
        share = self.share(t)
        if share <= 0:
            return NO_SHIFT
        values = self.plan.values
        far = share * values["shift_px"] * self.lens.width / 640
        way = radians(values["direction_deg"])
        return Shift(far * cos(way), far * sin(way), share * values["turn_deg"])


@register
class Nudge(_Moved):
    """The camera is knocked at the plan's start and stays as it then stands, whatever the plan's end."""

    kind: ClassVar[str] = "nudge"
    Settings: ClassVar[type[Settings]] = MoveSettings

    @classmethod
    def shows(cls, plan: Plan, layout: Layout) -> tuple[float, float]:
        return plan.start, plan.start

    def share(self, t: float) -> float:
        return float(t >= self.plan.start)


class SagSettings(MoveSettings):
    """Downward, so the picture moves up, give or take 20 degrees."""

    shift_px: Span = (2.0, 8.0)
    turn_deg: Span = (-0.3, 0.3)
    direction_deg: Span = (250.0, 290.0)


@register
class Sag(_Moved):
    """The camera sinks at an even rate from the plan's start to its end, and stays there."""

    kind: ClassVar[str] = "sag"
    Settings: ClassVar[type[Settings]] = SagSettings

    def share(self, t: float) -> float:
        return min((t - self.plan.start) / (self.plan.end - self.plan.start), 1.0)


def total(shifts: list[Shift]) -> Shift:
    """Several small moves as one; turns this small add up."""
    return Shift(*(float(sum(part)) for part in zip(*shifts, strict=True))) if shifts else NO_SHIFT


def move(picture: Bytes, shift: Shift, *, scale: float = 1.0) -> Bytes:
    """A copy of `picture` (rows, columns) moved by `shift` times `scale`; at the edges it is mirrored.

    Cubic interpolation, because a linear one would also blur the ground.
    """
    rows, columns = picture.shape
    turn = cv2.getRotationMatrix2D(((columns - 1) / 2, (rows - 1) / 2), -shift.turn, 1.0)
    turn[:, 2] += np.array([scale * shift.right, scale * shift.down])
    moved = cv2.warpAffine(
        picture, turn, (columns, rows), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT_101
    )
    return np.asarray(moved, np.uint8)
