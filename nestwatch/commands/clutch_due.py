"""`nestwatch clutch window`, `alerts`, `labels`, `calendar` and `profiles`: what is to be expected."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nestwatch.commands.boundary import answer
from nestwatch.commands.options import site_argument
from nestwatch.commands.record_context import as_json_text, json_option, opened

if TYPE_CHECKING:
    from nestwatch.season.incubation.expected import Expected
    from nestwatch.season.incubation.profile import Profile
    from nestwatch.site.records import Site


@click.command()
@site_argument
@click.argument("label", metavar="[BOX]", required=False, help="Only this box.")
@json_option
def window(site_file: Path, label: str | None, as_json: bool) -> None:
    """Tell when hatchlings are to be expected, and why."""
    from nestwatch.season.incubation.containers import container_called
    from nestwatch.season.incubation.expected import expectations
    from nestwatch.season.incubation.telling import ESTIMATES

    with opened(site_file) as (site, record):
        found = expectations(record, site)
        if label is not None:
            box = container_called(record, label)
            found = tuple(each for each in found if each.container.id == box.id)
        if as_json:
            answer(as_json_text([_short(each) for each in found], record.zone))
            return
        lines = [line for each in found for line in _told(each)]
        answer("\n".join([*lines, ESTIMATES]) if lines else "No egg lies in a box.")


def _short(each: Expected) -> dict[str, object]:
    return {
        "box": each.container.label,
        "clutch": each.of,
        "eggs": len(each.eggs),
        "left": each.left,
        "window": each.window,
        "by_profile": each.by_profile,
        "by_readings": each.by_readings,
        "sex": each.sex,
        "remarks": each.remarks,
    }


def _told(each: Expected) -> Iterator[str]:
    from nestwatch.season.incubation.telling import due_words, reasons

    left = f"{each.left} of {len(each.eggs)} eggs left"
    yield f"Box {each.container.label}, {each.of}, {left}: {due_words(each)}"
    yield from (f"  {line}" for line in (*reasons(each), *each.remarks, each.sex))


@click.command()
@site_argument
@json_option
def alerts(site_file: Path, as_json: bool) -> None:
    """Tell what wants doing now: temperatures, silent probes, windows, water."""
    from nestwatch.season.incubation.expected import alerts as wanting

    with opened(site_file) as (site, record):
        found = wanting(record, site)
        lines = [f"Box {each.box}: {each.words}" for each in found]
        answer(
            as_json_text(found, record.zone) if as_json else "\n".join(lines) or "Nothing wants doing now."
        )


@click.command()
@site_argument
@click.argument("boxes", metavar="[BOX]...", nargs=-1, help="Only these boxes.")
@click.option(
    "--size",
    type=click.Choice(["small", "medium", "large"]),
    default="medium",
    show_default=True,
    help="62 x 29, 90 x 50 or 148 x 105 mm.",
)
@click.option(
    "--out", type=click.Path(path_type=Path, dir_okay=False), help="Default: labels.pdf beside the site file."
)
@click.option(
    "--desk",
    "for_desk",
    is_flag=True,
    help="Have the codes open the box on the desk that is running now (nestwatch desk SITE --network).",
)
def labels(site_file: Path, boxes: tuple[str, ...], size: str, out: Path | None, for_desk: bool) -> None:
    """Write labels for boxes, one a page, each with a QR code that carries its text."""
    from nestwatch.report.files import write_bytes
    from nestwatch.season.incubation.containers import container_called
    from nestwatch.season.incubation.expected import expectations
    from nestwatch.season.incubation.labels import labels_of, printed_labels

    target = out or site_file.parent / "labels.pdf"
    with opened(site_file) as (site, record):
        wanted = {container_called(record, label).id for label in boxes}
        found = [each for each in expectations(record, site) if not wanted or each.container.id in wanted]
        made = labels_of(found, record.zone)
        desk = _desk_of(site) if for_desk else None
    if not made:
        answer("No label was made: no egg lies in a box. See nestwatch clutch place.")
        return
    write_bytes(target, printed_labels(made, size, desk))  # type: ignore[arg-type]
    answer(f"{len(made)} label{'' if len(made) == 1 else 's'}, to print at 100 %: {target}")
    if desk is not None:
        answer(f"Their codes open {desk} while a desk runs there: start it with the same --port each time.")


def _desk_of(site: Site) -> str:
    """The running desk's address. Raises `EntryError` where phones can reach none."""
    from nestwatch.desk.running import running_desk
    from nestwatch.errors import EntryError

    found = running_desk(site)
    if found is None:
        raise EntryError(
            "no desk of this site runs that phones can reach; start one in another terminal (nestwatch desk "
            "SITE --network --port 8123), or leave --desk out: then the codes carry the text alone."
        )
    return found


@click.command()
@site_argument
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Default: nestwatch.ics beside the site file.",
)
def calendar(site_file: Path, out: Path | None) -> None:
    """Write a calendar (iCalendar) of hatch windows, checks and second clutches.

    Taking the file in again moves events and doubles none.
    """
    from nestwatch.report.files import write_bytes
    from nestwatch.season.incubation.calendar import calendar as made

    target = out or site_file.parent / "nestwatch.ics"
    with opened(site_file) as (site, record):
        content = made(record, site)
    write_bytes(target, content)
    answer(f"{content.count(b'BEGIN:VEVENT')} events: {target}")


@click.command()
@site_argument
@click.argument("name", metavar="[PROFILE]", required=False, help="All that this one says.")
def profiles(site_file: Path, name: str | None) -> None:
    """List the species profiles, or what one says and on whose word.

    A file in the folder profiles beside the site file adds one (docs/incubation.md).
    """
    from nestwatch.season.incubation.profile import profile_called
    from nestwatch.season.incubation.profile import profiles as known
    from nestwatch.site import load_site

    site = load_site(site_file)
    if name is not None:
        answer("\n".join(_of_profile(profile_called(site, name))))
        return
    found = known(site)
    used = profile_called(site, None).key
    answer(
        "\n".join(
            f"{key}: {each.name}{' (for the animal of the site file)' if key == used else ''}"
            for key, each in found.items()
        )
    )


def _of_profile(profile: Profile) -> Iterator[str]:
    yield f"{profile.name}{f' ({profile.latin})' if profile.latin else ''}"
    spans = (
        ("Kept at", profile.aim_c, "°C"),
        ("Alarm outside", profile.alarm_c, "°C"),
        ("Humidity", profile.humidity, "%"),
        ("Second clutch after", profile.second_clutch, "days"),
    )
    yield from (f"{what} {span.words(unit)} {span.credit}" for what, span, unit in spans if span is not None)
    yield from (f"Hatching: {each.words()}" for each in profile.days)
    if profile.model is not None:
        yield f"Development: {profile.model.words()} [{profile.model_source or 'no source'}]"
    if profile.sex is not None:
        how = "depends on temperature" if profile.sex.by_temperature else "does not depend on temperature"
        yield f"Sex {how} [{profile.sex.source}{f': {profile.sex.note}' if profile.sex.note else ''}]"
    if profile.note:
        yield profile.note
