"""Walk through one recording: from key frame to key frame, or frame by frame."""

from __future__ import annotations

from collections.abc import Generator, Iterator
from contextlib import ExitStack

import av
import numpy as np
from av.video.stream import VideoStream

from nestwatch.footage.opening import CannotRead, opened, plain_errors
from nestwatch.footage.plan import Visit
from nestwatch.footage.probe import decode_alone, time_of
from nestwatch.footage.records import Recording

_EPSILON_S = 0.002  # Matroska rounds timestamps to a millisecond


class Walker:
    """An open recording. Use as a context manager. Times are seconds since the recording's start."""

    def __init__(self, recording: Recording, *, loop_filter: bool = True) -> None:
        self.recording = recording
        self._stack = ExitStack()
        self._loop_filter = loop_filter
        self._packets: Iterator[av.Packet[VideoStream]] = iter(())
        self._pushed: av.Packet[VideoStream] | None = None
        self._at = float("-inf")  # where a file without index stands

    def __enter__(self) -> Walker:
        self._open()
        return self

    def __exit__(self, *_: object) -> None:
        self._stack.close()

    def _open(self) -> None:
        self._stack.close()
        self._container, self._stream = self._stack.enter_context(
            opened(self.recording.paths[0], loop_filter=self._loop_filter)
        )
        self._base = float(self._stream.time_base or 1)
        self._restart()

    def _restart(self) -> None:
        self._packets = (packet for packet in self._container.demux(self._stream) if packet.size)
        self._pushed = None

    def _time(self, item: av.Packet[VideoStream] | av.VideoFrame) -> float | None:
        ticks = time_of(item)
        return None if ticks is None else ticks * self._base - self.recording.offset_s

    def _next_packet(self) -> av.Packet[VideoStream] | None:
        packet, self._pushed = self._pushed, None
        return packet if packet is not None else next(self._packets, None)

    def _go(self, seconds: float) -> None:
        """Stand at or before the key frame at `seconds`."""
        if self.recording.seekable:
            ticks = round((seconds + self.recording.late_s + self.recording.offset_s) / self._base)
            self._container.seek(ticks, stream=self._stream)
            self._restart()
        elif len(self.recording.key_bytes):
            index = int(np.searchsorted(self.recording.key_times, seconds + _EPSILON_S, side="right")) - 1
            place = int(self.recording.key_bytes[max(0, index)])
            self._container.seek(place, stream=self._stream, unsupported_byte_offset=True)
            self._restart()
        elif seconds <= self._at:
            self._open()
        self._at = seconds

    def key_frame(self, seconds: float) -> tuple[float, av.VideoFrame] | None:
        """(time, picture) of the first key frame at or after `seconds`; None where it is damaged."""
        try:
            with plain_errors():
                self._go(seconds)
                packet = self._key_packet(seconds)
                frame = None if packet is None else decode_alone(self._stream, packet)
        except CannotRead:
            return None
        time = None if frame is None else self._time(frame)
        return None if frame is None or time is None else (time, frame)

    def _key_packet(self, seconds: float) -> av.Packet[VideoStream] | None:
        while (packet := self._next_packet()) is not None:
            time = self._time(packet)
            if packet.is_keyframe and time is not None and time >= seconds - _EPSILON_S:
                return packet
        return None

    def frames(self, visit: Visit) -> Generator[tuple[float, av.VideoFrame], None, None]:
        """(time, picture) of every sound frame in [visit.start, visit.until), decoded from `visit.key` on."""
        until = float("inf") if visit.until is None else visit.until
        try:
            with plain_errors():
                self._go(visit.key)
                for time, frame in self._decoded(until):
                    if visit.start - _EPSILON_S <= time < until and not frame.is_corrupt:
                        yield time, frame
        except CannotRead:
            return

    def _decoded(self, until: float) -> Iterator[tuple[float, av.VideoFrame]]:
        """Frames in display order; stops at the first key packet from `until` on, or a second beyond it."""
        context = self._stream.codec_context
        try:
            yield from self._fed(until)
            yield from self._timed(context.decode(None))
        finally:
            context.flush_buffers()

    def _fed(self, until: float) -> Iterator[tuple[float, av.VideoFrame]]:
        while (packet := self._next_packet()) is not None:
            time = self._time(packet)
            if time is not None and time >= until + (0 if packet.is_keyframe else 1.0):
                self._pushed = packet
                break
            yield from self._timed(self._decode(packet))

    def _decode(self, packet: av.Packet[VideoStream]) -> list[av.VideoFrame]:
        try:
            return self._stream.codec_context.decode(packet)
        except av.FFmpegError:  # one damaged packet: the decoder goes on with the next
            return []

    def _timed(self, frames: list[av.VideoFrame]) -> Iterator[tuple[float, av.VideoFrame]]:
        for frame in frames:
            if (time := self._time(frame)) is not None:
                yield time, frame
