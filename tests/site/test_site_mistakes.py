"""One test for each mistake in pens, cameras, zones and marks, with the whole line that is said."""

from __future__ import annotations

from pathlib import Path

import pytest

from nestwatch.site import load_site
from tests.site.sites import GOOD, said, spoiled, written

MISTAKES = [
    pytest.param(
        'nesting_hours = ["18:00", "03:00"]',
        'nesting_hours = ["10:00", "15:00"]',
        ", line 16: [animal] nesting_hours: lie outside the night; change them or [site] night.",
        id="hours outside",
    ),
    pytest.param(
        "outline = [[0, 0], [4.2, 0], [4.2, 3.0], [0, 3.0]]",
        "outline = [[0, 0], [4.2, 0]]",
        ', line 19: pen "sand pen", outline: has 2 different corners but needs at least 3; draw it again.',
        id="pen corners",
    ),
    pytest.param(
        "outline = [[0, 0], [4.2, 0], [4.2, 3.0], [0, 3.0]]",
        "outline = [[0, 0], [0.05, 0], [0.05, 0.05]]",
        ', line 19: pen "sand pen", outline: holds only 0.00125 m², at least 0.01 are '
        "needed; draw it larger.",
        id="pen tiny",
    ),
    pytest.param(
        'name = "post_nw"',
        'name = "Post_NE"',
        ', line 30: pen "sand pen", post "Post_NE", name: "Post_NE" is already the name '
        "of another post; change one. (1 more mistake in this file.)",
        id="post twice",
    ),
    pytest.param(
        'name = "sandbank"',
        'name = "sand/bank"',
        ', line 33: camera "sand/bank", name: "sand/bank" holds \'/\'; names go into file '
        'names, so leave out / \\ : * ? " < > | (letters, digits, spaces, - and _ are '
        "safe).",
        id="camera name",
    ),
    pytest.param(
        'name = "sandbank"',
        'name = "con"',
        ', line 33: camera "con", name: "con" is a name that Windows keeps for itself; choose another.',
        id="camera name reserved",
    ),
    pytest.param(
        'name = "sandbank"',
        'name = "sandbank."',
        ', line 33: camera "sandbank.", name: "sandbank." may not begin or end with a '
        "space or full stop, nor be longer than 60 letters.",
        id="camera name dot",
    ),
    pytest.param(
        'pen = "sand pen"',
        'pen = "sandpen"',
        ', line 34: camera "sandbank", pen: there is no pen "sandpen"; did you mean "sand pen"?',
        id="camera pen",
    ),
    pytest.param(
        'pen = "sand pen"',
        'pen = "meadow"',
        ', line 34: camera "sandbank", pen: there is no pen "meadow"; pens here are sand pen.',
        id="camera pen2",
    ),
    pytest.param(
        'stamp = "sandbank_%Y%m%dT%H%M%S"',
        'stamp = "sandbank_%Y%m%dT%H"',
        ', line 36: camera "sandbank", stamp: "sandbank_%Y%m%dT%H" does not tell the '
        "minute; a start needs %Y %m %d %H %M.",
        id="stamp no minute",
    ),
    pytest.param(
        'stamp = "sandbank_%Y%m%dT%H%M%S"',
        'stamp = "sandbank_%Y%m%dT%H%M%S.mp4"',
        ', line 36: camera "sandbank", stamp: "sandbank_%Y%m%dT%H%M%S.mp4" must leave '
        'out the file\'s ending; drop ".mp4".',
        id="stamp ending",
    ),
    pytest.param(
        'stamp = "sandbank_%Y%m%dT%H%M%S"',
        'stamp = "%Y/%m/%d/%H%M"',
        ', line 36: camera "sandbank", stamp: "%Y/%m/%d/%H%M" is matched against the '
        "file's own name; leave folders out.",
        id="stamp folder",
    ),
    pytest.param(
        'stamp = "sandbank_%Y%m%dT%H%M%S"',
        'stamp = "%F_%H%M"',
        ', line 36: camera "sandbank", stamp: "%F_%H%M" holds %F, which is not known; '
        "use %Y %m %d %H %M %S (docs/site-file.md).",
        id="stamp directive",
    ),
    pytest.param(
        'stamp = "sandbank_%Y%m%dT%H%M%S"',
        'stamp = "%Y%m%d_%Y_%H%M"',
        ', line 36: camera "sandbank", stamp: "%Y%m%d_%Y_%H%M" names a part twice or '
        "cannot be read back; use each of %Y %m %d %H %M once.",
        id="stamp twice",
    ),
    pytest.param(
        'clock = "local"',
        'clock = "UTC"',
        ', line 37: camera "sandbank", clock: "UTC" is not a clock; write "local" '
        '(follows summer time), "utc", or for example "+02:00".',
        id="clock",
    ),
    pytest.param(
        'clock = "local"',
        'clock = "+2"',
        ', line 37: camera "sandbank", clock: "+2" is not a clock; write "local" '
        '(follows summer time), "utc", or for example "+02:00".',
        id="clock offset",
    ),
    pytest.param(
        "clock_error_s = 0",
        'clock_error_s = "0"',
        ', line 38: camera "sandbank", clock_error_s: must be a number without quotes, not "0".',
        id="clock err",
    ),
    pytest.param(
        "picture = [960, 540]",
        "picture = [960.5, 540]",
        ', line 39: camera "sandbank", picture, value 1: must be a whole number without quotes, not 960.5.',
        id="picture",
    ),
    pytest.param(
        "picture = [960, 540]",
        "picture = [960, 5]",
        ', line 39: camera "sandbank", picture: must lie between 16 and 20000.',
        id="picture size",
    ),
    pytest.param(
        'kind = "nesting"',
        'kind = "nestin"',
        ', line 42: camera "sandbank", zone "sand bank", kind: "nestin" is not known; '
        'write "nesting", "water" or "ignore"; did you mean "nesting"?',
        id="kind",
    ),
    pytest.param(
        'kind = "nesting"',
        'kind = "ignore"',
        ', line 40: camera "sandbank", zone: no camera has a nesting zone, so no dig can '
        'be found; add a [[camera.zone]] of kind = "nesting".',
        id="no nesting",
    ),
    pytest.param(
        "outline = [[120, 60], [700, 55], [900, 500], [40, 500]]",
        "outline = [[120, 60], [700, 55], [120, 60]]",
        ', line 43: camera "sandbank", zone "sand bank", outline: has 2 different '
        "corners but needs at least 3; draw it again.",
        id="zone corners",
    ),
    pytest.param(
        "outline = [[120, 60], [700, 55], [900, 500], [40, 500]]",
        "outline = [[100, 100], [500, 500], [500, 100], [100, 500]]",
        ', line 43: camera "sandbank", zone "sand bank", outline: crosses or touches '
        "itself near (300, 300); put the corners in order round the edge.",
        id="zone cross",
    ),
    pytest.param(
        "outline = [[120, 60], [700, 55], [900, 500], [40, 500]]",
        "outline = [[120, 60], [700, 55], [1900, 500], [40, 500]]",
        ', line 43: camera "sandbank", zone "sand bank", outline, corner 3: (1900, 500) '
        "lies outside the picture of 960 x 540 pixels; move it inside, or correct "
        "picture.",
        id="zone outside",
    ),
    pytest.param(
        "outline = [[120, 60], [700, 55], [900, 500], [40, 500]]",
        "outline = [[120, 60], [125, 60], [125, 65]]",
        ', line 43: camera "sandbank", zone "sand bank", outline: holds only 12.5 square '
        "pixels, at least 259 are needed; draw it larger.",
        id="zone tiny",
    ),
    pytest.param(
        "outline = [[120, 60], [700, 55], [900, 500], [40, 500]]",
        "outline = [[120, 60], [700, 55, 3], [900, 500], [40, 500]]",
        ', line 43: camera "sandbank", zone "sand bank", outline, corner 2: must hold '
        "exactly two values, not 3.",
        id="zone corner 3",
    ),
    pytest.param(
        "outline = [[120, 60], [700, 55], [900, 500], [40, 500]]",
        "outline = [[120, 60], [220, 60], [320, 60]]",
        ', line 43: camera "sandbank", zone "sand bank", outline: has all its corners on '
        "one line; draw it again.",
        id="zone line",
    ),
    pytest.param(
        'name = "pool"',
        'name = "Sand Bank"',
        ', line 45: camera "sandbank", zone "Sand Bank", name: "Sand Bank" is already '
        "the name of another zone; change one.",
        id="zone twice",
    ),
    pytest.param(
        '[[camera.mark]]\npost = "post_nw"',
        '[[camera.mark]]\npost = "post_wn"',
        ', line 58: camera "sandbank", mark "post_wn", post: pen "sand pen" has no post '
        '"post_wn"; did you mean "post_sw"?',
        id="mark post",
    ),
    pytest.param(
        '[[camera.mark]]\npost = "post_nw"',
        '[[camera.mark]]\npost = "post_ne"',
        ', line 57: camera "sandbank", mark "post_ne": this post is pointed at twice; '
        "keep one of the two marks.",
        id="mark twice",
    ),
    pytest.param(
        "pixel = [940.0, 410.0]",
        "pixel = [970.0, 410.0]",
        ', line 53: camera "sandbank", mark "post_se", pixel: (970, 410) lies outside '
        "the picture of 960 x 540 pixels; move it inside, or correct picture.",
        id="mark outside",
    ),
    pytest.param(
        "pixel = [230.0, 42.0]",
        "pixel = [14.0, 402.5]",
        ', line 48: camera "sandbank", mark: "post_sw" and "post_nw" lie at the same '
        "place in the picture; correct one of them.",
        id="mark line",
    ),
    pytest.param(
        "pixel = [230.0, 42.0]",
        "pixel = [830.0, 225.0]",
        ', line 48: camera "sandbank", mark: "post_se", "post_ne" and "post_nw" lie on '
        "one line in the picture, which does not fix where things are; add a mark well "
        "off that line.",
        id="mark collinear",
    ),
    pytest.param(
        'pixel = [940.0, 410.0]\n[[camera.mark]]\npost = "post_ne"\npixel = [720.0, 40.0]',
        'pixel = [720.0, 40.0]\n[[camera.mark]]\npost = "post_ne"\npixel = [940.0, 410.0]',
        ', line 48: camera "sandbank", mark: "post_sw", "post_se", "post_ne" and '
        '"post_nw" contradict each other; two posts are probably swapped.',
        id="mark swapped",
    ),
    pytest.param(
        "latitude = 47.2",
        "latitude = ",
        ", line 5: is not valid TOML (Invalid value); look for a missing quote, bracket "
        "or equals sign there or just before.",
        id="toml",
    ),
    pytest.param(
        "latitude = 47.2",
        "latitude = 47.2\nlatitude = 47.2",
        ", line 6: is not valid TOML (Cannot overwrite a value); a key or table is written twice; keep one.",
        id="toml dup",
    ),
    pytest.param(
        "footage/sandbank",
        "footage\\sandbank",
        ", line 35: is not valid TOML (Unescaped '\\' in a string); write folders with "
        "forward slashes, such as footage/sandbank.",
        id="toml bs",
    ),
    pytest.param(
        'footage = "footage/sandbank"',
        'footage = ""',
        ', line 35: camera "sandbank", footage: is empty; write something between the quotes.',
        id="empty footage",
    ),
]


@pytest.mark.parametrize(("right", "wrong", "message"), MISTAKES)
def test_mistake_gives_one_line(tmp_path: Path, right: str, wrong: str, message: str) -> None:
    assert said(written(tmp_path, spoiled((right, wrong)))) == message


def test_several_mistakes_give_the_first_and_how_many_more(tmp_path: Path) -> None:
    text = spoiled(
        ("latitude = 47.2", "latitude = 147.2"), ('"sand bank"', '""'), ("[14.0, 402.5]", "[14.0]")
    )
    assert said(written(tmp_path, text)) == (
        ", line 5: [site] latitude: 147.2 is out of range; it must be at most 90. "
        "(2 more mistakes in this file.)"
    )


def test_mistakes_of_meaning_are_counted_too(tmp_path: Path) -> None:
    text = spoiled(('pen = "sand pen"', 'pen = "send pen"'), ("[900, 500]", "[900, 600]"))
    assert said(written(tmp_path, text)) == (
        ', line 43: camera "sandbank", zone "sand bank", outline, corner 3: (900, 600) lies outside the '
        "picture of 960 x 540 pixels; move it inside, or correct picture. (1 more mistake in this file.)"
    )


def test_two_pens_and_a_camera_that_names_none(tmp_path: Path) -> None:
    second = '[[pen]]\nname = "pond"\noutline = [[0, 0], [2, 0], [2, 2]]\n'
    text = spoiled(('pen = "sand pen"\n', "")) + second
    assert said(written(tmp_path, text)) == (
        ', line 32: camera "sandbank": which pen does it look at? Add for example pen = "sand pen".'
    )


def test_marks_without_a_pen(tmp_path: Path) -> None:
    pen, camera = GOOD.index("[[pen]]"), GOOD.index("[[camera]]")
    text = (GOOD[:pen] + GOOD[camera:]).replace('pen = "sand pen"\n', "")
    assert said(written(tmp_path, text)) == (
        ', line 32: camera "sandbank", mark "post_sw": there is no pen with posts; add a table [[pen]] or '
        "take the marks out."
    )


@pytest.mark.parametrize("rest", ["", "camera = []\n"])
def test_no_camera(tmp_path: Path, rest: str) -> None:
    text = rest + GOOD[: GOOD.index("[[camera]]")]
    assert said(written(tmp_path, text)).endswith(
        ": [[camera]]: missing; add a table [[camera]] (docs/site-file.md shows one)."
    )


def test_no_animal(tmp_path: Path) -> None:
    text = GOOD[: GOOD.index("[animal]")] + GOOD[GOOD.index("[[pen]]") :]
    assert said(written(tmp_path, text)) == (
        ": [animal]: missing; add a table [animal] (docs/site-file.md shows one)."
    )


def test_a_nesting_zone_in_the_sky(tmp_path: Path) -> None:
    """The far posts at y = 250 and the near ones at y = 500, half as far apart: the horizon is at y = 0."""
    text = spoiled(
        ("[14.0, 402.5]", "[80, 500]"),
        ("[940.0, 410.0]", "[880, 500]"),
        ("[720.0, 40.0]", "[680, 250]"),
        ("[230.0, 42.0]", "[280, 250]"),
    ).replace("[120, 60], [700, 55]", "[120, -0.5], [700, 55]")
    assert said(written(tmp_path, text)) == (
        ', line 43: camera "sandbank", zone "sand bank", outline: reaches above the horizon that the marks '
        "give; correct the outline, or marks and posts."
    )
    assert load_site(written(tmp_path, text.replace("[120, -0.5]", "[120, 0.5]")))


def test_no_such_file(tmp_path: Path) -> None:
    assert said(tmp_path / "site.toml") == ": there is no such file; check the name, or run: nestwatch demo"


def test_a_folder(tmp_path: Path) -> None:
    assert said(tmp_path) == f": is a folder; name the site file in it, such as {tmp_path / 'site.toml'}."


def test_not_utf8(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    path.write_bytes('name = "Züge"'.encode("latin-1"))
    assert said(path) == ": is not text in UTF-8; save it again as UTF-8."


def test_unreadable(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = written(tmp_path)

    def refuse(_self: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", refuse)
    assert said(path) == ": cannot be read (Permission denied); check who may read it."
