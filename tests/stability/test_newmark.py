"""Displacement in shaking: limits, blocks slid step by step, and what must be said beside it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.stability import InfiniteSlope, PlanarWedge, Soil
from slipmargin.stability.ground.newmark import (
    GRAVITY,
    ambraseys_menu,
    jibson,
    jibson_magnitude,
    newmark_bound,
)
from slipmargin.strength import InputError, PowerCurve, Strength

SAND = Soil(strength=Strength(cohesion=0.0, friction_angle=30.0), unit_weight=19.0)
SLOPE = InfiniteSlope(soil=SAND, slope_angle=15.0, depth=2.0, peak_acceleration=0.5)
BANK = Soil(strength=Strength(cohesion=12.0, friction_angle=33.0), unit_weight=19.0)
WEDGE = PlanarWedge(
    soil=BANK, height=7.0, face_angle=55.0, plane_angle=38.0, peak_acceleration=0.5, magnitude=7.0
)


def codes(check: InfiniteSlope | PlanarWedge) -> set[str]:
    return {notice.code for notice in check.evaluate().notices}


def test_ground_that_never_reaches_the_yield_coefficient_moves_nothing() -> None:
    for moved in (jibson(0.3, 0.3), ambraseys_menu(0.4, 0.3), newmark_bound(0.4, 0.5, 0.3)):
        assert_allclose(moved, 0.0, atol=0.0)


def test_displacement_falls_with_the_yield_coefficient_and_rises_with_the_motion() -> None:
    k_y = np.linspace(0.02, 0.5, 50)
    for moved in (jibson(k_y, 0.5), ambraseys_menu(k_y, 0.5), newmark_bound(k_y, 0.5, 0.5)):
        assert np.all(np.diff(moved) < 0.0)
    assert np.all(np.diff(jibson_magnitude(0.1, 0.4, np.array([5.5, 6.5, 7.5]))) > 0.0)


def slid(k_y: float, peak: float, period: float, cycles: int) -> tuple[float, float]:
    """Displacement of a block that slides one way on a sine, step by step, and peak velocity."""
    step, moved, speed = period / 4000.0, 0.0, 0.0
    for k in range(4000 * cycles):
        pushed = peak * np.sin(2.0 * np.pi * k / 4000.0)
        speed = max(speed + (pushed - k_y) * GRAVITY * step, 0.0) if speed or pushed > k_y else 0.0
        moved += speed * step
    return moved, peak * GRAVITY * period / (2.0 * np.pi)


@pytest.mark.parametrize("k_y", [0.03, 0.1, 0.2, 0.35])
def test_a_block_on_one_cycle_stays_below_the_bound(k_y: float) -> None:
    moved, velocity = slid(k_y, 0.4, 0.6, 1)
    bound = float(newmark_bound(k_y, velocity, 0.4))
    assert 0.0 < moved < bound
    assert newmark_bound(k_y, velocity) >= bound


def test_the_displacement_is_that_of_the_check_s_own_yield_coefficient() -> None:
    values = WEDGE.evaluate().values
    k_y = values.yield_seismic_coefficient
    assert_allclose(values.displacement_jibson, jibson_magnitude(k_y, 0.5, 7.0))
    assert_allclose(values.displacement_jibson_high / values.displacement_jibson, 10.0**0.454)
    still = replace(WEDGE, horizontal_seismic_coefficient=0.1).evaluate().values
    assert_allclose(still.displacement_jibson, values.displacement_jibson, rtol=1e-9)
    assert np.isnan(values.displacement_bound)
    # the motion does not enter the factor
    quiet = replace(WEDGE, peak_acceleration=None, magnitude=None).evaluate()
    assert_allclose(quiet.lowest, WEDGE.evaluate().lowest, rtol=0.0)
    assert np.isnan(quiet.values.displacement_jibson)


def test_arrays_of_motion_and_strength_give_what_scalars_give() -> None:
    peaks, cohesion = np.array([0.4, 0.6]), np.array([[10.0], [14.0]])
    soil = replace(BANK, strength=Strength(cohesion=cohesion, friction_angle=33.0))
    together = replace(WEDGE, soil=soil, peak_acceleration=peaks, peak_velocity=0.4).evaluate()
    soil = replace(BANK, strength=Strength(cohesion=14.0, friction_angle=33.0))
    alone = replace(WEDGE, soil=soil, peak_acceleration=0.4, peak_velocity=0.4).evaluate()
    for name in ("displacement_jibson", "displacement_ambraseys_menu_high", "displacement_bound"):
        assert_allclose(getattr(together.values, name)[1, 0], getattr(alone.values, name))


def test_a_slope_that_slides_unshaken_has_no_displacement_to_give() -> None:
    steep = replace(SLOPE, slope_angle=35.0)
    assert np.isnan(steep.evaluate().values.displacement_jibson)
    assert "slides-unshaken" in codes(steep)


def test_scatter_and_range_are_said() -> None:
    text = " ".join(notice.text for notice in SLOPE.evaluate().notices)
    assert "one standard deviation up" in text
    assert "displacement-outside-range" not in codes(SLOPE)
    assert "displacement-outside-range" in codes(replace(SLOPE, peak_acceleration=4.0))
    assert "magnitude-outside-range" in codes(replace(SLOPE, magnitude=5.0))
    assert "displacement-of-plane-alone" in codes(replace(WEDGE, plane_angle=None))
    curve = PowerCurve(coefficient=0.9, exponent=0.8, tested_range=(5.0, 60.0))
    curved = replace(WEDGE, soil=replace(BANK, strength=Strength.from_curve(curve)))
    assert "no-displacement-given" in codes(curved)
    assert np.isnan(curved.evaluate().values.displacement_jibson)


def test_a_magnitude_alone_is_refused() -> None:
    with pytest.raises(InputError, match="peak_acceleration"):
        replace(SLOPE, peak_acceleration=None, magnitude=7.0).evaluate()


def test_the_rotation_beside_a_plane_moves_by_its_own_yield_coefficient() -> None:
    searched = replace(WEDGE, plane_angle=None, face_angle=50.0)
    part = searched.evaluate().parts["rotation"].result
    k_y = part.values.yield_seismic_coefficient
    assert 0.0 < k_y < 0.5
    assert_allclose(part.values.displacement_jibson, jibson_magnitude(k_y, 0.5, 7.0))
    assert "displacement-by-regression" in {one.code for one in part.notices}
