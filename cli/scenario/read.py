"""Reads a scenario file into soils, checks and sweeps."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from slipmargin.cli.scenario.schema import (
    ApparatusModel,
    BasisModel,
    CorrelationModel,
    RangeModel,
    ReliabilityModel,
    ScenarioModel,
    SheetModel,
    SoilModel,
    SpecimenModel,
    StrengthModel,
    SweepModel,
    UncertainModel,
    as_record,
    check_model,
    nearest,
    validated,
)
from slipmargin.cli.scenario.variants import label_of, with_variant
from slipmargin.stability import KINDS, Check, Soil
from slipmargin.stability.design.customary_targets import Target, margin, targets_of
from slipmargin.strength import (
    Apparatus,
    EnvelopeFit,
    InputError,
    Notice,
    Numeric,
    Pair,
    Readings,
    RingCalibration,
    Specimen,
    Strength,
    distinct,
    read_readings,
)
from slipmargin.strength.errors import MISSING
from slipmargin.strength.from_laboratory import (
    Choices,
    Drainage,
    LaboratoryStrength,
    strength_from_readings,
)
from slipmargin.strength.laboratory.readings_csv import read_ring_calibration
from slipmargin.strength.laboratory.soil_class import soil_class as published_class

if TYPE_CHECKING:
    from slipmargin.stability.design.basis import Basis
    from slipmargin.strength.laboratory.ags import StatedByLaboratory

__all__ = [
    "CheckEntry",
    "DoubtEntry",
    "FileError",
    "Scenario",
    "SoilEntry",
    "SweepEntry",
    "load",
    "load_soil",
    "read_calibration",
    "read_laboratory",
    "read_scenario",
    "read_table",
    "reason",
]

LARGEST_SCENARIO = 1 << 20
"""A larger scenario file [bytes] is refused."""

MOST_ENTRIES = 1000
"""More soils, checks or sweeps than this are refused."""

_PART_OF_KEY = r"""(?:(?<![\w-])[\w-]++|"[^"\n]*+"|'[^'\n]*+')"""
_LONG_KEY = re.compile(rf"{_PART_OF_KEY}(?:[ \t]*+\.[ \t]*+{_PART_OF_KEY}){{40}}")
"""A dotted key of so many parts that reading it would take minutes."""


class FileError(InputError):
    """An input error with the file it stands in."""

    def __init__(self, file: Path, error: InputError) -> None:
        super().__init__(error.place, error.value, error.allowed)
        self.file = file

    def __reduce__(self) -> tuple[Any, ...]:
        return FileError, (self.file, InputError(self.place, self.value, self.allowed))

    def __str__(self) -> str:
        return f"{self.file}: {super().__str__()}"


@dataclass(frozen=True, slots=True)
class SoilEntry:
    """A soil, where its strength came from, and the laboratory work behind it."""

    name: str
    description: str
    soil: Soil
    laboratory: LaboratoryStrength | None
    value: str
    stated_by: Mapping[str, Pair]
    notices: tuple[Notice, ...]

    @property
    def fit(self) -> EnvelopeFit | None:
        """The fit behind the strength; ``None`` for a stated one."""
        return None if self.laboratory is None else self.laboratory.fit


@dataclass(frozen=True, slots=True)
class CheckEntry:
    """A check under its label.

    ``soils`` maps each soil field to the soil's name; fields inside groups keep their path.
    ``targets`` holds the target of each limit state that is judged, from the check or from the
    basis of design.
    """

    label: str
    kind: str
    check: Check
    soils: Mapping[str, str]
    targets: Mapping[str, Target] = field(default_factory=dict)

    def target(self, state: str) -> float | None:
        """The target of a limit state."""
        found = self.targets.get(state)
        return None if found is None else float(found.value)

    def margin(self, factors: Mapping[str, Numeric]) -> Numeric | None:
        """Lowest of some factors over its target, by limit state; none without a target."""
        return margin(factors, self.targets) if set(factors) & set(self.targets) else None

    def asked(self, states: Iterable[str]) -> str:
        """The targets of some limit states in words; empty where there is none."""
        found = {state: self.targets[state] for state in states if state in self.targets}
        if len({one.text for one in found.values()}) < 2:
            return next((f"target {one.text}" for one in found.values()), "")
        return "targets: " + ", ".join(f"{state} {one.text}" for state, one in found.items())


MOST_STEPS = 100_000
"""More steps than this in one sweep are refused."""

MOST_CELLS = 250_000
"""A larger grid of two fields is refused."""


@dataclass(frozen=True, slots=True)
class SweepEntry:
    """A sweep as asked for; the ends are still text. A ``second`` field may vary with it.

    Raises
    ------
    InputError
        A senseless number of steps, of one field or of both together.
    """

    vary: str
    start: str | float
    stop: str | float
    steps: int
    second: SweepEntry | None = None

    def __post_init__(self) -> None:
        if not 2 <= self.steps <= MOST_STEPS:
            raise InputError("steps", self.steps, f"allowed: from 2 up to {MOST_STEPS}")
        if self.second is not None and self.steps * self.second.steps > MOST_CELLS:
            cells = self.steps * self.second.steps
            raise InputError("steps", cells, f"allowed: up to {MOST_CELLS} cells together")


@dataclass(frozen=True, slots=True)
class DoubtEntry:
    """What the scenario says of doubts; quantities are still text."""

    sampling: ReliabilityModel
    uncertain: Mapping[str, UncertainModel]
    correlations: Sequence[CorrelationModel]
    ranges: Mapping[str, RangeModel]


@dataclass(frozen=True, slots=True)
class Scenario:
    """A scenario file, read.

    ``table`` holds its tables as they are meant, that of ``variant`` put in; ``variants`` names
    every variant that the file has. ``only`` is the label of a check that is looked at alone.
    """

    path: Path
    title: str
    soils: Mapping[str, SoilEntry]
    checks: tuple[CheckEntry, ...]
    sweeps: tuple[SweepEntry, ...]
    doubt: DoubtEntry
    basis: Basis | None
    notices: tuple[Notice, ...]
    digests: Mapping[str, str]
    table: Mapping[str, Any]
    variant: str | None
    variants: tuple[str, ...]
    allow_outside: bool = False
    only: str = ""
    sheet: SheetModel = field(default_factory=SheetModel)

    @property
    def version(self) -> str:
        """What of the file is meant, in words; empty for all of it, as it is written."""
        found = [f"variant {self.variant!r}"] if self.variant is not None else []
        found += [f"only the check {self.only!r}"] if self.only else []
        return ", ".join(found)

    @property
    def heading(self) -> str:
        """The title, and what of the file is meant."""
        return f"{self.title} ({self.version})" if self.version else self.title

    @property
    def files(self) -> list[Path]:
        """Every file it was read from: its own, and those of readings that it names."""
        return [self.path.parent / name for name in self.digests]


def load(path: Path, *, variant: str | None = None, allow_outside: bool = False) -> Scenario:
    """Read and validate a scenario, fitting what must be fitted.

    Parameters
    ----------
    path
        The TOML file.
    variant
        Name of the one of its variants that is meant; the file as it is written without.
    allow_outside
        Let readings lie outside the scenario's folder.

    Raises
    ------
    FileError
        With file, place, value and what is allowed, for the first thing wrong.
    """
    content = read_scenario(path)
    try:
        _refuse_a_table(path, content)
        return _build(path, content, variant, allow_outside)
    except FileError:
        raise
    except InputError as error:
        raise FileError(path, error) from None


def load_soil(
    path: Path, name: str | None, *, variant: str | None = None, allow_outside: bool = False
) -> SoilEntry:
    """One fitted soil of a scenario, whatever its checks say.

    Raises
    ------
    FileError
        No soil of that name, one whose strength is stated, or the first thing wrong in it.
    """
    content = read_scenario(path)
    try:
        table = read_table(content)
        top = _top(with_variant(table, _top(table, []), variant), [])
        fitted = [soil for soil, one in top.soils.items() if "readings" in _strength_of(one)]
        known = f"soils with readings: {', '.join(fitted)}" if fitted else "no soil has readings"
        if name is None:
            other = f"to run its checks: slipmargin check {path.name}"
            raise InputError("--soil", MISSING, f"{known}; {other}")
        if name not in top.soils:
            raise InputError("--soil", name, f"unknown soil; {nearest(name, list(top.soils))}")
        if name not in fitted:
            raise InputError("--soil", name, f"its strength is stated; {known}")
        notices: list[Notice] = []
        entry = _soil(name, top.soils[name], path.parent, allow_outside, notices, {})
        return replace(entry, notices=distinct([*notices, *entry.notices]))
    except FileError:
        raise
    except InputError as error:
        raise FileError(path, error) from None


def _strength_of(table: dict[str, Any]) -> dict[str, Any]:
    found = table.get("strength")
    return found if isinstance(found, dict) else {}


def read_scenario(path: Path) -> bytes:
    """Content of a scenario file, up to the size that is allowed.

    Raises
    ------
    FileError
        It cannot be read, or is larger.
    """
    try:
        with path.open("rb") as stream:
            content = stream.read(LARGEST_SCENARIO + 1)
    except OSError as error:
        problem = InputError("file", path.name or ".", f"it cannot be read: {reason(error)}")
        raise FileError(path, problem) from None
    if len(content) > LARGEST_SCENARIO:
        most = LARGEST_SCENARIO // 1024
        problem = InputError("file", f"over {most} KiB", f"allowed: up to {most} KiB")
        raise FileError(path, problem)
    return content


def _refuse_a_table(path: Path, content: bytes) -> None:
    """Name the command for readings where they are given in place of a scenario."""
    names = content.lstrip(b"\xef\xbb\xbf \t\r\n").split(b"\n", 1)[0].split(b",")
    header = names[0].strip().strip(b'"').lower() in (b"test", b"group") and len(names) > 1
    if header or path.suffix.lower() in (".csv", ".xlsx", ".ags"):
        raise InputError(
            "file", path.name, f"it is a table of readings; for those: slipmargin fit {path.name}"
        )


def reason(error: OSError) -> str:
    """The system's reason, in lower case."""
    return (error.strerror or str(error)).lower()


def read_table(content: bytes) -> dict[str, Any]:
    """The outermost table of a scenario.

    Raises
    ------
    InputError
        Not UTF-8, not TOML, or nested far deeper than any scenario.
    """
    try:
        text = content.decode("utf-8-sig")
        if _LONG_KEY.search(text):
            raise RecursionError
        return tomllib.loads(text)
    except UnicodeDecodeError:
        raise InputError("file", "not UTF-8", "save the scenario as UTF-8 text") from None
    except tomllib.TOMLDecodeError as error:
        raise InputError("file", "not valid TOML", _with_hint(str(error), text)) from None
    except RecursionError:
        raise InputError("file", "nested too deeply", "a scenario needs a few levels") from None
    except ValueError:  # the reader refuses integers of thousands of digits, and odd dates
        problem = "it holds an integer or a date that no computer reads"
        raise InputError("file", "not valid TOML", problem) from None


def _with_hint(problem: str, text: str) -> str:
    """What the reader says, and the slip that is behind it most often."""
    found = re.search(r"line (\d+)", problem)
    lines = text.splitlines()
    number = int(found[1]) if found else 0
    if 0 < number <= len(lines) and re.search(r"=\s*[-+]?\d+,\d", lines[number - 1]):
        return f"{problem}; write a decimal point, not a comma"
    return problem


def _build(path: Path, content: bytes, variant: str | None, allow_outside: bool) -> Scenario:
    table = read_table(content)
    written = _top(table, [])
    table = with_variant(table, written, variant)
    try:
        return _read(path, content, table, variant, allow_outside)
    except FileError:
        raise
    except InputError as error:
        raise error if variant is None else error.within(f"variant {variant!r}") from None


def _top(table: dict[str, Any], notices: list[Notice]) -> ScenarioModel:
    top = validated(ScenarioModel, table, "", notices)
    assert isinstance(top, ScenarioModel)
    return top


def _read(
    path: Path,
    content: bytes,
    table: dict[str, Any],
    variant: str | None,
    allow_outside: bool,
) -> Scenario:
    notices: list[Notice] = []
    top = _top(table, notices)
    for key in ("soils", "checks", "sweeps", "variants"):
        count = len(getattr(top, key))
        if count > MOST_ENTRIES:
            allowed = f"allowed: up to {MOST_ENTRIES}; divide the scenario"
            raise InputError(key, f"{count} of them", allowed)
    folder = path.parent
    digests = {path.name: hashlib.sha256(content).hexdigest()}
    soils = {
        name: _soil(name, table, folder, allow_outside, notices, digests)
        for name, table in top.soils.items()
    }
    everywhere = {"water_unit_weight": top.groundwater_unit_weight}
    basis = _basis(top.basis)
    checks: dict[str, CheckEntry] = {}
    for index, one in enumerate(top.checks):
        entry = _check(index, one, soils, everywhere, basis, notices)
        if entry.label in checks:
            raise InputError(f"checks[{index}].label", entry.label, "give each check its own label")
        checks[entry.label] = entry
    if not checks:
        notices.append(
            Notice.caution(
                "no-checks",
                "The scenario holds no check, so there is no factor of safety: add one under "
                f"[[checks]], with kind = one of {', '.join(KINDS)}.",
            )
        )
    sweeps = [_sweep(index, table, notices) for index, table in enumerate(top.sweeps)]
    return Scenario(
        path,
        top.title,
        soils,
        tuple(checks.values()),
        tuple(sweeps),
        DoubtEntry(top.reliability, top.uncertain, top.correlations, top.ranges),
        basis,
        distinct(notices),
        digests,
        table,
        variant,
        tuple(one.name for one in top.variants),
        allow_outside,
        sheet=top.sheet,
    )


def _basis(model: BasisModel | None) -> Basis | None:
    if model is None:
        return None
    from slipmargin.stability.design.basis import Basis
    from slipmargin.stability.design.partial_factors import own_factor_set

    try:
        own = {name: own_factor_set(name, given) for name, given in model.own_sets.items()}
    except InputError as error:
        raise error.within("basis.own_sets") from None
    try:
        return Basis(
            method=model.method,
            targets=model.targets,
            sets=tuple(model.sets),
            own_sets=own,
            water_factors=model.water_factors,
        )
    except InputError as error:
        raise error.within("basis") from None


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
    laboratory = None
    others = model.strength.stated_by
    stated_by = {others.who: Pair(others.cohesion, others.friction_angle)} if others else {}
    try:
        if stated is not None:
            for part in ("specimen", "apparatus"):
                if getattr(model, part) is not None:
                    raise InputError(part, "given", "it belongs to a fitted strength")
            if model.soil_class is not None:
                published_class(model.soil_class)
            strength = Strength(cohesion=stated[0], friction_angle=stated[1])
        else:
            laboratory = _laboratory(model, stated_by, folder, allow_outside, digests)
            strength = laboratory.strength(model.strength.value or "best_fit")
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
        laboratory,
        model.strength.value or "best_fit",
        stated_by,
        (
            *(laboratory.notices if laboratory else _stated_notices(soil)),
            *soil.rare_values(),
        ),
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


_OF_A_FIT = (
    "state",
    "intercept",
    "value",
    "confidence",
    "envelope",
    "area_correction",
    "sample",
    "test_kind",
    "beside",
)


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
            raise InputError(f"{place}.{key}", MISSING, "a stated strength is a pair")
    for key in _OF_A_FIT:
        if getattr(model, key) is not None:
            raise InputError(f"{place}.{key}", getattr(model, key), "it belongs beside readings")
    assert model.cohesion is not None
    assert model.friction_angle is not None
    return model.cohesion, model.friction_angle


def specimen_from(model: SpecimenModel) -> Specimen:
    """The specimen a table describes."""
    wanted, other = ("width", "diameter") if model.shape == "square" else ("diameter", "width")
    if getattr(model, other) is not None:
        raise InputError(other, "given", f"a {model.shape} specimen has a {wanted}")
    if getattr(model, wanted) is None:
        raise InputError(wanted, MISSING, f'such as {wanted} = "60 mm"')
    return Specimen(
        shape="square" if model.shape == "square" else "circle",
        width=getattr(model, wanted),
        height=model.height,
        added_normal_force=model.added_normal_force,
        apparatus_friction=model.apparatus_friction,
        zero_reading=model.zero_reading,
    )


def _laboratory(
    model: SoilModel,
    stated_by: Mapping[str, Pair],
    folder: Path,
    allow_outside: bool,
    digests: dict[str, str],
) -> LaboratoryStrength:
    given, box = model.strength, model.specimen
    file = _file_beside("strength.readings", str(given.readings), folder, allow_outside)
    try:
        specimen = None if box is None else specimen_from(box)
    except InputError as error:
        raise error.within("specimen") from None
    apparatus = _apparatus(model.apparatus, folder, allow_outside, digests)
    readings, reported = read_laboratory(file, given.sample, apparatus, test_kind=given.test_kind)
    digests[str(given.readings)] = hashlib.sha256(file.read_bytes()).hexdigest()
    state = given.state or "peak"
    pair = reported.pair(state) if reported else None
    choices = Choices(
        state=state,
        intercept=given.intercept or "non_negative",
        envelope=given.envelope or "line",
        confidence=0.95 if given.confidence is None else given.confidence,
        area_correction=bool(given.area_correction),
        cohesionless=model.cohesionless,
        soil_class=model.soil_class,
    )
    try:
        found = strength_from_readings(
            readings,
            specimen,
            choices=choices,
            drainage=None if box is None else _drainage(box),
            stated={**({reported.who: pair} if reported and pair else {}), **stated_by},
        )
    except InputError as error:
        raise error.within("strength") from None
    others = _beside(given, file, readings, folder, allow_outside, digests)
    if others is None:
        return found
    lines = replace(choices, envelope="line", area_correction=False)
    try:
        return found.set_beside(strength_from_readings(others, specimen, choices=lines))
    except InputError as error:
        raise error.within("strength.beside") from None


def _beside(
    given: StrengthModel,
    file: Path,
    readings: Readings,
    folder: Path,
    allow_outside: bool,
    digests: dict[str, str],
) -> Readings | None:
    """Tests of the other kind on the same soil: of a file named, or of the same sample."""
    held = readings.plane.test_kind
    if given.beside is None:
        if given.test_kind is None or file.suffix.lower() != ".ags":
            return None
        from slipmargin.strength.laboratory.ags import kinds_held

        other = [kind for kind in kinds_held(file, given.sample) if kind != held]
        return read_laboratory(file, given.sample, test_kind=other[0])[0] if other else None
    beside = _file_beside("strength.beside", given.beside, folder, allow_outside)
    sample = given.sample if beside.suffix.lower() == ".ags" else None
    others, _ = read_laboratory(beside, sample)
    digests[given.beside] = hashlib.sha256(beside.read_bytes()).hexdigest()
    if others.plane.test_kind == held:
        raise InputError(
            "strength.beside",
            given.beside,
            f"it holds {held} tests too; give those of another kind",
        )
    return others


def _apparatus(
    model: ApparatusModel | None, folder: Path, allow_outside: bool, digests: dict[str, str]
) -> Apparatus | None:
    if model is None:
        return None
    table: RingCalibration | None = None
    notices: tuple[Notice, ...] = ()
    if model.ring_calibration is not None:
        try:
            file = _file_beside("ring_calibration", model.ring_calibration, folder, allow_outside)
        except InputError as error:
            raise error.within("apparatus") from None
        table, notices = read_calibration(file)
        digests[model.ring_calibration] = hashlib.sha256(file.read_bytes()).hexdigest()
    try:
        return Apparatus(
            lever_ratio=model.lever_ratio,
            ring_constant=model.ring_constant,
            dial_zero=model.dial_zero,
            ring_calibration=table,
            notices=notices,
        )
    except InputError as error:
        raise error.within("apparatus") from None


def read_calibration(file: Path) -> tuple[RingCalibration, tuple[Notice, ...]]:
    """Calibration of a proving ring from its table, and what there was to say of it.

    Raises
    ------
    FileError
        For the first thing in the file that cannot be used.
    """
    try:
        return read_ring_calibration(file)
    except OSError as error:
        problem = InputError("file", file.name, f"it cannot be read: {reason(error)}")
        raise FileError(file, problem) from None
    except InputError as error:
        raise FileError(file, error) from None


def _drainage(box: SpecimenModel) -> Drainage:
    return Drainage(
        time_to_failure=box.time_to_failure,
        rate=box.rate,
        displacement_at_failure=box.displacement_at_failure,
        t50=box.t50,
        t90=box.t90,
        dry=box.dry,
    )


def read_laboratory(
    file: Path,
    sample: str | None,
    apparatus: Apparatus | None = None,
    *,
    test_kind: str | None = None,
) -> tuple[Readings, StatedByLaboratory | None]:
    """Readings of a CSV file, or of one sample in a transfer file, which ends in ``.ags``.

    Raises
    ------
    FileError
        For the first thing in the file that cannot be used.
    InputError
        A sample asked of a CSV file, or a kind of test that it does not hold.
    """
    try:
        if file.suffix.lower() == ".ags":
            from slipmargin.strength.laboratory.ags import read_ags

            if apparatus is not None:
                apparatus.refuse_unused(set())
            return read_ags(file, sample, test_kind)
        if sample is not None:
            raise InputError("sample", sample, "it belongs to a transfer file, which ends in .ags")
        readings = read_readings(file, apparatus)
        held = readings.plane.test_kind
        if test_kind not in (None, held):
            raise InputError("test_kind", test_kind, f"the table holds {held} tests")
        return readings, None
    except OSError as error:
        problem = InputError("file", file.name, f"it cannot be read: {reason(error)}")
        raise FileError(file, problem) from None
    except InputError as error:
        raise FileError(file, error) from None


def _file_beside(place: str, text: str, folder: Path, allow_outside: bool) -> Path:
    file = folder / text
    try:
        inside = file.resolve().is_relative_to(folder.resolve())
        present = file.is_file()
    except (OSError, ValueError, RuntimeError):  # too long, a NUL, a loop of links
        raise InputError(place, text, "it is no name a file can have") from None
    if not inside and not allow_outside:
        allowed = "keep it in the scenario's folder or below it, or allow it with --allow-outside"
        raise InputError(place, text, allowed)
    if not present:
        raise InputError(place, text, "no such file beside the scenario")
    return file


def _check(
    index: int,
    table: dict[str, Any],
    soils: Mapping[str, SoilEntry],
    everywhere: dict[str, Any],
    basis: Basis | None,
    notices: list[Notice],
) -> CheckEntry:
    place = f"checks[{index}]"
    kind = table.get("kind")
    if not isinstance(kind, str) or kind not in KINDS:
        hint = nearest(kind, list(KINDS)) if isinstance(kind, str) else "one of " + ", ".join(KINDS)
        raise InputError(f"{place}.kind", MISSING if kind is None else kind, hint)
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
    label = label_of(index, table)
    targets = targets_of(check) if basis is None else basis.targets_of(check)
    stated = "sliding" in targets and not targets["sliding"].customary
    if check.STRUCTURE == "slope" and stated:
        # what the basis states is what the values of the check are worked out for
        check = replace(check, target=targets["sliding"].value)
    return CheckEntry(label, kind, check, used, targets)


def _sweep(index: int, table: dict[str, Any], notices: list[Notice]) -> SweepEntry:
    model = validated(SweepModel, table, f"sweeps[{index}]", notices)
    assert isinstance(model, SweepModel)
    second, other = None, model.second
    try:
        if other is not None:
            second = SweepEntry(other.vary, other.start, other.stop, other.steps)
        return SweepEntry(model.vary, model.start, model.stop, model.steps, second)
    except InputError as error:
        raise error.within(f"sweeps[{index}]") from None
