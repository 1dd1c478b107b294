"""Laws a rotational slide obeys whatever the numbers."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slipmargin.stability.check import CheckResult
from slipmargin.stability.rotational.check import Rotational
from slipmargin.stability.soil import Soil
from slipmargin.strength import Strength

TOLERANCE = 1.0 + 2e-6  # of the search

cohesions = st.floats(0.5, 60.0)
frictions = st.floats(2.0, 42.0)
faces = st.floats(15.0, 90.0)
heights = st.floats(1.0, 25.0)
ratios = st.floats(0.0, 0.4)
shakings = st.floats(0.0, 0.2)
more = st.floats(0.5, 5.0)
few = settings(max_examples=15, deadline=None)


def run(c: float, phi: float, gamma: float = 18.0, **fields: Any) -> CheckResult:
    soil = Soil(strength=Strength(cohesion=c, friction_angle=phi), unit_weight=gamma)
    return Rotational(soil=soil, **fields).evaluate()


def factor(c: float, phi: float, gamma: float = 18.0, **fields: Any) -> float:
    return float(run(c, phi, gamma, **fields).factors_of_safety["sliding"])


def is_lifted(result: CheckResult) -> bool:
    return any(notice.code == "no-effective-stress" for notice in result.notices)


@few
@given(cohesions, frictions, faces, heights, ratios, shakings, more)
def test_the_factor_rises_with_cohesion_and_friction(
    c: float, phi: float, beta: float, h: float, ratio: float, k_h: float, step: float
) -> None:
    place: dict[str, float] = {
        "height": h,
        "face_angle": beta,
        "pore_pressure_ratio": ratio,
        "horizontal_seismic_coefficient": k_h,
    }
    base = factor(c, phi, **place)
    assert factor(c + step, phi, **place) * TOLERANCE >= base
    rougher = run(c, phi + step, **place)
    # where water carries more than the normal stress, friction works the other way
    if not is_lifted(rougher):
        assert rougher.factors_of_safety["sliding"] * TOLERANCE >= base


@few
@given(cohesions, frictions, faces, heights, ratios, shakings, st.floats(0.01, 0.1))
def test_the_factor_falls_with_pore_pressure_and_shaking(
    c: float, phi: float, beta: float, h: float, ratio: float, k_h: float, step: float
) -> None:
    def at(ratio: float, k_h: float) -> float:
        return factor(
            c,
            phi,
            height=h,
            face_angle=beta,
            pore_pressure_ratio=ratio,
            horizontal_seismic_coefficient=k_h,
        )

    base = at(ratio, k_h)
    assert at(ratio + step, k_h) <= base * TOLERANCE
    assert at(ratio, k_h + step) <= base * TOLERANCE


@few
@given(cohesions, frictions, faces, heights, st.floats(0.0, 30.0), st.floats(0.1, 8.0))
def test_the_factor_keeps_when_all_stresses_scale_together(
    c: float, phi: float, beta: float, h: float, q: float, scale: float
) -> None:
    base = factor(c, phi, height=h, face_angle=beta, surcharge=q)
    longer = factor(c * scale, phi, height=h * scale, face_angle=beta, surcharge=q * scale)
    heavier = factor(c * scale, phi, 18.0 * scale, height=h, face_angle=beta, surcharge=q * scale)
    assert longer == pytest.approx(base, rel=1e-5)
    assert heavier == pytest.approx(base, rel=1e-5)


@few
@given(st.floats(0.5, 40.0), frictions, faces, heights, st.floats(1.1, 3.0))
def test_the_factor_is_homogeneous_in_the_strength(
    c: float, phi: float, beta: float, h: float, scale: float
) -> None:
    base = factor(c, phi, height=h, face_angle=beta)
    stronger = math.degrees(math.atan(scale * math.tan(math.radians(phi))))
    both = factor(c * scale, stronger, height=h, face_angle=beta)
    assert both == pytest.approx(scale * base, rel=1e-5)


@few
@given(cohesions, frictions, faces, heights)
def test_the_factor_is_never_above_that_of_a_plane(
    c: float, phi: float, beta: float, h: float
) -> None:
    # Culmann (1875): γH/c = 4 sin β cos φ / (1 - cos(β - φ)) at failure, strength reduced by f
    f = factor(c, phi, height=h, face_angle=beta)
    tan = math.tan(math.radians(phi)) / f
    gap = math.radians(beta) - math.atan(tan)
    assert gap > 0.0
    planar = 4.0 * math.sin(math.radians(beta)) * math.cos(math.atan(tan)) / (1.0 - math.cos(gap))
    assert 18.0 * h * f / c <= planar * TOLERANCE


@few
@given(cohesions, frictions, faces, st.floats(0.0, 25.0), st.floats(0.0, 6.0))
def test_firm_ground_never_lowers_the_factor(
    c: float, phi: float, beta: float, depth: float, q: float
) -> None:
    free = factor(c, phi, height=6.0, face_angle=beta, surcharge=q)
    held = factor(c, phi, height=6.0, face_angle=beta, surcharge=q, firm_ground_depth=depth)
    assert held * TOLERANCE >= free


@few
@given(cohesions, frictions, st.floats(0.5, 4.0), st.floats(0.5, 4.0), st.floats(0.3, 5.0))
def test_a_bench_is_never_safer_than_its_upper_face_alone(
    c: float, phi: float, lower: float, upper: float, width: float
) -> None:
    line = [[0.0, 0.0], [lower, lower], [lower + width, lower]]
    line += [[lower + width + upper / 2.0, lower + upper]]
    whole = factor(c, phi, ground_line=line)
    face = math.degrees(math.atan(2.0))
    alone = factor(c, phi, height=upper, face_angle=face)
    # the upper face alone may need ground in front of its toe that the bench does not have
    values = run(c, phi, height=upper, face_angle=face).values
    if np.isfinite(values.exit_x) and values.depth_below_toe == 0.0:
        assert whole <= alone * TOLERANCE
