"""The JSON Schema of a scenario: what every key means, what it takes, and an example of it.

What stands in a check is read from the declarations of its fields; the meanings of the other
keys stand here.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pydantic import BaseModel

from slipmargin.cli.scenario.examples import example_of, examples_given, key_words, toml
from slipmargin.cli.scenario.schema import ScenarioModel, SoilModel, SweepModel, check_model
from slipmargin.stability import KINDS, fields

__all__ = ["json_schema"]

_MEANINGS: dict[str, tuple[str, Any]] = {
    "ScenarioModel.title": ("Title of the job, on every output.", "Tamarack Lane cut"),
    "ScenarioModel.groundwater_unit_weight": ("Unit weight of water.", "9.81 kN/m^3"),
    "ScenarioModel.soils": ("Soils, each under its name: [soils.NAME].", {}),
    "ScenarioModel.checks": ("Checks, each a [[checks]] table of one kind.", []),
    "ScenarioModel.sweeps": ("Fields to run through a range: [[sweeps]].", []),
    "ScenarioModel.basis": ("What the checks are held to.", {"method": "global"}),
    "ScenarioModel.reliability": ("How the uncertainty is sampled.", {"samples": 100000}),
    "ScenarioModel.uncertain": (
        'Distributions of fields, by path: [uncertain."soils.NAME.FIELD"].',
        {"soils.bank.unit_weight": {"distribution": "normal"}},
    ),
    "ScenarioModel.correlations": ("Correlations of uncertain fields: [[correlations]].", []),
    "ScenarioModel.ranges": (
        'Plausible ranges of fields, by path: [ranges."checks.LABEL.FIELD"].',
        {"checks.Bank.depth": {"range": ["1 m", "2 m"]}},
    ),
    "ScenarioModel.variants": ("Other versions of the scenario: [[variants]].", []),
    "ScenarioModel.sheet": ("What the calculation sheet is signed with.", {"revision": "B"}),
    "SheetModel.project": ("Name of the project.", "Tamarack Lane"),
    "SheetModel.job_number": ("Number the job is filed under.", "24-117"),
    "SheetModel.revision": ("Revision of the sheet.", "B"),
    "SheetModel.made_by": ("Who made it.", "A. Lind"),
    "SheetModel.checked_by": ("Who checked it.", "R. Okafor"),
    "VariantModel.name": ("Name that --variant takes.", "with berm"),
    "VariantModel.set": (
        "New values of fields, by path.",
        {"checks.Cut face.height": "5 m", "soils.bank.strength.state": "residual"},
    ),
    "VariantModel.leave_out": (
        "Paths of fields that the variant does not have.",
        ["checks.Cut face.plane_angle"],
    ),
    "SoilModel.description": ("What the soil is, in words.", "silty sand"),
    "SoilModel.unit_weight": ("Unit weight above water.", "18.5 kN/m^3"),
    "SoilModel.saturated_unit_weight": (
        "Unit weight below water, the water in it included; that above water by default.",
        "20 kN/m^3",
    ),
    "SoilModel.cohesionless": ("The soil has no cohesion of its own: c′ = 0.", True),
    "SoilModel.soil_class": ("USCS symbol, to hold values against published ranges.", "SM"),
    "SoilModel.strength": ("Strength in effective stress, stated or fitted.", {}),
    "SoilModel.specimen": ("Specimen of the shear tests.", {"shape": "square"}),
    "SoilModel.apparatus": ("Lever and proving ring, for raw readings.", {"lever_ratio": 10}),
    "StrengthModel.cohesion": ("Effective cohesion c′, stated.", "4 kPa"),
    "StrengthModel.friction_angle": ("Effective friction angle φ′, stated.", "31 deg"),
    "StrengthModel.readings": ("File of readings to fit, beside the scenario.", "shear-box.csv"),
    "StrengthModel.state": ("Which strength of the tests is fitted.", "peak"),
    "StrengthModel.intercept": (
        "Whether the line may start below zero (free), at zero or above, or at zero.",
        "non_negative",
    ),
    "StrengthModel.value": ("Which value the checks use.", "cautious"),
    "StrengthModel.confidence": ("Confidence of limits and of the cautious value.", 0.95),
    "StrengthModel.envelope": ("Straight line or power curve.", "line"),
    "StrengthModel.area_correction": ("Stresses on the area still in contact.", True),
    "StrengthModel.sample": ("Sample in a transfer file (.ags).", "BH1-3"),
    "StrengthModel.test_kind": ("Tests of a file that holds both kinds.", "direct_shear"),
    "StrengthModel.beside": (
        "File of tests of the other kind on the same soil, set beside the fit.",
        "triaxial.csv",
    ),
    "StrengthModel.stated_by": ("Strength that somebody else stated.", {"who": "laboratory"}),
    "StatedByModel.who": ("Who stated it.", "laboratory"),
    "StatedByModel.cohesion": ("Effective cohesion c′.", "6 kPa"),
    "StatedByModel.friction_angle": ("Effective friction angle φ′.", "33 deg"),
    "SpecimenModel.shape": ("Shape of the shear plane.", "square"),
    "SpecimenModel.width": ("Width of a square specimen.", "60 mm"),
    "SpecimenModel.diameter": ("Diameter of a circular specimen.", "63.5 mm"),
    "SpecimenModel.height": ("Height of the specimen.", "25 mm"),
    "SpecimenModel.added_normal_force": (
        "Weight of cap, hanger and soil above the plane, added to every normal force.",
        "1.8 N",
    ),
    "SpecimenModel.apparatus_friction": (
        "Friction of the apparatus, taken off every shear force.",
        "2 N",
    ),
    "SpecimenModel.zero_reading": ("Shear force read at rest, taken off every one.", "1 N"),
    "SpecimenModel.time_to_failure": ("Time from the start of shearing to the peak.", "40 min"),
    "SpecimenModel.rate": ("Rate of shearing.", "0.05 mm/min"),
    "SpecimenModel.displacement_at_failure": ("Displacement at the peak.", "2 mm"),
    "SpecimenModel.t50": ("Time to half of the consolidation.", "1 min"),
    "SpecimenModel.t90": ("Time to nine tenths of the consolidation.", "4 min"),
    "SpecimenModel.dry": ("Sheared dry: the rate does not matter.", True),
    "ApparatusModel.lever_ratio": ("Normal force over the load on the hanger.", 10),
    "ApparatusModel.ring_constant": ("Shear force a division of the dial.", "1.85 N/div"),
    "ApparatusModel.dial_zero": ("Reading of the dial without a shear force.", "12 div"),
    "ApparatusModel.ring_calibration": ("File of the ring's calibration.", "ring.csv"),
    "RunModel.vary": (
        "Field that is varied: soils.NAME.FIELD or checks.LABEL.FIELD.",
        "soils.bank.friction_angle",
    ),
    "RunModel.from": ("First value, in the field's own unit.", "24 deg"),
    "RunModel.to": ("Last value, in the field's own unit.", "36 deg"),
    "RunModel.steps": ("Number of values.", 25),
    "SweepModel.second": ("Field that is varied together with it.", {"steps": 15}),
    "UncertainModel.distribution": ("Form of the distribution.", "normal"),
    "UncertainModel.mean": ("Mean, of a normal or lognormal one.", "18.5 kN/m^3"),
    "UncertainModel.std": ("Standard deviation, likewise.", "0.8 kN/m^3"),
    "UncertainModel.low": ("Lowest value, of a uniform or triangular one.", "17 kN/m^3"),
    "UncertainModel.mode": ("Most likely value, of a triangular one.", "18 kN/m^3"),
    "UncertainModel.high": ("Highest value, of a uniform or triangular one.", "20 kN/m^3"),
    "CorrelationModel.between": (
        "Two fields of [uncertain].",
        ["soils.bank.unit_weight", "soils.fill.unit_weight"],
    ),
    "CorrelationModel.coefficient": ("Correlation, above -1 and below 1.", 0.5),
    "RangeModel.range": ("Lowest and highest value.", ["1 m", "2 m"]),
    "BasisModel.method": ("Global factors of safety, or sets of partial factors.", "partial"),
    "BasisModel.targets": ("Least factor by limit state, or 'slope'.", {"slope": 1.3}),
    "BasisModel.sets": ("Sets of partial factors to be shown.", ["DA1-1", "DA1-2"]),
    "BasisModel.own_sets": ("Sets of one's own, such as a national annex.", {}),
    "BasisModel.water_factors": ("How water on a wall is factored.", "single_source"),
    "ReliabilityModel.samples": ("Number of samples.", 100000),
    "ReliabilityModel.seed": ("The same seed, the same result.", 7),
    "ReliabilityModel.sampling": ("Random numbers, or an evenly spread sequence.", "sobol"),
}
"""Meaning of each key outside the checks, and an example of what it holds."""


def json_schema() -> dict[str, Any]:
    """The JSON Schema of a scenario, for editors."""
    definitions: dict[str, Any] = {}

    def placed(model: type[BaseModel]) -> dict[str, Any]:
        schema = model.model_json_schema(ref_template="#/$defs/{model}")
        for name, one in {**schema.pop("$defs", {}), model.__name__: schema}.items():
            _explain(name, one)
            definitions.setdefault(name, one)
        return {"$ref": f"#/$defs/{model.__name__}"}

    placed(ScenarioModel)
    top = definitions.pop("ScenarioModel")
    top["properties"]["soils"]["additionalProperties"] = placed(SoilModel)
    checks = []
    for kind in KINDS:
        schema = check_model(kind).model_json_schema(ref_template=f"#/$defs/{kind}.{{model}}")
        groups = schema.pop("$defs", {})
        _explain_fields(schema, KINDS[kind], examples_given(kind), groups)
        definitions |= {f"{kind}.{name}": one for name, one in groups.items()}
        definitions[kind] = schema
        checks.append({"$ref": f"#/$defs/{kind}"})
    top["properties"]["checks"]["items"] = {"oneOf": checks}
    top["properties"]["sweeps"]["items"] = placed(SweepModel)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **top,
        "$defs": definitions,
    }


def _explain(model: str, schema: dict[str, Any]) -> None:
    """Put the meaning and the example of every key into the schema of one model."""
    for key, one in schema.get("properties", {}).items():
        meaning = _MEANINGS.get(f"{model}.{key}") or _MEANINGS.get(f"RunModel.{key}")
        if meaning is not None:
            _put(one, *meaning)


def _explain_fields(
    schema: dict[str, Any], record: Any, examples: Sequence[Any], groups: dict[str, Any]
) -> None:
    """The same for the declared fields of a check, and of the groups of fields in it."""
    keys = schema["properties"]
    if "kind" in keys:
        _put(keys["kind"], "Kind of the check.", keys["kind"]["const"])
        _put(keys["label"], "Name of the check, its own among all.", "Cut face")
    for name, declaration, _ in fields.of(record):
        if name not in keys:
            continue
        if not isinstance(declaration, fields.Part):
            example = example_of(name, declaration, examples)
            _put(keys[name], key_words(declaration), example)
            continue
        held = [getattr(one, name) for one in examples if getattr(one, name)]
        inner = [part for one in held for part in (one if declaration.many else (one,))]
        _explain_fields(groups[name], declaration.kind, inner, groups)
        members = groups[name]["properties"]
        example = {
            key: members[key]["examples"][0] for key in groups[name].get("required", members)
        }
        _put(keys[name], key_words(declaration), [example] if declaration.many else example)


def _put(schema: dict[str, Any], meaning: str, example: Any) -> None:
    """A meaning before what the schema says of the form, and an example, as a file writes it."""
    forms = [schema, *schema.get("anyOf", ()), *schema.get("allOf", ())]
    form = next((one["description"] for one in forms if "description" in one), "")
    said = form if form != meaning and form.startswith("A ") else ""
    schema["description"] = f"{meaning} {said}".strip() + f" Example: {toml(example)}"
    schema["examples"] = [example]
