"""Zone masks against hand-counted pixels and scikit-image, and the side of an outline a point lies on."""

from __future__ import annotations

import numpy as np
import pytest
from skimage.measure import points_in_poly

from nestwatch.site.records import Zone
from nestwatch.site.zones import edge_distance, inside, zone_mask

SQUARE = Zone("bank", "nesting", ((2.0, 1.0), (6.0, 1.0), (6.0, 4.0), (2.0, 4.0)))
NOTCH = Zone("notch", "ignore", ((0.3, 0.2), (9.7, 0.4), (9.1, 5.8), (5.2, 2.3), (0.6, 5.5)))


def test_mask_holds_the_pixels_whose_centres_lie_inside() -> None:
    mask = zone_mask([SQUARE], (10, 6), (10, 6))
    assert mask.shape == (6, 10)
    assert mask.dtype == np.bool_
    wanted = np.zeros((6, 10), bool)
    wanted[1:4, 2:6] = True
    np.testing.assert_array_equal(mask, wanted)


def test_mask_scales_the_outline_to_its_size() -> None:
    """Half the width, three times the height: 2 columns by 9 rows of the reduced picture."""
    mask = zone_mask([SQUARE], (10, 6), (5, 18))
    assert mask.shape == (18, 5)
    rows, columns = np.nonzero(mask)
    assert (rows.min(), rows.max(), columns.min(), columns.max()) == (3, 11, 1, 2)
    assert mask.sum() == 18


def test_mask_agrees_with_scikit_image_on_a_concave_outline() -> None:
    """skimage.measure.points_in_poly at the pixel centres."""
    mask = zone_mask([NOTCH], (10, 6), (40, 30))
    x, y = np.meshgrid((np.arange(40) + 0.5) * 0.25, (np.arange(30) + 0.5) * 0.2)
    centres = np.column_stack([x.ravel(), y.ravel()])
    other = points_in_poly(centres, np.array(NOTCH.outline))  # type: ignore[no-untyped-call]
    np.testing.assert_array_equal(mask, other.reshape(30, 40))


def test_masks_of_several_zones_are_joined_and_of_none_empty() -> None:
    both = zone_mask([SQUARE, NOTCH], (10, 6), (20, 12))
    single = [zone_mask([zone], (10, 6), (20, 12)) for zone in (SQUARE, NOTCH)]
    np.testing.assert_array_equal(both, single[0] | single[1])
    assert not zone_mask([], (10, 6), (20, 12)).any()


@pytest.mark.parametrize(
    ("point", "wanted", "distance"),
    [
        pytest.param((4.0, 2.0), True, 1.0, id="inside"),
        pytest.param((2.0, 2.0), True, 0.0, id="on the edge"),
        pytest.param((2.0, 1.0), True, 0.0, id="on a corner"),
        pytest.param((7.0, 2.0), False, -1.0, id="outside"),
        pytest.param((9.0, 8.0), False, -5.0, id="3-4-5 off a corner"),
    ],
)
def test_side_of_an_outline(point: tuple[float, float], wanted: bool, distance: float) -> None:
    assert inside(SQUARE, point) is wanted
    assert edge_distance(SQUARE, point) == pytest.approx(distance)
