"""A finished camera's night is kept exactly, and anything doubtful means doing it again."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nestwatch.errors import OutputError
from nestwatch.footage.records import Account, Gap, Unreadable
from nestwatch.nesting.records import Dig, Stage, Visitor
from nestwatch.report import CameraNight, PlacedDig, SeenVisitor, file_name, load_camera, save_camera
from tests.report.scenes import NO_PICTURES, a_night, a_placed, a_visitor

_TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
_FLOAT = st.floats(allow_nan=False, allow_infinity=False)
_POINT = st.tuples(_FLOAT, _FLOAT)
_AT = st.datetimes(timezones=st.just(UTC))
_PICTURE = st.sampled_from([None, "pictures/a.jpg", "pictures/b.jpg"])

_DIG = st.builds(
    Dig,
    camera=_TEXT,
    zone=_TEXT,
    start=_AT,
    end=_AT,
    start_seen=st.booleans(),
    end_seen=st.booleans(),
    call=st.sampled_from(["nest", "trial", "rest", "unclear"]),
    likelihood=_FLOAT,
    reasons=st.lists(_TEXT, max_size=3).map(tuple),
    stages=st.lists(
        st.builds(Stage, st.sampled_from(["search", "dig", "lay", "cover"]), _AT, _AT), max_size=3
    ).map(tuple),
    chamber=_POINT,
    chamber_radius_px=_FLOAT,
    body=_POINT,
    shell_length_px=st.none() | _FLOAT,
    in_nesting_hours=st.booleans(),
    before_at=st.none() | _AT,
    during_at=_AT,
    after_at=st.none() | _AT,
)
_PLACED = st.builds(
    PlacedDig,
    dig=_DIG,
    cameras=st.lists(_TEXT, max_size=2).map(tuple),
    plan_m=st.none() | _POINT,
    within_m=st.none() | _FLOAT,
    shell_length_cm=st.none() | _FLOAT,
    pictures=st.fixed_dictionaries(dict.fromkeys(NO_PICTURES, _PICTURE)),
    clip=_PICTURE,
)
_VISITOR = st.builds(
    Visitor,
    _TEXT,
    _AT,
    _AT,
    st.sampled_from(["larger animal", "person", "smaller animal", "light"]),
    st.none() | _POINT,
)
_ACCOUNT = st.builds(
    Account,
    _TEXT,
    _AT,
    _AT,
    _FLOAT,
    _FLOAT,
    st.lists(st.builds(Gap, _AT, _AT, _TEXT), max_size=3).map(tuple),
    st.lists(st.builds(Unreadable, _TEXT, _TEXT, st.none() | _AT), max_size=3).map(tuple),
    st.lists(_TEXT, max_size=2).map(tuple),
)
_NIGHT = st.builds(
    CameraNight,
    _ACCOUNT,
    st.lists(_PLACED, max_size=2).map(tuple),
    st.lists(st.builds(SeenVisitor, _VISITOR, _PICTURE), max_size=2).map(tuple),
    st.none() | _FLOAT,
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "pictures").mkdir()
    for name in ("a", "b"):
        (tmp_path / "pictures" / f"{name}.jpg").write_bytes(b"jpeg")
    return tmp_path


@given(night=_NIGHT, key=_TEXT)
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_round_trip_is_exact(folder: Path, night: CameraNight, key: str) -> None:
    save_camera(folder, night, key)
    assert load_camera(folder, night.account.camera, key) == night


def test_instants_come_back_as_utc(folder: Path) -> None:
    save_camera(folder, a_night(digs=[a_placed()]), "key")
    night = load_camera(folder, "sandbank", "key")
    assert night is not None
    assert night.digs[0].dig.start.utcoffset() == datetime.now(UTC).utcoffset()


def test_another_key_means_again(folder: Path) -> None:
    save_camera(folder, a_night(), "old")
    assert load_camera(folder, "sandbank", "new") is None


def test_never_finished_means_again(folder: Path) -> None:
    assert load_camera(folder, "sandbank", "key") is None


def test_every_cut_of_the_file_means_again(folder: Path) -> None:
    save_camera(folder, a_night(digs=[a_placed()], visitors=[a_visitor()]), "key")
    path = folder / "work" / "sandbank.json"
    whole = path.read_bytes()
    for size in range(0, len(whole) - 1, 37):
        path.write_bytes(whole[:size])
        assert load_camera(folder, "sandbank", "key") is None


def test_a_damaged_value_means_again(folder: Path) -> None:
    save_camera(folder, a_night(digs=[a_placed()]), "key")
    path = folder / "work" / "sandbank.json"
    kept = json.loads(path.read_text("utf-8"))
    kept["result"]["digs"][0]["dig"]["call"] = "neest"
    path.write_text(json.dumps(kept), "utf-8")
    assert load_camera(folder, "sandbank", "key") is None


def test_a_picture_that_has_gone_means_again(folder: Path) -> None:
    placed = replace(a_placed(), pictures={**NO_PICTURES, "after": "pictures/a.jpg"})
    save_camera(folder, a_night(digs=[placed]), "key")
    assert load_camera(folder, "sandbank", "key") is not None
    (folder / "pictures" / "a.jpg").unlink()
    assert load_camera(folder, "sandbank", "key") is None


def test_cameras_whose_names_differ_little_are_kept_apart(folder: Path) -> None:
    names = ["Pen 1", "pen 1", "pen/1", "pen-1", "../pen 1", "сад", "пруд", "con", ""]
    for name in names:
        save_camera(folder, a_night(name), "key")
    assert len({file_name(name).casefold() for name in names}) == len(names)
    for name in names:
        night = load_camera(folder, name, "key")
        assert night is not None
        assert night.account.camera == name


def test_no_temporary_file_stays(folder: Path) -> None:
    save_camera(folder, a_night(), "key")
    assert [path.name for path in (folder / "work").iterdir()] == ["sandbank.json"]


def test_a_file_in_the_way_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "work").write_text("not a folder")
    with pytest.raises(OutputError, match=r"^cannot write .*sandbank\.json: .*; .*$"):
        save_camera(tmp_path, a_night(), "key")
