"""Results as the JSON documents outside programs read."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from slipmargin.cli.questions.check import CheckOutcome, Outcome
from slipmargin.cli.scenario.read import CheckEntry, Scenario, SoilEntry
from slipmargin.cli.visible_text import json_escaped
from slipmargin.cli.words import CAUTION
from slipmargin.stability import CheckResult, fields
from slipmargin.strength import EnvelopeFit, Notice, Pair
from slipmargin.strength.envelope.power_curve import PowerCurve
from slipmargin.strength.from_laboratory import LaboratoryStrength
from slipmargin.strength.laboratory.picked_points import EndPoint, PeakPoint, PickedTest

__all__ = ["SCHEMA", "check_document", "dump", "dump_line", "fit_document", "number"]

SCHEMA = 1
"""Version of the documents."""


def number(value: Any) -> Any:
    """A float, a list of floats for an array; what is not finite becomes null."""
    if value is None:
        return None
    values = np.asarray(value, dtype=float)
    if values.ndim:
        return [number(v) for v in values]
    single = float(values)
    return single if math.isfinite(single) else None


def dump(document: Mapping[str, Any]) -> str:
    """The document as text; nan and infinity cannot occur in it."""
    return json_escaped(json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False))


def dump_line(document: Mapping[str, Any]) -> str:
    """The document as one line."""
    return json_escaped(json.dumps(document, ensure_ascii=False, allow_nan=False))


def notices(items: Iterable[Notice]) -> list[dict[str, str]]:
    """Notices, each with its ground where it has one."""
    return [
        {"code": n.code, "severity": str(n.severity), "text": n.text}
        | ({"ground": n.ground} if n.ground else {})
        for n in items
    ]


def check_document(outcome: Outcome) -> dict[str, Any]:
    """The document of ``check``."""
    return {
        "schema": SCHEMA,
        "title": outcome.scenario.title,
        **variants_of(outcome.scenario),
        "caution": CAUTION,
        "soils": {name: _soil(entry) for name, entry in outcome.scenario.soils.items()},
        "checks": [_check(check) for check in outcome.checks],
        "notices": notices(outcome.scenario.notices),
    }


def variants_of(scenario: Scenario) -> dict[str, Any]:
    """The variants of a scenario, by name; nothing where it has none."""
    return {"variants": list(scenario.variants)} if scenario.variants else {}


def _soil(entry: SoilEntry) -> dict[str, Any]:
    strength = entry.soil.strength
    document: dict[str, Any] = {
        "cohesion_kpa": number(strength.cohesion),
        "friction_angle_deg": number(strength.friction_angle),
        "source": "stated" if entry.fit is None else "fitted",
    }
    if strength.curve is not None:
        # the pair above is its chord; the checks that follow the curve do not use it
        document["power_curve"] = {
            "coefficient": number(strength.curve.coefficient),
            "exponent": number(strength.curve.exponent),
            "reference_pressure_kpa": strength.curve.reference_pressure,
        }
    if entry.fit is not None:
        document["fit"] = fit_body(entry.fit, entry.value)
        document["laboratory"] = _laboratory(entry.laboratory)
    document["notices"] = notices(entry.notices)
    return document


def _check(outcome: CheckOutcome) -> dict[str, Any]:
    entry, result = outcome.entry, outcome.result
    soils = {field: name for field, name in entry.soils.items() if "." not in field}
    document: dict[str, Any] = {
        "label": entry.label,
        "kind": entry.kind,
        "soil": soils.pop("soil", None),
        **soils,
        "factors_of_safety": by_state(result.factors_of_safety),
        **targets_asked(entry),
        "meets_target": outcome.meets_target,
        "values": _values(result),
        "notices": notices(outcome.notices),
    }
    if result.parts:
        document["parts"] = {state: _values(part.result) for state, part in result.parts.items()}
    if outcome.designs:
        document["design"] = [design.as_dict() for design in outcome.designs]
    return document


def _values(result: CheckResult) -> dict[str, Any]:
    return {
        fields.json_name(name, declaration): number(getattr(result.values, name))
        for name, declaration, _ in fields.of(result.values)
    }


def by_state(factors: Mapping[str, Any]) -> dict[str, Any]:
    """Factors, or degrees of utilisation, by limit state."""
    return {state: number(factor) for state, factor in factors.items()}


def targets_asked(entry: CheckEntry) -> dict[str, Any]:
    """The target of sliding, that of each limit state, and which are only customary."""
    own = getattr(entry.check, "target", None)
    found = entry.targets
    customary = [state for state, one in found.items() if one.customary]
    return (
        {"target": number(entry.target("sliding") if own is None else own)}
        | ({"targets": {s: number(one.value) for s, one in found.items()}} if found else {})
        | ({"customary_targets": customary} if customary else {})
    )


def _pair(pair: Pair | None, unit: str) -> dict[str, float] | None:
    if pair is None:
        return None
    return {_cohesion(unit): float(pair.cohesion), "friction_angle_deg": float(pair.friction_angle)}


def _cohesion(unit: str) -> str:
    return "cohesion_kpa" if unit == "kPa" else "intercept_n"


def fit_body(fit: EnvelopeFit, value: str = "best_fit") -> dict[str, Any]:
    """A fit; where no area is known forces in N stand for stresses in kPa."""
    tests = fit.tests
    kpa = tests.unit == "kPa"
    suffix = "kpa" if kpa else "n"
    cohesion = _cohesion(tests.unit)
    interval = fit.interval
    scatter = fit.degrees_of_freedom > 0
    return {
        "test_kind": tests.plane.test_kind,
        "state": tests.state,
        "envelope": fit.envelope,
        "intercept": fit.intercept,
        "through_origin": fit.through_origin,
        "cohesion_assumed": fit.cohesion_assumed,
        "value": value,
        "tests": len(tests.names),
        "readings": sum(tests.readings),
        "degrees_of_freedom": fit.degrees_of_freedom,
        "best_fit": _pair(fit.best_fit, tests.unit),
        "cautious": _pair(fit.cautious, tests.unit),
        "standard_error": {
            cohesion: fit.standard_error_cohesion,
            "tan_friction_angle": fit.standard_error_tan,
        }
        if scatter
        else None,
        "standard_error_friction_angle_deg": fit.standard_error_friction_angle,
        "correlation": fit.correlation,
        "interval": None
        if interval is None
        else {
            "confidence": interval.confidence,
            cohesion: None if interval.cohesion is None else list(interval.cohesion),
            "friction_angle_deg": list(interval.friction_angle),
        },
        f"residual_std_{suffix}": fit.residual_std,
        f"error_std_{suffix}": fit.error_std,
        "r_squared": number(fit.r_squared),
        "power_curve": _curve(fit.curve, fit.confidence),
        "cautious_power_curve": _curve(fit.cautious_curve, fit.confidence),
        f"normal_{'stress' if kpa else 'force'}_range_{suffix}": list(fit.normal_range),
    }


def _curve(curve: PowerCurve | None, confidence: float) -> dict[str, Any] | None:
    if curve is None:
        return None
    names = ("coefficient", "exponent")
    errors, limits = curve.standard_errors, curve.parameter_limits(confidence)
    return {
        **{name: number(getattr(curve, name)) for name in names},
        "reference_pressure_kpa": curve.reference_pressure,
        "standard_error": None if errors is None else dict(zip(names, errors, strict=True)),
        "interval": None
        if limits is None
        else {"confidence": confidence}
        | {name: list(pair) for name, pair in zip(names, limits, strict=True)},
        "residual_std_kpa": number(curve.residual_std),
    }


def _laboratory(laboratory: LaboratoryStrength | None) -> dict[str, Any] | None:
    """What the tests say of their line, test by test, and of strengths others stated."""
    if laboratory is None:
        return None
    diagnosis, unit = laboratory.diagnosis, laboratory.fit.tests.unit
    document: dict[str, Any] = {
        "stated": [
            {
                "who": one.who,
                **(_pair(one.stated, unit) or {}),
                "cohesion_standard_errors": number(one.cohesion_errors),
                "tan_friction_angle_standard_errors": number(one.tan_errors),
                "joint_probability": number(one.probability),
                "misses": [name for name, _ in one.misses],
            }
            for one in laboratory.stated
        ],
    }
    if diagnosis is not None:
        document["robust_line"] = _pair(diagnosis.robust, unit)
        document["curvature_probability"] = (
            None if diagnosis.curvature is None else number(diagnosis.curvature.probability)
        )
        document["influence"] = [
            {
                "test": one.name,
                "leverage": number(one.leverage),
                "deleted_residual": number(one.deleted_residual),
                "without": _pair(one.without, unit),
            }
            for one in diagnosis.influences
        ]
    return document


def fit_document(laboratory: LaboratoryStrength, value: str = "best_fit") -> dict[str, Any]:
    """The document of ``fit``."""
    fit = laboratory.fit
    tests = fit.tests
    kind, suffix = ("stress", "kpa") if tests.unit == "kPa" else ("force", "n")
    points = [
        {
            "test": name,
            f"normal_{kind}_{suffix}": float(normal),
            f"shear_{kind}_{suffix}": float(shear),
            f"residual_{suffix}": float(residual),
            "readings": count,
        }
        for name, normal, shear, residual, count in zip(
            tests.names, *fit.on_sliding_plane, fit.line.residuals, tests.readings, strict=True
        )
    ]
    for point, *stresses in zip(points, tests.normal, tests.shear, strict=True):
        # none where the points lie on the sliding plane
        point |= dict(zip(fit.plane.point_names, map(float, stresses), strict=False))
    return {
        "schema": SCHEMA,
        "caution": CAUTION,
        "fit": fit_body(fit, value),
        "points": points,
        **({"records": [_record(test) for test in tests.details]} if tests.details else {}),
        "laboratory": _laboratory(laboratory),
        "notices": notices(laboratory.notices),
    }


def _record(test: PickedTest) -> dict[str, Any]:
    """The points read from a stress-displacement record; rows are counted from 1."""
    peak, end, residual = test.peak, test.end, test.residual
    return {
        "test": test.name,
        "rows": int(test.record.displacement.size),
        "forward_traverses": len(test.traverses),
        "peak": {
            "found_by": peak.found_by,
            "row": test.peak_row + 1,
            **_point(peak, test),
            "dilation_angle_deg": number(peak.dilation_angle),
        },
        "end_of_test": {**_point(end, test), "trend": end.trend},
        "residual": None
        if residual is None
        else {**_point(residual, test), "trend": residual.trend},
    }


def _point(point: PeakPoint | EndPoint, test: PickedTest) -> dict[str, Any]:
    kind, suffix = ("stress", "kpa") if test.record.unit == "kPa" else ("force", "n")
    return {
        "displacement_mm": number(point.displacement),
        f"normal_{kind}_{suffix}": number(point.normal),
        f"shear_{kind}_{suffix}": number(point.shear),
        f"standard_error_{suffix}": number(point.standard_error),
        "area_in_contact": number(test.overlap(point.displacement)),
    }
