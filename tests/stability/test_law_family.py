"""A grid of curves over other fields, against a law that is known everywhere."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.stability.law_family import LawFamily
from slipmargin.stability.strength_law import StrengthLaw
from slipmargin.strength import InputError


def law_at(values: list[float]) -> StrengthLaw:
    """(c + s tan φ) times a cubic of the first field, over the second."""
    scale = 1.0 + 0.2 * values[0] - 0.01 * values[0] ** 3
    if len(values) > 1:
        scale /= values[1]
    return StrengthLaw(50.0, np.full(5, scale), np.zeros(5))


def known(c: np.ndarray, tan: np.ndarray, *values: np.ndarray) -> np.ndarray:
    combined = c + 50.0 * tan
    scale = 1.0 + 0.2 * values[0] - 0.01 * values[0] ** 3
    return combined * (scale / values[1] if len(values) > 1 else scale)


def samples(n: int = 500) -> tuple[np.ndarray, ...]:
    rng = np.random.default_rng(3)
    return (
        rng.uniform(0.0, 30.0, n),
        rng.uniform(0.02, 1.0, n),
        rng.uniform(-2.0, 3.0, n),
        rng.uniform(4.0, 5.0, n),
    )


def test_one_field_is_met_between_the_nodes() -> None:
    """Cubic between its nodes, so that a cubic is met to round-off."""
    family = LawFamily.build(law_at, [(-2.0, 3.0)])
    assert family is not None
    c, tan, one, _ = samples()
    assert_allclose(family.factor(c, tan, [one]), known(c, tan, one), rtol=1e-12)


def test_two_fields_are_met_between_the_nodes() -> None:
    family = LawFamily.build(law_at, [(-2.0, 3.0), (4.0, 5.0)])
    assert family is not None
    c, tan, one, other = samples()
    expected = known(c, tan, one, other)
    assert_allclose(family.factor(c, tan, [one, other]), expected, rtol=1e-4)


def test_values_beyond_the_grid_are_held_at_its_edge() -> None:
    family = LawFamily.build(law_at, [(-2.0, 3.0)])
    assert family is not None
    beyond = family.factor(np.array(5.0), np.array(0.6), [np.array([-9.0, 7.0])])
    edge = known(np.array(5.0), np.array(0.6), np.array([-2.0, 3.0]))
    assert_allclose(beyond, edge, rtol=1e-12)


@pytest.mark.parametrize("how", ["none", "refused"])
def test_where_some_node_has_no_curve_there_is_no_family(how: str) -> None:
    def partly(values: list[float]) -> StrengthLaw | None:
        if values[0] < 2.9:
            return law_at(values)
        if how == "none":
            return None
        raise InputError("face_angle", values[0], "no such slope")

    assert LawFamily.build(partly, [(-2.0, 3.0)]) is None
    assert LawFamily.build(partly, [(-2.0, 2.0)]) is not None
