"""Posts from a tape: a textbook's network, sums by hand, scipy, mistakes in known shapes, what is open."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import least_squares

from nestwatch.site.gaps import survey_gaps
from nestwatch.site.measurements import Known, as_measurements
from nestwatch.site.records import Square, Tape
from nestwatch.site.survey import Survey, solve_posts

Floats = NDArray[np.float64]

# A pen of 4.2 x 3 m with a stake inside, in the order that gives the default sense.
PEN = {"a": (0.0, 0.0), "b": (4.2, 0.0), "c": (4.2, 3.0), "d": (0.0, 3.0), "e": (2.0, 1.4)}
BRACED = ["ab", "bc", "cd", "da", "ac", "bd", "ea", "eb", "ec"]


def tapes(pairs: Sequence[str], *, errors: dict[str, float] | None = None) -> list[Tape]:
    """Distances of the pen above, some of them wrong by so many metres."""
    off = errors or {}
    return [
        Tape((p[0], p[1]), float(np.hypot(*np.subtract(PEN[p[0]], PEN[p[1]]))) + off.get(p, 0.0))
        for p in pairs
    ]


def solved(pairs: Sequence[str], **more: object) -> Survey:
    return solve_posts(list(PEN), tapes=tapes(pairs), **more)  # type: ignore[arg-type]


def pen_shape() -> Floats:
    return np.array(list(PEN.values()))


def ghilani() -> Survey:
    """Ghilani, Adjustment Computations, example 14.2: station U from three control stations, in feet. The
    observations and coordinates as given in the worksheet "Adjustment of Horizontal Surveys: Trilateration"
    (geolabsolutions.com, theory course resources). The printed answer was not seen."""
    control = {"A": (865.40, 4527.15), "B": (2432.55, 2047.25), "C": (2865.22, 27.15)}
    measured = {"A": 6049.00, "B": 4736.83, "C": 5446.49}
    return solve_posts(
        ["U", *control],
        known=[Known(name, at, 0.0) for name, at in control.items()],
        tapes=[Tape((name, "U"), length, 0.05) for name, length in measured.items()],
    )


def test_textbook_trilateration_agrees_with_the_textbook_method() -> None:
    """The book's own way (iterate J dx = K; S0 and standard deviations from the inverse), written out."""
    control = np.array([[865.40, 4527.15], [2432.55, 2047.25], [2865.22, 27.15]])
    measured = np.array([6049.00, 4736.83, 5446.49])
    at = np.array([6865.0, 3725.0])
    for _ in range(10):
        lengths = np.linalg.norm(at - control, axis=1)
        slope = (at - control) / lengths[:, np.newaxis]
        at = at + np.linalg.solve(slope.T @ slope, slope.T @ (measured - lengths))
    left = np.linalg.norm(at - control, axis=1) - measured
    unit = np.sqrt(left @ left / (3 - 2))
    found = ghilani()
    np.testing.assert_allclose(found.at[0], at, atol=1e-4)
    np.testing.assert_allclose([check.residual for check in found.checks], left, atol=1e-5)
    assert found.sigma0 == pytest.approx(unit / 0.05, rel=1e-4)
    own = unit * np.sqrt(np.diag(np.linalg.inv(slope.T @ slope)))
    np.testing.assert_allclose(np.sqrt(np.diag(found.covariance))[:2], own, rtol=1e-4)


def test_textbook_trilateration_agrees_with_scipy() -> None:
    control = np.array([[865.40, 4527.15], [2432.55, 2047.25], [2865.22, 27.15]])
    measured = np.array([6049.00, 4736.83, 5446.49])
    other = least_squares(
        lambda at: np.hypot(*(control - at).T) - measured, [6865.0, 3725.0], xtol=1e-14, ftol=1e-14
    )
    np.testing.assert_allclose(ghilani().at[0], other.x, atol=1e-4)


def test_two_triangles_of_3_4_5_by_hand() -> None:
    """P above (4, 0) at height 3: 5 m from (0, 0) and from (8, 0), and 3 m from (4, 0), measured as 3.03.

    By symmetry x = 4. Slopes of the three distances with height: 3/5, 3/5, 1, so the height moves by
    0.03 / (0.36 + 0.36 + 1) = 0.01744; its variance is sigma^2 / 1.72, that of x sigma^2 / (2 x 0.64).
    Redundancies: 1 - 0.64/1.28 - 0.36/1.72 = 0.2907 for each long one, 1 - 1/1.72 = 0.4186 for the short.
    """
    known = [Known("l", (0.0, 0.0), 0.0), Known("r", (8.0, 0.0), 0.0), Known("m", (4.0, 0.0), 0.0)]
    far = [Known("t", (4.0, 9.0), 0.0)]
    measured = [Tape(("l", "p"), 5.0), Tape(("r", "p"), 5.0), Tape(("m", "p"), 3.03)]
    found = solve_posts(["p", "l", "r", "m", "t"], known=known + far, tapes=measured)
    assert found.at[0, 0] == pytest.approx(4.0, abs=1e-9)
    assert abs(found.at[0, 1]) == pytest.approx(3.01744, abs=1e-4)
    shares = [check.redundancy for check in found.checks]
    assert shares == pytest.approx([0.2907, 0.2907, 0.4186], abs=2e-3)
    scale = max(1.0, found.sigma0) * 0.01
    assert found.covariance[1, 1] == pytest.approx(scale**2 / 1.72, rel=0.02)
    assert found.covariance[0, 0] == pytest.approx(scale**2 / 1.28, rel=0.02)
    # The other two say 3.00 where 3.03 was measured; all three share one test value (one spare measurement).
    assert found.checks[2].mistake == pytest.approx(-0.03, abs=1e-3)
    assert len({round(abs(check.normalised), 2) for check in found.checks}) == 1
    (gap,) = survey_gaps(found)
    assert (gap.kind, gap.posts, gap.add) == ("mirrored", ("p",), ("p", "t"))


def test_without_known_places_the_first_post_is_the_origin_and_the_second_to_its_right() -> None:
    found = solved(BRACED)
    np.testing.assert_allclose(found.at, pen_shape(), atol=1e-6)
    assert found.gauge == '"a" was put at (0, 0) and "b" to its right in x direction'
    assert np.all(found.covariance[:2] == 0)
    assert found.covariance[3, 3] == 0
    assert survey_gaps(found) == ()
    assert found.suspects == ()


def test_one_known_place_moves_the_plan() -> None:
    found = solved(BRACED, known=[Known("c", (10.0, 20.0))])
    assert found.place("c") == (10.0, 20.0)
    assert found.at[0, 1] == pytest.approx(20.0)
    between = [np.linalg.norm(found.at[i] - found.at[j]) for i, j in combinations(range(5), 2)]
    true = [np.linalg.norm(pen_shape()[i] - pen_shape()[j]) for i, j in combinations(range(5), 2)]
    np.testing.assert_allclose(between, true, atol=1e-6)


def test_known_places_fix_turn_and_sense() -> None:
    turned = pen_shape() @ np.array([[0.0, -1.0], [1.0, 0.0]]) * [-1.0, 1.0] + 3.0  # turned and mirrored
    known = [Known(name, (at[0], at[1])) for name, at in zip("abd", turned[[0, 1, 3]], strict=True)]
    found = solved(BRACED, known=known)
    np.testing.assert_allclose(found.at, turned, atol=1e-6)
    assert found.gauge == ""
    assert survey_gaps(found) == ()


def test_right_angles_take_the_place_of_a_diagonal() -> None:
    sides = ["ab", "bc", "cd", "da", "ea", "eb", "ec"]
    without, with_it = solved(sides), solved(sides, squares=[Square("a", ("b", "d"))])
    assert survey_gaps(without) != ()
    assert survey_gaps(with_it) == ()
    np.testing.assert_allclose(with_it.at, pen_shape(), atol=1e-6)
    (angle,) = [check for check in with_it.checks if check.words.startswith("right angle")]
    assert angle.measured == pytest.approx(np.pi / 2)


def test_slopes_agree_with_differences() -> None:
    rng = np.random.default_rng(3)
    at = rng.normal(0, 2, (4, 2))
    found = as_measurements(
        ("p", "q", "r", "s"),
        (Known("s", (1.0, 2.0)),),
        (Tape(("p", "q"), 1.0),),
        (Square("q", ("p", "r")), Square("r", ("s", "p"))),
    )
    for m in found:
        steps = [1e-6 * np.eye(8)[n].reshape(4, 2) for n in range(8)]
        slope = [(m.expected(at + step) - m.expected(at - step)) / 2e-6 for step in steps]
        np.testing.assert_allclose(m.slope(at).ravel(), slope, atol=1e-6)


@pytest.mark.parametrize("wrong", [*BRACED, "fb", "fd"])
@pytest.mark.parametrize("error", [-0.3, 0.12, 0.9])
def test_a_mistyped_distance_is_named_with_what_the_others_say(wrong: str, error: float) -> None:
    """1 cm of ordinary tape error on all; a crooked pen, two stakes inside measured from every corner."""
    every = [*BRACED, "ed", "fa", "fb", "fc", "fd", "fe"]
    shape = {
        "a": (0, 0),
        "b": (4.2, 0.4),
        "c": (3.5, 3.6),
        "d": (-0.6, 2.6),
        "e": (2.1, 1.2),
        "f": (0.9, 2.0),
    }
    rng = np.random.default_rng(11)
    measured = []
    for pair in every:
        length = float(np.hypot(*np.subtract(shape[pair[0]], shape[pair[1]])) + rng.normal(0, 0.01))
        measured.append(Tape((pair[0], pair[1]), length + (error if pair == wrong else 0.0)))
    found = solve_posts(list(shape), tapes=measured)
    suspect = found.checks[found.suspects[0]]
    assert suspect.words == f'"{wrong[0]}" to "{wrong[1]}"'
    assert suspect.mistake == pytest.approx(-error, abs=0.08)


@pytest.mark.parametrize("wrong", ["ab", "bc", "cd", "da"])
def test_in_a_braced_rectangle_with_one_stake_the_sides_cannot_be_told_apart(wrong: str) -> None:
    """A longer side and a longer opposite side give the same misfit: all that explain it alike are named."""
    found = solve_posts(list(PEN), tapes=tapes([*BRACED, "ed"], errors={wrong: -0.3}))
    named = {found.checks[n].words for n in found.suspects}
    assert f'"{wrong[0]}" to "{wrong[1]}"' in named
    assert len(named) <= 4


def test_a_measurement_that_nothing_checks_cannot_be_suspected() -> None:
    """The stake e hangs on two distances only: 50 cm too long shows nowhere, and the record says so."""
    found = solve_posts(list(PEN), tapes=tapes(BRACED[:-1], errors={"ea": 0.5}))
    assert found.suspects == ()
    hanging = found.checks[6]
    assert hanging.redundancy == pytest.approx(0, abs=1e-9)
    assert np.isnan(hanging.normalised)
    assert np.isnan(hanging.mistake)


def test_two_that_explain_a_misfit_alike_are_both_named() -> None:
    """A braced square has one spare distance: nothing tells which of the six is wrong."""
    names = list(PEN)[:4]
    found = solve_posts(names, tapes=tapes(BRACED[:6], errors={"ac": 0.2}))
    assert len(found.suspects) == 6


def test_the_test_value_squared_is_what_leaving_it_out_gains() -> None:
    """Baarda's w-test against plain re-solving, with ordinary errors where first order holds."""
    rng = np.random.default_rng(5)
    every = tapes([*BRACED, "ed"], errors={pair: float(rng.normal(0, 0.01)) for pair in [*BRACED, "ed"]})
    found = solve_posts(list(PEN), tapes=every)
    spare = len(every) - 7

    def misfit(survey: Survey, count: int) -> float:
        return survey.sigma0**2 * count

    for n, check in enumerate(found.checks):
        without = solve_posts(list(PEN), tapes=every[:n] + every[n + 1 :])
        gained = misfit(found, spare) - misfit(without, spare - 1)
        assert check.normalised**2 == pytest.approx(gained, abs=0.05)
        pair = [list(PEN).index(name) for name in every[n].between]
        said = float(np.linalg.norm(without.at[pair[0]] - without.at[pair[1]]))
        assert check.mistake == pytest.approx(said - every[n].metres, abs=2e-3)
    assert sum(check.redundancy for check in found.checks) == pytest.approx(spare)


def test_stated_covariance_is_what_happens() -> None:
    """300 draws of 1 cm tape errors: spread of every coordinate within 15 % of the stated sigma."""
    rng = np.random.default_rng(2)
    found = []
    for _ in range(300):
        errors = {pair: float(rng.normal(0, 0.01)) for pair in BRACED}
        found.append(solve_posts(list(PEN), tapes=tapes(BRACED, errors=errors)).at.ravel())
    stated = np.sqrt(np.diag(solved(BRACED).covariance))
    spread = np.std(found, axis=0)
    assert np.all(np.abs(spread - stated)[stated > 0] < 0.15 * stated[stated > 0])
    assert np.all(spread[stated == 0] < 1e-9)


def test_ellipse_of_a_post_at_two_distances_by_hand() -> None:
    """Distances cross at a right angle (3-4-5 triangle, sigma 1 and 3 cm): the half axes are those sigmas,
    the long one along the worse tape. That tape runs from (5, 0) to P at (1.8, 2.4): direction (-4, 3)/5."""
    known = [Known("l", (0.0, 0.0), 0.0), Known("r", (5.0, 0.0), 0.0)]
    found = solve_posts(
        ["l", "r", "p"], known=known, tapes=[Tape(("l", "p"), 3.0, 0.01), Tape(("r", "p"), 4.0, 0.03)]
    )
    ellipse = found.ellipse("p")
    assert (ellipse.major_m, ellipse.minor_m) == pytest.approx((0.03, 0.01))
    turn = np.degrees(np.arctan2(3, -4))
    side = 1 if found.place("p")[1] > 0 else -1
    assert ellipse.turn_deg == pytest.approx((side * turn) % 180)


@pytest.mark.parametrize(
    ("pairs", "kind", "posts"),
    [
        pytest.param(["ab", "bc", "cd", "da"], "loose", "cde", id="a ring and a post without distances"),
        pytest.param([*BRACED[:6], "ea"], "loose", "e", id="one distance"),
        pytest.param(BRACED[:-1], "mirrored", "e", id="two distances"),
        pytest.param([], "loose", "bcde", id="nothing"),
    ],
)
def test_what_is_open_is_named_and_the_proposed_distances_close_it(
    pairs: list[str], kind: str, posts: str
) -> None:
    found = solved(pairs)
    (gap, *_) = survey_gaps(found)
    assert (gap.kind, gap.posts) == (kind, tuple(posts))
    for _ in range(10):
        gaps = survey_gaps(found)
        if not gaps:
            break
        assert gaps[0].add is not None
        pairs = [*pairs, "".join(gaps[0].add)]
        found = solved(pairs)
    assert survey_gaps(found) == ()
    between = np.linalg.norm(found.at[:, np.newaxis] - found.at, axis=2)
    true = np.linalg.norm(pen_shape()[:, np.newaxis] - pen_shape(), axis=2)
    np.testing.assert_allclose(between, true, atol=1e-5)


def test_a_loose_post_has_no_ellipse_and_leaves_the_others_theirs() -> None:
    found = solved([*BRACED[:6], "ea"])
    assert np.isnan(found.ellipse("e").major_m)
    assert 0 < found.ellipse("c").major_m < 0.03


def test_two_known_places_leave_the_mirror_image() -> None:
    known = [Known("a", (0.0, 0.0)), Known("b", (4.2, 0.0))]
    (gap,) = survey_gaps(solved(BRACED, known=known))
    assert gap.sentence() == (
        '"c", "d" and "e" could as well lie mirrored, on the other side with all measurements kept; '
        "give the place of one more post"
    )


def test_sentence_proposes_the_distance() -> None:
    (gap,) = survey_gaps(solved(BRACED[:-1]))
    assert gap.sentence() == (
        '"e" could as well lie mirrored, on the other side with all measurements kept; measure "d" to "e"'
    )


def test_the_same_measurements_always_give_the_same_places() -> None:
    np.testing.assert_array_equal(solved(BRACED).at, solved(BRACED).at)
