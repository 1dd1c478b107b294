"""Reads a scenario file into soils, checks and sweeps: first as it is written, then fitted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from slipmargin.cli.scenario.check_model import as_record
from slipmargin.cli.scenario.entries import CheckEntry, Scenario, SoilEntry, SweepEntry
from slipmargin.cli.scenario.files import FileError, Folder, naming, read_scenario, within
from slipmargin.cli.scenario.fitted import fitted_soil
from slipmargin.cli.scenario.readers import nearest
from slipmargin.cli.scenario.schema import SweepModel
from slipmargin.cli.scenario.tables import made
from slipmargin.cli.scenario.written import (
    Written,
    WrittenCheck,
    read,
    read_top,
    soil_as_written,
)
from slipmargin.stability import KINDS, Soil
from slipmargin.stability.design.customary_targets import targets_of
from slipmargin.strength import InputError, Notice, distinct
from slipmargin.strength.errors import MISSING, need_path

__all__ = [
    "CheckEntry",
    "FileError",
    "Scenario",
    "SoilEntry",
    "SweepEntry",
    "Written",
    "fit",
    "load",
    "load_soil",
    "read",
]


def load(path: str | Path, *, variant: str | None = None, allow_outside: bool = False) -> Scenario:
    """Read a scenario and fit its soils: ``read``, then ``fit``.

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
    path = need_path(path)
    return fit(read(path, variant=variant, allow_outside=allow_outside))


def fit(written: Written) -> Scenario:
    """Fit the soils of a scenario and put them into its checks."""
    variant, folder = written.variant, written.folder
    with naming(written.path), within("" if variant is None else f"variant {variant!r}"):
        soils = {name: fitted_soil(name, one, folder) for name, one in written.soils.items()}
        return Scenario(
            written=written,
            soils=soils,
            checks=tuple(
                _check(place, one, soils, written) for place, one in enumerate(written.checks)
            ),
            sweeps=tuple(_sweep(index, one) for index, one in enumerate(written.sweeps)),
            basis=written.basis,
            notices=distinct(written.notices),
            digests=folder.digests,
        )


def load_soil(
    path: Path, name: str | None, *, variant: str | None = None, allow_outside: bool = False
) -> SoilEntry:
    """One fitted soil of a scenario, whatever its checks say."""
    content = read_scenario(path)
    with naming(path):
        soils = read_top(content, variant)["soils"]
        strengths = {one: table.get("strength") for one, table in soils.items()}
        fitted = [one for one, of in strengths.items() if isinstance(of, dict) and "readings" in of]
        known = f"soils with readings: {', '.join(fitted)}" if fitted else "no soil has readings"
        if name is None:
            other = f"to run its checks: slipmargin check {path.name}"
            raise InputError("--soil", MISSING, f"{known}; {other}")
        if name not in soils:
            raise InputError("--soil", name, f"unknown soil; {nearest(name, list(soils))}")
        if name not in fitted:
            raise InputError("--soil", name, f"its strength is stated; {known}")
        notices: list[Notice] = []
        model = soil_as_written(name, soils[name], notices)
        entry = fitted_soil(name, model, Folder(path.parent, allow_outside=allow_outside))
        return replace(entry, notices=distinct([*notices, *entry.notices]))


def _check(
    place: int, one: WrittenCheck, soils: Mapping[str, SoilEntry], written: Written
) -> CheckEntry:
    used: dict[str, str] = {}

    def find(field: str, name: str) -> Soil:
        if name not in soils:
            raise InputError(field, name, f"unknown soil; {nearest(name, list(soils))}")
        used[field] = name
        return soils[name].soil

    everywhere = {"water_unit_weight": written.top.groundwater_unit_weight}
    with within(one.place):
        check = as_record(one.model, KINDS[one.kind], find, everywhere)
    basis = written.basis
    targets = targets_of(check) if basis is None else basis.targets_of(check)
    stated = "sliding" in targets and not targets["sliding"].customary
    if check.STRUCTURE == "slope" and stated:
        # what the basis states is what the values of the check are worked out for
        check = replace(check, target=targets["sliding"].value)
    return CheckEntry(one.label, one.kind, check, used, targets, place)


def _sweep(index: int, model: SweepModel) -> SweepEntry:
    with within(f"sweeps[{index}]"):
        second = None if model.second is None else made(SweepEntry, model.second)
        return made(SweepEntry, model, second=second)
