"""`nestwatch fit`: whole output and exit codes; and that `nestwatch night` uses what is in force."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from nestwatch.commands import record_context
from nestwatch.nesting.scale import SiteFit
from nestwatch.season.fit import fits
from nestwatch.season.fit.fits import in_force
from nestwatch.season.fit.records import Judged
from tests.commands.fakes import Job
from tests.season.fit.settled import settled
from tests.season.records import MORNING, record_in
from tests.season.running import Run, runner, told
from tests.site.sites import written


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, settled_file: Path) -> Run:
    """Run a command on a site with 72 settled finds."""
    monkeypatch.setattr(record_context, "now", lambda: MORNING)
    site = written(tmp_path)
    shutil.copy(settled_file, tmp_path / "record.sqlite")
    return runner(site)


def test_show_changes_nothing(run: Run, tmp_path: Path) -> None:
    lines = told(run("fit", "--show")).splitlines()
    assert lines[:4] == [
        "Likelihood in force: as the program was built, set on invented nights only.",
        "Finds to fit on: 33 with eggs, 39 without (1 of them set aside); 20 of each are needed.",
        "Left out: rests that nobody dug up 24, digs still waiting 24.",
        "A fit to them: Brier score 0.147 as built, 0.104 fitted, each night judged by a fit without it "
        "(0 is perfect).",
    ]
    heading = "  likelihood   held eggs   share   exact 95 %"
    assert lines[4:7] == ["", "As the program was built:", heading]
    # 0 of 3: the upper end of the exact interval is 1 - 0.025 ** (1/3) = 71 %.
    assert lines[7] == "       19%        0 of 3      0%   0% to 71%"
    after = lines.index("Fitted, each night by a fit that has not seen it:")
    assert lines[after + 1] == heading
    with record_in(tmp_path) as record:
        assert in_force(record) is None


def test_a_fit_is_told_written_and_taken_back(run: Run, tmp_path: Path) -> None:
    picture = tmp_path / "pictures" / "diagram.png"
    lines = told(run("fit", "--picture", str(picture))).splitlines()
    assert lines[0] == (
        "Likelihood in force: fitted to 72 finds (33 with eggs) of 24 nights on 2026-06-13. Brier score "
        "0.147 as built, 0.104 fitted, each night judged by a fit without it (0 is perfect)."
    )
    assert lines[3] == (
        "24 nights keep numbers of before until scanned again: nestwatch night SITE --date 2026-06-12"
    )
    assert lines[-1] == "To take the fit back: nestwatch undo SITE"
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert told(run("undo")) == "Taken back: likelihood fitted to 72 finds\n"
    assert told(run("fit", "--show")).startswith("Likelihood in force: as the program was built")


def test_json(run: Run) -> None:
    state = json.loads(told(run("fit", "--json")))
    assert state["in_force"]["finds"] == 72
    assert state["in_force"]["fitted_at"] == "2026-06-13T07:00:00+02:00"
    assert sum(each["total"] for each in state["after"]["bins"]) == 72
    assert (state["minimum"], state["why_not"], len(state["earlier"])) == (20, None, 24)


def test_too_few_finds_are_one_line_and_exit_1(tmp_path: Path, run: Run) -> None:
    (tmp_path / "record.sqlite").unlink()
    with record_in(tmp_path) as record:
        settled(record, tmp_path, nights=10)
    result = run("fit", "--sure")
    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr == (
        "nestwatch: too few finds to fit the likelihood to: 15 with eggs and 15 without, 20 of each are "
        "needed, so 5 with eggs and 5 without are missing; fit again when more digs are settled.\n"
    )
    assert "No fit to them: too few finds" in told(run("fit", "--show"))


def test_a_fit_that_does_not_help_asks_for_sure(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    usual = fits.proposed
    monkeypatch.setattr(fits, "proposed", lambda entries: (usual(entries)[0], Judged(0.3, ())))
    result = run("fit")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "Brier score 0.147 as built, 0.300 fitted" in result.stderr
    assert "add --sure" in result.stderr
    assert run("fit", "--sure").exit_code == 0


def test_a_picture_that_cannot_be_written_is_one_line(run: Run, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    result = run("fit", "--show", "--picture", str(tmp_path / "file" / "a.png"))
    assert result.exit_code == 1
    assert result.stderr.startswith("nestwatch: cannot write ")


def test_night_uses_the_fit_in_force_until_it_is_taken_back(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = Job().install(monkeypatch)
    night = ("night", "--date", "2026-06-12")

    def given() -> SiteFit | None:
        fit: SiteFit | None = job.calls[-1][3]["fit"]
        return fit

    assert run(*night).stderr == ""
    assert given() is None
    told(run("fit"))
    line = "Likelihoods are fitted to 72 finds of this site (nestwatch fit SITE --show).\n"
    assert run(*night).stderr == line
    fit = given()
    assert fit is not None
    assert (fit.finds, fit.with_eggs, fit.at) == (72, 33, MORNING)
    told(run("undo"))
    assert run(*night).stderr == ""
    assert given() is None


def test_a_record_in_trouble_stops_no_night(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = Job().install(monkeypatch)
    (tmp_path / "record.sqlite").write_bytes(b"rubbish" * 999)
    result = run("night", "--date", "2026-06-12")
    assert result.exit_code == 0
    assert "Likelihoods are as built, not fitted to your finds: " in result.stderr
    assert job.calls[-1][3]["fit"] is None
