"""`python -m bench.obvious VARIANT SITE --date D --out DIR`: what a script of a few lines finds in a night.

Every frame goes through OpenCV's MOG2; a blob of the animal's size that stays within a body length for
twenty minutes inside a nesting zone is called a nest, the longest first. So that it is no straw man it is
told the animal's size by the site's marks, keeps only what a 3 x 3 opening leaves, takes what MOG2 calls
shadow as well (a dark shell looks like one), and may lose sight of the animal for two minutes. Two variants:
`default` is OpenCV's own setting; `patient` has a history of three hours and takes a thing as ground only
once it filled a third of that. Writes `DIR/night.json` with the keys that the scoring reads.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import av
import cv2
import numpy as np
from numpy.typing import NDArray

from nestwatch.footage import find_footage
from nestwatch.footage.frames import luma, reduce
from nestwatch.footage.records import Footage
from nestwatch.site.file import load_site
from nestwatch.site.hours import night_hours
from nestwatch.site.plan import plan_map
from nestwatch.site.records import Camera, Site
from nestwatch.site.zones import zone_mask

DWELL_S = 20 * 60.0
LOST_S = 120.0
LOOK_S = 2.0  # MOG2 sees every frame; its mask is read this often, which a dwell of minutes does not notice
SHELL_PX = 12.0  # pictures are reduced until the shell is about this long, never enlarged
AREA = (0.25, 4.0)  # of an ellipse as long as the shell and 0.8 as wide
PATIENT_S = 3 * 3600.0
PATIENT_RATIO = 0.7  # OpenCV's own 0.9 takes a thing as ground once it filled a tenth of the history
USUAL_SHELL = 0.03  # of the picture's width, where no marks tell
VARIANTS = ("default", "patient")

Mask = NDArray[np.uint8]


@dataclass(slots=True)
class Dwell:
    """Something that stays: POSIX seconds of its first and last sight, its mean place in mask pixels."""

    first: float
    last: float
    x: float
    y: float
    seen: int = 1

    def add(self, at: float, x: float, y: float) -> None:
        """Seen once more."""
        self.seen += 1
        self.last = at
        self.x += (x - self.x) / self.seen
        self.y += (y - self.y) / self.seen


def subtractor(variant: str, fps: float) -> cv2.BackgroundSubtractorMOG2:
    """MOG2 with OpenCV's defaults, or the patient one, for `fps` frames a second."""
    model = cv2.createBackgroundSubtractorMOG2()
    if variant == "patient":
        model.setHistory(max(500, round(PATIENT_S * fps)))
        model.setBackgroundRatio(PATIENT_RATIO)
    return model


def shell_px(site: Site, camera: Camera, footage: Footage) -> float:
    """The expected shell length in footage pixels at the middle of the nesting zones."""
    corners = [point for zone in camera.zones_of("nesting") for point in zone.outline]
    plan = plan_map(site, camera)
    if plan is None or not corners:
        return USUAL_SHELL * footage.width
    middle = np.mean(np.array(corners, float), axis=0)
    length = sum(site.animal.shell_length_cm) / 200
    return plan.shell_pixels((float(middle[0]), float(middle[1])), length) * footage.scale[0]


def pictures(footage: Footage, size: tuple[int, int]) -> Iterator[tuple[float, Mask]]:
    """(POSIX seconds, grey picture of `size`) of every frame of the night, in order."""
    first, last = footage.start.timestamp(), footage.end.timestamp()
    for recording in footage.recordings:
        with av.open(recording.paths[0]) as container:
            container.streams.video[0].thread_type = "NONE"
            for frame in container.decode(video=0):
                at = recording.start.timestamp() + (frame.time or 0.0)
                if first <= at < last:
                    yield at, reduce(luma(frame), size)


def blobs(mask: Mask, zone: Mask, shell: float) -> list[tuple[float, float]]:
    """(x, y) of what is as large as the animal in MOG2's `mask`, in mask pixels."""
    solid = ((mask > 0) & (zone > 0)).astype(np.uint8)
    solid = np.asarray(cv2.morphologyEx(solid, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8)), np.uint8)
    count, _, stats, centres = cv2.connectedComponentsWithStats(solid)
    body = math.pi / 4 * 0.8 * shell**2
    areas = stats[1:count, cv2.CC_STAT_AREA]
    fits = (areas >= AREA[0] * body) & (areas <= AREA[1] * body)
    return [(float(x), float(y)) for x, y in centres[1:count][fits]]


def follow(seen: Iterable[tuple[float, list[tuple[float, float]]]], shell: float) -> list[Dwell]:
    """Everything that stayed within a body length for long enough, the longest first."""
    staying: list[Dwell] = []
    done: list[Dwell] = []
    for at, places in seen:
        done += [dwell for dwell in staying if at - dwell.last > LOST_S]
        staying = [dwell for dwell in staying if at - dwell.last <= LOST_S]
        for x, y in places:
            near = min(staying, key=lambda dwell: math.hypot(dwell.x - x, dwell.y - y), default=None)
            if near is not None and math.hypot(near.x - x, near.y - y) <= shell:
                near.add(at, x, y)
            else:
                staying.append(Dwell(at, at, x, y))
    long = [dwell for dwell in [*done, *staying] if dwell.last - dwell.first >= DWELL_S]
    return sorted(long, key=lambda dwell: dwell.first - dwell.last)


def watched(site: Site, camera: Camera, footage: Footage, variant: str) -> tuple[list[Dwell], float]:
    """The dwells of one camera's night, and picture pixels (of the outlines) per mask pixel."""
    shell = shell_px(site, camera, footage)
    shrink = min(1.0, SHELL_PX / max(shell, 1.0))
    size = (max(1, round(footage.width * shrink)), max(1, round(footage.height * shrink)))
    zone = zone_mask(camera.zones_of("nesting"), camera.picture, size).astype(np.uint8)
    model = subtractor(variant, footage.recordings[0].fps or 1.0)

    def looks() -> Iterator[tuple[float, list[tuple[float, float]]]]:
        due = -math.inf
        for at, picture in pictures(footage, size):
            mask = np.asarray(model.apply(picture), np.uint8)
            if at >= due:
                due = at + LOOK_S
                yield at, blobs(mask, zone, shell * shrink)

    return follow(looks(), shell * shrink), camera.picture[0] / size[0]


def entry(site: Site, camera: Camera, dwell: Dwell, scale: float) -> dict[str, Any]:
    """A dwell as the night file lists digs."""
    pixel = ((dwell.x + 0.5) * scale, (dwell.y + 0.5) * scale)
    plan = plan_map(site, camera)
    place = None if plan is None else plan.to_plan([pixel])[0].tolist()
    first, last = (datetime.fromtimestamp(at, UTC).isoformat() for at in (dwell.first, dwell.last))
    known = place is not None and all(map(math.isfinite, place))
    return {
        "camera": camera.name,
        "from": first,
        "to": last,
        "call": "nest",
        "stages": [],
        "pixel": list(pixel),
        "plan_m": place if known else None,
        "within_m": None,
    }


def night_document(site: Site, night: date, variant: str) -> dict[str, Any]:
    """The night file's keys that the scoring reads: every camera's dwells, the longest of all first."""
    hours = night_hours(site, night)
    found: list[tuple[float, dict[str, Any]]] = []
    footage = []
    for camera in site.cameras:
        films = find_footage(camera, hours, site.timezone)
        footage.append({"camera": camera.name})
        if films.recordings:
            dwells, scale = watched(site, camera, films, variant)
            found += [(dwell.last - dwell.first, entry(site, camera, dwell, scale)) for dwell in dwells]
    found.sort(key=lambda one: -one[0])
    digs = [{"rank": rank, **dig} for rank, (_, dig) in enumerate(found, start=1)]
    return {"night": night.isoformat(), "footage": footage, "digs": digs}


def main(words: Sequence[str] | None = None) -> int:
    """Watch one night; 0 when done."""
    parser = argparse.ArgumentParser(prog="bench.obvious", description=(__doc__ or "").split("\n")[0])
    parser.add_argument("variant", choices=VARIANTS)
    parser.add_argument("site", type=Path)
    parser.add_argument("--date", type=date.fromisoformat, required=True)
    parser.add_argument("--out", type=Path, required=True)
    wanted = parser.parse_args(words)
    cv2.setNumThreads(1)
    document = night_document(load_site(wanted.site), wanted.date, wanted.variant)
    wanted.out.mkdir(parents=True, exist_ok=True)
    (wanted.out / "night.json").write_text(json.dumps(document), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
