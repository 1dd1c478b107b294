"""Reads shear box and triaxial results from a file in the AGS4 transfer format.

Of the groups of the format four are read: SHBG and TREG, one row a specimen, with the strength
the laboratory reports; SHBT, one row a test or stage in a shear box, with normal stress, peak
and residual shear stress, displacements and rates; and TRET, one row a triaxial test or stage,
with cell pressure, deviator stress and pore pressure at failure. The laboratory's own c′ and φ′
are never taken for a fit: they are handed over beside the readings, as values stated by someone
else.

The library ``python-ags4`` is an optional extra, and is loaded when a file is read.

Source: AGS4 data dictionary, editions 4.0.3 to 4.2, of the Association of Geotechnical and
Geoenvironmental Specialists (headings as in the copies that the library carries).
"""

from __future__ import annotations

import csv
import logging
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from slipmargin.strength.errors import MISSING, InputError, need_one_of, need_path
from slipmargin.strength.laboratory.csv_table import Column, check_text_file, number
from slipmargin.strength.laboratory.readings import Readings
from slipmargin.strength.laboratory.triaxial import triaxial_readings
from slipmargin.strength.notice import Notice
from slipmargin.strength.pair import Pair
from slipmargin.strength.quantities import unit_factor

__all__ = ["StatedByLaboratory", "kinds_held", "read_ags"]

_KEYS = ("LOCA_ID", "SAMP_TOP", "SAMP_REF", "SAMP_TYPE", "SAMP_ID", "SPEC_REF", "SPEC_DPTH")
"""Headings that tie the rows of results to the row of their specimen."""

_GROUPS = {"direct_shear": ("SHBG", "SHBT"), "triaxial": ("TREG", "TRET")}
"""Groups of specimens and of results, by kind of test."""

_STATES = {
    "peak": ("SHBT_PEAK", "SHBT_PVST", "SHBT_PDIS", "SHBT_DISP"),
    "residual": ("SHBT_RES", "SHBT_RVST", "SHBT_RDIS", "SHBT_DISR"),
}
"""Shear stress, normal stress at it, displacement at it, and rate, of each state."""

_NORMAL = "SHBT_NORM"

_DIMENSIONS = {
    **dict.fromkeys(("SHBT_NORM", "SHBT_PEAK", "SHBT_RES", "SHBT_PVST", "SHBT_RVST"), "stress"),
    **dict.fromkeys(("SHBG_PCOH", "SHBG_RCOH", "TREG_COH"), "stress"),
    **dict.fromkeys(("TRET_CELL", "TRET_DEVF", "TRET_PWPF", "TRET_BACK"), "stress"),
    **dict.fromkeys(("SHBG_PHI", "SHBG_RPHI", "TREG_PHI"), "angle"),
    **dict.fromkeys(("SHBT_PDIS", "SHBT_RDIS"), "displacement"),
    **dict.fromkeys(("SHBT_DISP", "SHBT_DISR"), "rate"),
}
"""Kind of quantity under each heading that is read."""

_LEAST_VERSION = 1

Row = dict[str, str]
Tables = dict[str, dict[str, list[str]]]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedByLaboratory:
    """What the laboratory itself reports for a specimen.

    ``who`` is the laboratory as named for the specimen, or else the producer of the file; the
    pairs are ``None`` where not reported in full.
    """

    who: str
    peak: Pair | None
    residual: Pair | None

    def pair(self, state: str) -> Pair | None:
        """The pair reported for a state; ``None`` for one the format does not know."""
        return {"peak": self.peak, "residual": self.residual}.get(state)


@dataclass(frozen=True, slots=True)
class _Group:
    name: str
    headings: tuple[str, ...]
    units: Row
    rows: tuple[Row, ...]

    def value(self, row: Row, heading: str, line: str) -> float:
        """Number under a heading, in the program's unit; nan where blank or left out."""
        text = row.get(heading, "").strip()
        if not text:
            return float("nan")
        unit = self.units.get(heading, "").strip()
        try:
            factor, _ = unit_factor(unit, _DIMENSIONS[heading])
            return number(text, Column(heading, heading, factor), 0)
        except InputError as error:
            shown = text if error.value == text else f"{text} [{unit}]"
            raise InputError(
                f"group {self.name}, {line}, {heading}", shown, error.allowed
            ) from None


def read_ags(
    path: str | Path, sample: str | None = None, test_kind: str | None = None
) -> tuple[Readings, StatedByLaboratory]:
    """Read the shear box or triaxial results of one sample.

    Parameters
    ----------
    path
        File in the AGS4 format.
    sample
        SAMP_ID of the sample. Where it is blank in the file: location, type, reference and
        depth, such as ``BH2 U4 3.50``. Where a sample has several specimens: with a slash
        and the SPEC_REF. May be left out where the file holds one specimen only.
    test_kind
        ``direct_shear`` or ``triaxial``; may be left out where the sample has one of them.

    Returns
    -------
    readings, stated
        Readings in kPa with state ``peak`` and, where reported, ``residual``; and what the
        laboratory reports.

    Raises
    ------
    InputError
        The library missing, a file not in the format, a group or sample that is missing (the
        message names the samples present), a value that is no number or has a wrong unit, an
        undrained triaxial test without its pore pressure.
    """
    path = need_path(path)
    if test_kind is not None:
        need_one_of("test_kind", test_kind, _GROUPS)
    tables = _tables(path)
    kind = test_kind
    if kind is None:
        held = _kinds(tables, sample)
        if len(held) > 1:
            raise InputError("test_kind", MISSING, "both are there: " + " and ".join(held))
        kind = held[0] if held else "direct_shear"
    general, data = (_group(tables, name) for name in _GROUPS[kind])
    chosen = _choose(general.rows, sample)
    keys = [key for key in _KEYS if key in general.headings and key in data.headings]
    rows = [row for row in data.rows if all(row[k].strip() == chosen[k].strip() for k in keys)]
    if not rows:
        raise InputError(
            f"group {data.name}", f"no row for {_label(chosen)}", "the sample needs its results"
        )
    read = {"direct_shear": _shear_box, "triaxial": _triaxial}[kind]
    return read(data, rows, chosen), _stated(general, chosen, tables)


def kinds_held(path: Path, sample: str | None = None) -> tuple[str, ...]:
    """Kinds of test that a file holds, of a sample where one is named; refuses as ``read_ags``."""
    return tuple(_kinds(_tables(path), sample))


def _kinds(tables: Tables, sample: str | None) -> list[str]:
    held = [kind for kind, names in _GROUPS.items() if any(name in tables for name in names)]
    if len(held) < 2 or sample is None:
        return held
    asked = " ".join(sample.split())
    rows = {kind: _group(tables, _GROUPS[kind][0]).rows for kind in held}
    found = [kind for kind, of in rows.items() if any(_is_of(row, asked) for row in of)]
    if not found:
        every = [_label(row) for of in rows.values() for row in of]
        raise InputError("sample", asked, _held(every))
    return found


def _tables(path: Path) -> Tables:
    try:
        present = version("python-ags4")
    except PackageNotFoundError:
        present = "0"
    if int(present.split(".")[0]) < _LEAST_VERSION:
        raise InputError(
            "file",
            path.name,
            f"reading the AGS4 format needs python-ags4 {_LEAST_VERSION}.0 or later, an optional "
            "extra: pip install 'slipmargin[ags]'",
        )
    from python_ags4 import AGS4  # noqa: PLC0415  (an optional extra)

    # Without a handler the library's own report of an error would reach standard error.
    logger = logging.getLogger("python_ags4")
    if not logger.handlers:
        logger.addHandler(logging.NullHandler())
    check_text_file(path)
    try:
        tables, _ = AGS4.AGS4_to_dict(str(path), encoding="utf-8-sig")
    except (AGS4.AGS4Error, csv.Error, LookupError, UnicodeError) as error:
        what = str(error) if isinstance(error, AGS4.AGS4Error) else "a row that cannot be read"
        raise InputError("file", path.name, f"it is not in the AGS4 format: {what}") from None
    if not tables:
        raise InputError("file", path.name, "it holds no group of the AGS4 format")
    return dict(tables)


def _group(tables: Tables, name: str) -> _Group:
    table = tables.get(name)
    if not table or "HEADING" not in table:
        raise InputError(
            f"group {name}",
            MISSING,
            "shear box results need SHBG and SHBT, triaxial ones TREG and TRET; the file holds: "
            + ", ".join(sorted(tables)),
        )
    headings = tuple(table)
    if len({len(cells) for cells in table.values()}) > 1:
        wanted = "give it one HEADING row, and every row a value under each heading"
        raise InputError(f"group {name}", "columns of unequal length", wanted)
    rows = [dict(zip(headings, cells, strict=True)) for cells in zip(*table.values(), strict=True)]
    units = next((row for row in rows if row["HEADING"] == "UNIT"), {})
    data = tuple(row for row in rows if row["HEADING"] == "DATA")
    if not data:
        raise InputError(f"group {name}", "no DATA row", "it must hold results")
    return _Group(name, headings, units, data)


def _label(row: Row, *, specimen: bool = True) -> str:
    """How a sample is asked for."""
    identifier = row.get("SAMP_ID", "").strip()
    if not identifier:
        parts = (row.get("LOCA_ID", ""), row.get("SAMP_TYPE", "") + row.get("SAMP_REF", ""))
        identifier = " ".join(part.strip() for part in (*parts, row.get("SAMP_TOP", ""))).strip()
    reference = row.get("SPEC_REF", "").strip()
    return f"{identifier}/{reference}" if specimen and reference else identifier


def _choose(rows: tuple[Row, ...], sample: str | None) -> Row:
    present = [_label(row) for row in rows]
    asked = "none" if sample is None else " ".join(sample.split())
    found = [row for row in rows if sample is None or _is_of(row, asked)]
    if not found:
        raise InputError("sample", asked, _held(present))
    if len(found) > 1:
        what = "name one" if sample is None else "it has several specimens, name one"
        raise InputError("sample", asked, f"{what} of: {', '.join(dict.fromkeys(present))}")
    return found[0]


def _held(labels: list[str]) -> str:
    return "the file holds: " + ", ".join(dict.fromkeys(labels))


def _is_of(row: Row, asked: str) -> bool:
    """Whether a row is of the sample or specimen asked for."""
    return asked in (_label(row), _label(row, specimen=False))


def _shear_box(data: _Group, rows: list[Row], _specimen: Row) -> Readings:
    found: list[tuple[str, str, tuple[float, ...]]] = []
    for count, row in enumerate(rows, start=1):
        name = row.get("SHBT_TESN", "").strip() or str(count)
        line = f"test {name}"
        for state, (shear, normal_there, displacement, rate) in _STATES.items():
            read = data.value(row, shear, line)
            if np.isnan(read):
                continue
            normal = data.value(row, normal_there, line)
            normal = data.value(row, _NORMAL, line) if np.isnan(normal) else normal
            if np.isnan(normal):
                place = f"group SHBT, {line}, {_NORMAL}"
                raise InputError(place, MISSING, "give the normal stress of every test")
            moved, speed = (data.value(row, one, line) for one in (displacement, rate))
            found.append((name, state, (normal, read, moved, speed or np.nan)))
    if not found:
        raise InputError(
            "group SHBT", "no shear stress", "give SHBT_PEAK or SHBT_RES for the sample"
        )
    tests, states, values = zip(*found, strict=True)
    normals, shears, moved_to, rates = np.array(values).T
    return Readings(
        test=tests, state=states, normal=normals, shear=shears, displacement=moved_to, rate=rates
    )


def _triaxial(data: _Group, rows: list[Row], specimen: Row) -> Readings:
    names = [row.get("TRET_TESN", "").strip() or str(i) for i, row in enumerate(rows, start=1)]

    def column(heading: str, *, needed: bool = False) -> Floats:
        found = []
        for name, row in zip(names, rows, strict=True):
            value = data.value(row, heading, f"test {name}")
            if needed and np.isnan(value):
                place = f"group TRET, test {name}, {heading}"
                raise InputError(place, MISSING, "it is needed at failure")
            found.append(value)
        return np.array(found)

    cell, deviator = column("TRET_CELL", needed=True), column("TRET_DEVF", needed=True)
    kind, criterion = (specimen.get(key, "").strip() for key in ("TREG_TYPE", "TREG_FCR"))
    pore, said = _pore_pressure(kind, names, column("TRET_PWPF"), column("TRET_BACK"))
    return triaxial_readings(names, cell, deviator, pore, failure_criterion=criterion, notices=said)


def _pore_pressure(
    kind: str, names: list[str], pore: Floats, back: Floats
) -> tuple[Floats, list[Notice]]:
    """Pore pressures at failure; of a drained test the back pressure, where that is all given."""
    blank = np.isnan(pore)
    if not blank.any():
        return pore, []
    test = f"group TRET, test {names[int(np.argmax(blank))]}, TRET_PWPF"
    if "CU" in kind.upper() or "UU" in kind.upper():
        raise InputError(
            test, MISSING, f"without it a test of type {kind} gives no effective strength"
        )
    if np.all(np.isnan(back[blank]) | (back[blank] == 0.0)):
        return pore, []
    if "CD" not in kind.upper():
        raise InputError(test, MISSING, "a back pressure is given, so it is not zero")
    return np.where(blank, back, pore), [
        Notice.info(
            "back-pressure-taken-off",
            "The tests are drained and give no pore pressure at failure: the back pressure "
            "(TRET_BACK) was taken for it, and so off the cell pressure.",
        )
    ]


def _stated(general: _Group, row: Row, tables: Tables) -> StatedByLaboratory:
    line = f"sample {_label(row)}"

    def pair(cohesion: str, angle: str) -> Pair | None:
        values = general.value(row, cohesion, line), general.value(row, angle, line)
        return None if np.any(np.isnan(values)) else Pair(*values)

    group = general.name
    peak = {"SHBG": ("SHBG_PCOH", "SHBG_PHI"), "TREG": ("TREG_COH", "TREG_PHI")}[group]
    producers = [name.strip() for name in tables.get("TRAN", {}).get("TRAN_PROD", [])[2:]]
    return StatedByLaboratory(
        who=row.get(f"{group}_LAB", "").strip() or next(iter(producers), "") or "the laboratory",
        peak=pair(*peak),
        residual=pair("SHBG_RCOH", "SHBG_RPHI"),
    )
