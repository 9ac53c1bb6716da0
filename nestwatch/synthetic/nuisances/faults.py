"""What goes wrong with a camera and its recorder: no lamp, no focus, no new pictures, a bad line."""

from __future__ import annotations

from typing import ClassVar

import cv2
import numpy as np

from nestwatch.synthetic.nuisances.base import (
    GLASS,
    Bytes,
    CameraSettings,
    Light,
    Nuisance,
    Positive,
    Settings,
    Share,
    register,
)
from nestwatch.synthetic.scenario import Span


class _Fault(Nuisance):
    """Something that is there from the plan's start to its end, and not a moment longer."""

    def there(self, t: float) -> bool:
        return self.plan.start <= t < self.plan.end


class LampFailsSettings(CameraSettings):
    """`left`: share of the infrared lamp's light that remains. `noise`: factor on the noise, as the camera
    turns up its gain."""

    left: Share = (0.0, 0.03)
    noise: Span = (1.5, 3.0)


@register
class LampFails(_Fault):
    """The infrared lamp goes out: black and noise. By day only the noise shows."""

    kind: ClassVar[str] = "lamp_fails"
    Settings: ClassVar[type[Settings]] = LampFailsSettings

    def lamp_left(self, t: float) -> float:
        return float(self.plan.values["left"]) if self.there(t) else 1.0

    def noise(self, t: float) -> float:
        return float(self.plan.values["noise"]) if self.there(t) else 1.0


class LensBlurSettings(CameraSettings):
    """`blur_px`: deviation of the blur at its worst, in a 640 wide picture."""

    blur_px: Positive = (2.0, 6.0)


@register
class LensBlur(Nuisance):
    """Out of focus, by a knocked ring or mist inside; it comes and goes over a tenth of the span each."""

    kind: ClassVar[str] = "lens_blur"
    Settings: ClassVar[type[Settings]] = LensBlurSettings
    layer: ClassVar[int] = GLASS

    def draw(self, picture: Bytes, t: float, light: Light) -> None:
        blur = self.plan.over(t) * self.plan.values["blur_px"] * self.lens.width / 640
        if blur > 0.1:
            cv2.GaussianBlur(picture, (0, 0), blur, picture)


@register
class Frozen(_Fault):
    """The recorder hangs: the frame of the plan's start again and again, noise and clock included."""

    kind: ClassVar[str] = "frozen"
    Settings: ClassVar[type[Settings]] = CameraSettings

    def freeze(self, t: float) -> float:
        return self.plan.start if self.there(t) else t


class SparkleSettings(CameraSettings):
    """`share`: of the pixels that flash in a frame. `noise`: factor on the rest of the noise."""

    share: Share = (0.0005, 0.004)
    noise: Span = (1.3, 2.5)


@register
class Sparkle(_Fault):
    """Snow: single and double pixels that flash, most of them bright, other ones in every frame."""

    kind: ClassVar[str] = "sparkle"
    Settings: ClassVar[type[Settings]] = SparkleSettings

    def noise(self, t: float) -> float:
        return float(self.plan.values["noise"]) if self.there(t) else 1.0

    def spoil(self, luma: Bytes, t: float) -> None:
        if not self.there(t):
            return
        rng = np.random.default_rng([self.plan.seed, round(1000 * t)])
        rows, columns = luma.shape
        count = int(rng.poisson(self.plan.values["share"] * luma.size / 1.5))
        y, x = rng.integers(0, rows, count), rng.integers(0, columns - 1, count)
        level = np.where(rng.random(count) < 0.8, rng.integers(150, 256, count), 16).astype(np.uint8)
        luma[y, x] = level
        double = rng.random(count) < 0.5
        luma[y[double], x[double] + 1] = level[double]
