"""What a keeper would have entered of an invented season, through the same doors as a keeper's entries."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from nestwatch.demo.boxes import incubate
from nestwatch.demo.nights import begins, ends
from nestwatch.demo.story import Story, Visit
from nestwatch.season.by_hand import HandDig, add_dig
from nestwatch.season.clutches import change_clutch
from nestwatch.season.digs import digs_of
from nestwatch.season.females import add_female
from nestwatch.season.finds import enter_find
from nestwatch.season.nights import catch_up
from nestwatch.season.open import Record, open_record
from nestwatch.season.records import Clutch, Dig, Eggs
from nestwatch.season.watched import add_watched
from nestwatch.site.hours import night_hours
from nestwatch.site.records import Site

_LIFTED = timedelta(hours=7)


class Standing:
    """A clock that the story moves on: entries bear the time at which they would have been made."""

    def __init__(self, at: datetime) -> None:
        self.at = at

    def __call__(self) -> datetime:
        """The time it is set to, UTC."""
        return self.at


def enter_season(site: Site, story: Story, nights: Path, morning: datetime) -> None:
    """Enter the season into the site's record, which must be new. `morning`: when the demo's clock stands
    still, aware. Everything is entered by then."""
    clock = Standing(morning.astimezone(UTC))
    with open_record(site, clock=clock) as record:
        catch_up(record, site, nights)
        for female in story.females:
            told = {"marks": female.marks, "shell_length_cm": female.shell_cm}
            add_female(record, site, female.name, told)  # type: ignore[arg-type]
        clutches = [_entered(record, site, visit, clock) for visit in story.visits if visit.found]
        _watch(record, site, story)
        clock.at = morning.astimezone(UTC)
        incubate(record, site, [clutch for clutch in clutches if clutch], morning)
        record.back_up("night")


def _entered(record: Record, site: Site, visit: Visit, clock: Standing) -> Clutch | None:
    """The find of one visit, and its clutch where there were eggs."""
    lifted = ends(site, visit) + _LIFTED
    clock.at = (max(lifted, night_hours(site, visit.night).end) + timedelta(hours=1)).astimezone(UTC)
    dig = _dig(record, site, visit)
    if visit.found != "eggs":
        enter_find(record, site, dig, visit.found or "not-yet", why=visit.why)
        return None
    counted = Eggs(whole=visit.eggs, dented=0, cracked=visit.cracked, broken=0)
    enter_find(record, site, dig, "eggs", eggs=counted)
    return change_clutch(record, site, dig, {"female": visit.female, "lifted_at": lifted})


def _dig(record: Record, site: Site, visit: Visit) -> Dig:
    """The visit's dig in the record; one that no scan saw is added as the keeper found it."""
    if visit.seen != "scan":
        told = HandDig(
            visit.seen, begins(site, visit), ends(site, visit), pen=site.pens[0].name, plan_m=visit.place
        )
        return add_dig(record, site, visit.night, told, sure=True)
    near = [dig for dig in digs_of(record, visit.night) if dig.plan_m == visit.place]
    return min(near, key=lambda dig: abs(dig.end - ends(site, visit)))


def _watch(record: Record, site: Site, story: Story) -> None:
    """The last night of each year without footage was watched by eye."""
    years = {night.year: night for night in sorted(story.dark | story.unscanned)}
    for night in years.values():
        start, end = night_hours(site, night).nesting
        add_watched(record, site, night, start, min(end, start + timedelta(hours=5)), who="the keeper")
