"""The recording that speed is measured on: 1080p, 15 frames a second, H.264, a key frame every 2 s.

Four minutes are drawn and encoded once: textured ground under an infrared lamp, fresh sensor noise in every
frame, one small animal walking round. The hours are those minutes repeated packet by packet, which costs no
encoding; a decoder has the same work with them. Shares no code with the renderer of invented nights.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from datetime import datetime, timedelta
from fractions import Fraction
from pathlib import Path
from zoneinfo import ZoneInfo

import av
import cv2
import numpy as np
from numpy.typing import NDArray

WIDTH, HEIGHT, FPS, KEY_S = 1920, 1080, 15, 2
MINUTES = 4
BITRATE = 2_400_000
# When the first recording begins, in the site's zone; no clocks change that night.
START = datetime(2026, 6, 12, 18, tzinfo=ZoneInfo("Europe/Paris"))
STAMP = "bank_%Y%m%dT%H%M%S"


def ground(rng: np.random.Generator) -> NDArray[np.int16]:
    """Textured soil under a lamp that fades towards the corners, int16 (rows, columns)."""
    soil = np.zeros((HEIGHT, WIDTH), np.float32)
    for size, weight in ((4, 6.0), (16, 6.0), (64, 8.0)):
        coarse = rng.normal(0, weight, (HEIGHT // size + 2, WIDTH // size + 2)).astype(np.float32)
        soil += cv2.resize(coarse, (WIDTH, HEIGHT), interpolation=cv2.INTER_CUBIC)
    y, x = np.mgrid[-1 : 1 : HEIGHT * 1j, -1 : 1 : WIDTH * 1j]
    lit = 1 / (1 + 0.8 * (x * x + y * y))
    return np.asarray((120 + soil) * lit, dtype=np.int16)


def frames() -> Iterator[NDArray[np.uint8]]:
    """Every frame of the four minutes, uint8 (rows, columns). The animal ends where it began."""
    rng = np.random.default_rng(20260612)
    soil = ground(rng)
    noise = rng.normal(0, 3, (HEIGHT + 256, WIDTH + 256)).astype(np.int16)
    total = MINUTES * 60 * FPS
    for i in range(total):
        row, column = rng.integers(0, 256, 2)
        picture = soil + noise[row : row + HEIGHT, column : column + WIDTH]
        turn = 2 * np.pi * i / total
        centre = (int(960 + 500 * np.cos(turn)), int(560 + 260 * np.sin(2 * turn)))
        cv2.ellipse(picture, centre, (48, 36), np.degrees(turn), 0, 360, 55, -1)
        yield np.clip(picture, 16, 235).astype(np.uint8)


def encode(path: Path) -> None:
    """Draw and encode the four minutes (about a minute of work)."""
    grey = np.full((HEIGHT // 2, WIDTH), 128, np.uint8)
    options = {
        "preset": "veryfast",
        "bf": "0",
        "sc_threshold": "0",
        "maxrate": str(BITRATE),
        "bufsize": str(2 * BITRATE),
    }
    with av.open(path, "w") as out:
        stream = out.add_stream("libx264", rate=FPS, options=options)
        stream.width, stream.height, stream.pix_fmt = WIDTH, HEIGHT, "yuv420p"
        stream.bit_rate, stream.gop_size = BITRATE, FPS * KEY_S
        for luma in frames():
            frame = av.VideoFrame.from_ndarray(np.vstack([luma, grey]), format="yuv420p")
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))


def repeat(source: Path, path: Path, *, times: int) -> None:
    """The packets of `source` `times` over, one after the other, without encoding."""
    length = seconds(source)
    with av.open(path, "w") as out:
        target = None
        for turn in range(times):
            with av.open(source) as container:
                video = container.streams.video[0]
                target = target or out.add_stream_from_template(video)
                assert video.time_base is not None
                shift = round(turn * length / video.time_base)
                for packet in container.demux(video):
                    if packet.dts is None or packet.pts is None:
                        continue
                    packet.pts, packet.dts = packet.pts + shift, packet.dts + shift
                    packet.stream = target
                    out.mux(packet)


def hour(folder: Path) -> Path:
    """One hour of recording in `folder`, made unless it is there already."""
    folder.mkdir(parents=True, exist_ok=True)
    minutes, whole = folder / "minutes.mp4", folder / "hour.mp4"
    for path, make in ((minutes, encode), (whole, lambda to: repeat(minutes, to, times=60 // MINUTES))):
        if not path.exists():
            fresh = path.with_name(f"new-{path.name}")
            make(fresh)
            os.replace(fresh, path)
    return whole


def seconds(path: Path) -> float:
    """The length of a recording by its own clock."""
    with av.open(path) as container:
        assert container.duration is not None
        return float(Fraction(container.duration, av.time_base))


SITE = Path(__file__).with_name("site.toml")


def night(folder: Path, source: Path, *, hours: int) -> Path:
    """A site file whose night is `hours` long, its footage that many links to (or copies of) `source`."""
    footage = folder / f"night-{hours}h" / "footage"
    shutil.rmtree(footage.parent, ignore_errors=True)
    footage.mkdir(parents=True)
    for i in range(hours):
        name = (START + timedelta(hours=i)).strftime(STAMP) + ".mp4"
        try:
            os.link(source, footage / name)
        except OSError:
            shutil.copyfile(source, footage / name)
    site = footage.parent / "site.toml"
    end = START + timedelta(hours=hours)
    text = SITE.read_text(encoding="utf-8").replace('"08:00"]', f'"{end:%H:%M}"]')
    site.write_text(text, encoding="utf-8")
    return site
