"""Laws a planar wedge obeys whatever the numbers."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from slipmargin.stability.planar_wedge.check import PlanarWedge, PlanarWedgeValues
from slipmargin.stability.soil import Soil
from slipmargin.strength import Strength

few = settings(max_examples=25, deadline=None)

slopes = st.fixed_dictionaries(
    {
        "height": st.floats(1.0, 40.0),
        "face_angle": st.floats(35.0, 90.0),
        "upper_slope_angle": st.floats(0.0, 25.0),
        "surcharge": st.sampled_from([0.0, 15.0]),
        "horizontal_seismic_coefficient": st.floats(0.0, 0.2),
    }
)
cracks = st.sampled_from([None, 0.3, 1.0])
wet = st.floats(0.0, 0.3)
cohesions = st.floats(0.1, 60.0)
frictions = st.floats(0.0, 45.0)


def values(c: float, phi: float, gamma: float = 19.0, **fields: Any) -> PlanarWedgeValues:
    soil = Soil(strength=Strength(cohesion=c, friction_angle=phi), unit_weight=gamma)
    found = PlanarWedge(soil=soil, **fields).evaluate(leave_out=("rotation",)).values
    assert isinstance(found, PlanarWedgeValues)
    return found


def with_crack(
    slope: dict[str, float], crack: float | None, water: float
) -> dict[str, float | None]:
    """Crack and water as shares of the height."""
    if crack is None:
        return dict(slope)
    height = slope["height"]
    return slope | {
        "tension_crack_distance": crack * height,
        "tension_crack_water_depth": water * height,
    }


@few
@given(slopes, cracks, wet, cohesions, frictions, st.floats(0.1, 10.0))
def test_the_factor_rises_with_cohesion_and_with_friction(
    slope: dict[str, float], crack: float | None, water: float, c: float, phi: float, more: float
) -> None:
    fields = with_crack(slope, crack, water)
    base = values(c, phi, **fields).factor_of_safety
    assert values(c + more, phi, **fields).factor_of_safety > base or base == 0.0
    rougher = values(c, phi + more, **fields)
    # friction on a plane that the water lifts is negative strength
    assume(rougher.normal_force > 0.0)
    assert rougher.factor_of_safety > base or base == 0.0


@few
@given(slopes, cracks, wet, cohesions, frictions, st.floats(0.1, 20.0))
def test_only_ratios_of_lengths_and_of_cohesion_to_weight_matter(
    slope: dict[str, float], crack: float | None, water: float, c: float, phi: float, scale: float
) -> None:
    fields = with_crack(slope, crack, water)
    larger = fields | {
        name: value * scale
        for name, value in fields.items()
        if value is not None and not name.endswith(("angle", "coefficient"))
    }
    one, other = values(c, phi, **fields), values(c * scale, phi, **larger)
    assert one.factor_of_safety == pytest.approx(other.factor_of_safety, rel=1e-9)
    assert one.plane_angle == pytest.approx(other.plane_angle, rel=1e-5)
    assert one.weight * scale**2 == pytest.approx(other.weight, rel=1e-3)


@few
@given(slopes, cracks, wet, cohesions, frictions, st.floats(0.01, 0.99))
def test_a_given_plane_never_has_a_lower_factor_than_the_critical_one(
    slope: dict[str, float], crack: float | None, water: float, c: float, phi: float, share: float
) -> None:
    upper, face = slope["upper_slope_angle"], slope["face_angle"]
    plane = upper + share * (face - upper)
    dry = with_crack(slope, crack, 0.0)
    searched = values(c, phi, **slope)
    given_plane = values(c, phi, plane_angle=plane, **slope)
    assert searched.factor_of_safety <= given_plane.factor_of_safety * (1.0 + 1e-9)
    worst = values(c, phi, search_tension_crack=True, **slope)
    assert worst.factor_of_safety <= searched.factor_of_safety * (1.0 + 1e-7)
    stated = values(c, phi, **dry)
    if stated.tension_crack_depth <= worst.deepest_crack:  # a stated crack may be deeper
        assert worst.factor_of_safety <= stated.factor_of_safety * (1.0 + 1e-7)


@few
@given(slopes, cracks, wet, cohesions, frictions, st.floats(0.01, 0.3))
def test_water_shaking_and_height_never_help(
    slope: dict[str, float], crack: float | None, water: float, c: float, phi: float, more: float
) -> None:
    plain = slope | {"horizontal_seismic_coefficient": 0.0}
    base = values(c, phi, **plain).factor_of_safety * (1.0 + 1e-9)
    assert values(c, phi, **plain, pore_pressure_ratio=more).factor_of_safety <= base
    shaken = plain | {"horizontal_seismic_coefficient": more}
    assert values(c, phi, **shaken).factor_of_safety <= base
    taller = plain | {"height": plain["height"] * (1.0 + more), "surcharge": 0.0}
    unloaded = plain | {"surcharge": 0.0}
    base = values(c, phi, **unloaded).factor_of_safety * (1.0 + 1e-9)
    assert values(c, phi, **taller).factor_of_safety <= base
    dry, full = with_crack(plain, crack, 0.0), with_crack(plain, crack, water)
    base = values(c, phi, **dry).factor_of_safety * (1.0 + 1e-9)
    assert values(c, phi, **full).factor_of_safety <= base
