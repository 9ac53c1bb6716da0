"""What several cameras say of one stay, told as one: the call, its likelihood and the reasons."""

from __future__ import annotations

from collections.abc import Sequence

from nestwatch.nesting.records import Call, Dig

_WEIGHT: dict[Call, int] = {"nest": 3, "unclear": 2, "trial": 1, "rest": 0}
_MEASURES = {"h", "min"}
NO_START, NO_END = "its beginning was not seen", "its end was not seen"


def telling(digs: Sequence[Dig]) -> Dig:
    """The view that decides the call; `digs` of one stay, the best view first.

    A nest that one camera saw is not lost by another that saw it badly: the weightiest call counts, and of
    several the likeliest. Only an `unclear` that comes from a beginning or end out of view gives way to a
    better view that saw the stay whole.
    """
    whole = [dig for dig in digs if dig.start_seen and dig.end_seen]
    known = [dig for dig in digs if dig.call != "unclear" or dig in whole or not whole or dig is digs[0]]
    return max(known, key=lambda dig: (_WEIGHT[dig.call], dig.as_built))


def joined_reasons(digs: Sequence[Dig], main: Dig, *, start_seen: bool, end_seen: bool) -> tuple[str, ...]:
    """Reasons of all views of one stay, those of `main` first, nothing said twice.

    What only another camera says is told with its name. A beginning or end that one camera missed is no
    doubt where another saw it.
    """
    settled = {text for text, seen in ((NO_START, start_seen), (NO_END, end_seen)) if seen}
    out = [reason for reason in main.reasons if reason not in settled]
    said = {_gist(reason) for reason in out} | {_gist(reason) for reason in settled}
    for dig in (dig for dig in digs if dig is not main):
        if dig.call != main.call:
            out.append(f'camera "{dig.camera}" alone would call it {dig.call} ({_share(dig)})')
        for reason in dig.reasons:
            if _gist(reason) not in said:
                said.add(_gist(reason))
                out.append(f'camera "{dig.camera}": {reason}')
    return tuple(out)


def _gist(reason: str) -> str:
    """A reason without its figures: how many minutes a camera counted is no new reason."""
    words = (word for word in reason.split() if not word.strip(",.").isdigit())
    return " ".join(word for word in words if word not in _MEASURES)


def _share(dig: Dig) -> str:
    return f"eggs {min(max(round(100 * dig.likelihood), 1), 99)} %"
