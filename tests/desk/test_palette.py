"""The pages' colours against the WCAG formula, written out here again."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from nestwatch.desk.palette import DARK, LIGHT, MARK_PAIRS, PICTURE, TEXT_PAIRS


def luminance(colour: str) -> float:
    """W3C, WCAG 2.2, relative luminance of an sRGB colour `#rrggbb`."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    red, green, blue = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula() -> None:
    """Published pairs: black on white is 21, #767676 the lightest grey that passes AA on white."""
    assert contrast("#ffffff", "#000000") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_aa_contrast(colours: Mapping[str, str]) -> None:
    for text, ground in TEXT_PAIRS:
        assert contrast(colours[text], colours[ground]) >= 4.5, (text, ground)
    for mark, ground in MARK_PAIRS:
        assert contrast(colours[mark], colours[ground]) >= 3, (mark, ground)


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_the_shading_is_an_order_of_lightness(colours: Mapping[str, str]) -> None:
    """Told apart without seeing colours: each class differs in luminance from the next, always one way."""
    levels = [luminance(colours[f"shade-{n}"]) for n in (1, 2, 3, 4)]
    assert levels in (sorted(levels), sorted(levels, reverse=True))
    assert all(contrast(colours[f"shade-{n}"], colours[f"shade-{n + 1}"]) > 1.4 for n in (1, 2, 3))


def test_lines_on_the_picture_stand_out_from_their_casing() -> None:
    """A light line with a dark casing is seen on any ground: one of the two always contrasts."""
    for name, colour in PICTURE.items():
        if name != "casing":
            assert contrast(colour, PICTURE["casing"]) >= 7, name
