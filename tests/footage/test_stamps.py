"""File name -> wall clock, and the pattern proposed from the digits in a name."""

from __future__ import annotations

from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nestwatch.footage import propose_stamp
from nestwatch.footage.stamps import natural_key, read_stamp


def at(*parts: int) -> datetime:
    return datetime(*parts)  # type: ignore[arg-type]  # noqa: DTZ001  (a wall clock has no zone)


@pytest.mark.parametrize(
    ("stem", "pattern", "moment"),
    [
        ("sandbank_20260612T213005", "sandbank_%Y%m%dT%H%M%S", at(2026, 6, 12, 21, 30, 5)),
        ("2026-06-12 21-30-05", "%Y-%m-%d %H-%M-%S", at(2026, 6, 12, 21, 30, 5)),
        ("12.06.2026_21h30m05", "%d.%m.%Y_%Hh%Mm%S", at(2026, 6, 12, 21, 30, 5)),
        ("ch01_20260612213005_20260612214005", "*_%Y%m%d%H%M%S_*", at(2026, 6, 12, 21, 30, 5)),
        ("0007_20260612_2130", "*_%Y%m%d_%H%M", at(2026, 6, 12, 21, 30)),
        ("Düne_20260612T213005", "Düne_%Y%m%dT%H%M%S", at(2026, 6, 12, 21, 30, 5)),
        ("100%_20260612T213005", "100%%_%Y%m%dT%H%M%S", at(2026, 6, 12, 21, 30, 5)),
        ("Jun 12 2026 09.30.05 PM", "%b %d %Y %I.%M.%S %p", at(2026, 6, 12, 21, 30, 5)),
        ("cam7_Jun 12 2026 09.30.05 PM", "*_%b %d %Y %I.%M.%S %p", at(2026, 6, 12, 21, 30, 5)),
    ],
)
def test_read(stem: str, pattern: str, moment: datetime) -> None:
    assert read_stamp(stem, pattern) == moment


@pytest.mark.parametrize(
    ("stem", "pattern"),
    [
        ("holiday", "%Y%m%dT%H%M%S"),
        ("20261312T000000", "%Y%m%dT%H%M%S"),
        ("20260612T213005_copy", "%Y%m%dT%H%M%S"),
        ("x_20260230T000000", "*_%Y%m%dT%H%M%S"),
    ],
)
def test_not_read(stem: str, pattern: str) -> None:
    assert read_stamp(stem, pattern) is None


@pytest.mark.parametrize(
    ("stem", "proposed"),
    [
        ("sandbank_20260612T213005", "sandbank_%Y%m%dT%H%M%S"),
        ("20260612213005", "%Y%m%d%H%M%S"),
        ("2026-06-12_21-30-05", "%Y-%m-%d_%H-%M-%S"),
        ("2026-06-12 21.30.05", "%Y-%m-%d %H.%M.%S"),
        ("2026_06_12_21_30_05", "%Y_%m_%d_%H_%M_%S"),
        ("REC-20260612-213005-A", "REC-%Y%m%d-%H%M%S-A"),
        ("12-06-2026_21-30-05", "%d-%m-%Y_%H-%M-%S"),
        ("31.12.2026 21h30m05", "%d.%m.%Y %Hh%Mm%S"),
        ("pen2_20260612T213005", "pen*_%Y%m%dT%H%M%S"),
        ("0012_20260612_213005", "*_%Y%m%d_%H%M%S"),
        ("ch01_20260612213005_20260612214005", "ch*_%Y%m%d%H%M%S_*"),
        ("260612_213005", "%y%m%d_%H%M%S"),
        ("20260612_2130", "%Y%m%d_%H%M"),
        ("Düne 20260612T213005", "Düne %Y%m%dT%H%M%S"),
        ("50%_20260612T213005", "*%%_%Y%m%dT%H%M%S"),
        ("clip0007", None),
        ("", None),
        ("99999999999999", None),
    ],
)
def test_propose(stem: str, proposed: str | None) -> None:
    assert propose_stamp(stem) == proposed


MOMENTS = st.datetimes(min_value=at(2000, 1, 1), max_value=at(2099, 12, 31)).map(
    lambda moment: moment.replace(microsecond=0)
)
SHAPES = st.sampled_from(
    ["%Y%m%d%H%M%S", "%Y-%m-%d_%H-%M-%S", "%Y%m%dT%H%M%S", "%Y.%m.%d %H.%M.%S", "%Y%m%d-%H%M%S"]
)
WORDS = st.text(st.characters(categories=["L"]), max_size=6)


@given(MOMENTS, SHAPES, WORDS, WORDS)
def test_a_proposal_reads_the_name_it_was_made_from(
    moment: datetime, shape: str, before: str, after: str
) -> None:
    stem = f"{before}_{moment.strftime(shape)}_{after}"
    proposed = propose_stamp(stem)
    assert proposed is not None
    assert read_stamp(stem, proposed) == moment


@given(st.text(max_size=40))
def test_any_name_is_survived(stem: str) -> None:
    proposed = propose_stamp(stem)
    assert proposed is None or read_stamp(stem, proposed) is not None


def test_file_order_counts_numbers() -> None:
    assert sorted(["clip10", "clip9", "10", "9", "a"], key=natural_key) == ["9", "10", "a", "clip9", "clip10"]
