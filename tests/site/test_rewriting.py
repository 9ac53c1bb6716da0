"""The site file rewritten: only what was drawn changes, every comment stays, nothing is half written."""

from __future__ import annotations

import os
import re
import tomllib
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nestwatch.errors import OutputError, SiteError
from nestwatch.site.blocks import join_blocks, split_blocks
from nestwatch.site.drawing import Drawing, DrawnZone
from nestwatch.site.keep import KEPT, fingerprint, replace_kept, write_new
from nestwatch.site.records import Mark, ZoneKind
from nestwatch.site.rewrite import redrawn

FILE = """\
# Our site. Do not tidy!
format = "nestwatch-site/1"   # never change

[site]
name = "Linden Fen"
timezone = "Europe/Paris"   # summer time!
latitude = 47.2
longitude = 1.6

[animal]
name = "European pond turtle"
shell_length_cm = [12, 20]

[[pen]]
name = "sand pen"
outline = [
    [0, 0], [4.2, 0],   # south wall
    [4.2, 3.0],
    [0, 3.0],
]
[[pen.post]]
name = "post_sw"
at = [0, 0]

# --- the camera on the pole ---
[[camera]]
name = "sandbank"
footage = "footage/sandbank"
picture = [960, 540]

# where they dig
[[camera.zone]]
name = "sand bank"
kind = "nesting"
outline = [   # redrawn in May
    [120, 60],   # by the tree
    [700, 55],
    [900, 500],
    [40, 500],
]

# the pond was dug anew
[[camera.zone]]
kind = "water"   # deep
name = "pool"
outline = [[720, 60], [950, 60], [950, 300], [800, 300]]
# a remark that stands below the pool

# the pole
[[camera.mark]]
post = "post_sw"
pixel = [14.0, 402.5]   # clicked by night

[[camera]]
name = "gate"
footage = "footage/gate"
picture = [640, 360]
"""


def zones(text: str, camera: int = 0) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = tomllib.loads(text)["camera"][camera].get("zone", [])
    return found


def as_drawn(text: str, camera: int = 0) -> Drawing:
    """A file's own drawing."""
    table = tomllib.loads(text)["camera"][camera]
    return Drawing(
        tuple(
            DrawnZone(z["name"], z["kind"], tuple((p[0], p[1]) for p in z["outline"]), z["name"])
            for z in table.get("zone", [])
        ),
        tuple(Mark(m["post"], (m["pixel"][0], m["pixel"][1])) for m in table.get("mark", [])),
    )


def comments(text: str) -> list[str]:
    return re.findall(r"#.*", text)


def test_blocks_joined_are_the_text() -> None:
    blocks = split_blocks(FILE)
    assert join_blocks(blocks) == FILE
    assert [block.keys for block in blocks][-3:] == [("camera", "zone"), ("camera", "mark"), ("camera",)]
    assert split_blocks('a = """\n[[no.header]]\n"""\n[x]\n')[1].keys == ("x",)


def test_what_did_not_change_keeps_every_letter() -> None:
    assert redrawn(FILE, {"sandbank": as_drawn(FILE)}) == FILE
    odd = FILE.replace("[[camera.zone]]", '[[ camera . "zone" ]]', 1)
    assert redrawn(odd, {"sandbank": as_drawn(odd)}) == odd


def test_a_moved_corner_is_one_line_and_no_comment_is_lost() -> None:
    drawn = as_drawn(FILE)
    first = drawn.zones[0]
    moved = Drawing(
        (
            DrawnZone(first.name, first.kind, ((120, 60), (705.5, 51), (900, 500), (40, 500)), first.name),
            drawn.zones[1],
        ),
        drawn.marks,
    )
    out = redrawn(FILE, {"sandbank": moved})
    changed = [new for old, new in zip(FILE.splitlines(), out.splitlines(), strict=True) if old != new]
    assert changed == ["    [705.5, 51],"]
    assert zones(out)[0]["outline"][1] == [705.5, 51]


def test_a_zone_taken_out_leaves_the_comments_of_its_neighbours() -> None:
    drawn = as_drawn(FILE)
    out = redrawn(FILE, {"sandbank": Drawing(drawn.zones[:1], drawn.marks)})
    assert [zone["name"] for zone in zones(out)] == ["sand bank"]
    gone = set(comments(FILE)) - set(comments(out))
    assert gone == {"# the pond was dug anew", "# deep"}  # its own
    out = redrawn(FILE, {"sandbank": Drawing(drawn.zones[1:], drawn.marks)})
    assert "# the pond was dug anew\n[[camera.zone]]" in out


def test_new_zones_and_marks_follow_those_of_their_camera() -> None:
    drawn = as_drawn(FILE)
    new = DrawnZone("heap", "ignore", ((1, 1), (50, 1), (50, 50.5)))
    out = redrawn(
        FILE,
        {
            "sandbank": Drawing((*drawn.zones, new), (*drawn.marks, Mark("post_se", (900, 400)))),
            "gate": Drawing(
                (DrawnZone("lawn", "nesting", ((1, 1), (300, 1), (300, 200))),), (Mark("post_sw", (3, 4)),)
            ),
        },
    )
    assert [zone["name"] for zone in zones(out)] == ["sand bank", "pool", "heap"]
    assert zones(out, 1) == [{"name": "lawn", "kind": "nesting", "outline": [[1, 1], [300, 1], [300, 200]]}]
    assert tomllib.loads(out)["camera"][0]["mark"][1] == {"post": "post_se", "pixel": [900, 400]}
    assert comments(out) == comments(FILE)
    assert "\n\n\n" not in out


def test_renamed_zones_stay_where_they_are() -> None:
    drawn = as_drawn(FILE)
    renamed = DrawnZone("Düne", "ignore", drawn.zones[0].outline, "sand bank")
    out = redrawn(FILE, {"sandbank": Drawing((renamed, drawn.zones[1]), drawn.marks)})
    assert [zone["name"] for zone in zones(out)] == ["Düne", "pool"]
    assert comments(out) == comments(FILE)


def test_swapped_names_do_not_swap_outlines() -> None:
    drawn = as_drawn(FILE)
    one, two = drawn.zones
    swapped = (
        DrawnZone(two.name, one.kind, one.outline, one.name),
        DrawnZone(one.name, two.kind, two.outline, two.name),
    )
    out = redrawn(FILE, {"sandbank": Drawing(swapped, drawn.marks)})
    assert [zone["name"] for zone in zones(out)] == ["pool", "sand bank"]


def test_windows_line_ends_and_a_missing_last_one() -> None:
    windows = FILE.replace("\n", "\r\n")
    out = redrawn(windows, {"sandbank": Drawing((), ())})
    assert "\n" not in out.replace("\r\n", "")
    assert zones(out) == []
    assert redrawn(FILE.rstrip("\n"), {"sandbank": as_drawn(FILE)}).rstrip("\n") == FILE.rstrip("\n")


def test_zones_on_the_cameras_own_lines() -> None:
    inline = (
        FILE[: FILE.index("# where they dig")]
        + 'zone = [{name = "a", kind = "water", outline = [[1, 1], [9, 1], [9, 9]]}]\n'
    )
    new = DrawnZone("b", "nesting", ((1, 1), (50, 1), (50, 50)))
    out = redrawn(inline, {"sandbank": Drawing((*as_drawn(inline).zones, new), ())})
    assert [zone["name"] for zone in zones(out)] == ["a", "b"]


POINT = st.tuples(st.integers(0, 9600).map(lambda n: n / 10), st.integers(0, 5400).map(lambda n: n / 10))
NAMES = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S", "Zs")), min_size=1, max_size=12)


@settings(max_examples=60, deadline=None)
@given(
    names=st.lists(NAMES, max_size=4, unique=True),
    outline=st.lists(POINT, min_size=3, max_size=6),
    keep=st.sets(st.sampled_from(["sand bank", "pool"])),
    kind=st.sampled_from(get_args(ZoneKind)),
)
def test_any_drawing_is_read_back(
    names: list[str], outline: list[tuple[float, float]], keep: set[str], kind: ZoneKind
) -> None:
    old = tuple(zone for zone in as_drawn(FILE).zones if zone.name in keep)
    new = tuple(DrawnZone(name, kind, tuple(outline)) for name in names if name not in keep)
    out = redrawn(FILE, {"sandbank": Drawing((*old, *new), ())})
    assert [zone["name"] for zone in zones(out)] == [zone.name for zone in (*old, *new)]
    assert tomllib.loads(out)["camera"][0].get("mark", []) == []
    assert tomllib.loads(out)["pen"] == tomllib.loads(FILE)["pen"]
    assert "# --- the camera on the pole ---\n[[camera]]" in out


@pytest.fixture
def site_file(tmp_path: Path) -> Path:
    path = tmp_path / "site.toml"
    path.write_text(FILE, encoding="utf-8")
    return path


def test_the_former_version_stays_beside(site_file: Path) -> None:
    before = site_file.read_bytes()
    kept = replace_kept(site_file, b"new", seen=fingerprint(before))
    assert (site_file.read_bytes(), kept.read_bytes()) == (b"new", before)
    for number in range(KEPT + 3):
        replace_kept(site_file, f"{number}".encode(), seen=fingerprint(site_file.read_bytes()))
    assert len(list(site_file.parent.glob("*.before-*"))) == KEPT
    assert len(list(site_file.parent.iterdir())) == KEPT + 1  # no temporary file is left


def test_a_file_changed_meanwhile_is_not_overwritten(site_file: Path) -> None:
    seen = fingerprint(site_file.read_bytes())
    site_file.write_text("changed")
    with pytest.raises(SiteError, match=r"was changed by another program .* nothing is saved"):
        replace_kept(site_file, b"new", seen=seen)
    site_file.unlink()
    with pytest.raises(SiteError, match="is gone since the page was opened"):
        replace_kept(site_file, b"new", seen=seen)


def test_a_read_only_file_is_left_alone(site_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = fingerprint(site_file.read_bytes())
    monkeypatch.setattr(os, "access", lambda *_: False)  # root may write anyway
    with pytest.raises(OutputError, match="is read-only; allow writing to it"):
        replace_kept(site_file, b"new", seen=seen)
    assert site_file.read_text(encoding="utf-8") == FILE


def test_a_full_disk_leaves_the_file_as_it_was(site_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="the disk is full; free some space; then save again"):
        replace_kept(site_file, b"new", seen=fingerprint(site_file.read_bytes()))
    assert site_file.read_text(encoding="utf-8") == FILE


def test_a_new_file_never_overwrites(site_file: Path) -> None:
    with pytest.raises(OutputError, match="is there already and is not overwritten"):
        write_new(site_file, b"new")
    write_new(site_file.with_name("other.toml"), b"new")
    assert site_file.with_name("other.toml").read_bytes() == b"new"
