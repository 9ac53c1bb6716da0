"""The Camtrap DP package: against our own table of the standard, by frictionless, and by its own schemas."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import frictionless
import jsonschema
import pytest
import referencing
from referencing.jsonschema import DRAFT4

from nestwatch.season.export.sharing import Sharing
from tests.export import standard
from tests.export.packages import OPEN, Make, descriptor, exported, faults, header, inlined, rows

BOTH = pytest.mark.parametrize("sharing", [Sharing(), OPEN], ids=["default", "open"])


@BOTH
@pytest.mark.parametrize("table", sorted(standard.REQUIRED))
def test_tables_hold_to_the_standard(make: Make, sharing: Sharing, table: str) -> None:
    found = rows(make(sharing), table)
    assert found
    assert standard.REQUIRED[table] <= set(found[0])
    for row in found:
        assert all(row[name] not in standard.NO_VALUE for name in standard.REQUIRED[table])
        for (of, name), allowed in standard.ENUMS.items():
            assert of != table or row[name] == "" or row[name] in allowed
        for (of, name), pattern in standard.PATTERNS.items():
            assert of != table or row[name] == "" or re.fullmatch(pattern, row[name]), row[name]
    ids = [row[standard.KEYS[table]] for row in found]
    assert len(set(ids)) == len(ids)


@BOTH
def test_references_lead_somewhere(make: Make, sharing: Sharing) -> None:
    folder = make(sharing)
    known = {row["deploymentID"] for row in rows(folder, "deployments")}
    assert {row["deploymentID"] for row in (*rows(folder, "media"), *rows(folder, "observations"))} <= known


@BOTH
def test_description_holds_to_the_standard(make: Make, sharing: Sharing) -> None:
    content = descriptor(make(sharing))
    assert not standard.PACKAGE - set(content)
    assert not standard.PROJECT - set(content["project"])
    assert content["project"]["samplingDesign"] in standard.SAMPLING
    assert set(content["project"]["captureMethod"]) <= {"activityDetection", "timeLapse"}
    assert content["project"]["observationLevel"] == ["event"]
    assert content["profile"].endswith("/1.0.2/camtrap-dp-profile.json")
    by_name = {each["name"]: each for each in content["resources"]}
    for name in standard.REQUIRED:
        assert by_name[name]["profile"] == "tabular-data-resource"
        assert by_name[name]["schema"].endswith(f"/1.0.2/{name}-table-schema.json")
    assert content["temporal"] == {"start": "2025-06-20", "end": "2026-06-14"}
    assert re.fullmatch(r"[a-z0-9._/-]+", content["name"])  # Data Package v1: the name's letters


@BOTH
def test_frictionless_finds_nothing_wrong(make: Make, sharing: Sharing) -> None:
    assert faults(make(sharing)) == []


@pytest.mark.parametrize(
    ("table", "old", "new", "kind"),
    [
        ("observations", ",event,", ",evening,", "constraint-error"),
        ("deployments", "T16:00:00+02:00", "T16:00:00", "type-error"),
        ("observations", ",2026-06-12_sandbank,", ",2026-06-12_elsewhere,", "foreign-key"),
        ("clutches", "\r\n1,1,", "\r\n1,99,", "foreign-key"),
        ("digs", "\r\n2,2026", "\r\n1,2026", "primary-key"),
    ],
)
def test_frictionless_sees_what_we_rely_on_it_for(
    tmp_path: Path, table: str, old: str, new: str, kind: str
) -> None:
    exported(tmp_path, Sharing())
    file = tmp_path / "package" / f"{table}.csv"
    text = file.read_bytes().decode()
    assert old in text
    file.write_bytes(text.replace(old, new).encode())
    assert kind in {fault[0] for fault in faults(tmp_path / "package")}


needs_schemas = pytest.mark.skipif(
    standard.schemas() is None, reason="the standard's schemas are not at hand (NESTWATCH_CAMTRAP_DP)"
)


@needs_schemas
@BOTH
def test_the_standard_s_own_table_schemas(make: Make, sharing: Sharing) -> None:
    """Every column is one of the standard's, in its order; values hold to its types, enums and keys."""
    folder = make(sharing)
    for name in standard.REQUIRED:
        known = [field["name"] for field in standard.schema(f"{name}-table-schema.json")["fields"]]
        columns = header(folder, name)
        assert columns == [column for column in known if column in columns]

    def schema_of(name: str, columns: list[str]) -> Any:
        schema = standard.schema(f"{name}-table-schema.json")
        # frictionless wants every field to be there; the standard does not.
        schema["fields"] = [field for field in schema["fields"] if field["name"] in columns]
        return schema

    assert list(inlined(folder, schema_of).validate().flatten(["type", "note"])) == []


@needs_schemas
def test_our_own_table_of_the_standard_agrees_with_it() -> None:
    for name, required in standard.REQUIRED.items():
        fields = standard.schema(f"{name}-table-schema.json")["fields"]
        assert required == {field["name"] for field in fields if field["constraints"].get("required")}
        enums = {field["name"]: field["constraints"].get("enum") for field in fields}
        ours = {column: allowed for (of, column), allowed in standard.ENUMS.items() if of == name}
        assert all(allowed == set(enums[column]) for column, allowed in ours.items())
    profile = standard.schema("camtrap-dp-profile.json")["allOf"][1]
    assert set(profile["required"]) == standard.PACKAGE
    assert set(profile["properties"]["project"]["required"]) == standard.PROJECT


def by_profile(content: Any) -> list[str]:
    """What the standard's profile finds wrong.

    The profile it builds upon (Data Package 1) is not at hand and is taken to allow everything; GeoJSON's
    schema comes with frictionless.
    """
    geojson = Path(frictionless.__file__).parent / "assets" / "profiles" / "geojson.json"
    stubs = {
        "https://specs.frictionlessdata.io/schemas/data-package.json": {},
        "http://json.schemastore.org/geojson.json": json.loads(geojson.read_text(encoding="utf-8")),
    }
    registry: Any = referencing.Registry().with_resources(
        (address, referencing.Resource.from_contents(schema, default_specification=DRAFT4))
        for address, schema in stubs.items()
    )
    profile = standard.schema("camtrap-dp-profile.json")
    validator = jsonschema.Draft4Validator(
        profile, registry=registry, format_checker=jsonschema.FormatChecker()
    )
    return [error.json_path for error in validator.iter_errors(content)]


@needs_schemas
@BOTH
def test_the_standard_s_own_profile(make: Make, sharing: Sharing) -> None:
    assert by_profile(descriptor(make(sharing))) == []


@needs_schemas
def test_the_profile_sees_what_we_rely_on_it_for(make: Make) -> None:
    content = descriptor(make(OPEN))
    content["licenses"].pop()
    content["spatial"]["type"] = "Square"
    content["temporal"]["start"] = "June"
    content["contributors"][0]["role"] = "keeper"
    del content["project"]["title"]
    assert {"$.licenses", "$.spatial", "$.temporal.start", "$.project"} <= set(by_profile(content))
