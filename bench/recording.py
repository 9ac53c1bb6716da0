"""The recording that speed is measured on: 1080p, 15 frames a second, H.264, a key frame every 2 s.

Twice four minutes are drawn and encoded once: textured ground under an infrared lamp, fresh sensor noise in
every frame, without and with one small animal that walks across. An hour is made of them packet by packet,
which costs no encoding: the animal comes once, the ground alone the rest of the time. (An animal repeated as
well would tread one path fifteen times an hour, and much of that path looks as if something stayed there.)
Shares no code with the renderer of invented nights.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator, Sequence
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


def frames(animal: bool) -> Iterator[NDArray[np.uint8]]:
    """Every frame of four minutes, uint8 (rows, columns). The animal walks from side to side."""
    rng = np.random.default_rng(20260612)
    soil = ground(rng)
    noise = rng.normal(0, 3, (HEIGHT + 256, WIDTH + 256)).astype(np.int16)
    total = MINUTES * 60 * FPS
    for i in range(total):
        row, column = rng.integers(0, 256, 2)
        picture = soil + noise[row : row + HEIGHT, column : column + WIDTH]
        if animal:
            share = i / total
            centre = (int((WIDTH + 200) * share) - 100, int(560 + 200 * np.sin(6 * share)))
            cv2.ellipse(picture, centre, (48, 36), 0, 0, 360, 55, -1)
        yield np.clip(picture, 16, 235).astype(np.uint8)


def encode(path: Path, *, animal: bool) -> None:
    """Draw and encode four minutes (about a minute of work)."""
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
        for luma in frames(animal):
            frame = av.VideoFrame.from_ndarray(np.vstack([luma, grey]), format="yuv420p")
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))


def join(sources: Sequence[Path], path: Path) -> None:
    """The packets of the sources, one after the other, without encoding. All must be encoded alike."""
    with av.open(path, "w") as out:
        target, begin = None, 0.0
        for source in sources:
            with av.open(source) as container:
                video = container.streams.video[0]
                target = target or out.add_stream_from_template(video)
                assert video.time_base is not None
                shift = round(begin / video.time_base)
                for packet in container.demux(video):
                    if packet.dts is None or packet.pts is None:
                        continue
                    packet.pts, packet.dts = packet.pts + shift, packet.dts + shift
                    packet.stream = target
                    out.mux(packet)
            begin += seconds(source)


def made(path: Path, make: Callable[[Path], None]) -> Path:
    """`path`, made unless it is there already; a making cut short leaves nothing under that name."""
    if not path.exists():
        fresh = path.with_name(f"new-{path.name}")
        make(fresh)
        os.replace(fresh, path)
    return path


def minutes(folder: Path, *, animal: bool) -> Path:
    """Four minutes of recording in `folder`, made unless they are there already."""
    folder.mkdir(parents=True, exist_ok=True)
    name = "minutes-animal.mp4" if animal else "minutes-ground.mp4"
    return made(folder / name, lambda to: encode(to, animal=animal))


def hour(folder: Path) -> Path:
    """One hour of recording in `folder`, made unless it is there already: the animal comes in its middle."""
    parts = [minutes(folder, animal=False)] * (60 // MINUTES)
    parts[len(parts) // 2] = minutes(folder, animal=True)
    return made(folder / "one-hour.mp4", lambda to: join(parts, to))


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
