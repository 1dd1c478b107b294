"""The keys of a scenario file outside its checks: what each means, what it takes, an example.

Each key is declared once. Validation, the JSON Schema and the hints of error messages are read
from here.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, StrictBool, StrictStr

from slipmargin.cli.scenario.readers import Unit, Word
from slipmargin.strength import ENVELOPES, INTERCEPTS, STATES
from slipmargin.strength.stress_plane import TEST_KINDS

__all__ = [
    "STRICT",
    "ApparatusModel",
    "BasisModel",
    "CorrelationModel",
    "RangeModel",
    "ReliabilityModel",
    "ScenarioModel",
    "SheetModel",
    "SoilModel",
    "SpecimenModel",
    "StatedByModel",
    "StrengthModel",
    "SweepModel",
    "UncertainModel",
    "VariantModel",
    "model_of",
    "models_in",
    "names_of",
]

# the model of a whole table is built once, with all that stands in it, when a file is read: so a
# default is a model that was not validated
STRICT = ConfigDict(extra="forbid", arbitrary_types_allowed=True, defer_build=True)

Stress = Annotated[float, Unit("stress")]
Angle = Annotated[float, Unit("angle")]
UnitWeight = Annotated[float, Unit("unit_weight")]
Millimetres = Annotated[float, Unit("displacement")]
Minutes = Annotated[float, Unit("time")]
Force = Annotated[float, Unit("force")]
Ratio = Annotated[float, Unit("ratio")]


def needed(says: str, example: Any, **how: Any) -> Any:
    """A key that has to be there: what it means, and an example of what it holds."""
    return Field(description=says, examples=[example], **how)


def key(says: str, example: Any, default: Any = None, **how: Any) -> Any:
    """A key that may be left out."""
    return Field(default, description=says, examples=[example], **how)


class _Strict(BaseModel):
    model_config = STRICT


class StatedByModel(_Strict):
    """A strength somebody else stated for the same soil."""

    who: StrictStr = needed("Who stated it.", "laboratory")
    cohesion: Stress = needed("Effective cohesion c′.", "6 kPa")
    friction_angle: Angle = needed("Effective friction angle φ′.", "33 deg")


class StrengthModel(_Strict):
    """A strength, stated or fitted."""

    cohesion: Stress | None = key("Effective cohesion c′, stated.", "4 kPa")
    friction_angle: Angle | None = key("Effective friction angle φ′, stated.", "31 deg")
    readings: StrictStr | None = key(
        "File of readings to fit, beside the scenario.", "shear-box.csv"
    )
    state: Annotated[str, Word(STATES)] | None = key(
        "Which strength of the tests is fitted.", "peak"
    )
    intercept: Annotated[str, Word(INTERCEPTS)] | None = key(
        "Whether the line may start below zero (free), at zero or above, or at zero.",
        "non_negative",
    )
    value: Annotated[str, Word(("best_fit", "cautious"))] | None = key(
        "Which value the checks use.", "cautious"
    )
    confidence: Ratio | None = key("Confidence of limits and of the cautious value.", 0.95)
    envelope: Annotated[str, Word(ENVELOPES)] | None = key("Straight line or power curve.", "line")
    area_correction: StrictBool | None = key("Stresses on the area still in contact.", True)
    sample: StrictStr | None = key("Sample in a transfer file (.ags).", "BH1-3")
    test_kind: Annotated[str, Word(TEST_KINDS)] | None = key(
        "Tests of a file that holds both kinds.", "direct_shear"
    )
    beside: StrictStr | None = key(
        "File of tests of the other kind on the same soil, set beside the fit.", "triaxial.csv"
    )
    stated_by: StatedByModel | None = key(
        "Strength that somebody else stated.", {"who": "laboratory"}
    )


class SpecimenModel(_Strict):
    """A specimen of a shear test."""

    shape: Annotated[str, Word(("square", "circle"))] = needed(
        "Shape of the shear plane.", "square"
    )
    width: Millimetres | None = key("Width of a square specimen.", "60 mm")
    diameter: Millimetres | None = key("Diameter of a circular specimen.", "63.5 mm")
    height: Millimetres | None = key("Height of the specimen.", "25 mm")
    added_normal_force: Force = key(
        "Weight of cap, hanger and soil above the plane, added to every normal force.", "1.8 N", 0.0
    )
    apparatus_friction: Force = key(
        "Friction of the apparatus, taken off every shear force.", "2 N", 0.0
    )
    zero_reading: Force = key("Shear force read at rest, taken off every one.", "1 N", 0.0)
    time_to_failure: Minutes | None = key("Time from the start of shearing to the peak.", "40 min")
    rate: Annotated[float, Unit("rate")] | None = key("Rate of shearing.", "0.05 mm/min")
    displacement_at_failure: Millimetres | None = key("Displacement at the peak.", "2 mm")
    t50: Minutes | None = key("Time to half of the consolidation.", "1 min")
    t90: Minutes | None = key("Time to nine tenths of the consolidation.", "4 min")
    dry: StrictBool = key("Sheared dry: the rate does not matter.", True, False)


class ApparatusModel(_Strict):
    """Lever and proving ring of a shear box, for raw readings."""

    lever_ratio: Ratio | None = key("Normal force over the load on the hanger.", 10)
    ring_constant: Annotated[float, Unit("ring_constant")] | None = key(
        "Shear force a division of the dial.", "1.85 N/div"
    )
    dial_zero: Annotated[float, Unit("divisions")] | None = key(
        "Reading of the dial without a shear force.", "12 div"
    )
    ring_calibration: StrictStr | None = key("File of the ring's calibration.", "ring.csv")


class SoilModel(_Strict):
    """A soil."""

    description: StrictStr = key("What the soil is, in words.", "silty sand", "")
    unit_weight: UnitWeight = needed("Unit weight above water.", "18.5 kN/m^3")
    saturated_unit_weight: UnitWeight | None = key(
        "Unit weight below water, the water in it included; that above water by default.",
        "20 kN/m^3",
    )
    cohesionless: StrictBool = key("The soil has no cohesion of its own: c′ = 0.", True, False)
    soil_class: StrictStr | None = key(
        "USCS symbol, to hold values against published ranges.", "SM"
    )
    strength: StrengthModel = needed("Strength in effective stress, stated or fitted.", {})
    specimen: SpecimenModel | None = key("Specimen of the shear tests.", {"shape": "square"})
    apparatus: ApparatusModel | None = key(
        "Lever and proving ring, for raw readings.", {"lever_ratio": 10}
    )


class RunModel(_Strict):
    """A field and the values it runs through."""

    vary: StrictStr = needed(
        "Field that is varied: soils.NAME.FIELD or checks.LABEL.FIELD.", "soils.bank.friction_angle"
    )
    start: StrictStr | float = needed(
        "First value, in the field's own unit.", "24 deg", alias="from"
    )
    stop: StrictStr | float = needed("Last value, in the field's own unit.", "36 deg", alias="to")
    steps: Annotated[int, Field(strict=True)] = key("Number of values.", 25, 25)


class SweepModel(RunModel):
    """A sweep of one field, or of two at once."""

    second: RunModel | None = key("Field that is varied together with it.", {"steps": 15})


DISTRIBUTIONS = ("normal", "lognormal", "uniform", "triangular")
"""Distributions a field may be given."""


class UncertainModel(_Strict):
    """The distribution of one field; its quantities are read in the field's own unit."""

    distribution: Annotated[str, Word(DISTRIBUTIONS)] = needed(
        "Form of the distribution.", "normal"
    )
    mean: StrictStr | float | None = key("Mean, of a normal or lognormal one.", "18.5 kN/m^3")
    std: StrictStr | float | None = key("Standard deviation, likewise.", "0.8 kN/m^3")
    low: StrictStr | float | None = key(
        "Lowest value, of a uniform or triangular one.", "17 kN/m^3"
    )
    mode: StrictStr | float | None = key("Most likely value, of a triangular one.", "18 kN/m^3")
    high: StrictStr | float | None = key(
        "Highest value, of a uniform or triangular one.", "20 kN/m^3"
    )


class CorrelationModel(_Strict):
    """Correlation of two uncertain fields."""

    between: Annotated[list[StrictStr], Field(min_length=2, max_length=2)] = needed(
        "Two fields of [uncertain].", ["soils.bank.unit_weight", "soils.fill.unit_weight"]
    )
    coefficient: Ratio = needed("Correlation, above -1 and below 1.", 0.5)


class RangeModel(_Strict):
    """The plausible range of one field."""

    range: Annotated[list[StrictStr | float], Field(min_length=2, max_length=2)] = needed(
        "Lowest and highest value.", ["1 m", "2 m"]
    )


class BasisModel(_Strict):
    """What checks are held to: global factors, or sets of partial factors."""

    method: Annotated[str, Word(("global", "partial"))] = needed(
        "Global factors of safety, or sets of partial factors.", "partial"
    )
    targets: dict[str, Ratio] = key("Least factor by limit state, or 'slope'.", {"slope": 1.3}, {})
    sets: list[StrictStr] = key("Sets of partial factors to be shown.", ["DA1-1", "DA1-2"], [])
    own_sets: dict[str, dict[str, Any]] = key(
        "Sets of one's own, such as a national annex.", {}, {}
    )
    water_factors: Annotated[str, Word(("single_source", "by_direction"))] | None = key(
        "How water on a wall is factored.", "single_source"
    )


class ReliabilityModel(_Strict):
    """How to sample."""

    samples: Annotated[int, Field(strict=True)] = key("Number of samples.", 100000, 100_000)
    seed: Annotated[int, Field(strict=True, ge=0)] = key("The same seed, the same result.", 7, 1)
    sampling: Annotated[str, Word(("random", "sobol"))] = key(
        "Random numbers, or an evenly spread sequence.", "sobol", "random"
    )


Line = Annotated[StrictStr, Field(max_length=120)]


class SheetModel(_Strict):
    """What a calculation sheet is signed with; a line is left blank where nothing is given."""

    project: Line = key("Name of the project.", "Tamarack Lane", "")
    job_number: Line = key("Number the job is filed under.", "24-117", "")
    revision: Line = key("Revision of the sheet.", "B", "")
    made_by: Line = key("Who made it.", "A. Lind", "")
    checked_by: Line = key("Who checked it.", "R. Okafor", "")


class VariantModel(_Strict):
    """Fields that another version of the scenario replaces, by their paths."""

    name: Annotated[StrictStr, Field(min_length=1)] = needed(
        "Name that --variant takes.", "with berm"
    )
    set: dict[str, Any] = key(
        "New values of fields, by path.",
        {"checks.Cut face.height": "5 m", "soils.bank.strength.state": "residual"},
        {},
    )
    leave_out: list[StrictStr] = key(
        "Paths of fields that the variant does not have.", ["checks.Cut face.plane_angle"], []
    )


class ScenarioModel(_Strict):
    """The outermost keys; soils and checks are read one by one."""

    title: StrictStr = needed("Title of the job, on every output.", "Tamarack Lane cut")
    groundwater_unit_weight: UnitWeight = key("Unit weight of water.", "9.81 kN/m^3", 9.81)
    soils: dict[str, dict[str, Any]] = needed("Soils, each under its name: [soils.NAME].", {})
    checks: list[dict[str, Any]] = key("Checks, each a [[checks]] table of one kind.", [], [])
    sweeps: list[dict[str, Any]] = key("Fields to run through a range: [[sweeps]].", [], [])
    basis: BasisModel | None = key("What the checks are held to.", {"method": "global"})
    reliability: ReliabilityModel = key(
        "How the uncertainty is sampled.", {"samples": 100000}, ReliabilityModel.model_construct()
    )
    uncertain: dict[str, UncertainModel] = key(
        'Distributions of fields, by path: [uncertain."soils.NAME.FIELD"].',
        {"soils.bank.unit_weight": {"distribution": "normal"}},
        {},
    )
    correlations: list[CorrelationModel] = key(
        "Correlations of uncertain fields: [[correlations]].", [], []
    )
    ranges: dict[str, RangeModel] = key(
        'Plausible ranges of fields, by path: [ranges."checks.LABEL.FIELD"].',
        {"checks.Bank.depth": {"range": ["1 m", "2 m"]}},
        {},
    )
    variants: list[VariantModel] = key("Other versions of the scenario: [[variants]].", [], [])
    sheet: SheetModel = key(
        "What the calculation sheet is signed with.",
        {"revision": "B"},
        SheetModel.model_construct(),
    )


def names_of(model: type[BaseModel]) -> list[str]:
    """The keys of a model, as a file writes them."""
    return [info.alias or name for name, info in model.model_fields.items()]


def model_of(model: type[BaseModel], key: str) -> type[BaseModel] | None:
    """The model of the group, or of the list of groups, under a key; ``None`` without one."""
    info = model.model_fields.get(key)
    found = [] if info is None else models_in(info.annotation)
    return found[-1] if found else None


def models_in(annotation: Any) -> list[type[BaseModel]]:
    """The models in the type of a key."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [m for part in getattr(annotation, "__args__", ()) for m in models_in(part)]
