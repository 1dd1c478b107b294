"""The shape of a scenario file, as pydantic models made from what the checks declare.

A check's fields are declared once, beside its kernel; nothing about them is repeated here.
"""

from __future__ import annotations

import dataclasses
import difflib
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    StrictBool,
    StrictStr,
    ValidationError,
    ValidationInfo,
    create_model,
)
from pydantic.fields import FieldInfo
from pydantic_core import PydanticCustomError, core_schema

from slipmargin.stability import KINDS, fields
from slipmargin.strength import ENVELOPES, INTERCEPTS, STATES, InputError, Notice
from slipmargin.strength.errors import MISSING, shown_value
from slipmargin.strength.quantities import DIMENSIONS, parse
from slipmargin.strength.stress_plane import TEST_KINDS

__all__ = [
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
    "as_record",
    "check_model",
    "model_of",
    "names_of",
    "nearest",
    "reader_of",
    "validated",
]

# the model of a whole table is built once, with all that stands in it
_STRICT = ConfigDict(extra="forbid", arbitrary_types_allowed=True, defer_build=True)


def nearest(word: str, known: Sequence[str]) -> str:
    """A hint at the known word nearest to an unknown one, and the list of all."""
    close = difflib.get_close_matches(word, known, n=1, cutoff=0.4)
    hint = f"did you mean {close[0]!r}? " if close else ""
    return f"{hint}known: {', '.join(known)}"


def _refused(allowed: str, shown: object = None) -> PydanticCustomError:
    context = {"allowed": allowed}
    if shown is not None:
        context["shown"] = shown_value(shown)
    return PydanticCustomError("refused", "{allowed}", context)


class _Reader:
    """Reads one value of a scenario; says in the JSON schema what it takes."""

    def read(self, value: Any, _info: ValidationInfo, /) -> Any:
        """The value in the program's own terms, or a refusal."""
        raise NotImplementedError

    def json_schema(self) -> dict[str, Any]:
        """What an editor may offer."""
        raise NotImplementedError

    def wanted(self) -> str:
        """What is to be added where it is missing, in words."""
        schema = self.json_schema()
        said: str = schema.get("description") or "one of " + ", ".join(schema["enum"])
        return said[0].lower() + said[1:].removesuffix(".")

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        """Let pydantic call ``read``."""
        return core_schema.with_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Let pydantic call ``json_schema``."""
        return self.json_schema()


@dataclasses.dataclass(frozen=True)
class Unit(_Reader):
    """A quantity read from unit text, held against its limits."""

    dimension: str
    check: Callable[[str, object], None] | None = None
    words: tuple[str, ...] = ()

    def read(self, value: Any, info: ValidationInfo, /) -> float | str:
        """The quantity as a float, or the word for it; its notice goes to the context."""
        place = str(info.field_name)
        if isinstance(value, str) and value in self.words:
            return value
        try:
            parsed = parse(value, self.dimension, place)
            if self.check is not None:
                self.check(place, parsed.value)
        except InputError as error:
            known = "".join(f', or "{word}"' for word in self.words)
            allowed = error.allowed.removesuffix(known) + known
            raise _refused(allowed, error.value) from None
        if parsed.notice is not None and info.context is not None:
            info.context["notices"].append(parsed.notice)
        return parsed.value

    def json_schema(self) -> dict[str, Any]:
        """A string with a unit, or a bare number."""
        if self.dimension == "ratio":
            return {"type": "number", "description": "A bare number."}
        examples = DIMENSIONS[self.dimension].examples
        words = "".join(f', or "{word}"' for word in self.words)
        return {
            "type": "string",
            "description": f"A quantity with its unit, such as {examples}{words}.",
        }


@dataclasses.dataclass(frozen=True)
class Word(_Reader):
    """A word out of a few."""

    options: tuple[str, ...]

    def read(self, value: Any, _info: ValidationInfo, /) -> str:
        """The word, if it is one of them."""
        if not isinstance(value, str) or value not in self.options:
            hint = nearest(value, self.options) if isinstance(value, str) else ""
            raise _refused(hint or "allowed: " + ", ".join(self.options))
        return value

    def json_schema(self) -> dict[str, Any]:
        """An enumeration."""
        return {"type": "string", "enum": list(self.options)}


class Points(_Reader):
    """A line of points [m]."""

    def read(self, value: Any, _info: ValidationInfo, /) -> Any:
        """The points as an array of shape (n, 2)."""
        wanted = "give points as [[x, y], ...], each a number in metres or a length with its unit"
        if not isinstance(value, list) or not 2 <= len(value) <= 1000:
            raise _refused(f"{wanted}, 2 to 1000 of them")
        points = []
        for point in value:
            if not isinstance(point, list) or len(point) != 2:
                raise _refused(wanted, point)
            try:
                points.append(
                    [parse(v, "length" if isinstance(v, str) else "ratio").value for v in point]
                )
            except InputError as error:
                raise _refused(wanted, error.value) from None
        return np.array(points)

    def json_schema(self) -> dict[str, Any]:
        """An array of pairs."""
        pair = {"type": "array", "items": {"type": ["number", "string"]}, "minItems": 2}
        return {"type": "array", "items": pair, "description": "Points [x, y], in metres."}


Stress = Annotated[float, Unit("stress")]
Angle = Annotated[float, Unit("angle")]
UnitWeight = Annotated[float, Unit("unit_weight")]
Millimetres = Annotated[float, Unit("displacement")]
Minutes = Annotated[float, Unit("time")]


class _Strict(BaseModel):
    model_config = _STRICT


class StatedByModel(_Strict):
    """A strength somebody else stated for the same soil."""

    who: StrictStr
    cohesion: Stress
    friction_angle: Angle


class StrengthModel(_Strict):
    """A strength, stated or fitted."""

    cohesion: Stress | None = None
    friction_angle: Angle | None = None
    readings: StrictStr | None = None
    state: Annotated[str, Word(STATES)] | None = None
    intercept: Annotated[str, Word(INTERCEPTS)] | None = None
    value: Annotated[str, Word(("best_fit", "cautious"))] | None = None
    confidence: Annotated[float, Unit("ratio")] | None = None
    envelope: Annotated[str, Word(ENVELOPES)] | None = None
    area_correction: StrictBool | None = None
    sample: StrictStr | None = None
    test_kind: Annotated[str, Word(TEST_KINDS)] | None = None
    beside: StrictStr | None = None
    stated_by: StatedByModel | None = None


class SpecimenModel(_Strict):
    """A specimen of a shear test."""

    shape: Annotated[str, Word(("square", "circle"))]
    width: Millimetres | None = None
    diameter: Millimetres | None = None
    height: Millimetres | None = None
    added_normal_force: Annotated[float, Unit("force")] = 0.0
    apparatus_friction: Annotated[float, Unit("force")] = 0.0
    zero_reading: Annotated[float, Unit("force")] = 0.0
    time_to_failure: Minutes | None = None
    rate: Annotated[float, Unit("rate")] | None = None
    displacement_at_failure: Millimetres | None = None
    t50: Minutes | None = None
    t90: Minutes | None = None
    dry: StrictBool = False


class ApparatusModel(_Strict):
    """Lever and proving ring of a shear box, for raw readings."""

    lever_ratio: Annotated[float, Unit("ratio")] | None = None
    ring_constant: Annotated[float, Unit("ring_constant")] | None = None
    dial_zero: Annotated[float, Unit("divisions")] | None = None
    ring_calibration: StrictStr | None = None


class SoilModel(_Strict):
    """A soil."""

    description: StrictStr = ""
    unit_weight: UnitWeight
    saturated_unit_weight: UnitWeight | None = None
    cohesionless: StrictBool = False
    soil_class: StrictStr | None = None
    strength: StrengthModel
    specimen: SpecimenModel | None = None
    apparatus: ApparatusModel | None = None


class RunModel(_Strict):
    """A field and the values it runs through."""

    vary: StrictStr
    start: StrictStr | float = Field(alias="from")
    stop: StrictStr | float = Field(alias="to")
    steps: Annotated[int, Field(strict=True)] = 25


class SweepModel(RunModel):
    """A sweep of one field, or of two at once."""

    second: RunModel | None = None


DISTRIBUTIONS = ("normal", "lognormal", "uniform", "triangular")
"""Distributions a field may be given."""


class UncertainModel(_Strict):
    """The distribution of one field; its quantities are read in the field's own unit."""

    distribution: Annotated[str, Word(DISTRIBUTIONS)]
    mean: StrictStr | float | None = None
    std: StrictStr | float | None = None
    low: StrictStr | float | None = None
    mode: StrictStr | float | None = None
    high: StrictStr | float | None = None


class CorrelationModel(_Strict):
    """Correlation of two uncertain fields."""

    between: Annotated[list[StrictStr], Field(min_length=2, max_length=2)]
    coefficient: Annotated[float, Unit("ratio")]


class RangeModel(_Strict):
    """The plausible range of one field."""

    range: Annotated[list[StrictStr | float], Field(min_length=2, max_length=2)]


class BasisModel(_Strict):
    """What checks are held to: global factors, or sets of partial factors."""

    method: Annotated[str, Word(("global", "partial"))]
    targets: dict[str, Annotated[float, Unit("ratio")]] = {}
    sets: list[StrictStr] = []
    own_sets: dict[str, dict[str, Any]] = {}
    water_factors: Annotated[str, Word(("single_source", "by_direction"))] | None = None


class ReliabilityModel(_Strict):
    """How to sample."""

    samples: Annotated[int, Field(strict=True)] = 100_000
    seed: Annotated[int, Field(strict=True, ge=0)] = 1
    sampling: Annotated[str, Word(("random", "sobol"))] = "random"


Line = Annotated[StrictStr, Field(max_length=120)]


class SheetModel(_Strict):
    """What a calculation sheet is signed with; a line is left blank where nothing is given."""

    project: Annotated[Line, Field(description="Name of the project.")] = ""
    job_number: Annotated[Line, Field(description="Number the job is filed under.")] = ""
    revision: Annotated[Line, Field(description="Revision of the sheet.")] = ""
    made_by: Annotated[Line, Field(description="Who made it.")] = ""
    checked_by: Annotated[Line, Field(description="Who checked it.")] = ""


class VariantModel(_Strict):
    """Fields that another version of the scenario replaces, by their paths."""

    name: Annotated[StrictStr, Field(min_length=1)]
    set: dict[str, Any] = {}
    leave_out: list[StrictStr] = []


class ScenarioModel(_Strict):
    """The outermost keys; soils and checks are read one by one."""

    title: StrictStr
    groundwater_unit_weight: UnitWeight = 9.81
    soils: dict[str, dict[str, Any]]
    checks: list[dict[str, Any]] = []
    sweeps: list[dict[str, Any]] = []
    basis: BasisModel | None = None
    reliability: ReliabilityModel = ReliabilityModel()
    uncertain: dict[str, UncertainModel] = {}
    correlations: list[CorrelationModel] = []
    ranges: dict[str, RangeModel] = {}
    variants: list[VariantModel] = []
    sheet: SheetModel = SheetModel()


@cache
def check_model(kind: str) -> type[BaseModel]:
    """The model of one kind of check."""
    extra: dict[str, Any] = {"kind": (Literal[kind], ...), "label": (StrictStr | None, None)}
    return _model(kind, KINDS[kind], extra)


def _model(name: str, record: type, extra: dict[str, Any]) -> type[BaseModel]:
    members = dict(extra)
    for field, declaration, default in fields.of(record):
        if isinstance(declaration, fields.Amount) and declaration.everywhere:
            continue
        kind = _annotation(field, declaration)
        required = default is dataclasses.MISSING
        members[field] = (kind, ...) if required else (kind | None, default)
    model: type[BaseModel] = create_model(name, __config__=_STRICT, **members)
    return model


def _annotation(name: str, declaration: object) -> Any:
    match declaration:
        case fields.Amount():
            reader = Unit(declaration.dimension, declaration.check, declaration.words)
            return Annotated[float, reader]
        case fields.Choice(options=options):
            return Annotated[str, Word(options)]
        case fields.Flag():
            return StrictBool
        case fields.SoilField():
            return StrictStr
        case fields.Ground():
            return Annotated[Any, Points()]
        case fields.Part(kind=kind, many=many):
            model = _model(name, kind, {})
            return list[model] if many else model  # type: ignore[valid-type]
    raise TypeError(f"no annotation for {declaration!r}")


def as_record(
    model: BaseModel, record: type, soils: Callable[[str, str], object], everywhere: dict[str, Any]
) -> Any:
    """The domain object that a validated model describes.

    ``soils`` gives a soil by the field that asks and its name; ``everywhere`` holds the
    quantities given once for the whole scenario.
    """
    values: dict[str, Any] = {}
    for field, declaration, default in fields.of(record):
        if isinstance(declaration, fields.Amount) and declaration.everywhere:
            if field in everywhere:
                values[field] = everywhere[field]
            continue
        value = getattr(model, field)
        if value is None and default is not dataclasses.MISSING:
            continue
        match declaration:
            case fields.SoilField():
                value = soils(field, value)
            case fields.Part(kind=kind, many=True):
                value = tuple(
                    as_record(v, kind, _within(soils, f"{field}[{i}]"), everywhere)
                    for i, v in enumerate(value)
                )
            case fields.Part(kind=kind) if isinstance(value, BaseModel):
                value = as_record(value, kind, _within(soils, field), everywhere)
            case _:
                pass
        values[field] = value
    return record(**values)


def _within(soils: Callable[[str, str], object], group: str) -> Callable[[str, str], object]:
    return lambda field, name: soils(f"{group}.{field}", name)


def validated(model: type[BaseModel], data: object, place: str, notices: list[Notice]) -> BaseModel:
    """Validate a table; the first thing wrong is raised as an ``InputError``."""
    found: list[Notice] = []
    try:
        result = model.model_validate(data, context={"notices": found})
    except ValidationError as error:
        raise _first(error, model, place) from None
    prefix = f"{place}." if place else ""
    notices += [dataclasses.replace(notice, text=prefix + notice.text) for notice in found]
    return result


def _first(error: ValidationError, model: type[BaseModel], place: str) -> InputError:
    problems = error.errors(include_url=False)
    # a misspelt key also leaves its own name missing: the misspelling is the news
    problem = min(problems, key=lambda one: one["type"] != "extra_forbidden")
    where = place
    for step in problem["loc"]:
        where += f"[{step}]" if isinstance(step, int) else f"{'.' if where else ''}{step}"
    given = problem["input"]
    kind = problem["type"]
    if kind == "extra_forbidden":
        known = names_of(_owner(model, problem["loc"][:-1]))
        return InputError(
            where,
            str(problem["loc"][-1]),
            f"unknown key; {nearest(str(problem['loc'][-1]), known)}",
        )
    if kind == "missing":
        field = _owner(model, problem["loc"][:-1]).model_fields.get(str(problem["loc"][-1]))
        return InputError(where, MISSING, _wanted(field))
    if kind == "list_type" and isinstance(given, dict):
        return InputError(where, f"[{where}]", f"write [[{where}]]: it may stand more than once")
    if kind == "dict_type" and isinstance(given, list):
        allowed = f"write [{where}], or [{where}.NAME], in single brackets"
        return InputError(where, f"[[{where}]]", allowed)
    if kind == "refused":
        context = problem.get("ctx", {})
        shown = given if isinstance(given, str) else context.get("shown", given)
        return InputError(where, shown, str(context["allowed"]))
    return InputError(where, given, problem["msg"])


def names_of(model: type[BaseModel]) -> list[str]:
    """The keys of a model, as a file writes them."""
    return [info.alias or name for name, info in model.model_fields.items()]


def _wanted(field: FieldInfo | None) -> str:
    """What a key that is missing would take, in words."""
    if field is None:
        return "it is needed"
    if (reader := reader_of(field)) is not None:
        return reader.wanted()
    if field.annotation is str:
        return "a text in quotes"
    return "a table of its own" if _models_in(field.annotation) else "it is needed"


def _owner(model: type[BaseModel], steps: Sequence[int | str]) -> type[BaseModel]:
    """The model that a path of keys leads to."""
    for step in steps:
        # a step that is no field is a place in a list, or a name of the user's own
        model = (model_of(model, step) if isinstance(step, str) else None) or model
    return model


def model_of(model: type[BaseModel], key: str) -> type[BaseModel] | None:
    """The model of the group, or of the list of groups, under a key; ``None`` without one."""
    info = model.model_fields.get(key)
    found = [] if info is None else _models_in(info.annotation)
    return found[-1] if found else None


def reader_of(info: FieldInfo) -> _Reader | None:
    """What reads the value of a key; ``None`` for a plain one, or a group."""
    return next(_readers_in(info.annotation, info.metadata), None)


def _readers_in(annotation: Any, metadata: Sequence[Any] = ()) -> Iterator[_Reader]:
    for one in (*metadata, *getattr(annotation, "__metadata__", ())):
        if isinstance(one, _Reader):
            yield one
    for part in getattr(annotation, "__args__", ()):
        yield from _readers_in(part)


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [m for part in getattr(annotation, "__args__", ()) for m in _models_in(part)]
