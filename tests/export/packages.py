"""Packages of the invented season: writing them, reading them back, and having frictionless check them."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import frictionless

from nestwatch.season.export.sharing import Sharing
from nestwatch.season.export.tables import read_season
from nestwatch.season.export.write import Exported, write_package
from tests.export import standard
from tests.export.seasons import a_season, site_in

OPEN = Sharing(
    exact_places=True,
    public_media=True,
    scientific_name="Emys orbicularis",
    data_licence="CC-BY-4.0",
    media_licence="https://example.org/licence",
)
Rows = list[dict[str, str]]
Make = Callable[..., Path]


def exported(folder: Path, sharing: Sharing, year: int | None = None, *, replace: bool = False) -> Exported:
    site = site_in(folder)
    with closing(a_season(site)) as record:
        season = read_season(record, year)
        return write_package(record, site, season, folder / "package", sharing, replace=replace)


def rows(folder: Path, table: str) -> Rows:
    with (folder / f"{table}.csv").open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def header(folder: Path, table: str) -> list[str]:
    with (folder / f"{table}.csv").open(newline="", encoding="utf-8") as file:
        return next(csv.reader(file))


def descriptor(folder: Path) -> Any:
    return json.loads((folder / "datapackage.json").read_text(encoding="utf-8"))


def inlined(folder: Path, schema_of: Callable[[str, list[str]], Any]) -> frictionless.Package:
    """The package with the standard's addresses replaced by schemas, so that nothing is fetched.

    `schema_of` gets a table's name and its columns.
    """
    content = descriptor(folder)
    content.pop("profile")
    for resource in content["resources"]:
        if isinstance(resource["schema"], str):
            name = resource["name"]
            resource["schema"] = schema_of(name, header(folder, name))
    return frictionless.Package.from_descriptor(content, basepath=str(folder))


KINDS = {
    "latitude": "number",
    "longitude": "number",
    "coordinateUncertainty": "integer",
    "filePublic": "boolean",
    "count": "integer",
    "classificationProbability": "number",
}


def own_field(table: str, name: str) -> dict[str, Any]:
    """A field as our own table of the standard has it; text where it says nothing."""
    instant = standard.PATTERNS.get((table, name)) == standard.DATETIME
    constraints: dict[str, Any] = {"required": name in standard.REQUIRED[table]}
    if (table, name) in standard.ENUMS:
        constraints["enum"] = sorted(standard.ENUMS[table, name])
    form = {"format": "%Y-%m-%dT%H:%M:%S%z"} if instant else {}
    kind = "datetime" if instant else KINDS.get(name, "string")
    return {"name": name, "type": kind, **form, "constraints": constraints}


def own_schema(table: str, columns: list[str]) -> dict[str, Any]:
    """A table schema made from our own table of the standard."""
    keys = [{"fields": "deploymentID", "reference": {"resource": "deployments", "fields": "deploymentID"}}]
    return {
        "fields": [own_field(table, name) for name in columns],
        "missingValues": sorted(standard.NO_VALUE),
        "primaryKey": standard.KEYS[table],
        **({} if table == "deployments" else {"foreignKeys": keys}),
    }


def faults(folder: Path) -> list[Any]:
    """What frictionless finds wrong with the tables of the standard and with ours, keys included."""
    return list(inlined(folder, own_schema).validate().flatten(["type", "note"]))
