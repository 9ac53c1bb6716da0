"""`nestwatch clutch probe` and `readings`: thermometers, logger files, values by hand."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from nestwatch.commands.boundary import answer
from nestwatch.commands.clutch_boxes import at_option, instant_of
from nestwatch.commands.file_options import file_options, read_file
from nestwatch.commands.options import site_argument
from nestwatch.commands.record_context import as_json_text, given, json_option, opened, sure_option

if TYPE_CHECKING:
    from nestwatch.season.incubation.records import Probe
    from nestwatch.season.open import Record
    from nestwatch.site.records import Site


@click.command()
@site_argument
@click.argument("name", metavar="[PROBE]", required=False, help="The probe's name.")
@click.option("--box", "container", metavar="BOX", help="The box it lies in.")
@click.option("--incubator", metavar="NAME", help="The incubator it hangs in, for all boxes there.")
@click.option("--lies", type=click.Choice(["substrate", "air"]), help="In the medium with the eggs, or not.")
@click.option("--note", metavar="TEXT", help='Anything worth remembering; "" clears.')
@json_option
def probe(site_file: Path, name: str | None, as_json: bool, **told: Any) -> None:
    """List the probes, enter one, or change one.

    Put one into the substrate where you can: air may differ from eggs by about 2 °C.
    """
    from nestwatch.season.incubation.probes import enter_probe, probe_called, probes

    changes = given(**told)
    with opened(site_file) as (_, record):
        if name is None:
            found = probes(record)
        else:
            found = (enter_probe(record, name, changes) if changes else probe_called(record, name),)  # type: ignore[arg-type]
        text = "\n".join(_words(record, each) for each in found) or "No probe was entered."
        answer(as_json_text(found, record.zone) if as_json else text)


def _words(record: Record, probe: Probe) -> str:
    from nestwatch.season.incubation.containers import container_by_id
    from nestwatch.season.incubation.telling import probe_words

    return probe_words(probe, None if probe.container is None else container_by_id(record, probe.container))


@click.command()
@site_argument
@click.argument("name", metavar="[PROBE]", required=False, help="The probe that they are of.")
@click.argument(
    "file",
    metavar="[FILE]",
    required=False,
    type=click.Path(path_type=Path, dir_okay=False),
    help="The logger's file (CSV or other text).",
)
@click.option("--temperature", type=float, metavar="T", help="One value by hand.")
@click.option("--humidity", type=float, metavar="%", help="With it, the humidity.")
@at_option
@file_options
@click.option("--humidity-column", metavar="NAME", help="Heading or number of the humidity column.")
@sure_option
@json_option
def readings(
    site_file: Path,
    name: str | None,
    file: Path | None,
    temperature: float | None,
    humidity: float | None,
    at: str | None,
    sure: bool,
    as_json: bool,
    **choices: Any,
) -> None:
    """List what was read, take in a logger's file, or enter one value by hand.

    What cannot be told from the file is asked for; nothing is guessed. A file that has grown is taken in
    again with only its new readings.
    """
    if (file is None) == (temperature is None) and name is not None:
        raise click.UsageError("give either a logger's FILE, or one value with --temperature.")
    with opened(site_file) as (site, record):
        if name is None:
            _list(record, as_json)
        elif file is not None:
            _take(record, site, name, file, choices, sure)
        else:
            _by_hand(record, site, name, temperature or 0.0, humidity, at, choices["unit"], sure)


def _take(record: Record, site: Site, name: str, file: Path, choices: dict[str, Any], sure: bool) -> None:
    from nestwatch.season.incubation.logger.read import read_log
    from nestwatch.season.incubation.logger.records import Choices
    from nestwatch.season.incubation.readings import take_log
    from nestwatch.season.incubation.telling import log_lines

    said = Choices(**choices)
    log = read_file(file, lambda content: read_log(content, record.zone, record.clock(), said))
    new = take_log(record, site, name, log, file.name, sure=sure)
    answer("\n".join(log_lines(new, log, record.zone)))


def _by_hand(
    record: Record,
    site: Site,
    name: str,
    value: float,
    humidity: float | None,
    at: str | None,
    unit: str | None,
    sure: bool,
) -> None:
    from nestwatch.season.incubation.logger.units import to_celsius
    from nestwatch.season.incubation.readings import enter_reading

    celsius = to_celsius(value, "f" if unit == "f" else "c")
    when = None if at is None else instant_of(record, at)
    enter_reading(record, site, name, celsius, at=when, humidity=humidity, sure=sure)
    answer(f"Entered: {celsius:.1f} °C of probe {name}.")


def _list(record: Record, as_json: bool) -> None:
    from nestwatch.season.incubation.readings import batches
    from nestwatch.season.incubation.telling import batch_words

    found = batches(record)
    if as_json:
        answer(as_json_text(found, record.zone))
        return
    lines = [batch_words(each, record.zone) for each in found]
    answer("\n".join(lines) or "No reading was entered.")
