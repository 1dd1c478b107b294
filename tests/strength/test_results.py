"""Results in Python: they draw themselves, show their working, and refuse the wrong argument."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure
from numpy.testing import assert_allclose

from slipmargin.strength import (
    InputError,
    JointStrength,
    Pair,
    ShearTests,
    Strength,
    diagnose,
    fit_envelope,
    interpretations,
    read_readings,
    reduce_readings,
    reduce_tests,
    stated_against_fit,
    strength_from_readings,
    triaxial_readings,
)

NORMAL, SHEAR = [25.0, 50.0, 100.0, 150.0], [20.3, 35.2, 65.8, 94.9]
CIRCLES = triaxial_readings("ABC", [50.0, 100.0, 200.0], [88.0, 180.0, 350.0])


def test_plain_tests_are_put_in_order_of_stress() -> None:
    tests = ShearTests.of([100, 25, 50], [65.8, 20.3, 35.2], names=["c", "a", "b"])
    assert tests.names == ("a", "b", "c")
    assert_allclose(tests.shear, [20.3, 35.2, 65.8])
    assert ShearTests.of(NORMAL, SHEAR).names == ("1", "2", "3", "4")


def test_a_path_may_be_text(tmp_path: Path) -> None:
    path = tmp_path / "box.csv"
    path.write_text("test,normal_stress [kPa],shear_stress [kPa]\na,50,40\n", encoding="utf-8")
    assert_allclose(read_readings(str(path)).normal, read_readings(path).normal)


@pytest.mark.parametrize(
    "result",
    [fit_envelope(ShearTests.of(NORMAL, SHEAR)), strength_from_readings(CIRCLES)],
    ids=["fit", "laboratory"],
)
def test_results_draw_themselves_and_show_their_working(result: Any) -> None:
    figure = result.plot()
    assert isinstance(figure, Figure)
    assert figure._repr_png_().startswith(b"\x89PNG")  # type: ignore[attr-defined]
    steps = result.working()
    assert "φ′" in {step.symbol for step in steps}
    lines = repr(steps).splitlines()
    assert lines[0].startswith("1. ")
    assert any(line.startswith("  φ′ = atan(") or line.startswith("  φ′ = asin(") for line in lines)
    assert steps._repr_html_().startswith("<pre>1. ")


def test_the_standard_error_of_the_angle_is_that_of_its_tangent_carried_over() -> None:
    fit = fit_envelope(ShearTests.of(NORMAL, SHEAR))
    angle, tangent = np.radians(fit.best_fit.friction_angle), fit.standard_error_tan
    assert tangent is not None
    ends = np.degrees(np.arctan(np.tan(angle) + np.array([-tangent, tangent])))
    assert fit.standard_error_friction_angle == pytest.approx((ends[1] - ends[0]) / 2.0, rel=1e-3)
    assert fit_envelope(ShearTests.of([25, 50], [20, 35])).standard_error_friction_angle is None


FIT = fit_envelope(ShearTests.of(NORMAL, SHEAR))
WRONG: dict[str, Callable[[Any], object]] = {
    "tests": fit_envelope,
    "confidence": lambda wrong: fit_envelope(FIT.tests, confidence=wrong),
    "path": lambda wrong: read_readings([wrong]),  # type: ignore[arg-type]
    "readings": reduce_readings,
    "readings of any kind": reduce_tests,
    "readings to fit": strength_from_readings,
    "readings to interpret": interpretations,
    "specimen": lambda wrong: strength_from_readings(CIRCLES, wrong),
    "choices": lambda wrong: strength_from_readings(CIRCLES, choices=wrong),
    "drainage": lambda wrong: strength_from_readings(CIRCLES, drainage=wrong),
    "stated": lambda wrong: strength_from_readings(CIRCLES, stated=wrong),
    "stated pair": lambda wrong: stated_against_fit(FIT, wrong, "me"),
    "fit": diagnose,
    "fit of a joint strength": JointStrength.of,
    "fit to compare": lambda wrong: stated_against_fit(wrong, Pair(4.0, 30.0), "me"),
    "cohesion": lambda wrong: Strength(cohesion=wrong, friction_angle=30.0),
    "friction_angle": lambda wrong: Strength(cohesion=3.0, friction_angle=wrong),
    "normal": lambda wrong: ShearTests.of([wrong], [1.0]),
}


@pytest.mark.parametrize("case", WRONG)
def test_an_argument_of_a_wrong_kind_is_named(case: str) -> None:
    with pytest.raises(InputError) as refused:
        WRONG[case]("four")
    assert refused.value.place == case.split(" ", maxsplit=1)[0]
    assert refused.value.allowed.startswith("give")
