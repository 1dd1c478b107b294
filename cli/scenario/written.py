"""A scenario as it is written: its keys and quantities read, and no table of readings yet.

Whatever is wrong with the file itself is found here, before any soil is fitted.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel

from slipmargin.cli.scenario.check_model import check_model
from slipmargin.cli.scenario.files import (
    Folder,
    naming,
    read_scenario,
    read_table,
    refuse_readings,
    within,
)
from slipmargin.cli.scenario.readers import nearest
from slipmargin.cli.scenario.schema import (
    BasisModel,
    ScenarioModel,
    SoilModel,
    StrengthModel,
    SweepModel,
)
from slipmargin.cli.scenario.tables import made, validated
from slipmargin.cli.scenario.variants import label_of, with_variant
from slipmargin.stability import KINDS
from slipmargin.strength import InputError, Notice
from slipmargin.strength.errors import MISSING

if TYPE_CHECKING:
    from slipmargin.stability.design.basis import Basis

__all__ = ["Written", "WrittenCheck", "read", "read_top", "soil_as_written"]

MOST_ENTRIES = 1000
"""More soils, checks or sweeps than this are refused."""


@dataclass(frozen=True, slots=True)
class WrittenCheck:
    """A check as it is written, and the place it stands at."""

    label: str
    kind: str
    model: BaseModel
    place: str


@dataclass(frozen=True, slots=True)
class Written:
    """A scenario file, read.

    Parameters
    ----------
    path, digest
        The file and its SHA-256.
    top
        The outermost keys, those of ``variant`` put in.
    soils, checks, sweeps, basis
        As they are written.
    variant
        Which of the file's variants is meant; ``None``: the file as it is written.
    allow_outside
        Whether readings may lie outside its folder.
    notices
        What reading it had to say.
    """

    path: Path
    digest: str
    top: ScenarioModel
    soils: Mapping[str, SoilModel]
    checks: tuple[WrittenCheck, ...]
    sweeps: tuple[SweepModel, ...]
    basis: Basis | None
    variant: str | None
    allow_outside: bool
    notices: tuple[Notice, ...]

    @property
    def variants(self) -> tuple[str, ...]:
        """Names of every variant that the file has."""
        return tuple(one.name for one in self.top.variants)

    @property
    def folder(self) -> Folder:
        """Its folder, of which nothing but itself has been read."""
        folder = Folder(self.path.parent, allow_outside=self.allow_outside)
        folder.digests[self.path.name] = self.digest
        return folder


def read(path: Path, *, variant: str | None = None, allow_outside: bool = False) -> Written:
    """Read and validate a scenario, or one of its variants, without fitting a soil. ``FileError``
    with file, place, value and what is allowed, for the first thing wrong.
    """
    content = read_scenario(path)
    with naming(path):
        refuse_readings(path, content)
        table = read_top(content, variant)
        with within("" if variant is None else f"variant {variant!r}"):
            digest = hashlib.sha256(content).hexdigest()
            return _written(path, digest, table, variant, allow_outside)


def read_top(content: bytes, variant: str | None) -> dict[str, Any]:
    """The outermost table of a scenario, a variant put in."""
    table = read_table(content)
    return with_variant(table, validated(ScenarioModel, table, "", []), variant)


def _written(
    path: Path, digest: str, table: dict[str, Any], variant: str | None, allow_outside: bool
) -> Written:
    notices: list[Notice] = []
    top = validated(ScenarioModel, table, "", notices)
    for key in ("soils", "checks", "sweeps", "variants"):
        count = len(getattr(top, key))
        if count > MOST_ENTRIES:
            allowed = f"allowed: up to {MOST_ENTRIES}; divide the scenario"
            raise InputError(key, f"{count} of them", allowed)
    soils = {name: soil_as_written(name, one, notices) for name, one in top.soils.items()}
    basis = None if top.basis is None else _basis(top.basis)
    checks: dict[str, WrittenCheck] = {}
    for index, one in enumerate(top.checks):
        check = _check(index, one, notices)
        if check.label in checks:
            raise InputError(f"checks[{index}].label", check.label, "give each check its own label")
        checks[check.label] = check
    if not checks:
        notices.append(
            Notice.caution(
                "no-checks",
                "The scenario holds no check, so there is no factor of safety: add one under "
                f"[[checks]], with kind = one of {', '.join(KINDS)}.",
            )
        )
    sweeps = tuple(
        validated(SweepModel, one, f"sweeps[{index}]", notices)
        for index, one in enumerate(top.sweeps)
    )
    return Written(
        path=path,
        digest=digest,
        top=top,
        soils=soils,
        checks=tuple(checks.values()),
        sweeps=sweeps,
        basis=basis,
        variant=variant,
        allow_outside=allow_outside,
        notices=tuple(notices),
    )


def soil_as_written(name: str, table: dict[str, Any], notices: list[Notice]) -> SoilModel:
    """One soil of a scenario; its strength is stated or fitted, not half of one nor both."""
    model = validated(SoilModel, table, f"soils.{name}", notices)
    given = model.strength
    place = f"soils.{name}.strength"
    pair = {"cohesion": given.cohesion, "friction_angle": given.friction_angle}
    stated = [key for key, value in pair.items() if value is not None]
    if given.readings is not None:
        if stated:
            allowed = "state a strength or fit one to readings, not both"
            raise InputError(f"{place}.{stated[0]}", "given", allowed)
        return model
    if not stated:
        raise InputError(place, "empty", "give cohesion and friction_angle, or readings")
    for key, value in pair.items():
        if value is None:
            raise InputError(f"{place}.{key}", MISSING, "a stated strength is a pair")
    for key in StrengthModel.model_fields:
        if key not in (*pair, "stated_by") and getattr(given, key) is not None:
            raise InputError(f"{place}.{key}", getattr(given, key), "it belongs beside readings")
    for part in ("specimen", "apparatus"):
        if getattr(model, part) is not None:
            raise InputError(f"soils.{name}.{part}", "given", "it belongs to a fitted strength")
    return model


def _check(index: int, table: dict[str, Any], notices: list[Notice]) -> WrittenCheck:
    place, kind, label = f"checks[{index}]", table.get("kind"), table.get("label")
    if not isinstance(kind, str) or kind not in KINDS:
        hint = nearest(kind, list(KINDS)) if isinstance(kind, str) else "one of " + ", ".join(KINDS)
        raise InputError(f"{place}.kind", MISSING if kind is None else kind, hint)
    if isinstance(label, str):
        place += f" ({label[:40]})"
    model = validated(check_model(kind), table, place, notices)
    return WrittenCheck(label_of(index, table), kind, model, place)


def _basis(model: BasisModel) -> Basis:
    from slipmargin.stability.design.basis import Basis
    from slipmargin.stability.design.partial_factors import own_factor_set

    with within("basis.own_sets"):
        own = {name: own_factor_set(name, given) for name, given in model.own_sets.items()}
    with within("basis"):
        return made(Basis, model, sets=tuple(model.sets), own_sets=own)
