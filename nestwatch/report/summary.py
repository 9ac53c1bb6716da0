"""The few lines a keeper reads in a hurry: what was not seen first, then what was dug and where to look."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from nestwatch.report import health, words
from nestwatch.site.records import NightHours, Site

_SHORT_S = 60.0  # gaps below this are counted together: no nest is dug in a minute
_MOST_DIGS = 3
_MOST_GAPS = 2
_UNCLEAR_S = 300.0
_MOST_CAUSES = 3


@dataclass(frozen=True, slots=True)
class _Night:
    """The night file with what its sentences need at hand."""

    document: Mapping[str, Any]
    site: Site
    offset: bool
    places: bool = True

    def hours(self) -> str:
        nesting = self.document["nesting_hours"]
        return words.span(nesting["from"], nesting["to"], offset=self.offset)

    def expected(self) -> float:
        nesting = self.document["nesting_hours"]
        return words.seconds_between(nesting["from"], nesting["to"])

    def footage(self) -> Sequence[Mapping[str, Any]]:
        footage: Sequence[Mapping[str, Any]] = self.document["footage"]
        return footage

    def blind(self) -> bool:
        """True where no camera read anything inside nesting hours."""
        return saw_nothing(self.document)

    def complete(self) -> bool:
        """True where every camera read all of the nesting hours, short gaps aside."""
        return bool(self.footage()) and not any(
            (_long(self.document["not_seen"], each["camera"]) or _dim_s(each)) for each in self.footage()
        )


def summary_lines(
    site: Site, hours: NightHours, document: Mapping[str, Any], *, places: bool = True
) -> tuple[str, ...]:
    """About five lines from a night file; the first says what was not seen inside nesting hours.

    Without `places` the lines do not tell where a dig is, only which camera saw it.

    Raids come even before that: eggs may lie open. Clocks that disagree come last.

    "No dig found" never stands without what was seen, and never at all where nothing was.
    """
    night = _Night(document, site, words.clocks_change(document), places)
    headline = not_seen_line(site, hours, document)
    lines = (headline, *_dim_lines(night), *_doubt_lines(night), *_dig_lines(night), *_file_lines(night))
    return (*raid_lines(document), *lines, *_clock_lines(document))


def account_lines(site: Site, hours: NightHours, document: Mapping[str, Any]) -> tuple[str, ...]:
    """As `summary_lines`, but only what was seen and what was not: without raids and digs."""
    night = _Night(document, site, words.clocks_change(document))
    headline = not_seen_line(site, hours, document)
    lines = (*_dim_lines(night), *_doubt_lines(night), *_file_lines(night))
    return (headline, *lines, *_clock_lines(document))


def raid_lines(document: Mapping[str, Any]) -> list[str]:
    """A warning for each raid."""
    return [raid["words"] for raid in document["raids"]]


def _clock_lines(document: Mapping[str, Any]) -> list[str]:
    return [each["words"] for each in document["clocks"] if each["words"]]


def not_seen_line(site: Site, hours: NightHours, document: Mapping[str, Any]) -> str:
    """The headline: what no camera, or which camera, did not see inside nesting hours, and why."""
    night = _Night(document, site, words.clocks_change(document))
    if night.blind():
        nothing = f"no camera saw anything in nesting hours ({night.hours()})"
        return f"NOTHING CAN BE SAID: {nothing}.{_whys(night)}"
    long = [gap for each in night.footage() for gap in _long(document["not_seen"], each["camera"])]
    if not long:
        return _all_seen(night)
    told = [_gap_text(gap, night) for gap in sorted(long, key=_gap_length, reverse=True)]
    more = f"; {len(told) - _MOST_GAPS} more" if len(told) > _MOST_GAPS else ""
    lost = sum(_gap_length(gap) for gap in long)
    cameras = len({gap["camera"] for gap in long})
    whole = f"{cameras} × " * (cameras > 1) + words.duration(night.expected())
    return f"Not seen: {'; '.join(told[:_MOST_GAPS])}{more}. {words.duration(lost)} of {whole} nesting time."


def misses_something(document: Mapping[str, Any]) -> bool:
    """True where the headline has to be loud: something inside nesting hours was not seen."""
    return not document["footage"] or any(
        _long(document["not_seen"], each["camera"]) or _dim_s(each) or _judged_s(each) <= 0
        for each in document["footage"]
    )


def saw_nothing(document: Mapping[str, Any]) -> bool:
    """True where no camera read anything inside nesting hours that was clear enough to judge."""
    return all(_judged_s(each) <= 0 for each in document["footage"])


def _all_seen(night: _Night) -> str:
    cameras = len(night.footage())
    who = "the camera" if cameras == 1 else f"all {cameras} cameras"
    short = sum(_gap_length(gap) for gap in night.document["not_seen"])
    save = f", save {words.duration(short)} in short gaps" if short else ""
    how = "seen" if night.complete() else "recorded"
    return f"Everything in nesting hours ({night.hours()}) was {how} by {who}{save}."


def _dim_lines(night: _Night) -> list[str]:
    """What was recorded but could not be judged (fog, rain, a lamp, a moved camera)."""
    return [
        f"Not clear enough to judge: {each['camera']}, {words.duration(_dim_s(each))} of nesting time"
        f"{_causes(each, night)}."
        for each in night.footage()
        if _dim_s(each) and not night.blind()
    ]


def _causes(footage: Mapping[str, Any], night: _Night) -> str:
    """Why, in brackets: ` (fogged 23:10–23:52; dark 00:10–00:20)`."""
    told = [health.cause(each, offset=night.offset) for each in _blinding(footage, night)]
    more = f"; {len(told) - _MOST_CAUSES} more" if len(told) > _MOST_CAUSES else ""
    return f" ({'; '.join(told[:_MOST_CAUSES])}{more})" if told else ""


def _blinding(footage: Mapping[str, Any], night: _Night) -> list[Mapping[str, Any]]:
    """Health findings inside nesting hours that keep the ground from being seen."""
    return [each for each in _troubles(footage, night) if each["what"] not in health.MOTION]


def _troubles(footage: Mapping[str, Any], night: _Night) -> list[Mapping[str, Any]]:
    hours = night.document["nesting_hours"]
    return [each for each in footage["health"] if health.within(each, hours)]


def _doubt_lines(night: _Night) -> list[str]:
    """What was seen but not as it should be: a moved camera, a blur through which digs still showed."""
    told = []
    for each in night.footage():
        named = _blinding(each, night) if _dim_s(each) else []
        doubts = [trouble for trouble in _troubles(each, night) if trouble not in named]
        if doubts:
            causes = [health.cause(doubt, offset=night.offset) for doubt in doubts[:_MOST_CAUSES]]
            more = ["and more"] if len(doubts) > _MOST_CAUSES else []
            told.append(f"{each['camera']} {', '.join([*causes, *more])}")
    return [f"Check the camera: {'; '.join(told)}."] if told else []


def _dig_lines(night: _Night) -> list[str]:
    digs = [dig for dig in night.document["digs"] if dig["call"] != "rest"]
    if digs:
        more = len(digs) - _MOST_DIGS
        rest = [f"and {more} more, ranked lower: all are in index.html"] if more > 0 else []
        return [_dig_line(dig, night) for dig in digs[:_MOST_DIGS]] + rest
    if night.blind():
        return ["That no dig is listed means nothing: look at the ground yourself."]
    if night.complete():
        return [f"No dig found in the {words.duration(night.expected())} of nesting time seen."]
    return [f"No dig found in what was seen ({_seen_text(night)}); the rest is unknown."]


def _dig_line(dig: Mapping[str, Any], night: _Night) -> str:
    when = words.span(dig["from"], dig["to"], offset=night.offset)
    where = f", {words.place(dig, night.site.units)}" if night.places else ""
    call = words.CALLS[dig["call"]].split(",")[0].lower()
    sure = words.percent(dig["likelihood"])
    return f"{dig['rank']}. {call}, eggs {sure}: {when}, {dig['camera']}{where}"


def _seen_text(night: _Night) -> str:
    """Hours seen of hours expected, by camera."""
    each = [f"{camera['camera']} {words.duration(max(_judged_s(camera), 0))}" for camera in night.footage()]
    return f"{', '.join(each)} of {words.duration(night.expected())}"


def _file_lines(night: _Night) -> list[str]:
    """How many files could not be read, the first two by name."""
    files = [bad["file"] for each in night.footage() for bad in each["unreadable"]]
    if not files:
        return []
    more = f" and {len(files) - 2} more" if len(files) > 2 else ""
    count = "1 file" if len(files) == 1 else f"{len(files)} files"
    return [f"Not read, or only in part: {count} ({', '.join(files[:2])}{more})."]


def _long(gaps: Sequence[Mapping[str, Any]], camera: str) -> list[Mapping[str, Any]]:
    """A camera's gaps worth a time of their own; all of them where the short ones add up."""
    own = [gap for gap in gaps if gap["camera"] == camera]
    short = [gap for gap in own if _gap_length(gap) < _SHORT_S]
    if sum(_gap_length(gap) for gap in short) >= 5 * _SHORT_S:
        return own
    return [gap for gap in own if gap not in short]


def _gap_length(gap: Mapping[str, Any]) -> float:
    return words.seconds_between(gap["from"], gap["to"])


def _gap_text(gap: Mapping[str, Any], night: _Night) -> str:
    whole = _gap_length(gap) >= night.expected()
    when = "all nesting hours" if whole else words.span(gap["from"], gap["to"], offset=night.offset)
    return f"{gap['camera']} {when} ({gap['why']})"


def _whys(night: _Night) -> str:
    """Why nothing was seen, where all cameras agree on it."""
    whys = {gap["why"] for gap in night.document["not_seen"]}
    return f" Why: {whys.pop()}." if len(whys) == 1 else ""


def _judged_s(footage: Mapping[str, Any]) -> float:
    """Seconds of nesting time that were read and, where that was measured, clear enough to judge."""
    read: float = footage["nesting_seconds_read"]
    looked = footage["looked_min"]
    return read if looked is None else min(read, looked * 60)


def _dim_s(footage: Mapping[str, Any]) -> float:
    """Seconds of nesting time read but not clear enough to judge; 0 below five minutes."""
    dim: float = footage["nesting_seconds_read"] - _judged_s(footage)
    return dim if dim >= _UNCLEAR_S else 0.0
