"""A load that may be absent: the lowest factor over none, part and all of it, and what is said."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.stability import InfiniteSlope, PlanarWedge, Rotational, Soil
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.helping_load import helping_load_notices, least_under_load
from slipmargin.strength import Numeric, Strength

BANK = Soil(strength=Strength(cohesion=2.0, friction_angle=35.0), unit_weight=18.0)

SAND = Soil(strength=Strength(cohesion=0.5, friction_angle=35.0), unit_weight=18.0)

# each of these has water that a load outweighs
HELPED: dict[str, Any] = {
    "infinite_slope": InfiniteSlope(
        soil=BANK, slope_angle=22.0, depth=2.0, water_table_depth=0.0, surcharge=40.0
    ),
    "planar_wedge": PlanarWedge(
        soil=BANK, height=6.0, face_angle=50.0, plane_angle=26.0, tension_crack_distance=3.0,
        tension_crack_water_depth=2.0, surcharge=60.0,
    ),
    "rotational": Rotational(
        soil=SAND, height=3.0, face_angle=40.0, upper_slope_angle=25.0, firm_ground_depth=0.0,
        pore_pressure_ratio=0.55, surcharge=15.0,
    ),
}  # fmt: skip


def said(check: Any) -> dict[str, str]:
    return {n.code: n.text for n in check.evaluate().notices}


def test_a_lowest_factor_under_part_of_a_load_is_found_and_said() -> None:
    def bearing(share: Numeric) -> Mapping[str, Numeric]:
        # lowest, 2, at 0.55 of the load and 0.3 of it
        return {"bearing": 2.0 + (np.asarray(share) - np.array([0.55, 0.3])) ** 2}

    found = least_under_load(bearing, bearing(1.0), between=True)["bearing"]
    assert_allclose(found.lowest, 2.0, atol=(1.0 / 64.0) ** 2)
    assert_allclose(found.share, [0.55, 0.3], atol=1.0 / 64.0)
    (notice,) = helping_load_notices({"bearing": found}, target=2.1, counted=False)
    assert notice.severity == "caution"
    assert "lowest under 55% of the surcharge: 2.00, beside 2.30 without it" in notice.text


def test_none_and_all_are_compared_sample_by_sample_and_no_answer_is_never_lowest() -> None:
    none = {"sliding": np.array([1.2, 1.6, np.nan])}
    full = {"sliding": np.array([1.5, 1.4, 1.3])}
    found = least_under_load(lambda _: none, full)["sliding"]
    assert_allclose(found.lowest, [1.2, 1.4, 1.3])
    assert_allclose(found.share, [0.0, 1.0, 1.0])


@pytest.mark.parametrize(
    ("target", "severity"), [(None, "caution"), (1.15, "caution"), (1.3, "stop"), (1.6, "caution")]
)
def test_a_load_that_lifts_the_factor_over_its_target_stops(
    target: float | None, severity: str
) -> None:
    found = least_under_load(lambda _: {"sliding": 1.2}, {"sliding": 1.5})
    (notice,) = helping_load_notices(found, target=target)
    assert notice.severity == severity
    assert "without it the factor is 1.20" in notice.text


@pytest.mark.parametrize("kind", HELPED)
def test_a_slope_that_its_surcharge_holds_says_so(kind: str) -> None:
    loaded = HELPED[kind]
    bare = dataclasses.replace(loaded, surcharge=0.0)
    assert bare.evaluate().lowest < loaded.evaluate().lowest
    assert (
        f"the factor is {factor_text(float(bare.evaluate().lowest))}"
        in said(loaded)["surcharge-helps"]
    )
    assert "surcharge-helps" not in said(bare)


def test_a_surcharge_that_drives_a_wedge_is_not_said_to_help() -> None:
    wedge = PlanarWedge(soil=BANK, height=6.0, face_angle=70.0, surcharge=20.0)
    assert "surcharge-helps" not in said(wedge)
