"""`datapackage.json` of Camtrap DP 1.0.2. Pure.

The standard names its own schemas by address; programs that check a package fetch them from there.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from datetime import UTC, datetime, tzinfo
from typing import Any

import nestwatch
from nestwatch.season.export.places import SharedPlace
from nestwatch.season.export.records import Field, Table
from nestwatch.season.export.sharing import Sharing
from nestwatch.site.records import Site

VERSION = "1.0.2"
_STANDARD = f"https://raw.githubusercontent.com/tdwg/camtrap-dp/{VERSION}"
NAME = "datapackage.json"


def descriptor(
    site: Site,
    sharing: Sharing,
    place: SharedPlace,
    standard: Sequence[Table],
    further: Sequence[Table],
    *,
    created: datetime,
    zone: tzinfo,
) -> dict[str, Any]:
    """The package's description. `standard`: deployments, media, observations; `further`: our own tables."""
    title = sharing.title or site.name
    species = [] if sharing.scientific_name is None else [{"scientificName": sharing.scientific_name}]
    return {
        "resources": [*map(_by_standard, standard), *(_our_own(table, further) for table in further)],
        "profile": f"{_STANDARD}/camtrap-dp-profile.json",
        "name": _slug(title),
        "created": created.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        "title": title,
        "contributors": [{"title": sharing.contributor or title, "role": "contributor"}],
        "version": created.astimezone(zone).date().isoformat(),
        "keywords": ["camera traps", "turtle nesting"],
        "sources": [{"title": "nestwatch", "version": nestwatch.__version__}],
        **_licences(sharing),
        "project": _project(site, title, standard),
        "coordinatePrecision": place.precision,
        "spatial": _square(place),
        "temporal": _temporal(standard[0], zone),
        "taxonomic": species,
    }


def encode(content: dict[str, Any]) -> bytes:
    """The description as UTF-8 JSON."""
    return (json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode()


def file_of(table: Table) -> str:
    """The name of a table's file."""
    return f"{table.name}.csv"


def _by_standard(table: Table) -> dict[str, Any]:
    return {**_resource(table), "schema": f"{_STANDARD}/{table.name}-table-schema.json"}


def _our_own(table: Table, further: Sequence[Table]) -> dict[str, Any]:
    there = {each.name for each in further}
    keys = [
        {"fields": field.name, "reference": {"resource": field.refers, "fields": "id"}}
        for field in table.fields
        if field.refers in there
    ]
    schema: dict[str, Any] = {"fields": [_field(field) for field in table.fields], "missingValues": [""]}
    if "id" in {field.name for field in table.fields}:
        schema["primaryKey"] = "id"
    if keys:
        schema["foreignKeys"] = keys
    return {**_resource(table), "description": table.description, "schema": schema}


def _resource(table: Table) -> dict[str, Any]:
    return {
        "name": table.name,
        "path": file_of(table),
        "profile": "tabular-data-resource",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
    }


def _field(field: Field) -> dict[str, Any]:
    form = {"format": "%Y-%m-%dT%H:%M:%S%z"} if field.kind == "datetime" else {}
    return {"name": field.name, "type": field.kind, **form, "description": field.description}


def _licences(sharing: Sharing) -> dict[str, Any]:
    if sharing.data_licence is None or sharing.media_licence is None:
        return {}
    return {"licenses": [_licence(sharing.data_licence, "data"), _licence(sharing.media_licence, "media")]}


def _licence(licence: str, scope: str) -> dict[str, str]:
    kind = "path" if re.match(r"https?://", licence) else "name"
    return {kind: licence, "scope": scope}


def _project(site: Site, title: str, standard: Sequence[Table]) -> dict[str, Any]:
    return {
        "title": title,
        "description": f"Nesting of {site.animal.name} in outdoor pens, watched by fixed infrared cameras.",
        # Cameras are put where nests are expected; recordings run on and are looked at in even steps.
        "samplingDesign": "targeted",
        "captureMethod": ["timeLapse"],
        "individualAnimals": any(row["individualID"] is not None for row in standard[2].rows),
        "observationLevel": ["event"],
    }


def _square(place: SharedPlace) -> dict[str, Any]:
    """The square in which the site lies, as GeoJSON (RFC 7946: counter-clockwise, closed)."""
    south, north = (_clipped(place.latitude + way * place.half, 90.0) for way in (-1, 1))
    west, east = (_clipped(place.longitude + way * place.half, 180.0) for way in (-1, 1))
    ring = [[west, south], [east, south], [east, north], [west, north], [west, south]]
    return {"type": "Polygon", "bbox": [west, south, east, north], "coordinates": [ring]}


def _clipped(degrees: float, most: float) -> float:
    return round(min(max(degrees, -most), most), 8)


def _temporal(deployments: Table, zone: tzinfo) -> dict[str, str]:
    starts = [row["deploymentStart"] for row in deployments.rows]
    ends = [row["deploymentEnd"] for row in deployments.rows]
    first = min(each for each in starts if isinstance(each, datetime))
    last = max(each for each in ends if isinstance(each, datetime))
    return {name: at.astimezone(zone).date().isoformat() for name, at in (("start", first), ("end", last))}


def _slug(title: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-") or "nestwatch"
