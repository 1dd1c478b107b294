"""Overlap of the box halves against polygons, and its effect on the readings."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from shapely import affinity
from shapely.geometry import Point, box

from slipmargin.strength import InputError, Readings, Specimen, reduce_readings
from slipmargin.strength.laboratory.area_correction import area_factor, overlap_factor

SHARES = st.floats(0.0, 0.95)


def polygon_share(shape: str, relative: float) -> float:
    whole = box(0.0, 0.0, 1.0, 1.0) if shape == "square" else Point(0.0, 0.0).buffer(0.5, 2000)
    return whole.intersection(affinity.translate(whole, xoff=relative)).area / whole.area


@given(SHARES, st.sampled_from(["square", "circle"]))
@settings(max_examples=30, deadline=None)
def test_overlap_is_that_of_two_polygons(relative: float, shape: str) -> None:
    assert_allclose(overlap_factor(shape, relative), polygon_share(shape, relative), atol=3e-6)


@given(SHARES, SHARES)
@settings(max_examples=50, deadline=None)
def test_overlap_falls_with_displacement_and_knows_no_direction(one: float, other: float) -> None:
    for shape in ("square", "circle"):
        near, far = sorted((one, other))
        assert overlap_factor(shape, near) >= overlap_factor(shape, far)
        assert overlap_factor(shape, -far) == overlap_factor(shape, far)


def test_arrays_go_straight_through() -> None:
    moved = np.linspace(0.0, 30.0, 12).reshape(3, 4)
    specimen = Specimen(shape="circle", width=63.5)
    loop = [[float(area_factor(specimen, value)) for value in row] for row in moved]
    assert_allclose(area_factor(specimen, moved), loop)


def test_circle_is_not_the_linear_form() -> None:
    # common practice rounds the circle to 1 - (4/π) r: 0.7454 against 0.7471 at r = 0.2
    assert overlap_factor("circle", 0.2) == pytest.approx(0.7471, abs=5e-5)
    assert overlap_factor("circle", 0.2) - (1.0 - 0.8 / math.pi) > 0.0016


@pytest.mark.parametrize("moved", [60.0, -75.0, math.nan, math.inf])
def test_displacement_that_leaves_no_overlap_is_refused(moved: float) -> None:
    with pytest.raises(InputError, match="displacement"):
        area_factor(Specimen(shape="square", width=60.0), [1.0, moved])


def table(displacement: list[float] | None) -> Readings:
    return Readings(
        test=("A", "B", "C"),
        state=("peak",) * 3,
        normal=np.array([180.0, 360.0, 720.0]),
        shear=np.array([130.0, 250.0, 480.0]),
        unit="N",
        displacement=None if displacement is None else np.array(displacement),
    )


def test_both_stresses_are_divided_and_the_ratio_stays() -> None:
    specimen = Specimen(shape="square", width=60.0)
    nominal = reduce_readings(table([3.0, 3.0, 6.0]), specimen)
    corrected = reduce_readings(table([3.0, 3.0, 6.0]), specimen, area_correction=True)
    assert_allclose(corrected.normal / nominal.normal, [1 / 0.95, 1 / 0.95, 1 / 0.9])
    assert_allclose(corrected.shear / corrected.normal, nominal.shear / nominal.normal)


def test_area_correction_needs_specimen_and_displacement() -> None:
    with pytest.raises(InputError, match="specimen"):
        reduce_readings(table([3.0, 3.0, 6.0]), area_correction=True)
    with pytest.raises(InputError, match="every reading"):
        reduce_readings(table(None), Specimen(shape="square", width=60.0), area_correction=True)
