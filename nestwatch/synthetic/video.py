"""Writes frames as a recorder would: one file per segment, key frames at a set distance, no B frames."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Self

import av
import numpy as np
from av.video.stream import VideoStream
from numpy.typing import NDArray

from nestwatch.synthetic.scenario import VideoPart

Bytes = NDArray[np.uint8]
GREY = 128
_TICKS = 1000
_CONTAINER = {"mp4": "mp4", "mkv": "matroska", "avi": "avi", "ts": "mpegts"}


class Recorder:
    """One file being written. `plane()` gives the luma to draw in, `send()` writes it at `seconds`."""

    def __init__(self, path: Path, video: VideoPart) -> None:
        self.path, self.video = path, video
        self._part = path.with_name(path.name + ".part")
        self._container = av.open(str(self._part), "w", format=_CONTAINER[video.container])
        self._stream = self._open()
        self._frame: av.VideoFrame | None = None

    def _open(self) -> VideoStream:
        rate = Fraction(self.video.fps).limit_denominator(1000)
        stream = self._container.add_stream(self.video.codec, rate=rate, options=_options(self.video))
        stream.width, stream.height = self.video.size
        stream.pix_fmt = "yuvj420p" if self.video.codec == "mjpeg" else "yuv420p"
        stream.codec_context.time_base = Fraction(1, _TICKS) if self.video.vfr else 1 / rate
        stream.codec_context.gop_size = key_distance(self.video)
        stream.codec_context.thread_count = 1
        if self.video.bitrate_kbit is not None:
            stream.codec_context.bit_rate = int(1000 * self.video.bitrate_kbit)
        return stream

    def plane(self) -> Bytes:
        """The luma plane (rows, columns) of a fresh frame, to be drawn in."""
        width, height = self.video.size
        self._frame = av.VideoFrame(width, height, self._stream.pix_fmt or "yuv420p")
        return _view(self._frame, 0)

    def send(self, seconds: float, chroma: tuple[Bytes, Bytes] | None) -> None:
        """Encodes the frame; `chroma` are the colour planes at half size, None for grey."""
        frame = self._frame
        if frame is None:
            raise RuntimeError("send() needs a plane() first")
        for k in (1, 2):
            _view(frame, k)[...] = GREY if chroma is None else chroma[k - 1]
        frame.pts = round(seconds / self._stream.codec_context.time_base)
        frame.time_base = self._stream.codec_context.time_base
        self._container.mux(self._stream.encode(frame))

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, where: TracebackType | None
    ) -> None:
        if kind is None:
            self._container.mux(self._stream.encode(None))
        self._container.close()
        if kind is None:
            self._part.replace(self.path)
        else:
            self._part.unlink(missing_ok=True)


def _view(frame: av.VideoFrame, plane: int) -> Bytes:
    """A writable view (rows, columns) of a plane, without its padding."""
    held = frame.planes[plane]
    flat = np.frombuffer(memoryview(held), np.uint8)
    return flat[: held.height * held.line_size].reshape(held.height, held.line_size)[:, : held.width]


def key_distance(video: VideoPart) -> int:
    """Frames from key frame to key frame."""
    return max(1, round(video.gop_s * video.fps))


def _options(video: VideoPart) -> dict[str, str]:
    gop = key_distance(video)
    if video.codec in ("mpeg4", "mjpeg"):
        return {} if video.bitrate_kbit else {"qmin": "2", "qmax": "12"}
    same = f"keyint={gop}:min-keyint={gop}:scenecut=0:bframes=0"
    name, more = (
        ("x264-params", ":threads=1:rc-lookahead=0:sync-lookahead=0")
        if video.codec == "libx264"
        else ("x265-params", ":pools=none:frame-threads=1:rc-lookahead=0:open-gop=0:log-level=error")
    )
    quality = {} if video.bitrate_kbit else {"crf": str(video.crf)}
    return {"preset": video.preset, name: same + more, **quality}


def record(
    path: Path,
    video: VideoPart,
    times: Iterable[float],
    paint: Callable[[float, Bytes], tuple[Bytes, Bytes] | None],
) -> None:
    """Writes one file: `paint(t, luma)` fills each frame's luma and gives its colour planes or None.

    `times` are seconds since the night's start; the first one is the file's zero. Written beside its place
    first, then moved there, so that an interrupted run leaves no half file under the final name.
    """
    first: float | None = None
    with Recorder(path, video) as recorder:
        for t in times:
            first = t if first is None else first
            plane = recorder.plane()
            recorder.send(t - first, paint(t, plane))
