"""The Camtrap DP package: against our own table of the standard, by frictionless, and by its own schemas."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import frictionless
import jsonschema
import pytest
import referencing
from referencing.jsonschema import DRAFT4

from nestwatch.errors import EntryError, OutputError, RecordError
from nestwatch.season.export.sharing import Sharing
from nestwatch.season.export.tables import read_season
from nestwatch.season.export.write import Exported, write_package
from nestwatch.season.open import open_record
from tests.export import standard
from tests.export.seasons import SECRET, a_season, site_in

OPEN = Sharing(
    exact_places=True,
    public_media=True,
    scientific_name="Emys orbicularis",
    data_licence="CC-BY-4.0",
    media_licence="https://example.org/licence",
)
Rows = list[dict[str, str]]
Make = Callable[..., Path]


@pytest.fixture(scope="module")
def make(tmp_path_factory: pytest.TempPathFactory) -> Make:
    """`make(sharing)` writes a package of the invented season and gives its folder; each kind once."""
    done: dict[Sharing, Path] = {}

    def made(sharing: Sharing | None = None) -> Path:
        sharing = sharing or Sharing()
        if sharing not in done:
            folder = tmp_path_factory.mktemp("site")
            exported(folder, sharing)
            done[sharing] = folder / "package"
        return done[sharing]

    return made


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


# What leaves the house ---------------------------------------------------------------------------------


def everything(folder: Path) -> str:
    return "".join(path.read_text(encoding="utf-8") for path in sorted(folder.iterdir()) if path.is_file())


def test_nothing_leads_to_the_animals_by_default(make: Make) -> None:
    """No exact place of the site or of a nest, no picture, no note, no name of a person, no path of ours."""
    folder = make()
    text = everything(folder)
    assert not [path for path in folder.rglob("*") if path.suffix in {".jpg", ".mp4"}]
    for secret in ("47.21", "47.22", "1.55", "0.7213", "150x72", SECRET, "Rosa", "lime", str(folder.parent)):
        assert secret not in text, secret
    assert {row["filePublic"] for row in rows(folder, "media")} == {"false"}
    assert {(row["latitude"], row["longitude"]) for row in rows(folder, "deployments")} == {("47.2", "1.6")}
    assert descriptor(folder)["coordinatePrecision"] == 0.1


def test_exact_places_and_pictures_when_they_are_asked_for(make: Make) -> None:
    folder = make(OPEN)
    deployment = rows(folder, "deployments")[0]
    assert (deployment["latitude"], deployment["longitude"]) == ("47.2184", "1.5536")
    assert int(deployment["coordinateUncertainty"]) < 150
    assert rows(folder, "digs")[1]["plan_y_m"] == "0.7213"
    media = rows(folder, "media")
    assert {row["filePublic"] for row in media} == {"true"}
    assert sorted(row["filePath"] for row in media) == [
        "media/2026-06-12/dig-1-before.jpg",
        "media/2026-06-12/dig-1-clip.mp4",
        "media/2026-06-12/dig-1-during.jpg",
    ]
    assert (folder / "media/2026-06-12/dig-1-before.jpg").read_bytes().endswith(b"_before.jpg")
    assert SECRET not in everything(folder)


def test_the_site_s_name_can_be_kept_back(tmp_path: Path) -> None:
    exported(tmp_path, Sharing(title="A pond in the west"))
    assert "Linden" not in everything(tmp_path / "package")


# What it says ------------------------------------------------------------------------------------------


def test_a_camera_that_was_off_is_no_deployment(make: Make) -> None:
    found = rows(make(), "deployments")
    assert [row["deploymentID"] for row in found] == [
        "2025-06-20_sandbank",
        "2026-06-12_sandbank",
        "2026-06-13_sandbank",
    ]
    assert (found[2]["deploymentStart"], found[2]["deploymentEnd"], found[2]["deploymentComments"]) == (
        "2026-06-13T18:00:00+02:00",
        "2026-06-14T08:00:00+02:00",
        "30 min in between were not recorded",
    )


def test_what_a_dig_was_taken_for_and_by_whom(make: Make) -> None:
    columns = (
        "observationID",
        "observationType",
        "behavior",
        "classificationMethod",
        "classificationProbability",
        "individualID",
    )
    assert [tuple(row[name] for name in columns) for row in rows(make(OPEN), "observations")] == [
        ("dig-5", "animal", "nesting|digging", "machine", "0.8", ""),
        ("dig-1", "animal", "nesting|digging", "human", "", "female NA"),  # found with eggs
        ("dig-2", "animal", "digging", "human", "", ""),  # found empty
        ("dig-3", "unknown", "", "machine", "", ""),  # unclear
        ("dig-4", "animal", "resting", "machine", "", ""),
    ]


def test_a_picture_s_time_is_that_in_its_name(make: Make) -> None:
    found = {row["mediaID"]: row["timestamp"] for row in rows(make(), "media")}
    assert found["2026-06-12/dig-1-before.jpg"] == "2026-06-12T20:55:00+02:00"
    assert found["2026-06-12/dig-1-clip.mp4"] == "2026-06-12T21:14:00+02:00"


def test_licences_by_name_or_address(make: Make) -> None:
    assert descriptor(make(OPEN))["licenses"] == [
        {"name": "CC-BY-4.0", "scope": "data"},
        {"path": "https://example.org/licence", "scope": "media"},
    ]
    assert "licenses" not in descriptor(make())


def test_what_the_keeper_is_told(tmp_path: Path) -> None:
    assert exported(tmp_path, Sharing()).notes == (
        "The site's place is told to within 6.8 km only, and not where in the pen the nests are; notes are "
        "left out, names of the site, pens and cameras are not (--title changes the first).",
        "Pictures and clips stay here; their names are listed as not public.",
        "Digs that are no camera's observation, and so in digs.csv only: 1 of 6.",
        "Pictures and clips left out, since they are not in their folder any more: 1.",
        "No licence is named, so nobody may use it further (--data-licence, --media-licence).",
        'No species is named (--scientific-name "Genus species").',
    )


def test_one_year(tmp_path: Path) -> None:
    exported(tmp_path, Sharing(), 2025)
    folder = tmp_path / "package"
    assert [row["observationID"] for row in rows(folder, "observations")] == ["dig-5"]
    assert not (folder / "clutches.csv").exists()
    assert descriptor(folder)["temporal"] == {"start": "2025-06-20", "end": "2025-06-21"}
    assert faults(folder) == []


# What cannot be ----------------------------------------------------------------------------------------


def test_one_licence_alone_is_refused() -> None:
    with pytest.raises(EntryError, match="give both --data-licence and --media-licence, or neither"):
        Sharing(data_licence="CC0-1.0")


def test_nights_without_a_recording_make_no_package(tmp_path: Path) -> None:
    site = site_in(tmp_path)
    with closing(a_season(site)) as record:
        with record.writing("all cameras off") as writer:
            writer.run("UPDATE footage SET seconds_read = 0", ())
        with pytest.raises(RecordError, match="no camera recorded anything in these nights"):
            write_package(record, site, read_season(record), tmp_path / "package", Sharing())
    assert not (tmp_path / "package").exists()


def test_an_earlier_export_is_not_overwritten_silently(tmp_path: Path) -> None:
    exported(tmp_path, Sharing())
    file = tmp_path / "package" / "digs.csv"
    file.write_text("mine")
    site = site_in(tmp_path)
    with closing(open_record(site)) as record:
        season = read_season(record)
        with pytest.raises(OutputError) as raised:
            write_package(record, site, season, tmp_path / "package", Sharing())
        assert str(raised.value).startswith(f"{tmp_path / 'package'} holds deployments.csv and ")
        assert file.read_text() == "mine"
        write_package(record, site, season, tmp_path / "package", Sharing(), replace=True)
    assert len(rows(tmp_path / "package", "digs")) == 6


def test_a_file_in_the_way_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "package").write_text("a file")
    with pytest.raises(OutputError, match="a file is in the way where a folder is needed"):
        exported(tmp_path, Sharing())
