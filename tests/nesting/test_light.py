"""Changes through which the ground shows: shadows, or an animal behind leaves that stirs all its stay."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nestwatch.nesting.light import behind_leaves
from nestwatch.nesting.stays import Stay
from tests.nesting.test_stays import SHELL, bins, stay, stirred

LIT = replace(stay(160, 328), tiles=4, looks=0.3)
STIRS = stirred(156, 332)


def test_what_stirs_from_its_coming_to_its_going_is_an_animal_behind_leaves() -> None:
    (found,) = behind_leaves([LIT], [STIRS], [], bins())
    assert (found.first, found.last, found.leaves, found.stirs) == (160, 328, True, STIRS.stirs)


@pytest.mark.parametrize(
    ("lit", "stir"),
    [
        (LIT, stirred(140, 332)),  # the shadow's edge stirred as it came
        (LIT, stirred(156, 240)),
        (LIT, stirred(156, 332, column=60 + 2 * SHELL)),
        (replace(LIT, tiles=2), STIRS),
        (replace(LIT, extent=6 * SHELL), STIRS),
        (replace(LIT, end_seen=False), STIRS),
        (replace(LIT, first=290), stirred(290, 332)),  # 19 minutes
    ],
)
def test_a_shadow(lit: Stay, stir: Stay) -> None:
    assert behind_leaves([lit], [stir], [], bins()) == []


def test_who_was_found_already_is_not_listed_again() -> None:
    assert behind_leaves([LIT], [STIRS], [stay(150, 330)], bins()) == []
    assert len(behind_leaves([LIT], [STIRS], [stay(400, 500)], bins())) == 1
