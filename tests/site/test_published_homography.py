"""The mapping against a worked example that others published, with matrix, point and inverse printed."""

from __future__ import annotations

import numpy as np

from nestwatch.site.plan import fit_plan

# README of the JavaScript library perspective-transform (github.com/jlouthan/perspective-transform, commit
# 155cffe): corners, `coeffs` and both transformed points as printed there. Only these numbers were taken.
SOURCE = np.array([[158, 64], [494, 69], [495, 404], [158, 404]], float)
TARGET = np.array([[100, 500], [152, 564], [148, 604], [100, 560]], float)
COEFFS = [
    *(0.3869749384, 0.0426817448, 59.2427947969),
    *(0.9589610618, 0.4562821238, 434.8644299345),
    *(0.0012901794, 0.0004268174, 1),
]


def test_matrix_and_points_of_a_published_example() -> None:
    found = fit_plan(SOURCE, TARGET)
    matrix = found.matrix / found.matrix[2, 2]
    np.testing.assert_allclose(matrix.ravel(), COEFFS, rtol=1e-6, atol=1e-6)
    np.testing.assert_allclose(
        found.to_pixel([[250, 120]]), [[117.27521125839255, 530.9202410878403]], atol=1e-6
    )
    np.testing.assert_allclose(
        found.to_plan([[130, 570]]), [[338.99465637447327, 278.6450957956236]], atol=1e-5
    )
