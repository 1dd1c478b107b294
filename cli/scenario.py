"""Reads a scenario file into soils, checks and sweeps."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cli.schema import (
    CorrelationModel,
    RangeModel,
    ReliabilityModel,
    ScenarioModel,
    SoilModel,
    StrengthModel,
    SweepModel,
    UncertainModel,
    as_record,
    check_model,
    nearest,
    validated,
)
from stability import KINDS, Check, Soil
from strength import (
    EnvelopeFit,
    InputError,
    Notice,
    Specimen,
    Strength,
    distinct,
    fit_envelope,
    read_readings,
    reduce_readings,
)

__all__ = [
    "CheckEntry",
    "DoubtEntry",
    "FileError",
    "Scenario",
    "SoilEntry",
    "SweepEntry",
    "load",
    "reason",
]

LARGEST_SCENARIO = 1 << 20
"""A larger scenario file [bytes] is refused."""


class FileError(InputError):
    """An input error with the file it stands in."""

    def __init__(self, file: Path, error: InputError) -> None:
        super().__init__(error.place, error.value, error.allowed)
        self.file = file

    def __str__(self) -> str:
        return f"{self.file}: {super().__str__()}"


@dataclass(frozen=True, slots=True)
class SoilEntry:
    """A soil, where its strength came from, and the fit behind it."""

    name: str
    description: str
    soil: Soil
    fit: EnvelopeFit | None
    value: str
    notices: tuple[Notice, ...]


@dataclass(frozen=True, slots=True)
class CheckEntry:
    """A check under its label.

    ``soils`` maps each soil field to the soil's name; fields inside groups keep their path.
    """

    label: str
    kind: str
    check: Check
    soils: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class SweepEntry:
    """A sweep as asked for; the ends are still text."""

    vary: str
    start: str | float
    stop: str | float
    steps: int


@dataclass(frozen=True, slots=True)
class DoubtEntry:
    """What the scenario says of doubts; quantities are still text."""

    sampling: ReliabilityModel
    uncertain: Mapping[str, UncertainModel]
    correlations: Sequence[CorrelationModel]
    ranges: Mapping[str, RangeModel]


@dataclass(frozen=True, slots=True)
class Scenario:
    """A scenario file, read."""

    path: Path
    title: str
    soils: Mapping[str, SoilEntry]
    checks: tuple[CheckEntry, ...]
    sweeps: tuple[SweepEntry, ...]
    doubt: DoubtEntry
    notices: tuple[Notice, ...]
    digests: Mapping[str, str]


def load(path: Path, *, allow_outside: bool = False) -> Scenario:
    """Read and validate a scenario, fitting what must be fitted.

    Parameters
    ----------
    path
        The TOML file.
    allow_outside
        Let readings lie outside the scenario's folder.

    Raises
    ------
    FileError
        With file, place, value and what is allowed, for the first thing wrong.
    """
    text = _text(path)
    try:
        return _build(path, text, allow_outside)
    except FileError:
        raise
    except InputError as error:
        raise FileError(path, error) from None


def _text(path: Path) -> bytes:
    try:
        size = path.stat().st_size
        if size > LARGEST_SCENARIO:
            allowed = f"allowed: up to {LARGEST_SCENARIO // 1024} KiB"
            raise FileError(path, InputError("file", f"{size / 1024:.0f} KiB", allowed))
        return path.read_bytes()
    except OSError as error:
        problem = InputError("file", path.name, f"it cannot be read: {reason(error)}")
        raise FileError(path, problem) from None


def reason(error: OSError) -> str:
    """The system's reason, in lower case."""
    return (error.strerror or str(error)).lower()


def _table(content: bytes) -> dict[str, Any]:
    try:
        return tomllib.loads(content.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise InputError("file", "not UTF-8", "save the scenario as UTF-8 text") from None
    except tomllib.TOMLDecodeError as error:
        raise InputError("file", "not valid TOML", str(error)) from None
    except RecursionError:
        raise InputError("file", "nested too deeply", "a scenario needs a few levels") from None


def _build(path: Path, content: bytes, allow_outside: bool) -> Scenario:
    notices: list[Notice] = []
    top = validated(ScenarioModel, _table(content), "", notices)
    assert isinstance(top, ScenarioModel)
    folder = path.parent
    digests = {path.name: hashlib.sha256(content).hexdigest()}
    soils = {
        name: _soil(name, table, folder, allow_outside, notices, digests)
        for name, table in top.soils.items()
    }
    everywhere = {"water_unit_weight": top.groundwater_unit_weight}
    checks: list[CheckEntry] = []
    for index, table in enumerate(top.checks):
        entry = _check(index, table, soils, everywhere, notices)
        if any(other.label == entry.label for other in checks):
            raise InputError(f"checks[{index}].label", entry.label, "give each check its own label")
        checks.append(entry)
    sweeps = [_sweep(index, table, notices) for index, table in enumerate(top.sweeps)]
    return Scenario(
        path,
        top.title,
        soils,
        tuple(checks),
        tuple(sweeps),
        DoubtEntry(top.reliability, top.uncertain, top.correlations, top.ranges),
        distinct(notices),
        digests,
    )


def _soil(
    name: str,
    table: dict[str, Any],
    folder: Path,
    allow_outside: bool,
    notices: list[Notice],
    digests: dict[str, str],
) -> SoilEntry:
    place = f"soils.{name}"
    model = validated(SoilModel, table, place, notices)
    assert isinstance(model, SoilModel)
    stated = _stated(model.strength, f"{place}.strength")
    fit = None
    try:
        if stated is not None:
            if model.specimen is not None:
                raise InputError("specimen", "given", "it belongs to a fitted strength")
            strength = Strength(cohesion=stated[0], friction_angle=stated[1])
        else:
            fit = _fit(model, folder, allow_outside, digests)
            strength = fit.strength(model.strength.value or "best_fit")
        soil = Soil(
            strength=strength,
            unit_weight=model.unit_weight,
            saturated_unit_weight=model.saturated_unit_weight,
            name=name,
            cohesionless=model.cohesionless,
        )
    except FileError:
        raise
    except InputError as error:
        raise error.within(place) from None
    return SoilEntry(
        name,
        model.description,
        soil,
        fit,
        model.strength.value or "best_fit",
        fit.notices if fit else _stated_notices(soil),
    )


def _stated_notices(soil: Soil) -> tuple[Notice, ...]:
    if soil.cohesionless and soil.strength.cohesion > 0.0:
        return (
            Notice.caution(
                "cohesion-in-cohesionless-soil",
                f"{soil.name} is declared cohesionless, yet {soil.strength.cohesion:g} kPa of "
                "cohesion is stated for it.",
            ),
        )
    return ()


_OF_A_FIT = ("state", "intercept", "value", "confidence", "envelope")


def _stated(model: StrengthModel, place: str) -> tuple[float, float] | None:
    """A stated strength, if there is one; half of one, or both kinds at once, is refused."""
    pair = {"cohesion": model.cohesion, "friction_angle": model.friction_angle}
    given = [key for key, value in pair.items() if value is not None]
    if model.readings is not None:
        if given:
            raise InputError(
                f"{place}.{given[0]}", "given", "state a strength or fit one to readings, not both"
            )
        return None
    if not given:
        raise InputError(place, "empty", "give cohesion and friction_angle, or readings")
    for key, value in pair.items():
        if value is None:
            raise InputError(f"{place}.{key}", "missing", "this key is needed")
    for key in _OF_A_FIT:
        if getattr(model, key) is not None:
            raise InputError(f"{place}.{key}", getattr(model, key), "it belongs beside readings")
    assert model.cohesion is not None
    assert model.friction_angle is not None
    return model.cohesion, model.friction_angle


def specimen_from(model: Any) -> Specimen:
    """The specimen a table describes."""
    wanted, other = ("width", "diameter") if model.shape == "square" else ("diameter", "width")
    if getattr(model, other) is not None:
        raise InputError(other, "given", f"a {model.shape} specimen has a {wanted}")
    if getattr(model, wanted) is None:
        raise InputError(wanted, "missing", "this key is needed")
    return Specimen(
        shape=model.shape,
        width=getattr(model, wanted),
        height=model.height,
        added_normal_force=model.added_normal_force,
    )


def _fit(
    model: SoilModel, folder: Path, allow_outside: bool, digests: dict[str, str]
) -> EnvelopeFit:
    given = model.strength
    file = _readings_path(str(given.readings), folder, allow_outside)
    try:
        specimen = specimen_from(model.specimen) if model.specimen else None
    except InputError as error:
        raise error.within("specimen") from None
    try:
        readings = read_readings(file)
    except OSError as error:
        raise InputError(
            "strength.readings", given.readings, f"it cannot be read: {reason(error)}"
        ) from None
    except InputError as error:
        raise FileError(file, error) from None
    digests[str(given.readings)] = hashlib.sha256(file.read_bytes()).hexdigest()
    try:
        tests = reduce_readings(readings, specimen, state=given.state or "peak")
        return fit_envelope(
            tests,
            intercept=given.intercept or "non_negative",
            confidence=0.95 if given.confidence is None else given.confidence,
            cohesionless=model.cohesionless,
        )
    except InputError as error:
        raise error.within("strength") from None


def _readings_path(text: str, folder: Path, allow_outside: bool) -> Path:
    file = folder / text
    if not allow_outside and not file.resolve().is_relative_to(folder.resolve()):
        raise InputError(
            "strength.readings",
            text,
            "keep readings in the scenario's folder or below it, or allow it with --allow-outside",
        )
    if not file.is_file():
        raise InputError("strength.readings", text, "no such file beside the scenario")
    return file


def _check(
    index: int,
    table: dict[str, Any],
    soils: Mapping[str, SoilEntry],
    everywhere: dict[str, Any],
    notices: list[Notice],
) -> CheckEntry:
    place = f"checks[{index}]"
    kind = table.get("kind")
    if not isinstance(kind, str) or kind not in KINDS:
        hint = nearest(kind, list(KINDS)) if isinstance(kind, str) else ", ".join(KINDS)
        raise InputError(f"{place}.kind", "missing" if kind is None else kind, hint)
    label = table.get("label")
    if isinstance(label, str):
        place = f"checks[{index}] ({label[:40]})"
    model = validated(check_model(kind), table, place, notices)
    used: dict[str, str] = {}

    def find(field: str, name: str) -> Soil:
        if name not in soils:
            raise InputError(field, name, f"unknown soil; {nearest(name, list(soils))}")
        used[field] = name
        return soils[name].soil

    try:
        check = as_record(model, KINDS[kind], find, everywhere)
    except InputError as error:
        raise error.within(place) from None
    label = label if isinstance(label, str) else f"{kind.replace('_', ' ')} {index + 1}"
    return CheckEntry(label, kind, check, used)


def _sweep(index: int, table: dict[str, Any], notices: list[Notice]) -> SweepEntry:
    model = validated(SweepModel, table, f"sweeps[{index}]", notices)
    assert isinstance(model, SweepModel)
    return SweepEntry(model.vary, model.start, model.stop, model.steps)
