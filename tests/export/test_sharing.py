"""What leaves the house with a package, what it says of digs, and what is refused."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest

from nestwatch.errors import EntryError, OutputError, RecordError
from nestwatch.season.export.sharing import Sharing
from nestwatch.season.export.tables import read_season
from nestwatch.season.export.write import write_package
from nestwatch.season.open import open_record
from tests.export.packages import OPEN, Make, descriptor, exported, faults, rows
from tests.export.seasons import SECRET, a_season, site_in

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


def test_an_earlier_export_that_gives_way_leaves_nothing_behind(tmp_path: Path) -> None:
    """Neither pictures that were public once, nor tables of other years; what is not ours stays."""
    exported(tmp_path, OPEN)
    folder, site = tmp_path / "package", site_in(tmp_path)
    (folder / "media" / "mine.jpg").write_bytes(b"mine")
    assert (folder / "clutches.csv").is_file()
    with closing(open_record(site)) as record:
        write_package(record, site, read_season(record, 2025), folder, Sharing(), replace=True)
    assert [path.name for path in folder.rglob("*.jpg")] == ["mine.jpg"]
    assert list(folder.rglob("*.mp4")) == []
    listed = {resource["path"] for resource in descriptor(folder)["resources"]}
    assert {path.name for path in folder.glob("*.csv")} == listed
    assert faults(folder) == []


def test_a_file_in_the_way_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "package").write_text("a file")
    with pytest.raises(OutputError, match="a file is in the way where a folder is needed"):
        exported(tmp_path, Sharing())
