"""Published ranges of strength by soil class (USCS symbol), to hold a fit against.

A value outside its range is not wrong; it is a reason to look again at the test, at the
description, or at the spreadsheet in between.
"""

from __future__ import annotations

from dataclasses import dataclass

from slipmargin.strength.errors import InputError

__all__ = ["COHESION_SOURCE", "FRICTION_SOURCE", "SoilClass", "soil_class"]

FRICTION_SOURCE = (
    "collected table of peak friction angles by USCS class, Spanish-language; it agrees with "
    "the list commonly credited to SN 670 010b and NAVFAC (the credit from memory)"
)
"""Source of the friction angles; each range is the widest its row gives for any density."""

COHESION_SOURCE = "NAVFAC DM 7.02, Table 1, compacted soils (from memory)"
"""Source of the cohesions."""

_KPA_PER_PSF = 0.04788026


@dataclass(frozen=True, slots=True)
class SoilClass:
    """What is published of one class, or two joined by a hyphen.

    Lowest and highest peak friction angle [deg], and the typical effective cohesion of the
    compacted soil, soaked and as compacted [kPa]; ``None`` where none is published.
    """

    symbol: str
    friction_angle: tuple[float, float]
    cohesion_saturated: float | None
    cohesion_compacted: float | None


# symbol: lowest and highest φ [deg]; c saturated and as compacted [psf]
_TABLE: dict[str, tuple[float, float, float | None, float | None]] = {
    "GW": (33.0, 40.0, None, None),
    "GP": (32.0, 44.0, None, None),
    "GM": (30.0, 40.0, None, None),
    "GC": (28.0, 35.0, None, None),
    "SW": (33.0, 45.0, 0.0, 0.0),
    "SP": (27.0, 39.0, 0.0, 0.0),
    "SM": (27.0, 35.0, 420.0, 1050.0),
    "SC": (30.0, 40.0, 230.0, 1550.0),
    "ML": (27.0, 41.0, 190.0, 1400.0),
    "CL": (27.0, 35.0, 270.0, 1800.0),
    "OL": (22.0, 32.0, None, None),
    "MH": (23.0, 33.0, 420.0, 1500.0),
    "CH": (17.0, 31.0, 230.0, 2150.0),
    "OH": (17.0, 35.0, None, None),
    "PT": (0.0, 10.0, None, None),
}


def soil_class(symbol: str) -> SoilClass:
    """Published ranges of a USCS symbol of the table such as ``SM``; ``SP-SM`` spans both."""
    rows: list[tuple[float, float, float | None, float | None]] = []
    for part in symbol.strip().upper().split("-"):
        if part not in _TABLE or len(rows) == 2:
            raise InputError(
                "soil_class",
                symbol,
                "allowed: " + ", ".join(_TABLE) + ", or two joined by a hyphen, such as SP-SM",
            )
        rows.append(_TABLE[part])
    return SoilClass(
        symbol=symbol.strip().upper(),
        friction_angle=(min(row[0] for row in rows), max(row[1] for row in rows)),
        cohesion_saturated=_highest([row[2] for row in rows]),
        cohesion_compacted=_highest([row[3] for row in rows]),
    )


def _highest(values: list[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return max(known) * _KPA_PER_PSF if len(known) == len(values) else None
