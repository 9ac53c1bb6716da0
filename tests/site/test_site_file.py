"""What a good site file becomes, and what is accepted though it is written in another way."""

from __future__ import annotations

import re
from datetime import time
from pathlib import Path

import pytest

from nestwatch.errors import SiteError
from nestwatch.site import load_site, site_notes
from nestwatch.site.records import Animal, Camera, Mark, Pen, Post, Zone
from tests.site.sites import GOOD, spoiled, written


def test_every_key_arrives_in_the_records(tmp_path: Path) -> None:
    site = load_site(written(tmp_path))
    assert (site.path, site.name, site.timezone) == (tmp_path / "site.toml", "Linden Fen", "Europe/Paris")
    assert (site.latitude, site.longitude, site.units) == (47.2, 1.6, "metric")
    assert site.night == (time(16), time(9))
    assert site.animal == Animal(
        name="European pond turtle",
        shell_length_cm=(12, 20),
        clutch_size=(5, 17),
        incubation_c=(27, 30),
        incubation_days=(55, 75),
        nesting_season=((5, 15), (7, 20)),
        nesting_hours=(time(18), time(3)),
    )
    posts = (("post_sw", 0, 0), ("post_se", 4.2, 0), ("post_ne", 4.2, 3), ("post_nw", 0, 3))
    outline = ((0, 0), (4.2, 0), (4.2, 3), (0, 3))
    assert site.pens == (Pen("sand pen", outline, tuple(Post(name, (x, y)) for name, x, y in posts)),)
    assert site.cameras == (
        Camera(
            name="sandbank",
            pen="sand pen",
            footage=tmp_path / "footage" / "sandbank",
            stamp="sandbank_%Y%m%dT%H%M%S",
            clock="local",
            clock_error_s=0,
            picture=(960, 540),
            zones=(
                Zone("sand bank", "nesting", ((120, 60), (700, 55), (900, 500), (40, 500))),
                Zone("pool", "water", ((10, 10), (100, 10), (100, 50), (10, 50))),
            ),
            marks=(
                Mark("post_sw", (14, 402.5)),
                Mark("post_se", (940, 410)),
                Mark("post_ne", (720, 40)),
                Mark("post_nw", (230, 42)),
            ),
        ),
    )
    assert site.pen_of(site.cameras[0]) is site.pens[0]


SHORTEST = """\
format = "nestwatch-site/1"
[site]
name = "Linden Fen"
timezone = "Europe/Paris"
latitude = 47
longitude = 2
[animal]
name = "turtle"
shell_length_cm = [12, 20]
[[camera]]
name = "one"
footage = "."
picture = [640, 360]
zone = [{name = "sand", kind = "nesting", outline = [[9, 9], [600, 9], [300, 300]]}]
"""


def test_what_may_be_left_out(tmp_path: Path) -> None:
    site = load_site(written(tmp_path, SHORTEST))
    camera = site.cameras[0]
    assert (site.units, site.night, site.pens) == ("metric", (time(16), time(9)), ())
    assert site.animal == Animal("turtle", (12, 20), None, None, None, None, None)
    assert (camera.pen, camera.stamp, camera.clock, camera.clock_error_s) == (None, None, "local", 0)
    assert (camera.footage, camera.marks, site.pen_of(camera)) == (tmp_path, (), None)


def test_the_pen_may_be_left_out_where_there_is_one(tmp_path: Path) -> None:
    site = load_site(written(tmp_path, spoiled(('pen = "sand pen"\n', ""))))
    assert site.cameras[0].pen is None
    assert site.pen_of(site.cameras[0]) is site.pens[0]


def test_a_closed_outline_loses_its_repeated_corner(tmp_path: Path) -> None:
    closed = spoiled(("[100, 50], [10, 50]]", "[100, 50], [10, 50], [10, 10]]"))
    assert load_site(written(tmp_path, closed)) == load_site(written(tmp_path))


def test_a_windows_file_reads_the_same(tmp_path: Path) -> None:
    """An editor's mark at the beginning, and its line ends."""
    plain = load_site(written(tmp_path))
    (tmp_path / "site.toml").write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert load_site(tmp_path / "site.toml") == plain


def test_footage_elsewhere_is_taken_as_it_is(tmp_path: Path) -> None:
    elsewhere = (tmp_path / "disk" / "ümlaut").as_posix()
    site = load_site(written(tmp_path, spoiled(("footage/sandbank", elsewhere))))
    assert site.cameras[0].footage == Path(elsewhere)


def test_footage_is_relative_to_the_file_wherever_it_is_read_from(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "deep").mkdir()
    written(tmp_path / "deep")
    monkeypatch.chdir(tmp_path)
    assert load_site(Path("deep/site.toml")).cameras[0].footage == tmp_path / "deep" / "footage" / "sandbank"


@pytest.mark.parametrize("corner", ["[-1, -1]", "[961, 541]"])
def test_an_outline_may_touch_the_pictures_edge(tmp_path: Path, corner: str) -> None:
    """Within one pixel, as drawing tools round."""
    text = (
        spoiled(("[900, 500]", corner), ("[40, 500]", "[500, 530]"))
        if "9" in corner
        else spoiled(("[120, 60]", corner))
    )
    assert load_site(written(tmp_path, text))


def test_notes_tell_what_is_allowed_but_costs_something(tmp_path: Path) -> None:
    three = spoiled(('[[camera.mark]]\npost = "post_nw"\npixel = [230.0, 42.0]\n', ""))
    second = '[[camera]]\nname = "pond"\nfootage = "pond"\npicture = [640, 360]\n'
    (four,) = site_notes(load_site(written(tmp_path)))
    assert "unsure by up to 20 cm; one more stake" in four
    assert site_notes(load_site(written(tmp_path, three + second))) == (
        'camera "sandbank" has only 3 marks: its digs get a place in the picture but none on the plan '
        "(4 marks or more, 8 are better).",
        'camera "pond" has no marks: its digs get a place in the picture but none on the plan '
        "(4 marks or more, 8 are better).",
        'camera "pond" has no nesting zone: no digs are looked for in its pictures.',
    )


LINES = GOOD.splitlines()
WRONG = ["7", '"text"', "true", "[]", "[1]", "{}", "nan", '[[1, 2], "x"]', "1979-05-27", '""', "[[]]", "-1e9"]


@pytest.mark.parametrize("number", range(len(LINES)))
def test_a_lost_line_never_ends_in_a_traceback(tmp_path: Path, number: int) -> None:
    text = "\n".join(LINES[:number] + LINES[number + 1 :])
    assert_one_line_or_good(written(tmp_path, text))


@pytest.mark.parametrize("number", [n for n, line in enumerate(LINES) if " = " in line])
def test_a_wrong_value_never_ends_in_a_traceback(tmp_path: Path, number: int) -> None:
    key = LINES[number].split(" = ")[0]
    for value in WRONG:
        text = "\n".join([*LINES[:number], f"{key} = {value}", *LINES[number + 1 :]])
        assert_one_line_or_good(written(tmp_path, text))


def assert_one_line_or_good(path: Path) -> None:
    """It loads, or it says in one line where and what, ending in a full stop, a question or a count."""
    try:
        load_site(path)
    except SiteError as error:
        said = str(error)
        assert re.fullmatch(re.escape(str(path)) + r"(, line \d+)?: [^\n]+[.?)]", said), said


@pytest.mark.parametrize(
    "stamp",
    ["*_%Y%m%d_%H%M%S", "cam*_%Y%m%dT%H%M%S_*", "*%Y-%m-%d*%H.%M*", "*%%_%Y%m%d%H%M", "*_%b %d %Y %I.%M %p"],
)
def test_a_star_in_a_stamp_stands_for_any_letters(tmp_path: Path, stamp: str) -> None:
    text = spoiled(('stamp = "sandbank_%Y%m%dT%H%M%S"', f'stamp = "{stamp}"'))
    assert load_site(written(tmp_path, text)).cameras[0].stamp == stamp
