"""A season as the template shows it: charts drawn, tables as text. Pure, but for drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from nestwatch.report import words
from nestwatch.season.tally.page import told
from nestwatch.season.tally.page.charts import (
    Bar,
    attempt_parts,
    bar_charts,
    egg_parts,
    hours_chart,
    weeks_chart,
)
from nestwatch.season.tally.page.days import day_span, short_day
from nestwatch.season.tally.page.pen_map import pen_map
from nestwatch.season.tally.page.records import Shown, Table
from nestwatch.season.tally.page.timeline import timelines
from nestwatch.season.tally.records import By, FemaleSeason, MapNest, Row, Season
from nestwatch.season.telling import plural
from nestwatch.site.records import Site

_UNKNOWN: dict[By, str] = {
    "female": "female not known",
    "pen": "pen not known",
    "zone": "zone not known",
    "hour": "not known",
    "week": "not known",
    "temperature": "not measured",
    "rain": "not measured",
}
_TITLES: dict[By, str] = {
    "week": "By week",
    "hour": "By hour of the night",
    "female": "Eggs and hatching by female",
    "pen": "By pen",
    "zone": "By zone",
    "temperature": "By warmth of the night",
    "rain": "By rain",
}


def females(season: Season) -> Shown | None:
    """Clutches along the season; None where no female is known."""
    if not season.females:
        return None
    charts = tuple(timelines(season.females, season.nights.season))
    alt = "For each female a line of dates with her clutches and when another may come. " + _IN_TABLE
    return Shown("Clutches by female", charts, alt, _females_table(season.females))


_IN_TABLE = "The numbers are in the table."


def _females_table(each: Sequence[FemaleSeason]) -> Table:
    heads = ("Female", "Clutches", "Eggs", "Days between", "Usual", "Another may come")
    return Table(heads, tuple(_female_row(female) for female in each))


def _female_row(female: FemaleSeason) -> tuple[str, ...]:
    clutches = ", ".join(map(short_day, female.clutches)) or "none this year"
    between = ", ".join(map(str, female.days_between)) or "–"
    due = "not expected" if female.due is None else day_span(*female.due)
    now = " (now)" if female.is_due else ""
    why = f": {female.why}" if female.why else ""
    return (
        female.name, clutches, _count(female.eggs), between, told.typical(female), f"{due}{now}{why}",
    )  # fmt: skip


def _count(count: int | None) -> str:
    return "not counted" if count is None else str(count)


def pens(season: Season, site: Site) -> list[Shown]:
    """A map and a table for each pen that has a nest of this year or of an earlier one."""
    nests = sorted(season.nests, key=lambda nest: (nest.night, nest.label))
    numbered = dict(enumerate(nests, start=1))
    names = dict.fromkeys([pen.name for pen in site.pens])
    names |= dict.fromkeys(nest.pen for nest in (*nests, *season.earlier))
    shown = (
        _pen(site, season, name, {n: nest for n, nest in numbered.items() if nest.pen == name}, place)
        for place, name in enumerate(names)
    )
    return [each for each in shown if each is not None]


def _pen(site: Site, season: Season, name: str, nests: dict[int, MapNest], place: int) -> Shown | None:
    earlier = [nest for nest in season.earlier if nest.pen == name]
    if not nests and not earlier:
        return None
    shown = Shown(
        title=name,
        charts=(),
        alt=_map_alt(name, len(nests), len(earlier), season.year),
        table=_nests_table(season, site, nests),
        note="The site file has no pen of this name any more, so there is no map of it.",
        earlier=_earlier_table(earlier, site) if earlier else None,
    )
    pen = next((each for each in site.pens if each.name == name), None)
    if pen is None:
        return shown
    drawn = pen_map(pen, nests, earlier, season.year, site.units, f"pen{place}")
    return replace(shown, charts=(drawn.svg,), note=_left_off(drawn.unlabelled, drawn.outside))


def _map_alt(name: str, nests: int, earlier: int, year: int) -> str:
    return (
        f"Plan of {name} with its posts, {plural(nests, 'nest')} of {year} and {earlier} of earlier "
        "years. Their places are in the table."
    )


def _left_off(unlabelled: Sequence[int], outside: Sequence[int]) -> str:
    """What the map does not tell."""
    which = f": {_listed(unlabelled)}" if len(unlabelled) <= _MOST_LISTED else "; the table has their places"
    crowded = f"{plural(len(unlabelled), 'nest')} too close to others to be numbered here{which}."
    far = f"Too far from the pen to be drawn, so marks or posts are doubtful: {_listed(outside)}."
    return " ".join(line for line, some in ((crowded, unlabelled), (far, outside)) if some)


_MOST_LISTED = 12


def _listed(numbers: Sequence[int]) -> str:
    return ", ".join(map(str, numbers))


def _nests_table(season: Season, site: Site, nests: dict[int, MapNest]) -> Table:
    eggs = {(each.night, each.label): each.hatch.eggs for each in season.attempts if each.hatch}
    rows = (
        (str(number), *_nest_row(nest, site), _count(eggs.get((nest.night, nest.label))))
        for number, nest in nests.items()
    )
    return Table(("No.", *_NEST, "Eggs"), tuple(rows))


def _earlier_table(nests: Sequence[MapNest], site: Site) -> Table:
    latest = sorted(nests, key=lambda nest: (nest.night, nest.label), reverse=True)
    return Table(_NEST, tuple(_nest_row(nest, site) for nest in latest))


_NEST = ("Night", "Dig", "Female", "x", "y", "Within")


def _nest_row(nest: MapNest, site: Site) -> tuple[str, ...]:
    x, y = (words.length(metres, site.units) for metres in nest.plan_m)
    within = "not known" if nest.within_m is None else words.nearness(nest.within_m, site.units)
    return nest.night.isoformat(), nest.label, nest.female or "not known", x, y, within


def groups(season: Season) -> list[Shown]:
    """Charts and tables of the groups that have rows, in the order a keeper asks."""
    order: tuple[By, ...] = ("week", "hour", "female", "temperature", "rain", "pen", "zone")
    given = ((by, season.groups.get(by, ())) for by in order)
    return [_group(season, by, rows) for by, rows in given if len(rows) > (by in _PLACES)]


_PLACES: tuple[By, ...] = ("pen", "zone")
"""Told only where there are two or more: one is all there is."""


def _group(season: Season, by: By, rows: Sequence[Row]) -> Shown:
    table = rows_table(by, rows)
    if by == "week":
        nights = season.nights
        chart = weeks_chart(season.attempts, nights.season, nights.unseen_nights)
        return Shown(_TITLES[by], (chart,), _week_alt(season), table)
    if by == "hour":
        return Shown(_TITLES[by], (hours_chart(rows),), _alt(by, rows), table)
    return Shown(_TITLES[by], tuple(bar_charts(_bars(by, rows), f"{by}-")), _alt(by, rows), table)


def _bars(by: By, rows: Sequence[Row]) -> list[Bar]:
    if by == "female":
        return [Bar(name_of(by, row), told.hatched(row.hatch), egg_parts(row.hatch)) for row in rows]
    return [Bar(name_of(by, row), _seen(row), attempt_parts(row)) for row in rows]


def _seen(row: Row) -> str:
    attempts = plural(row.attempts, "attempt")
    return attempts if row.per_ten_hours is None else f"{attempts}; {row.per_ten_hours:.2f} in 10 h seen"


def name_of(by: By, row: Row) -> str:
    """What a row is called; a group that is not known has words for that."""
    return _UNKNOWN[by] if row.name is None else row.name


def _week_alt(season: Season) -> str:
    unseen = plural(len(season.nights.unseen_nights), "night")
    return (
        f"Columns of attempts for each week, {day_span(*season.nights.season)}; {unseen} not seen lie behind "
        f"them, hatched. {_IN_TABLE}"
    )


def _alt(by: By, rows: Sequence[Row]) -> str:
    if by == "female":
        return f"A bar of eggs for each female, by what became of them. {_IN_TABLE}"
    most = max(rows, key=lambda row: row.attempts)
    return f"{_TITLES[by]}: attempts, most of them ({most.attempts}) in {name_of(by, most)}. {_IN_TABLE}"


def rows_table(by: By, rows: Sequence[Row]) -> Table:
    """Every number of a group."""
    first = _TITLES[by].removeprefix("By ").capitalize() if by != "female" else "Female"
    heads = (
        first, "Attempts", "Nests", "Trial digs", "Open", "Nights seen", "Hours seen", "In 10 h seen", "Eggs",
        "Hatched", "Dead in shell", "Infertile", "Lost", "Pending",
    )  # fmt: skip
    table = Table(heads, tuple(_row(by, row) for row in rows))
    return table if by != "female" else _without(table, ("Nights seen", "Hours seen", "In 10 h seen"))


def _without(table: Table, heads: tuple[str, ...]) -> Table:
    """The table without columns that the group has no measure of."""
    keep = [n for n, head in enumerate(table.heads) if head not in heads]
    pick = [tuple(row[n] for n in keep) for row in (table.heads, *table.rows)]
    return Table(pick[0], tuple(pick[1:]))


def _row(by: By, row: Row) -> tuple[str, ...]:
    hatch = row.hatch
    counts = (row.attempts, row.nests, row.trials, row.open)
    fates = (hatch.dead_in_shell, hatch.infertile, hatch.lost, hatch.pending)
    return (
        name_of(by, row),
        *map(str, counts),
        "–" if row.nights is None else str(row.nights),
        "–" if row.hours is None else told.hours(row.hours),
        "–" if row.per_ten_hours is None else f"{row.per_ten_hours:.2f}",
        _count(hatch.eggs) if row.nests else "–",
        told.share(row.hatched) if row.hatched.of else "–",
        *map(str, fates),
    )


def cameras(season: Season) -> Table:
    """What each camera read."""
    rows = tuple(
        (each.camera, each.pen or "–", str(each.nights), told.hours(each.expected_h), told.hours(each.read_h))
        for each in season.nights.cameras
    )
    return Table(("Camera", "Pen", "Nights", "Expected", "Read"), rows)
