"""Was a recording closed properly? Asked of the container's own frame, not of its pictures."""

from __future__ import annotations

from pathlib import Path

import av
from av.container import InputContainer

_SHORT_S = 2.0  # a header's length and the last picture differ by a frame or a sound packet in whole files


def how_closed(path: Path, container: InputContainer, seconds: float, *, broken: bool) -> str:
    """Why the file has no proper end; "" where it has one. `seconds`: the length of its pictures."""
    claimed = container.duration / av.time_base if container.duration else None
    if claimed is not None and claimed > seconds + max(_SHORT_S, 0.02 * seconds):
        return f"cut off after {length(seconds)}; its header says {length(claimed)}"
    if broken:
        return f"damaged after {length(seconds)}"
    return _CHECKS.get(container.format.name.split(",")[0], _no_check)(path, container)


def _no_check(path: Path, container: InputContainer) -> str:
    return ""


def _matroska(path: Path, container: InputContainer) -> str:
    return "" if container.duration else "not closed by the recorder (it holds no length)"


def _mp4(path: Path, container: InputContainer) -> str:
    """An MP4 is a row of boxes, each with its length (ISO/IEC 14496-12, 4.2)."""
    size, at = path.stat().st_size, 0
    with path.open("rb") as file:
        while at + 8 <= size:
            file.seek(at)
            head = file.read(16)
            length_ = int.from_bytes(head[:4], "big")
            length_ = int.from_bytes(head[8:16], "big") if length_ == 1 else length_ or size - at
            at += max(length_, 8)
    return "" if at == size else "cut off in the middle of its data"


def avi_closed(path: Path) -> bool:
    """Was an AVI closed, so that its index is whole?"""
    return not _avi_fault(path)


def _avi(path: Path, container: InputContainer) -> str:
    return _avi_fault(path)


def _avi_fault(path: Path) -> str:
    """An AVI's first chunk says how long the file is; a recorder writes it on closing."""
    with path.open("rb") as file:
        head = file.read(12)
    claimed = int.from_bytes(head[4:8], "little")
    size = path.stat().st_size
    if claimed == 0:
        return "not closed by the recorder (its header is empty)"
    return "cut off in the middle of its data" if claimed > size else ""


def _transport(path: Path, container: InputContainer) -> str:
    """A transport stream is a row of packets of 188 bytes (ISO/IEC 13818-1), 192 with a time code."""
    size = path.stat().st_size
    return (
        "" if any(size % length_ == 0 for length_ in (188, 192, 204)) else "cut off in the middle of a packet"
    )


_CHECKS = {"matroska": _matroska, "mov": _mp4, "avi": _avi, "mpegts": _transport}


def length(seconds: float) -> str:
    """`3725` -> `1 h 02 min 05 s`."""
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    if hours:
        return f"{hours} h {minutes:02d} min {rest:02d} s"
    return f"{minutes} min {rest:02d} s" if minutes else f"{rest} s"
