"""Reads shear box results from a file in the AGS4 transfer format.

Of the groups of the format two are read: SHBG, one row a specimen, with the strength the
laboratory reports; and SHBT, one row a test or stage, with normal stress, peak and residual
shear stress, displacements and rates. The laboratory's own c′ and φ′ are never taken for a
fit: they are handed over beside the readings, as values stated by someone else.

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

from slipmargin.strength.errors import MISSING, InputError
from slipmargin.strength.laboratory.csv_table import Column, check_text_file, number
from slipmargin.strength.laboratory.readings import Readings
from slipmargin.strength.pair import Pair
from slipmargin.strength.quantities import unit_factor

__all__ = ["StatedByLaboratory", "read_ags"]

_KEYS = ("LOCA_ID", "SAMP_TOP", "SAMP_REF", "SAMP_TYPE", "SAMP_ID", "SPEC_REF", "SPEC_DPTH")
"""Headings that tie the rows of SHBT to their row of SHBG."""

_STATES = {
    "peak": ("SHBT_PEAK", "SHBT_PVST", "SHBT_PDIS", "SHBT_DISP"),
    "residual": ("SHBT_RES", "SHBT_RVST", "SHBT_RDIS", "SHBT_DISR"),
}
"""Shear stress, normal stress at it, displacement at it, and rate, of each state."""

_NORMAL = "SHBT_NORM"

_DIMENSIONS = {
    "SHBT_NORM": "stress",
    "SHBT_PEAK": "stress",
    "SHBT_RES": "stress",
    "SHBT_PVST": "stress",
    "SHBT_RVST": "stress",
    "SHBT_PDIS": "displacement",
    "SHBT_RDIS": "displacement",
    "SHBT_DISP": "rate",
    "SHBT_DISR": "rate",
    "SHBG_PCOH": "stress",
    "SHBG_RCOH": "stress",
    "SHBG_PHI": "angle",
    "SHBG_RPHI": "angle",
}

_LEAST_VERSION = 1

Row = dict[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedByLaboratory:
    """What the laboratory itself reports for a specimen.

    Parameters
    ----------
    who
        The laboratory as named in SHBG_LAB, or else the producer of the file.
    peak, residual
        Cohesion [kPa] and friction angle [deg]; ``None`` where not reported in full.
    method, remarks
        As written in the file, empty where not.
    """

    who: str
    peak: Pair | None
    residual: Pair | None
    method: str = ""
    remarks: str = ""

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


def read_ags(path: Path, sample: str | None = None) -> tuple[Readings, StatedByLaboratory]:
    """Read the shear box results of one sample.

    Parameters
    ----------
    path
        File in the AGS4 format.
    sample
        SAMP_ID of the sample. Where it is blank in the file: location, type, reference and
        depth, such as ``BH2 U4 3.50``. Where a sample has several specimens: with a slash
        and the SPEC_REF. May be left out where the file holds one specimen only.

    Returns
    -------
    readings, stated
        Readings in kPa with state ``peak`` and, where reported, ``residual``; and what the
        laboratory reports.

    Raises
    ------
    InputError
        The library missing, a file not in the format, a group or sample that is missing (the
        message names the samples present), a value that is no number or has a wrong unit.
    """
    tables = _tables(path)
    groups = {name: _group(tables, name) for name in ("SHBG", "SHBT")}
    general, data = groups["SHBG"], groups["SHBT"]
    chosen = _choose(general.rows, sample)
    keys = [key for key in _KEYS if key in general.headings and key in data.headings]
    rows = [row for row in data.rows if all(_same(row, chosen, key) for key in keys)]
    if not rows:
        raise InputError(
            "group SHBT", f"no row for {_label(chosen)}", "the sample needs its test results"
        )
    return _readings(data, rows), _stated(general, chosen, tables)


def _tables(path: Path) -> dict[str, dict[str, list[str]]]:
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


def _group(tables: dict[str, dict[str, list[str]]], name: str) -> _Group:
    table = tables.get(name)
    if not table or "HEADING" not in table:
        raise InputError(
            f"group {name}",
            MISSING,
            "shear box results need the groups SHBG and SHBT; the file holds: "
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
    present = ", ".join(dict.fromkeys(_label(row) for row in rows))
    if sample is None:
        found = list(rows)
        asked = "none"
    else:
        asked = " ".join(sample.split())
        found = [row for row in rows if asked in (_label(row), _label(row, specimen=False))]
    if not found:
        raise InputError("sample", asked, f"the file holds: {present}")
    if len(found) > 1:
        what = "name one" if sample is None else "it has several specimens, name one"
        raise InputError("sample", asked, f"{what} of: {present}")
    return found[0]


def _same(row: Row, other: Row, key: str) -> bool:
    return row[key].strip() == other[key].strip()


def _readings(data: _Group, rows: list[Row]) -> Readings:
    values: list[tuple[float, ...]] = []
    tests: list[str] = []
    states: list[str] = []
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
                raise InputError(f"group SHBT, {line}, {_NORMAL}", "", "give the normal stress")
            tests.append(name)
            states.append(state)
            values.append(
                (
                    normal,
                    read,
                    data.value(row, displacement, line),
                    data.value(row, rate, line) or float("nan"),
                )
            )
    if not tests:
        raise InputError(
            "group SHBT", "no shear stress", "give SHBT_PEAK or SHBT_RES for the sample"
        )
    columns = np.array(values).T
    return Readings(
        test=tuple(tests),
        state=tuple(states),
        normal=columns[0],
        shear=columns[1],
        low=np.full(len(tests), np.nan),
        high=np.full(len(tests), np.nan),
        unit="kPa",
        displacement=columns[2],
        rate=columns[3],
    )


def _stated(
    general: _Group, row: Row, tables: dict[str, dict[str, list[str]]]
) -> StatedByLaboratory:
    line = f"sample {_label(row)}"

    def pair(cohesion: str, angle: str) -> Pair | None:
        values = general.value(row, cohesion, line), general.value(row, angle, line)
        return None if np.any(np.isnan(values)) else Pair(*values)

    producers = [name.strip() for name in tables.get("TRAN", {}).get("TRAN_PROD", [])[2:]]
    return StatedByLaboratory(
        who=row.get("SHBG_LAB", "").strip() or next(iter(producers), "") or "the laboratory",
        peak=pair("SHBG_PCOH", "SHBG_PHI"),
        residual=pair("SHBG_RCOH", "SHBG_RPHI"),
        method=row.get("SHBG_METH", "").strip(),
        remarks=row.get("SHBG_REM", "").strip(),
    )
