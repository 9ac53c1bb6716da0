"""Judging bad nights: twins without a dig, the cost beside a quiet night, the script beside ours."""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path

import pytest

from bench import bad_nights, judge
from bench.bad_table import FamilyNight, ratio, report, stage_errors
from bench.judge import Job, Rendered
from bench.table import Judged
from bench.usage import measured
from nestwatch.synthetic import load_scenario
from nestwatch.synthetic.matching import Counts
from nestwatch.synthetic.scenario import choose, override
from nestwatch.synthetic.scoring import EventScore, NightScore
from tests.judging.test_nights import FAKE, invented

NONE = Counts(0, 0, 0)


def score(*events: EventScore, false_nests: int = 0, alarms: Counts = NONE) -> NightScore:
    return NightScore(events, false_nests, 0, 1, NONE, alarms)


def night(
    family: str, result: NightScore | None, *, twin: bool = False, cpu_s: float = 10.0, quiet: float = 5.0
) -> FamilyNight:
    """One night of an hour at `cpu_s`; the script finds nothing and calls two nests."""
    script = Judged(family, 1, score(EventScore("nest"), false_nests=2), 1.0, 100.0)
    return FamilyNight(family, 1, twin, Judged(family, 1, result, 1.0, cpu_s), {"default": script}, quiet)


EDGES = {"dig start": 300.0, "lay start": 240.0, "cover start": -360.0, "cover end": None}
FOUND = EventScore("nest", "nest", 1, 60.0, -120.0, EDGES, 0.2, 3.4, True)


def cells(told: str, family: str) -> dict[str, str]:
    """One line of the table by its columns."""
    lines = [[cell.strip() for cell in line.split("|")[1:-1]] for line in told.splitlines() if "|" in line]
    return next(dict(zip(lines[0], line, strict=True)) for line in lines if line[0] == family)


def test_the_table_tells_nights_from_twins_and_ours_from_the_script() -> None:
    nights = [
        night("fog", score(FOUND, false_nests=1, alarms=Counts(1, 2, 1))),
        night("fog", score(false_nests=2, alarms=Counts(0, 2, 0)), twin=True, cpu_s=20.0),
    ]
    fog = cells(report(nights), "fog")
    assert (fog["nests found"], fog["above all else"], fog["called nest"]) == ("1/1", "1/1", "1/1")
    assert (fog["false nests, nights with a dig"], fog["false nests, twins without"]) == ("1", "2")
    assert (fog["start, min"], fog["end, min"], fog["stages, min"]) == ("1.0", "2.0", "5.0")
    assert (fog["chamber, cm"], fog["chamber, shells"]) == ("3.4", "0.20")
    # One nest, four alarms, one right: 61 * 1 / (4 + 60) = 0.953.
    assert fog["alarm F"] == "0.95"
    # 30 CPU s in two hours against 5 in a quiet one.
    assert (fog["CPU s / camera-hour"], fog["times quiet"]) == ("15.0", "3.00")
    assert fog["script (default): found"] == "0/2"
    assert fog["script (default): false nests"] == "4"
    assert "MISSES the 2 allowed" in report(nights)


def test_a_night_that_could_not_be_run_is_named_and_costs_nothing() -> None:
    told = report([night("fog", score(FOUND)), night("web", None)])
    assert cells(told, "web")["nights"] == "0 (1 failed)"
    assert "Could not be run: web-1." in told
    assert "within the 2 allowed" in told
    assert ratio([night("web", None)]) is None
    assert stage_errors([night("web", None)]).median is None


def test_a_quiet_night_keeps_the_pictures_and_nothing_else() -> None:
    """The same size, rate, length and cameras; one plain nest; no disturbance, gap or planted grass."""
    sizes = {}
    for family in bad_nights.families():
        for seed in range(1, 6):
            bad = choose(load_scenario(family), seed)
            quiet = choose(override(load_scenario(family), json.loads(bad_nights.quiet_overrides(bad))), seed)
            assert bad_nights.size_of(quiet) == bad_nights.size_of(bad)
            assert (quiet.nuisance, quiet.gap, quiet.pen.plants_over) == ((), (), None)
            assert [event.kind for animal in quiet.animal for event in animal.event] == ["nest"]
            sizes[bad_nights.size_of(bad)] = family
    assert len(sizes) < len(bad_nights.families())


def test_every_family_has_its_twin_and_one_quiet_night_serves_many() -> None:
    names = ["hard/fog", "hard/moths"]
    nights = bad_nights.nights_of(names, (1, 2), twins=(2,), keep=False, rivals=("default",), make=invented)
    assert [job.name for job in nights[:3]] == ["hard-fog-1", "hard-moths-1", "hard-fog-2"]
    assert [job.name for job in nights[4:]] == ["hard-fog-2-no-dig", "hard-moths-2-no-dig"]
    assert [job.changes for job in nights[3:5]] == [{}, {"digging": False}]
    quiet = bad_nights.quiet_jobs(nights)
    assert [job.name for job in quiet.values()] == ["hard-fog-1-quiet", "hard-fog-2-quiet"]
    assert not override(load_scenario("hard/fog"), nights[4].changes).digging


def test_what_a_night_costs_is_never_held_against_another_machine(tmp_path: Path) -> None:
    job = Job("hard/fog", 1, tmp_path, False, invented, FAKE)
    size = bad_nights.size_of(bad_nights.chosen(job))
    record = judge.judge(job)
    assert len(record["machine"]) == 8

    def quiet(machine: str, cpu_s: float) -> dict[str, object]:
        return {**record, "variant": "quiet", "machine": machine, "cpu_s": cpu_s}

    here = record["machine"]
    rates = bad_nights.quiet_rates(
        {(1, size): quiet(here, 6.0), (2, size): quiet(here, 2.0), (3, size): quiet("elsewhere", 90.0)}
    )
    # 8 CPU s in the four hours of two quiet nights.
    assert bad_nights.family_night(job, record, rates).quiet_rate == pytest.approx(2.0)
    unknown = bad_nights.family_night(job, {**record, "machine": "a third"}, rates)
    assert unknown.quiet_rate is None
    assert ratio([unknown]) is None


def on_paper(job: Job, folder: Path) -> Rendered:
    """As `invented`, but moths cannot be rendered."""
    if "moths" in job.scenario:
        raise OSError("no space left")
    return invented(job, folder)


def test_a_family_that_cannot_be_rendered_stops_no_other(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    jobs = [Job(f"hard/{name}", 1, tmp_path, False, on_paper, FAKE) for name in ("moths", "fog")]
    records = judge.judge_all(jobs, workers=1)
    assert [record["code"] for record in records] == [1, 0]
    assert re.search(r"hard-moths-1: exit 1 \(.*no space left", capsys.readouterr().err)
    assert [judge.judged(record).score is None for record in records] == [True, False]


def test_a_rival_watches_the_same_recording_and_is_stored_apart(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A rival added later is run without running ours again; the night is made again for it."""
    ours = Job("hard/fog", 1, tmp_path, False, invented, FAKE)
    judge.judge(ours)
    stand_in = tmp_path / "rival.py"
    stand_in.write_text("import sys; sys.exit(0)", encoding="utf-8")
    used: list[list[str]] = []

    def rival(command: list[str], *, log: Path) -> object:
        used.append(command)
        return measured([sys.executable, str(stand_in)], log=log)

    monkeypatch.setattr(judge, "measured", rival)
    both = judge.judge(Job("hard/fog", 1, tmp_path, False, invented, FAKE, rivals=("patient",)))
    assert [command[2:4] for command in used] == [["bench.obvious", "patient"]]
    assert both["rivals"]["patient"]["code"] == 0
    # It wrote no night file: no score, and no crash.
    assert judge.judged(both, rival="patient").score is None
    assert judge.judged(both).score is not None
