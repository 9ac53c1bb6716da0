"""A fit in the record: what it is fitted to, when it is refused, that it is taken back like any entry."""

from __future__ import annotations

import dataclasses
import json
from collections import Counter
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import cv2
import numpy as np
import pytest
from sklearn.metrics import brier_score_loss

from nestwatch.errors import DoubtfulEntry, FitError
from nestwatch.nesting.scale import Scale
from nestwatch.season import journal
from nestwatch.season.by_hand import HandDig, add_dig
from nestwatch.season.digs import digs_of, open_digs
from nestwatch.season.finds import enter_find
from nestwatch.season.fit import fits
from nestwatch.season.fit.entries import read_entries
from nestwatch.season.fit.fits import MINIMUM, fit_likelihood, in_force, site_fit
from nestwatch.season.fit.records import Entries
from nestwatch.season.fit.reliability import diagram, panels_of, reliability_picture
from nestwatch.season.fit.scale import fit
from nestwatch.season.fit.state import fit_state, state_lines
from nestwatch.season.instants import read
from nestwatch.season.nights import take_in
from nestwatch.season.open import Record
from nestwatch.season.records import Dig
from tests.season.fit.settled import FIRST, TRUE, enter_night, settled
from tests.season.older import written_by_version
from tests.season.records import MORNING, dig_entry, night_file, record_in, scanned, site_in


def all_digs(record: Record) -> list[Dig]:
    nights = [date.fromisoformat(row["date"]) for row in record.rows("SELECT date FROM night")]
    return [dig for night in nights for dig in digs_of(record, night)]


def test_entries_are_the_settled_digs_and_nothing_else(record: Record) -> None:
    entries, counts = read_entries(record)
    known = [dig for dig in all_digs(record) if dig.find is not None]
    assert sorted(zip(entries.likelihood, entries.eggs, strict=True)) == sorted(
        (dig.likelihood, dig.find.found == "eggs") for dig in known if dig.find is not None
    )
    found = Counter(dig.find.found for dig in known if dig.find is not None)
    assert (counts.eggs, counts.empty, counts.set_aside) == (
        found["eggs"],
        found["empty"],
        found["set-aside"],
    )
    assert (counts.rests, counts.waiting, counts.unlisted, entries.nights) == (24, 24, 0, 24)
    assert found["set-aside"] > 0


def test_what_is_not_known_is_left_out(record: Record, tmp_path: Path) -> None:
    """Digs waiting again, by hand without a likelihood, or no longer in the latest scan."""
    before = read_entries(record)[1]
    waiting, other, *_ = [dig for dig in digs_of(record, FIRST) if dig.find is not None]
    enter_find(record, site_in(tmp_path), waiting, "not-yet")
    after = read_entries(record)[1]
    assert (after.finds, after.waiting) == (before.finds - 1, before.waiting + 1)
    # Scanned again without any of its digs: what was found stays in the record, unlisted.
    enter_night(record, tmp_path, FIRST, [])
    gone = read_entries(record)[1]
    assert (gone.unlisted, gone.finds) == (2, before.finds - 3)
    assert other.find is not None


def test_a_fit_is_entered_and_is_in_force(record: Record) -> None:
    entries, counts = read_entries(record)
    made = fit_likelihood(record)
    assert in_force(record) == made
    exact = fit(entries.likelihood, entries.eggs)
    assert dataclasses.astuple(made.scale) == pytest.approx(dataclasses.astuple(exact))
    assert (made.finds, made.with_eggs, made.nights, made.fitted_at) == (72, counts.eggs, 24, MORNING)
    assert made.brier_before == pytest.approx(brier_score_loss(entries.eggs, entries.likelihood))
    assert made.brier_after < made.brier_before
    given = site_fit(record)
    assert given is not None
    assert (given.scale, given.finds, given.with_eggs, given.at) == (made.scale, 72, counts.eggs, MORNING)


def test_it_is_taken_back_like_any_entry(record: Record, tmp_path: Path) -> None:
    first = fit_likelihood(record)
    assert fit_likelihood(record) == first, "to the same finds it is the same fit, and no new entry"
    waiting = next(dig for dig in digs_of(record, FIRST) if dig.find is None and dig.is_open)
    enter_find(record, site_in(tmp_path), waiting, "empty")
    second = fit_likelihood(record)
    assert (second.id, second.finds) == (first.id + 1, 73)
    assert in_force(record) == second
    assert journal.undo(record).words == "likelihood fitted to 73 finds"
    journal.undo(record)
    assert in_force(record) == first
    taken = journal.undo(record)
    assert in_force(record) is None
    # Taking back is an entry too: taken back, the fit is in force again, the same to the last digit.
    (last,) = journal.actions(record, limit=1)
    assert (last.undoes, taken.words) == (taken.id, "likelihood fitted to 72 finds")
    journal.undo(record, last.id)
    assert in_force(record) == first


@pytest.mark.parametrize(
    ("eggs", "without", "words"),
    [
        (
            0,
            0,
            "0 with eggs and 0 without, 20 of each are needed, so 20 with eggs and 20 without are missing",
        ),
        (19, 40, "19 with eggs and 40 without, 20 of each are needed, so 1 with eggs are missing"),
        (30, 12, "30 with eggs and 12 without, 20 of each are needed, so 8 without are missing"),
    ],
)
def test_below_the_minimum_it_tells_how_many_are_missing(
    record: Record, monkeypatch: pytest.MonkeyPatch, eggs: int, without: int, words: str
) -> None:
    entries, counts = read_entries(record)
    total = eggs + without
    few = dataclasses.replace(
        entries,
        likelihood=np.full(total, 0.5),
        eggs=np.arange(total) < eggs,
        night=np.arange(total) % 16,
    )
    monkeypatch.setattr(fits, "read_entries", lambda _: (few, counts))
    with pytest.raises(FitError) as told:
        fit_likelihood(record, sure=True)
    assert words in str(told.value)
    assert in_force(record) is None


def test_the_minimum_is_ten_for_each_of_two_numbers() -> None:
    """Peduzzi et al. 1996, J Clin Epidemiol 49: 1373-1379: no major problems at ten events a variable."""
    assert MINIMUM == 2 * 10


def test_a_fit_that_would_turn_the_ranking_round_is_refused(tmp_path: Path) -> None:
    with record_in(tmp_path) as record:
        settled(record, tmp_path, true=Scale(-1, 0))
        with pytest.raises(FitError, match="turn the ranking round"):
            fit_likelihood(record, sure=True)
        assert fit_state(record).scale is None
        assert in_force(record) is None


@pytest.mark.parametrize(
    ("one_night", "words"),
    [
        pytest.param(
            lambda entries: entries.night % 4, "the finds are of 4 nights, and 5 are", id="few nights"
        ),
        pytest.param(
            lambda entries: np.where(entries.eggs, 0, entries.night), "of the same nights", id="eggs of one"
        ),
    ],
)
def test_finds_of_too_few_nights_cannot_be_judged(
    record: Record, monkeypatch: pytest.MonkeyPatch, one_night: Callable[[Entries], Any], words: str
) -> None:
    entries, counts = read_entries(record)
    night = one_night(entries)
    changed = dataclasses.replace(entries, night=night, nights=len(set(night.tolist())))
    monkeypatch.setattr(fits, "read_entries", lambda _: (changed, counts))
    with pytest.raises(FitError, match=words):
        fit_likelihood(record)


def test_a_fit_that_helps_no_night_left_out_is_taken_only_when_sure(
    record: Record, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Likelihoods that are right to the last digit already: any fit can only be worse."""
    entries, counts = read_entries(record)
    perfect = dataclasses.replace(entries, likelihood=np.where(entries.eggs, 1.0, 0.0))
    monkeypatch.setattr(fits, "read_entries", lambda _: (perfect, counts))
    with pytest.raises(DoubtfulEntry, match=r"0\.000 as built.*--sure"):
        fit_likelihood(record)
    assert in_force(record) is None
    made = fit_likelihood(record, sure=True)
    assert made.brier_after > made.brier_before
    assert in_force(record) == made


def test_a_fit_rests_on_numbers_as_built_whatever_was_in_force(record: Record, tmp_path: Path) -> None:
    """A night scanned again under a fit has fitted numbers; the next fit must not fit those once more."""
    before = fit_likelihood(record)
    document = night_file([], FIRST.isoformat())
    for dig in digs_of(record, FIRST):
        assert dig.likelihood is not None
        fitted = {
            "likelihood": round(before.scale.one(dig.likelihood), 3),
            "likelihood_as_built": dig.likelihood,
        }
        entry = dig_entry(dig.rank or 0, place=dig.plan_m or (0, 0), call=dig.call or "nest")
        span = {"from": dig.start.isoformat(), "to": dig.end.isoformat(), "stages": []}
        document["digs"].append({**entry, **span, **fitted})
    take_in(record, site_in(tmp_path), document, tmp_path / "nights" / FIRST.isoformat())
    again = digs_of(record, FIRST)
    assert all(dig.likelihood != dig.as_built and dig.likelihood_as_built is not None for dig in again)
    assert fit_likelihood(record).scale == before.scale
    assert FIRST not in fit_state(record).earlier
    assert len(fit_state(record).earlier) == 23
    journal.undo(record)
    journal.undo(record)
    assert fit_state(record).earlier == (FIRST,)


def test_a_known_scale_comes_back_out_of_the_record(tmp_path: Path) -> None:
    """Within four standard errors (Fisher information at the true scale)."""
    with record_in(tmp_path) as record:
        settled(record, tmp_path, nights=40, seed=2)
        made = fit_likelihood(record, sure=True)
        entries, _ = read_entries(record)
    z = np.log(entries.likelihood / (1 - entries.likelihood))
    design = np.stack([z, np.ones_like(z)], axis=1)
    chance = TRUE(entries.likelihood)
    errors = np.sqrt(np.diag(np.linalg.inv((design.T * (chance * (1 - chance))) @ design)))
    assert abs(made.scale.slope - TRUE.slope) < 4 * errors[0]
    assert abs(made.scale.offset - TRUE.offset) < 4 * errors[1]


def test_how_it_stands(record: Record) -> None:
    state = fit_state(record)
    entries, _ = read_entries(record)
    assert state.in_force is None
    assert state.before is not None
    assert state.after is not None
    assert state.before.brier == pytest.approx(brier_score_loss(entries.eggs, entries.likelihood))
    assert sum(each.total for each in state.before.bins) == sum(each.total for each in state.after.bins) == 72
    assert (state.why_not, state.helps, state.earlier) == (None, True, ())
    lines = list(state_lines(state, record.zone))
    assert lines[0] == "Likelihood in force: as the program was built, set on invented nights only."
    assert "Left out: rests that nobody dug up 24, digs still waiting 24." in lines
    made = fit_likelihood(record)
    later = fit_state(record)
    assert later.in_force == made
    assert later.scale is not None
    assert later.scale.slope == pytest.approx(made.scale.slope)
    assert next(state_lines(later, record.zone)).startswith("Likelihood in force: fitted to 72 finds (")
    assert len(later.earlier) == 24


def test_without_any_find_it_stands_empty(tmp_path: Path) -> None:
    with record_in(tmp_path) as record:
        state = fit_state(record)
        assert (state.before, state.after, state.scale, state.helps, state.earlier) == (None,) * 3 + (
            False,
            (),
        )
        assert state.why_not is not None
        assert cv2.imdecode(np.frombuffer(reliability_picture(state), np.uint8), 1) is not None


def test_the_picture_shows_before_beside_after_and_is_the_same_each_time(record: Record) -> None:
    state = fit_state(record)
    picture = reliability_picture(state)
    drawn = cv2.imdecode(np.frombuffer(picture, np.uint8), cv2.IMREAD_COLOR)
    assert drawn is not None
    assert drawn.shape == (720, 1380, 3)
    assert reliability_picture(state) == picture
    drawing = diagram(panels_of(state), "svg")
    assert ElementTree.fromstring(drawing).tag == "{http://www.w3.org/2000/svg}svg"
    assert diagram(panels_of(state), "svg") == drawing


def test_a_record_without_fits_goes_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with written_by_version(2, monkeypatch), record_in(tmp_path) as record:
        scanned(record, tmp_path, [dig_entry()])
        (dig,) = open_digs(record)
        enter_find(record, site_in(tmp_path), dig, "not-yet", why="rain")
        enter_find(record, site_in(tmp_path), dig, "eggs")
        kept = [tuple(row) for row in record.rows("SELECT id, likelihood, reasons, rank FROM dig")]
        told = journal.actions(record)
    with record_in(tmp_path) as record:
        assert [tuple(row) for row in record.rows("SELECT id, likelihood, reasons, rank FROM dig")] == kept
        assert journal.actions(record) == told
        assert (in_force(record), read_entries(record)[1].eggs) == (None, 1)
        (again,) = digs_of(record, MORNING.date().replace(day=12))
        assert (again.likelihood_as_built, again.as_built) == (None, 0.93)
        journal.undo(record)
        journal.undo(record)
        assert [each.label for each in open_digs(record)] == ["1"]
    copies = list((tmp_path / "record-backups").iterdir())
    assert any("migration" in copy.name for copy in copies)


def test_an_entry_from_before_a_new_column_can_be_taken_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The journal's rows of then have no such column; that must not read as a change by somebody since."""
    told = HandDig("eye", read("2026-06-12T19:00:00Z"), read("2026-06-12T20:00:00Z"), pen="sand pen")
    with written_by_version(2, monkeypatch), record_in(tmp_path) as record:
        dig = add_dig(record, site_in(tmp_path), date(2026, 6, 12), told)
        added = journal.actions(record, limit=1)[0]
        with record.writing("a note") as writer:
            writer.change("dig", dig.id, {"note": "late"})
        journal.undo(record)
        before = json.loads(record.rows("SELECT before FROM change WHERE before IS NOT NULL")[0]["before"])
        assert "likelihood_as_built" not in before
    with record_in(tmp_path) as record:
        journal.undo(record, added.id)
        assert all_digs(record) == []
