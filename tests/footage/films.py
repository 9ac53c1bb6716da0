"""Tiny films with known timestamps, made with PyAV for the tests of this folder."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.container import InputContainer
from av.video.stream import VideoStream
from numpy.typing import NDArray

from nestwatch.site.records import Camera, NightHours

WIDTH, HEIGHT = 160, 120
STAMP = "pen_%Y%m%dT%H%M%S"
START = datetime(2026, 6, 12, 22, 0, tzinfo=UTC)
OPEN_GOP = {"x264-params": "open-gop=1:bframes=3:b-adapt=0:keyint=30:min-keyint=30:scenecut=0"}
INTRA_REFRESH = {"x264-params": "intra-refresh=1:bframes=0:keyint=30:scenecut=0"}
HEVC = {"x265-params": "keyint=30:min-keyint=30:open-gop=1:log-level=none:pools=1:frame-threads=1"}
FRAGMENTED = {"movflags": "frag_keyframe+empty_moov+default_base_moof"}


def picture(index: int, *, width: int = WIDTH, height: int = HEIGHT) -> NDArray[np.uint8]:
    """Luma of frame `index`: a fixed texture and a bright bar that moves 3 px a frame."""
    texture = np.random.default_rng(7).integers(60, 180, (height, width)).astype(np.uint8)
    left = (3 * index) % (width - 20)
    texture[20:60, left : left + 20] = 225
    return texture


def film(
    path: Path,
    times: Sequence[float],
    *,
    codec: str = "libx264",
    key_every: int = 30,
    fps: int = 15,
    options: dict[str, str] | None = None,
    container: dict[str, str] | None = None,
    size: tuple[int, int] = (WIDTH, HEIGHT),
    chroma: tuple[int, int] = (128, 128),
    created: datetime | None = None,
) -> Path:
    """Encode one frame per entry of `times` (seconds). AVI keeps counts, so times there must be even."""
    path.parent.mkdir(parents=True, exist_ok=True)
    base = Fraction(1, fps) if path.suffix == ".avi" else Fraction(1, 1000)
    with av.open(str(path), "w", options=container or {}) as output:
        if created is not None:
            output.metadata["creation_time"] = created.isoformat()
        stream = output.add_stream(codec, rate=fps, options=_options(codec, options, key_every))
        assert isinstance(stream, VideoStream)
        stream.width, stream.height = size
        stream.pix_fmt = "yuvj420p" if codec == "mjpeg" else "yuv420p"
        stream.codec_context.gop_size = key_every
        stream.codec_context.time_base = base
        stream.codec_context.thread_count = 1
        for index, seconds in enumerate(times):
            frame = _frame(index, size, chroma, stream.pix_fmt)
            frame.pts, frame.time_base = round(seconds / base), base
            output.mux(stream.encode(frame))
        output.mux(stream.encode(None))
    return path


def _options(codec: str, options: dict[str, str] | None, key_every: int) -> dict[str, str]:
    if codec != "libx264":
        return options or {}
    plain = {"x264-params": f"keyint={key_every}:min-keyint={key_every}:scenecut=0:bframes=0"}
    return {"preset": "ultrafast", **(options or plain)}


def _frame(index: int, size: tuple[int, int], chroma: tuple[int, int], pix_fmt: str) -> av.VideoFrame:
    width, height = size
    luma = picture(index, width=width, height=height)
    planes = [np.full((height // 4, width), level, np.uint8) for level in chroma]
    frame = av.VideoFrame.from_ndarray(np.vstack([luma, *planes]), format="yuv420p")
    return frame if pix_fmt == "yuv420p" else frame.reformat(format=pix_fmt)


def even(seconds: float, fps: int = 15) -> list[float]:
    """Times of an even film."""
    return [index / fps for index in range(round(seconds * fps))]


def stamped(folder: Path, start: datetime = START, ending: str = ".mp4", *, prefix: str = "pen") -> Path:
    """The path of a recording that starts at `start` by its name."""
    return folder / f"{prefix}_{start:%Y%m%dT%H%M%S}{ending}"


def camera(
    folder: Path,
    *,
    stamp: str | None = STAMP,
    clock: str = "utc",
    error_s: float = 0.0,
    size: tuple[int, int] = (WIDTH, HEIGHT),
) -> Camera:
    """A camera with no zones."""
    return Camera("pond", None, folder, stamp, clock, error_s, size, (), ())


def night(start: datetime = START, *, before_s: float = 60.0, after_s: float = 240.0) -> NightHours:
    """A short night round `start`."""
    begin, end = start - timedelta(seconds=before_s), start + timedelta(seconds=after_s)
    return NightHours(date(2026, 6, 12), begin, end, (begin, end), None, None)


def full_decode(path: Path) -> dict[int, tuple[float, NDArray[np.uint8], bool]]:
    """Every frame of a film, decoded from the front: pts -> (seconds since the first, luma, key frame?)."""
    found: dict[int, tuple[float, NDArray[np.uint8], bool]] = {}
    with av.open(str(path)) as source:
        stream = source.streams.video[0]
        base = float(stream.time_base or 1)
        for frame in _sound_frames(source, stream):
            ticks = frame.pts if frame.pts is not None else frame.dts
            assert ticks is not None
            luma = frame.to_ndarray()[: frame.height, : frame.width].copy()
            found[ticks] = (ticks * base, np.asarray(luma, np.uint8), frame.key_frame)
    zero = min(seconds for seconds, _, _ in found.values())
    return {ticks: (seconds - zero, luma, key) for ticks, (seconds, luma, key) in found.items()}


def _sound_frames(source: InputContainer, stream: VideoStream) -> Iterator[av.VideoFrame]:
    """What a player shows: a packet that cannot be decoded is passed over."""
    packets = source.demux(stream)
    while True:
        try:
            packet = next(packets, None)
            if packet is None:
                return
            yield from packet.decode()
        except av.FFmpegError:
            continue


def key_packets(path: Path) -> int:
    """How many packets the container marks as key frames: an oracle beside ffprobe."""
    with av.open(str(path)) as source:
        return sum(packet.is_keyframe for packet in source.demux(video=0) if packet.size)
