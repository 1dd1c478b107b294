"""Results as the JSON documents outside programs read.

One rule writes a result: a record as its fields, a number that is not finite as null, a strength
under names with their units, a check by its label and what is asked of it.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import fields as fields_of
from dataclasses import is_dataclass
from typing import Any

import numpy as np

from slipmargin.cli.scenario.read import CheckEntry, Scenario
from slipmargin.cli.visible_text import json_escaped
from slipmargin.cli.words import CAUTION
from slipmargin.strength import EnvelopeFit, Notice
from slipmargin.strength.envelope.power_curve import PowerCurve
from slipmargin.strength.from_laboratory import LaboratoryStrength
from slipmargin.strength.laboratory.picked_points import EndPoint, PeakPoint, PickedTest

__all__ = [
    "SCHEMA",
    "document",
    "dump",
    "fit_body",
    "fit_document",
    "number",
    "of_laboratory",
    "of_version",
    "written",
]

SCHEMA = 1
"""Version of the documents."""

_USUAL: dict[str, str] = {
    "entry": "",
    "cohesion": "cohesion_kpa",
    "friction_angle": "friction_angle_deg",
    "factors": "factors_of_safety",
    "levels": "utilisation?",
}
_NAMES: dict[str, Mapping[str, str | None]] = {
    "CheckInfluence": {"base": "lowest_factor", "asked": None, "target": None},
    "CheckInterpretations": {"rows": "interpretations"},
    "CheckOnMap": {"region": "region?"},
    "CheckReliability": {"factors": "factors"},
    "CheckSweep": {
        "by_limit_state": "break_even_by_limit_state",
        "standard_errors": "break_even_standard_errors",
        "errors_by_limit_state": None,
        "used_up": "break_even_utilisation?",
        "tied": "factors_of_safety_tied?",
        "held": "factors_of_safety_held?",
    },
    "FactorDoubt": {"unlimited": None, "variance_shares": "variance_shares?"},
    "Interpretation": {"curve": None},
    "Row": {"reading": ""},
    "SweepOutcome": {"tied": "tied?"},
    "Sweeps": {"outcomes": "sweeps"},
    "StrengthMap": {"highest_at_points": None},
    "Swing": {
        "name": "input",
        "at_low": "factor_at_low",
        "at_high": "factor_at_high",
        "misses": "misses_target",
        "bounded": "bounded",
    },
}
"""Names in documents that are not those of the fields: of all records, and of one, whose properties
may be among them. No name leaves a field out, an empty one puts the fields of a part among the
others, a question mark leaves out what is empty.
"""


def number(value: Any) -> Any:
    """A float, a list of floats for an array; what is not finite becomes null."""
    if value is None:
        return None
    values = np.asarray(value, dtype=float)
    if values.ndim:
        return [number(v) for v in values]
    single = float(values)
    return single if math.isfinite(single) else None


def written(value: Any) -> Any:
    """A result, or a part of one, as it stands in a document."""
    match value:
        case None | bool() | int() | str():
            return value
        case float() | np.ndarray() | np.generic():
            return number(value)
        case Mapping():
            return {str(name): written(one) for name, one in value.items()}
        case Notice():
            found = {"code": value.code, "severity": str(value.severity), "text": value.text}
            return found | ({"ground": value.ground} if value.ground else {})
        case CheckEntry():
            return {"label": value.label, **targets_asked(value)}
    return _fields(value) if is_dataclass(value) else [written(one) for one in value]


def _fields(value: Any) -> dict[str, Any]:
    """Fields under the names of the document."""
    names = _NAMES.get(type(value).__name__, {})
    found: dict[str, Any] = {}
    # what a record does not show of itself is no part of its document
    shown = {field.name: field.repr for field in fields_of(value)}
    for field in {**shown, **names}:
        held = getattr(value, field)
        name = names.get(field, _USUAL.get(field, field))
        if not shown.get(field, True) or name is None or (name.endswith("?") and not held):
            continue
        if name:
            found[name.removesuffix("?")] = written(held)
        else:
            found |= written(held)
    return found


def document(found: Any, scenario: Scenario | None = None) -> dict[str, Any]:
    """The document of a result: its fields, or the parts that are named; with the title and the
    variants of the scenario that it is of, where it is of all of it.
    """
    top: dict[str, Any] = {"schema": SCHEMA}
    if scenario is not None:
        top["title"] = scenario.title
        top |= {"variants": list(scenario.variants)} if scenario.variants else {}
    return {**top, "caution": CAUTION, **written(found)}


def of_version(document: Mapping[str, Any], scenario: Scenario) -> dict[str, Any]:
    """A document with the variant it is of, where it is of one."""
    if scenario.variant is None:
        return dict(document)
    return {"schema": SCHEMA, "variant": scenario.variant, **document}


def dump(document: Mapping[str, Any], indent: int | None = 2) -> str:
    """The document as text, without an indent on one line; nan and infinity cannot occur in it."""
    return json_escaped(json.dumps(document, indent=indent, ensure_ascii=False, allow_nan=False))


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


def fit_body(fit: EnvelopeFit, value: str = "best_fit") -> dict[str, Any]:
    """A fit; where no area is known forces in N stand for stresses in kPa."""
    tests = fit.tests
    errors = {
        "cohesion_kpa": fit.standard_error_cohesion,
        "tan_friction_angle": fit.standard_error_tan,
    }
    body = {
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
        "best_fit": fit.best_fit,
        "cautious": fit.cautious,
        "standard_error": errors if fit.degrees_of_freedom > 0 else None,
        "standard_error_friction_angle_deg": fit.standard_error_friction_angle,
        "correlation": fit.correlation,
        "interval": fit.interval,
        "residual_std_kpa": fit.residual_std,
        "error_std_kpa": fit.error_std,
        "r_squared": fit.r_squared,
        "power_curve": _curve(fit.curve, fit.confidence),
        "cautious_power_curve": _curve(fit.cautious_curve, fit.confidence),
        "normal_stress_range_kpa": fit.normal_range,
    }
    return _in_unit(body, tests.unit)


def _in_unit(part: Mapping[str, Any], unit: str) -> dict[str, Any]:
    """A part as it stands in a document, under the names of forces where it holds forces."""
    found: dict[str, Any] = written(part)
    return found if unit == "kPa" else _of_forces(found)


def _of_forces(found: Any) -> Any:
    if isinstance(found, list):
        return [_of_forces(one) for one in found]
    if not isinstance(found, dict):
        return found
    names = {
        name: name.replace("cohesion_kpa", "intercept_n")
        .replace("_stress", "_force")
        .replace("_kpa", "_n")
        for name in found
    }
    return {names[name]: _of_forces(one) for name, one in found.items()}


def _curve(curve: PowerCurve | None, confidence: float) -> dict[str, Any] | None:
    if curve is None:
        return None
    known = {one.name.split()[0]: one for one in curve.parameters(confidence)}
    errors = {name: one.standard_error for name, one in known.items()}
    limits = {name: one.limits for name, one in known.items()}
    return {
        **{name: getattr(curve, name) for name in known},
        "reference_pressure_kpa": curve.reference_pressure,
        "standard_error": errors if curve.degrees_of_freedom else None,
        "interval": {"confidence": confidence, **limits} if curve.degrees_of_freedom else None,
        "residual_std_kpa": curve.residual_std,
    }


def of_laboratory(laboratory: LaboratoryStrength | None) -> dict[str, Any] | None:
    """What the tests say of their line, test by test, and of strengths others stated."""
    if laboratory is None:
        return None
    diagnosis = laboratory.diagnosis
    found: dict[str, Any] = {
        "stated": [
            {
                "who": one.who,
                **written(one.stated),
                "cohesion_standard_errors": one.cohesion_errors,
                "tan_friction_angle_standard_errors": one.tan_errors,
                "joint_probability": one.probability,
                "misses": [name for name, _ in one.misses],
            }
            for one in laboratory.stated
        ],
    }
    if diagnosis is not None:
        found["robust_line"] = diagnosis.robust
        found["curvature_probability"] = diagnosis.curvature and diagnosis.curvature.probability
        found["influence"] = [
            {
                "test": one.name,
                "leverage": one.leverage,
                "deleted_residual": one.deleted_residual,
                "without": one.without,
            }
            for one in diagnosis.influences
        ]
    return _in_unit(found, laboratory.fit.tests.unit)


def fit_document(laboratory: LaboratoryStrength, value: str = "best_fit") -> dict[str, Any]:
    """The document of ``fit``."""
    fit = laboratory.fit
    tests = fit.tests
    points = [
        {
            "test": name,
            "normal_stress_kpa": normal,
            "shear_stress_kpa": shear,
            "residual_kpa": residual,
            "readings": count,
        }
        for name, normal, shear, residual, count in zip(
            tests.names, *fit.on_sliding_plane, fit.line.residuals, tests.readings, strict=True
        )
    ]
    for point, *stresses in zip(points, tests.normal, tests.shear, strict=True):
        # none where the points lie on the sliding plane
        point |= dict(zip(fit.plane.point_names, stresses, strict=False))
    records = {"records": [_record(test) for test in tests.details]} if tests.details else {}
    return document(
        {
            "fit": fit_body(fit, value),
            "points": [_in_unit(point, tests.unit) for point in points],
            **records,
            "laboratory": of_laboratory(laboratory),
            "notices": laboratory.notices,
        }
    )


def _record(test: PickedTest) -> dict[str, Any]:
    """The points read from a stress-displacement record; rows are counted from 1."""
    peak, residual = test.peak, test.residual

    def point(one: PeakPoint | EndPoint) -> dict[str, Any]:
        return {
            "displacement_mm": one.displacement,
            "normal_stress_kpa": one.normal,
            "shear_stress_kpa": one.shear,
            "standard_error_kpa": one.standard_error,
            "area_in_contact": test.overlap(one.displacement),
        }

    picked = {"found_by": peak.found_by, "row": test.peak_row + 1, **point(peak)}
    found = {
        "test": test.name,
        "rows": int(test.record.displacement.size),
        "forward_traverses": len(test.traverses),
        "peak": {**picked, "dilation_angle_deg": peak.dilation_angle},
        "end_of_test": {**point(test.end), "trend": test.end.trend},
        "residual": residual and {**point(residual), "trend": residual.trend},
    }
    return _in_unit(found, test.record.unit)
