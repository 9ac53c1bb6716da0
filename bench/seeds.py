"""Which seeds may be looked at while building, and which only judge.

Whoever tunes a threshold or hunts a bug renders nights with building seeds. The judging seeds are run for the
table alone; once a judging night has been looked into in order to change the program, its seed belongs
to the building seeds, and a fresh one takes its place here, in the same commit. The first
set and the families of bad nights have judging seeds of their own.
"""

from __future__ import annotations

from collections.abc import Mapping

BUILDING = (*range(1, 100), *range(1001, 1011), *range(2001, 2032))
JUDGING = (1011, 1012, 1013, 1014, 1015)
RESTING_JUDGING = (
    1016,
    1017,
    1018,
    1019,
    1020,
)  # of `resting` alone: its nights 1011 to 1015 were looked into
HARD_JUDGING = (2032, 2033, 2034, 2035, 2036)  # five in a row meet every variant of a family that has five
LAMPS_JUDGING = (2037, 2038, 2039, 2040, 2041)  # of lamps alone: what they were judged at before was mended
JUDGED_BEFORE: Mapping[int, tuple[int, ...]] = {
    15: (2007, 2008, 2009, 2010, 2011),
    17: (2027, 2028, 2029, 2030, 2031),
}
"""Seeds of bad nights that judged an earlier METHOD, whose records are kept. They are building seeds now."""
FIRST_SET = ("plain-nest", "two-trials-then-nest", "resting", "empty-wind-insects-rain", "two-females")


def kind_of(seeds: tuple[int, ...]) -> str:
    """What a table over these seeds may be called: judging, building, or neither."""
    if any(set(seeds) <= set(judged) for judged in JUDGED_BEFORE.values()):
        return "seeds that judged an earlier method"
    if all(seed in JUDGING + RESTING_JUDGING + HARD_JUDGING + LAMPS_JUDGING for seed in seeds):
        return "judging seeds"
    return "building seeds" if all(seed in BUILDING for seed in seeds) else "mixed seeds"
