"""Lengths: against the legal inch and hand-worked sums, rounding to the quarter inch, and there and back."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nestwatch.site.tape import format_length, parse_length


# One inch is 25.4 mm exactly (NIST Special Publication 811, appendix B: from memory, well known).
# The sums are by hand: 11 x 304.8 + 4.5 x 25.4 = 3352.8 + 114.3 = 3467.1 mm.
@pytest.mark.parametrize(
    ("text", "metres"),
    [
        (3.46, 3.46),
        (4, 4.0),
        ("3.46 m", 3.46),
        ("3,46 m", 3.46),
        ("346 cm", 3.46),
        ("3460 mm", 3.46),
        ("3 m 46 cm", 3.46),
        (".5m", 0.5),
        ("11' 4 1/2\"", 3.4671),
        ("11'4-1/2\"", 3.4671),
        ("11 ft 4 1/2 in", 3.4671),
        ("11 FT. 4 1/2 IN.", 3.4671),
        ("11 feet, 4.5 inches", 3.4671),
        ("11′ 4½″", 3.4671),
        ("11’ 4 ½”", 3.4671),
        ("11' 4 1/2''", 3.4671),
        ('136 1/2"', 3.4671),
        ('4 1/2"', 0.1143),
        ('3/4"', 0.01905),
        ("11'", 3.3528),
        ("11.5 ft", 3.5052),
        ("1 foot", 0.3048),
        ("1 inch", 0.0254),
    ],
)
def test_reads(text: float | str, metres: float) -> None:
    assert parse_length(text) == metres


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("3.46", "'3.46' has no unit; write for example 3.46 m, 346 cm or 11' 4 1/2\""),
        ("11' 4 1/2", "'11' 4 1/2' has no unit; write for example 3.46 m, 346 cm or 11' 4 1/2\""),
        ("", "the length is empty; write for example 3.46 m, 346 cm or 11' 4 1/2\""),
        ("long", "'long' is not a length; write for example 3.46 m, 346 cm or 11' 4 1/2\""),
        ("3 yards", "'3 yards' is not a length; write for example 3.46 m, 346 cm or 11' 4 1/2\""),
        ("-3 m", "'-3 m' is not a length; write for example 3.46 m, 346 cm or 11' 4 1/2\""),
        ("4\" 11'", "'4\" 11'' cannot be read; the smaller unit comes last and below one larger"),
        ("11' 13\"", "'11' 13\"' cannot be read; the smaller unit comes last and below one larger"),
        ("11.5' 4\"", "'11.5' 4\"' cannot be read; the smaller unit comes last and below one larger"),
        ("3 m 4 in", "'3 m 4 in' cannot be read; the smaller unit comes last and below one larger"),
        ("1,234 mm", "'1,234 mm' can be read in two ways; write the decimals after a point"),
        ('4 1/0"', "'4 1/0\"' has a fraction over 0; write for example 3.46 m, 346 cm or 11' 4 1/2\""),
        ("0 m", "'0 m' is no length for a tape; it must be above 0 and at most 1000 m"),
        (0, "0 is no length for a tape; it must be above 0 and at most 1000 m"),
        (-2.0, "-2.0 is no length for a tape; it must be above 0 and at most 1000 m"),
        ("3 km", "'3 km' is not a length; write for example 3.46 m, 346 cm or 11' 4 1/2\""),
        (
            True,
            "True is not a length; write a number of metres, or text such as 3.46 m, 346 cm or 11' 4 1/2\"",
        ),
    ],
)
def test_bad_text_is_one_clear_line(text: float | str, said: str) -> None:
    with pytest.raises(ValueError, match=r"\S") as raised:
        parse_length(text)
    assert str(raised.value) == said


# By hand: 1/8 in is 3.175 mm, so 3.46 m = 136.220 in = 136 in + 0.220, nearest quarter 136 1/4 = 11' 4 1/4".
@pytest.mark.parametrize(
    ("metres", "shown"),
    [
        (3.46, "11' 4 1/4\""),
        (3.4671, "11' 4 1/2\""),
        (0.0, '0"'),
        (0.0031, '0"'),
        (0.0032, '1/4"'),
        (0.00952, '1/4"'),
        (0.00953, '1/2"'),
        (0.0254, '1"'),
        (0.3016, '11 3/4"'),
        (0.3017, "1'"),
        (0.3048, "1'"),
        (0.3112, "1' 1/4\""),
        (3.6544, "11' 11 3/4\""),
        (3.6545, "12'"),
    ],
)
def test_imperial_is_to_the_nearest_quarter_inch(metres: float, shown: str) -> None:
    assert format_length(metres, "imperial") == shown


@pytest.mark.parametrize(
    ("metres", "shown"),
    [
        (3.46, "3.46 m"),
        (3.4671, "3.47 m"),
        (0.994, "99 cm"),
        (0.996, "1.00 m"),
        (12.0, "12.00 m"),
        (0, "0 cm"),
    ],
)
def test_metric_is_to_the_centimetre(metres: float, shown: str) -> None:
    assert format_length(metres, "metric") == shown


@pytest.mark.parametrize("metres", [-0.1, float("nan"), float("inf")])
def test_no_length_is_not_shown(metres: float) -> None:
    with pytest.raises(ValueError, match="is no length"):
        format_length(metres, "metric")


@given(st.integers(0, 300), st.integers(0, 47), st.sampled_from(["{}' {}\"", "{} ft {} in", "{}'{}''"]))
@settings(max_examples=200, deadline=None)
def test_feet_and_quarter_inches_come_back_as_written(feet: int, quarters: int, form: str) -> None:
    """What is shown reads back to exactly that many quarter inches, whatever signs were used to write it."""
    if feet == quarters == 0:
        return
    exact = float(feet * Fraction(3048, 10000) + quarters * Fraction(254, 40000))
    inches, part = divmod(quarters, 4)
    assert parse_length(form.format(feet, f"{inches} {part}/4")) == exact
    assert parse_length(format_length(exact, "imperial")) == exact


@given(st.floats(0.05, 900))
@settings(max_examples=200, deadline=None)
def test_shown_lengths_are_off_by_half_a_step_at_most(metres: float) -> None:
    assert abs(parse_length(format_length(metres, "imperial")) - metres) <= 0.0254 / 8 + 1e-12
    assert abs(parse_length(format_length(metres, "metric")) - metres) <= 0.005 + 1e-12
