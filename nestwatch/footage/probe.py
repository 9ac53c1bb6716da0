"""What one video file holds: size, codec, key frames, stretches with pictures, and whether it was closed.

The index is used where there is one. It is not trusted to reach the end: from its last key frame on, packets
are read to the end of the file, so a file whose index is missing or short (transport stream, fragments, cut
off) is read packet by packet, without decoding.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import av
import numpy as np
from av.container import InputContainer
from av.video.stream import VideoStream
from numpy.typing import NDArray

from nestwatch.footage.closing import avi_closed, how_closed
from nestwatch.footage.layout import frame_distance, rising, spans_of, suspicious
from nestwatch.footage.opening import CannotRead, opened, plain_errors

Trials = dict[tuple[str, int, int, bytes], bool]
_TRIAL_KEYS = 4  # key packets tried before a stream counts as one without usable key frames
_WITHOUT_INDEX = ("mpegts", "mpeg", "h264", "hevc", "m4v", "mjpeg")


@dataclass(frozen=True, slots=True)
class Glance:
    """What opening a file tells at once. `seconds` as the header claims, None where it says nothing."""

    created: datetime | None
    seconds: float | None


@dataclass(frozen=True, slots=True)
class Probe:
    """One file looked through. Times are seconds since the first timestamp, which is `offset_s` in the file.

    `keys` is empty where key frames cannot be decoded alone. `late_s`, `spans` and `cut` as in `Recording`.
    """

    width: int
    height: int
    codec: str
    fps: float | None
    offset_s: float
    late_s: float
    keys: NDArray[np.float64]
    spans: NDArray[np.float64]
    seekable: bool
    key_bytes: NDArray[np.int64]
    cut: str


@dataclass(frozen=True, slots=True)
class _Packets:
    """Timestamps of packets in file order (ticks), and which are key frames."""

    ticks: list[int]
    keys: list[int]
    places: dict[int, int] = field(default_factory=dict)  # key frame's ticks -> byte in the file
    broken: bool = False
    keys_only: bool = False  # an index that leaves out the frames between key frames
    reordered: bool = False  # the index counts in decoding order, which differs from the display's


def glance(path: Path) -> Glance:
    """Open a file and read its header alone. Raises `CannotRead`."""
    with opened(path) as (container, _):
        seconds = container.duration / av.time_base if container.duration else None
        return Glance(_created(container), seconds)


def _created(container: InputContainer) -> datetime | None:
    text = container.metadata.get("creation_time", "")
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    moment = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
    # 1904 and 1970 are what a recorder writes that does not know the time.
    return moment.astimezone(UTC) if moment.year > 1971 else None


def probe(path: Path, trials: Trials | None = None) -> Probe:
    """Look a file through without decoding more than a few pictures. Raises `CannotRead`.

    `trials` remembers for which streams key frames can be decoded alone, so that of many files of one camera
    only the first is tried.
    """
    with opened(path) as (container, stream), plain_errors():
        base = stream.time_base or Fraction(1, 1000)
        indexed = _indexed(path, container, stream)
        packets = _listed(container, stream) if indexed else _read_packets(container, stream)
        trials = {} if trials is None else trials
        return _describe(path, container, stream, packets, base, trials, seekable=indexed)


def _indexed(path: Path, container: InputContainer, stream: VideoStream) -> bool:
    """True where the file carries an index. Matroska shows its own only after the first seek; of an AVI that
    was not closed, what looks like an index is what has been read so far."""
    if container.format.name in _WITHOUT_INDEX or (container.format.name == "avi" and not avi_closed(path)):
        return False
    if len(stream.index_entries) < 2:
        container.seek(stream.start_time or 0, stream=stream)
    return len(stream.index_entries) > 0


def _listed(container: InputContainer, stream: VideoStream) -> _Packets:
    """Packets by the index, completed by reading on from its last key frame."""
    entries = [(entry.timestamp, entry.is_keyframe) for entry in stream.index_entries]
    keys = [ticks for ticks, key in entries if key]
    if not keys:
        return _read_packets(container, stream)
    head = _head(container, stream, keys[0])
    shift = head.ticks[0] - keys[0]  # an index counts in decoding order: shift it onto the display times
    tail = _read_packets(container, stream, start=keys[-1])
    known = tail.ticks[0] - 2 * abs(shift) if tail.ticks else keys[-1] + shift
    return _Packets(
        head.ticks + [ticks + shift for ticks, _ in entries if ticks + shift < known] + tail.ticks,
        [key + shift for key in keys if key + shift < known] + tail.keys,
        broken=tail.broken,
        keys_only=len(keys) == len(entries) and len(head.ticks) > 1,
        reordered=shift != 0,
    )


def _head(container: InputContainer, stream: VideoStream, start: int) -> _Packets:
    """The first packets up to the second key frame."""
    container.seek(start, stream=stream)
    ticks: list[int] = []
    for packet in _with_data(container, stream):
        if ticks and packet.is_keyframe:
            break
        if (time := time_of(packet)) is not None:
            ticks.append(time)
    if not ticks:
        raise CannotRead("it ends before the first picture")
    return _Packets(ticks, ticks[:1])


def time_of(item: av.Packet[VideoStream] | av.VideoFrame) -> int | None:
    """Display time in ticks; AVI knows only the decoding time."""
    return item.pts if item.pts is not None else item.dts


def _read_packets(container: InputContainer, stream: VideoStream, start: int | None = None) -> _Packets:
    """Every packet from `start` (ticks; None: where the container stands) to the end or the first damage."""
    if start is not None:
        container.seek(start, stream=stream)
    ticks: list[int] = []
    keys: list[int] = []
    places: dict[int, int] = {}
    try:
        for packet in _with_data(container, stream):
            time = time_of(packet)
            if time is None:
                continue
            ticks.append(time)
            if packet.is_keyframe:
                keys.append(time)
                places[time] = -1 if packet.pos is None else packet.pos
    except (av.FFmpegError, ValueError):
        return _Packets(ticks, keys, places, broken=True)
    return _Packets(ticks, keys, places)


def _with_data(container: InputContainer, stream: VideoStream) -> Iterator[av.Packet[VideoStream]]:
    return (packet for packet in container.demux(stream) if packet.size)


def _describe(
    path: Path,
    container: InputContainer,
    stream: VideoStream,
    packets: _Packets,
    base: Fraction,
    trials: Trials,
    *,
    seekable: bool,
) -> Probe:
    if not packets.ticks:
        raise CannotRead("it ends before the first picture")
    scale = float(base)
    times = rising(np.array(packets.ticks, dtype=np.float64) * scale)
    keys = rising(np.array(packets.keys, dtype=np.float64) * scale)
    offset = float(times[0])
    distance = _distance(packets, scale) if packets.keys_only else frame_distance(times)
    if packets.keys_only:
        times = rising(np.concatenate([times, _between(container, stream, keys, distance)]))
    spans = spans_of(times, distance=distance)
    usable = keys if _keys_usable(container, stream, keys, trials) else keys[:0]
    context = stream.codec_context
    return Probe(
        width=context.width,
        height=context.height,
        codec=context.name,
        fps=_rate(stream, distance),
        offset_s=offset,
        late_s=_late(keys, distance) if packets.reordered else 0.0,
        keys=usable - offset,
        spans=spans - offset,
        seekable=seekable,
        key_bytes=_key_bytes(container, packets, usable),
        cut=how_closed(path, container, float(spans[-1, 1]) - offset, broken=packets.broken),
    )


def _rate(stream: VideoStream, distance: float) -> float | None:
    """Frames per second: the header's where the packets bear it out (timestamps in Matroska are rounded)."""
    if not np.isfinite(distance) or distance <= 0:
        return None
    told = float(stream.average_rate or 0)
    return told if abs(told * distance - 1) < 0.03 else 1 / distance


def _late(keys: NDArray[np.float64], distance: float) -> float:
    """At most 16 frames are put before a key frame in display (H.264, HEVC), never as far as the next key."""
    return float(np.min([16 * distance, *(0.5 * np.diff(keys))])) if np.isfinite(distance) else 0.0


def _distance(packets: _Packets, scale: float) -> float:
    """Frame distance in seconds where the index holds key frames alone: from the packets that were read."""
    keys = set(packets.keys)
    others = rising(np.array([ticks for ticks in packets.ticks if ticks not in keys], dtype=np.float64))
    return frame_distance(others) * scale


def _between(
    container: InputContainer, stream: VideoStream, keys: NDArray[np.float64], distance: float
) -> NDArray[np.float64]:
    """Frame times that an index of key frames leaves out: taken as even, but read where a key is late."""
    late = set(suspicious(keys).tolist())
    even = [np.arange(a, b, distance) for i, (a, b) in enumerate(pairwise(keys)) if i not in late]
    read = [_times_from(container, stream, keys[i], keys[i + 1]) for i in late]
    return np.concatenate([*even, *read]) if even or read else keys


def _times_from(
    container: InputContainer, stream: VideoStream, start: float, end: float
) -> NDArray[np.float64]:
    """Frame times in seconds from the key frame at `start` until `end`, read packet by packet."""
    base = float(stream.time_base or 1)
    container.seek(round(start / base), stream=stream)
    times: list[float] = []
    for packet in _with_data(container, stream):
        time = time_of(packet)
        if time is not None and time * base >= end:
            break
        if time is not None:
            times.append(time * base)
    return np.array(times)


def _key_bytes(container: InputContainer, packets: _Packets, keys: NDArray[np.float64]) -> NDArray[np.int64]:
    """Where key frames lie in a transport stream, which has no index but can be entered at any byte."""
    places = [place for _, place in sorted(packets.places.items())]
    known = container.format.name == "mpegts" and len(places) == len(keys) and min(places, default=-1) >= 0
    return np.array(places if known else [], np.int64)


def _keys_usable(
    container: InputContainer, stream: VideoStream, keys: NDArray[np.float64], trials: Trials
) -> bool:
    context = stream.codec_context
    if len(keys) < 2 or context.name not in {"h264", "hevc"}:
        return True
    kind = (context.name, context.width, context.height, bytes(context.extradata or b""))
    if kind not in trials:
        trials[kind] = _keys_decode(container, stream, keys)
    return trials[kind]


def _keys_decode(container: InputContainer, stream: VideoStream, keys: NDArray[np.float64]) -> bool:
    """Can key frames be decoded alone? Not in an intra-refresh stream, whose "keys" only start a recovery."""
    base = float(stream.time_base or 1)
    container.seek(round(keys[0] / base), stream=stream)
    tried = 0
    for packet in _with_data(container, stream):
        time = time_of(packet)
        if not packet.is_keyframe or time is None or time * base <= keys[0]:
            continue
        if decode_alone(stream, packet) is not None:
            return True
        tried += 1
        if tried == _TRIAL_KEYS:
            break
    return False


def decode_alone(stream: VideoStream, packet: av.Packet[VideoStream]) -> av.VideoFrame | None:
    """The picture in one key packet, None where it is damaged or needs others.

    The decoder is drained and emptied after each packet: with open groups of pictures it would otherwise hold
    the frame back for ever (20 key frames gave 3, measured).
    """
    context = stream.codec_context
    try:
        frames = [*context.decode(packet), *context.decode(None)]
    except av.FFmpegError:
        frames = []
    context.flush_buffers()
    return next((frame for frame in frames if not frame.is_corrupt), None)
