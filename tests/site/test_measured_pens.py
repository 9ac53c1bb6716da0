"""Pens measured with a tape, in the site file: what is read, what is said about mistakes and doubts."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from nestwatch.site import load_site, plan_map, site_notes
from nestwatch.site.pens import pen_survey, post_covariance
from tests.site.sites import GOOD, said, written

PLACES = {
    "post_sw": "[0.0, 0.0]", "post_se": "[4.2, 0.0]", "post_ne": "[4.2, 3.0]", "post_nw": "[0.0, 3.0]"
}  # fmt: skip
# 4.2 m and 3 m as a tape in feet shows them, to the quarter inch: 13' 9 1/4" (4.1974) and 9' 10" (2.9972);
# the diagonal sqrt(4.2^2 + 3^2) = 5.161 m is 16' 11 1/4" (5.1626). By hand.
TAPES = """\
[[pen.tape]]
between = ["post_sw", "post_se"]
length = "13' 9 1/4\\""
[[pen.tape]]
between = ["post_se", "post_ne"]
length = "9' 10\\""
[[pen.tape]]
between = ["post_ne", "post_nw"]
length = 4.2
[[pen.tape]]
between = ["post_nw", "post_sw"]
length = "300 cm"
[[pen.tape]]
between = ["post_sw", "post_ne"]
length = "16 ft 11 1/4 in"
"""
SQUARE = '[[pen.square]]\nat = "post_sw"\nbetween = ["post_se", "post_nw"]\n'


def measured(extra: str = TAPES + SQUARE, *, keep: tuple[str, ...] = ()) -> str:
    """The good site file with its posts' places left out (but for `keep`) and measurements put in."""
    text = GOOD
    for name, place in PLACES.items():
        if name not in keep:
            text = text.replace(f'name = "{name}"\nat = {place}\n', f'name = "{name}"\n')
    return text.replace("[[camera]]\n", f"{extra}[[camera]]\n", 1)


def test_posts_are_solved_from_a_tape(tmp_path: Path) -> None:
    site = load_site(written(tmp_path, measured()))
    pen = site.pens[0]
    at = np.array([post.at for post in pen.posts])
    np.testing.assert_allclose(at, np.array([[0.0, 0], [4.2, 0], [4.2, 3], [0, 3]]), atol=0.01)
    assert [post.name for post in pen.posts] == list(PLACES)
    assert len(pen.tapes) == 5
    assert len(pen.squares) == 1
    assert post_covariance(pen).shape == (8, 8)
    assert 0.003 < np.sqrt(post_covariance(pen)[5, 5]) < 0.02
    assert plan_map(site, site.cameras[0]) is not None
    assert not any("pen" in note and "given as" in note for note in site_notes(site))


def test_given_places_need_no_tape_and_are_kept_as_written(tmp_path: Path) -> None:
    pen = load_site(written(tmp_path)).pens[0]
    assert pen.post_covariance is None
    assert pen_survey(pen) is None
    np.testing.assert_array_equal(post_covariance(pen), np.eye(8) * 1e-4)


def test_given_places_and_tapes_are_adjusted_together(tmp_path: Path) -> None:
    pen = load_site(written(tmp_path, measured(keep=tuple(PLACES)))).pens[0]
    assert len(pen.known) == 4
    assert pen.posts[1].at != (4.2, 0.0)
    assert np.hypot(*np.subtract(pen.posts[1].at, (4.2, 0.0))) < 0.01
    survey = pen_survey(pen)
    assert survey is not None
    for name, post in zip(survey.posts, pen.posts, strict=True):
        assert survey.place(name) == pytest.approx(post.at, abs=1e-9)


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_a_doubtful_length_is_a_note_in_the_keepers_units(tmp_path: Path, units: str) -> None:
    wrong = TAPES.replace("length = 4.2", "length = 2.4")
    text = measured(wrong, keep=tuple(PLACES)).replace('"metric"', f'"{units}"')
    note, *_ = site_notes(load_site(written(tmp_path, text)))
    shown = {"metric": ("2.40 m", "4.20 m"), "imperial": ("7' 10 1/2\"", "13' 9 1/4\"")}[units]
    assert note.startswith(
        f'pen "sand pen": "post_ne" to "post_nw" is given as {shown[0]}, but all the rest '
    )
    assert note.endswith("; measure it again.")


MISTAKES = [
    pytest.param(
        measured(TAPES.replace('["post_sw", "post_ne"]', '["post_sw", "post_nee"]')),
        ', line 41: pen "sand pen", tape 5, between: pen "sand pen" has no post "post_nee"; '
        'did you mean "post_ne"?',
        id="unknown post",
    ),
    pytest.param(
        measured(TAPES + SQUARE.replace('"post_nw"', '"hut"')),
        ', line 45: pen "sand pen", square 1, between: pen "sand pen" has no post "hut"; '
        "add it as a [[pen.post]].",
        id="unknown post far",
    ),
    pytest.param(
        measured(TAPES.replace('["post_sw", "post_ne"]', '["post_sw", "post_sw"]')),
        ', line 41: pen "sand pen", tape 5, between: names "post_sw" twice; name different posts.',
        id="to itself",
    ),
    pytest.param(
        measured(TAPES.replace('"300 cm"', '"300"')),
        ", line 39: pen \"sand pen\", tape 4, length: '300' has no unit; write for example 3.46 m, 346 cm or "
        "11' 4 1/2\".",
        id="no unit",
    ),
    pytest.param(
        measured(TAPES.replace("length = 4.2", "length = [4, 2]")),
        ', line 36: pen "sand pen", tape 3, length: [4, 2] is not a length; write a number of metres, or '
        "text such as 3.46 m, 346 cm or 11' 4 1/2\".",
        id="list",
    ),
    pytest.param(
        measured(TAPES.replace("length = 4.2\n", "")),
        ', line 34: pen "sand pen", tape 3, length: missing; add for example length = 4.2.',
        id="no length",
    ),
    pytest.param(
        measured("".join(TAPES.partition("[[pen.tape]]\nbetween = [\"post_sw\", \"post_ne\"]")[0])),
        ', line 28: pen "sand pen", tape: "post_ne" and "post_nw" can still move with all measurements kept; '
        'measure "post_se" to "post_nw".',
        id="loose",
    ),
    pytest.param(
        measured("", keep=("post_sw", "post_se", "post_nw")),
        ', line 26: pen "sand pen", post "post_ne": at: missing; add for example at = [0.0, 0.0], or measure '
        "it with [[pen.tape]].",
        id="no place",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("text", "message"), MISTAKES)
def test_mistakes_in_measurements(tmp_path: Path, text: str, message: str) -> None:
    assert said(written(tmp_path, text)) == message
