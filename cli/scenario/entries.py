"""What a scenario holds once its soils are fitted: soils, checks, sweeps, and its uncertainties."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from slipmargin.cli.scenario.files import FileError
from slipmargin.cli.scenario.readers import nearest
from slipmargin.cli.scenario.schema import ScenarioModel
from slipmargin.cli.scenario.written import Written
from slipmargin.stability import Check, Soil
from slipmargin.stability.design.customary_targets import Target, margin
from slipmargin.strength import EnvelopeFit, InputError, Notice, Numeric, Pair
from slipmargin.strength.from_laboratory import LaboratoryStrength

if TYPE_CHECKING:
    from slipmargin.stability.design.basis import Basis

__all__ = ["CheckEntry", "Scenario", "SoilEntry", "SweepEntry"]

MOST_STEPS = 100_000
"""More steps than this in one sweep are refused."""

MOST_CELLS = 250_000
"""A larger grid of two fields is refused."""


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
    basis of design. ``place`` is where it stands among the checks of its scenario.
    """

    label: str
    kind: str
    check: Check
    soils: Mapping[str, str]
    targets: Mapping[str, Target] = field(default_factory=dict)
    place: int = 0

    @property
    def soil_names(self) -> tuple[str, ...]:
        """The soils it stands on, each once."""
        return tuple(dict.fromkeys(self.soils.values()))

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


@dataclass(frozen=True, slots=True)
class SweepEntry:
    """A sweep as asked for; the ends are still text. A ``second`` field may vary with it.
    ``InputError``: a senseless number of steps, of one field or of both together.
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
class Scenario:
    """A scenario with its soils fitted.

    ``written`` is the file as it was read, its variant put in. ``only`` is the label of a check
    that is looked at alone.
    """

    written: Written
    soils: Mapping[str, SoilEntry]
    checks: tuple[CheckEntry, ...]
    sweeps: tuple[SweepEntry, ...]
    basis: Basis | None
    notices: tuple[Notice, ...]
    digests: Mapping[str, str]
    only: str = ""

    @property
    def path(self) -> Path:
        """Its file."""
        return self.written.path

    @property
    def top(self) -> ScenarioModel:
        """Its outermost keys; those that speak of fields of a check hold quantities as text."""
        return self.written.top

    @property
    def title(self) -> str:
        """Of the job."""
        return self.top.title

    @property
    def variant(self) -> str | None:
        """Which of the file's variants it is; ``None``: the file as it is written."""
        return self.written.variant

    @property
    def variants(self) -> tuple[str, ...]:
        """Names of every variant that the file has."""
        return self.written.variants

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
    def judged(self) -> tuple[CheckEntry, ...]:
        """The checks that have a factor of safety."""
        return tuple(entry for entry in self.checks if entry.check.LIMIT_STATES)

    def check(self, label: str) -> Check:
        """The check that has a label; a ``FileError`` where none has it."""
        return self.entry(label).check

    def entry(self, label: str, place: str = "label") -> CheckEntry:
        """As ``check``, with what the file says of it; ``place`` is where the label was given."""
        for one in self.checks:
            if one.label == label:
                return one
        hint = nearest(label, [one.label for one in self.checks])
        raise FileError(self.path, InputError(place, label, f"unknown check; {hint}"))

    @property
    def files(self) -> list[Path]:
        """Every file it was read from: its own, and those of readings that it names."""
        return [self.path.parent / name for name in self.digests]
