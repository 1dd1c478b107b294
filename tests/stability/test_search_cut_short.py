"""A search that is cut short before it settles says so, and stops."""

from __future__ import annotations

import pytest

from slipmargin.stability import PlanarWedge, Rotational, Soil
from slipmargin.stability.planar_wedge import fractional_search
from slipmargin.stability.rotational import critical_spiral
from slipmargin.stability.rotational import notices as rotational_notices
from slipmargin.strength import Severity, Strength

SOIL = Soil(strength=Strength(cohesion=12.0, friction_angle=20.0), unit_weight=18.0)


def stops(check: PlanarWedge | Rotational) -> set[str]:
    return {n.code for n in check.evaluate().notices if n.severity == Severity.STOP}


def test_a_search_for_a_plane_that_may_take_no_step(monkeypatch: pytest.MonkeyPatch) -> None:
    check = PlanarWedge(soil=SOIL, height=8.0, face_angle=70.0)
    assert "search-not-converged" not in stops(check)
    monkeypatch.setattr(fractional_search, "_STEPS", 0)
    assert "search-not-converged" in stops(check)


def test_a_search_for_a_spiral_that_may_not_look_again(monkeypatch: pytest.MonkeyPatch) -> None:
    check = Rotational(soil=SOIL, height=8.0, face_angle=71.0)
    monkeypatch.setattr(critical_spiral, "_REPEATS", 0)
    assert "search-not-converged" in stops(check)


def test_a_rotation_held_to_more_than_it_can_keep(monkeypatch: pytest.MonkeyPatch) -> None:
    check = Rotational(soil=SOIL, height=8.0, face_angle=70.0)
    assert "search-not-converged" not in stops(check)
    monkeypatch.setattr(rotational_notices, "_RESIDUAL", -1.0)
    assert "search-not-converged" in stops(check)
