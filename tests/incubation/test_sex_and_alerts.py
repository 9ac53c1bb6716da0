"""What temperature says of sex, and what wants doing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from nestwatch.errors import EntryError
from nestwatch.season.incubation.checks import enter_weighing
from nestwatch.season.incubation.containers import add_container
from nestwatch.season.incubation.eggs import put_eggs
from nestwatch.season.incubation.expected import alerts, expectations
from nestwatch.season.incubation.hatchings import settle_egg, settle_many
from nestwatch.season.incubation.probes import enter_probe
from nestwatch.season.incubation.profile import Sex, of_site, profile_called, profiles
from nestwatch.season.incubation.readings import enter_reading, take_log
from nestwatch.season.incubation.sex import sex_words
from nestwatch.season.incubation.sources import Source, Span
from nestwatch.season.open import Record
from nestwatch.season.records import Clutch
from nestwatch.site.records import Site
from tests.incubation.seasons import a_log, a_season, a_site, later
from tests.marking.nights import a_site as plain_site


def said(species: str, *celsius: float) -> str:
    return sex_words(profile_called(plain_site(), species), celsius)


def test_at_the_threshold_it_is_mixed_and_never_certain() -> None:
    """Emys orbicularis, 28.5 °C (Pieau 1982, J. Exp. Zool. 220, as read in an abstract)."""
    words = said("Emys orbicularis", 28.5)
    assert words.startswith(
        "At 28.5 °C mixed sexes are to be expected [Pieau 1982, J. Exp. Zool. 220 (as read"
    )
    assert words.endswith("This promises nothing: only a vet or a grown animal tells.")
    assert "does not say which" in said("Emys orbicularis", 31.0), "the abstract names no side"


def test_wood_turtles_are_refused() -> None:
    """Sex does not depend on temperature in Glyptemys insculpta (seen in an excerpt)."""
    with pytest.raises(EntryError, match="it does not depend on temperature in the wood turtle"):
        said("Glyptemys insculpta", 28.0)


def test_without_a_source_nothing_is_said() -> None:
    with pytest.raises(EntryError, match="names no source"):
        said("pond turtle", 28.0)
    with pytest.raises(EntryError, match="no readings cover the middle third"):
        said("Emys orbicularis")


@pytest.mark.parametrize(
    ("species", "celsius", "words"),
    [
        ("Chelydra serpentina", 25.0, "more males than the other sex"),
        ("Chelydra serpentina", 30.0, "more females than the other sex"),
        ("Chelydra serpentina", 20.0, "more females than the other sex"),
        ("Chrysemys picta", 27.5, "mixed sexes"),
        ("Chrysemys picta", 20.0, "mixed sexes"),
        ("Carettochelys insculpta", 32.4, "mixed sexes"),
        ("Carettochelys insculpta", 33.0, "does not say which"),
    ],
)
def test_sources_as_they_were_read(species: str, celsius: float, words: str) -> None:
    """Chelydra: males at 23 to 27 °C, females at the extremes (J. Exp. Biol. 1998, 201: 439). C. picta: 27.5
    and 20.0 °C (Schwarzkopf & Brooks 1985). Carettochelys: 32 °C, 1 °C wide (2004). From abstracts."""
    assert words in said(species, celsius)


def test_probes_on_both_sides_of_a_threshold_are_mixed() -> None:
    source = Source("invented", "own")
    profile = replace(
        of_site(plain_site()), sex=Sex(True, (Span(28, 28, source),), 0.5, "females", source, None)
    )
    assert "At 26.0 to 30.0 °C mixed" in sex_words(profile, [30.0, 26.0])
    assert "more males" in sex_words(profile, [26.0])


Season = tuple[Record, Clutch, Site]


@pytest.fixture
def season(tmp_path: Path) -> Iterator[Season]:
    site = a_site(tmp_path, "Pelodiscus sinensis")
    record, clutch = a_season(tmp_path)
    with record:
        add_container(record, site, "A1", {"start_g": 900.0})
        put_eggs(record, clutch, "A1", 9)
        enter_probe(record, "p", {"container": "A1", "lies": "substrate"})
        yield record, clutch, site


def kinds(season: Season) -> list[str]:
    record, _, site = season
    return [each.kind for each in alerts(record, site)]


def test_a_silent_probe(season: Season) -> None:
    record, _, site = season
    assert kinds(season) == ["no-reading"]
    later(record, days=2)
    take_log(record, site, "p", a_log(2), "log.csv")
    assert kinds(season) == []
    later(record, days=3, hours=1)
    assert kinds(season) == ["no-reading"]


@pytest.mark.parametrize(("celsius", "kind"), [(33.5, "too-hot"), (23.5, "too-cold"), (28.0, None)])
def test_too_hot_and_too_cold(tmp_path: Path, celsius: float, kind: str | None) -> None:
    site = a_site(tmp_path)
    record, clutch = a_season(tmp_path)
    with record:
        add_container(record, site, "A1", {})
        put_eggs(record, clutch, "A1", 9)
        enter_probe(record, "p", {"container": "A1"})
        enter_reading(record, site, "p", celsius)
        assert [each.kind for each in alerts(record, site)] == ([] if kind is None else [kind])


@pytest.mark.parametrize(
    ("days", "kind"), [(40, None), (47, "window-near"), (60, "window-open"), (75, "overdue")]
)
def test_the_window_comes_opens_and_passes(season: Season, days: int, kind: str | None) -> None:
    """At 28 °C: day 58.3 by Du & Ji's points, from a tenth before (52) to a fifth after (70)."""
    record, _, site = season
    later(record, days=days)
    take_log(record, site, "p", a_log(days), "log.csv")
    found = [each for each in alerts(record, site) if each.kind.startswith(("window", "overdue"))]
    assert [each.kind for each in found] == ([] if kind is None else [kind])
    if kind == "overdue":
        assert "Do not open eggs" in found[0].words
        settle_many(record, "A1", [("infertile", 9)])
        assert kinds(season) == [], "nothing is awaited of settled eggs"


def test_water_and_weighing(season: Season) -> None:
    record, _, site = season
    later(record, days=8)
    take_log(record, site, "p", a_log(8), "log.csv")
    assert kinds(season) == ["weigh"]
    enter_weighing(record, "A1", 880.0)
    assert [each.words.split(":")[0] for each in alerts(record, site)] == ["20 g lighter than at the start"]
    enter_weighing(record, "A1", 880.0, added_g=20.0)
    assert kinds(season) == []


def test_the_week_of_the_yolk(season: Season) -> None:
    record, _, _ = season
    at = later(record, days=60)
    for position in range(1, 10):
        settle_egg(record, "A1", str(position), {"outcome": "alive"})
    later(record, days=66)
    assert kinds(season) == []
    later(record, days=67)
    assert kinds(season) == ["yolk"] * 9
    for position in range(1, 10):
        settle_egg(record, "A1", str(position), {"left_at": at + timedelta(days=7)})
    assert kinds(season) == []


def test_readings_carry_the_expectation(season: Season) -> None:
    record, clutch, site = season
    later(record, days=50)
    take_log(record, site, "p", a_log(50), "log.csv")
    (found,) = expectations(record, site)
    assert found.window == found.by_readings
    assert found.window is not None
    assert found.window.last is not None
    days = [(day - clutch.laid_at.date()).days for day in (found.window.first, found.window.last)]
    assert days[0] <= 58 <= days[1]
    assert days == pytest.approx([0.9 * 58.3, 1.2 * 58.3], abs=2)
    assert found.sex.startswith(
        "Nothing is said of sex: the profile of Chinese softshell turtle names no source"
    )


def test_every_profile_of_the_program_can_be_read() -> None:
    found = profiles(plain_site())
    assert len(found) == 10
    assert all(each.model_source for each in found.values() if each.model), "a model needs its source"


def profile_file(folder: Path, text: str) -> str:
    """The line on a keeper's profile."""
    (folder / "profiles").mkdir()
    (folder / "profiles" / "my turtle.toml").write_text(text, encoding="utf-8")
    with pytest.raises(EntryError) as caught:
        profiles(a_site(folder))
    return str(caught.value)


HEAD = 'format = "nestwatch-profile/1"\nname = "x"\n'


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("name =", "is not valid TOML"),
        ('name = "x"', "format: is missing"),
        (HEAD + "days = 3", "days: this key is not known"),
        (HEAD + "[second_clutch]\nlow = 9\nhigh = 3\n", "low (9) is above high (3); swap them"),
        (HEAD + '[second_clutch]\nlow = 3\nhigh = 9\nsource = "me"\n', "add [source.me]"),
        (HEAD + "[development]\nthreshold_c = 15\n", "threshold_c, degree_days and within_c go together"),
        (HEAD + "[development]\npoints = [[30, 50], [25, 70]]\n", "the coolest first"),
        (HEAD + "[incubation]\naim_c = { low = 84, high = 88 }\n", "less than or equal to 60"),
    ],
)
def test_profiles_that_are_wrong(tmp_path: Path, text: str, words: str) -> None:
    line = profile_file(tmp_path, text)
    assert words in line
    assert "my turtle.toml" in line
    assert "\n" not in line


def test_a_keeper_writes_a_profile(tmp_path: Path) -> None:
    (tmp_path / "profiles").mkdir()
    text = HEAD + "[[incubation.days]]\nlow = 60\nhigh = 70\nat_c = [27, 29]\n"
    (tmp_path / "profiles" / "mine.toml").write_text(text, encoding="utf-8-sig")
    mine = profile_called(a_site(tmp_path), "mine")
    assert [each.words() for each in mine.days] == ["60 to 70 days at 27 to 29 °C [no source]"]
