"""What is doubtful about a camera's footage before a night is watched: hours without recordings, clocks.

Three things tell of a clock. The time that a recorder writes into a file when it begins or closes it, beside
the stamp in its name. The time at which the disk saw it last written, beside its end by the stamp: for files
that still lie where they were recorded this is one computer's clock beside each camera's, so that cameras
can be compared; copied files have other times, hours later, and are left out. And no recording ends in the
future.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from nestwatch.footage.account import read_stretches, without
from nestwatch.footage.cover import pieces
from nestwatch.footage.opening import CannotRead
from nestwatch.footage.probe import glance
from nestwatch.footage.records import Footage, Recording

_TOO_FAR = timedelta(minutes=2)
"""A camera's clock may be off by this much without anyone's notice (our choice): stages last many minutes."""
_COPIED = timedelta(minutes=45)
_SHORTEST_GAP_S = 60.0


@dataclass(frozen=True, slots=True)
class Lag:
    """How much later the disk saw a camera's newest recording last written than it ended by its stamp."""

    camera: str
    late: timedelta


def unrecorded(footage: Footage, nesting: tuple[datetime, datetime]) -> list[tuple[datetime, datetime]]:
    """Stretches of the nesting hours (UTC) that no recording covers, those under a minute left out."""
    start, end = (at.timestamp() for at in nesting)
    covered = read_stretches(pieces(footage.recordings, start, end), start, end)
    return [
        (datetime.fromtimestamp(a, UTC), datetime.fromtimestamp(b, UTC))
        for a, b in without([(start, end)], covered)
        if b - a >= _SHORTEST_GAP_S
    ]


def clock_doubts(footage: Footage, zone: ZoneInfo, now: datetime) -> Iterator[str]:
    """Sentences on one camera's clock, from its newest recording of the night. `now`: aware."""
    newest = _newest(footage)
    if newest is None:
        return
    ahead = newest.end - now
    if ahead > _TOO_FAR:
        yield (
            f"{newest.paths[0].name} would end in {_words(ahead)} from now: the camera's clock is ahead, or "
            "`clock` is wrong"
        )
    off = _beside_container(newest, zone)
    if off is not None and abs(off) > _TOO_FAR:
        how = "later" if off > timedelta() else "earlier"
        yield (
            f"{newest.paths[0].name}: the time written inside the file is {_words(abs(off))} {how} than its "
            "name says; look which of the two is right, then set `clock`, `clock_error_s` or the camera"
        )


def lag_of(footage: Footage) -> Lag | None:
    """For `cameras_disagree`; None without a recording, or where its file was copied or cannot be asked."""
    newest = _newest(footage)
    if newest is None or newest.kind == "stills":
        return None
    try:
        written = datetime.fromtimestamp(newest.paths[-1].stat().st_mtime, UTC)
    except OSError:
        return None
    late = written - newest.end
    return Lag(footage.camera, late) if abs(late) <= _COPIED else None


def cameras_disagree(lags: Sequence[Lag]) -> str | None:
    """A sentence where the clocks of two cameras differ, by the times at which their files were written."""
    if len(lags) < 2:
        return None
    slow, fast = max(lags, key=lambda lag: lag.late), min(lags, key=lambda lag: lag.late)
    apart = slow.late - fast.late
    if apart <= _TOO_FAR:
        return None
    return (
        f'the clock of camera "{fast.camera}" seems {_words(apart)} ahead of that of "{slow.camera}", by the '
        "times at which their files were last written; show both cameras one light at the same moment to see"
    )


def _newest(footage: Footage) -> Recording | None:
    return max(footage.recordings, key=lambda recording: recording.end, default=None)


def _beside_container(recording: Recording, zone: ZoneInfo) -> timedelta | None:
    """Time written inside minus start by the stamp, 0 where it lies within the recording; None unknown.

    Recorders write the time of the file's beginning or of its closing, in UTC as the standard asks or in
    local time all the same: whichever reading agrees best is taken.
    """
    if recording.kind == "stills":
        return None
    try:
        written = glance(recording.paths[0]).created
    except CannotRead:
        return None
    if written is None:
        return None
    local = written.replace(tzinfo=zone).astimezone(UTC)
    return min((_outside(at, recording) for at in (written, local)), key=abs)


def _outside(at: datetime, recording: Recording) -> timedelta:
    """How far an instant lies after the recording's end (positive) or before its start (negative)."""
    return max(at - recording.end, timedelta()) + min(at - recording.start, timedelta())


def _words(span: timedelta) -> str:
    minutes = round(span.total_seconds() / 60)
    hours, rest = divmod(minutes, 60)
    if hours >= 48:
        return f"{hours // 24} days"
    return (f"{hours} h {rest:02d} min" if rest else f"{hours} h") if hours else f"{minutes} min"
