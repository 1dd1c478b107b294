"""Peak, end of test and dilation of stress-displacement records, side by side."""

from __future__ import annotations

import math
from collections.abc import Sequence

from slipmargin.strength.laboratory.picked_points import RELATIVE_DISPLACEMENT, PickedTest

__all__ = ["record_table"]

_READ_AS = {
    "largest": "maximum",
    "ten_percent": f"{RELATIVE_DISPLACEMENT:.0%} of width",
    "end": "last part",
}


def record_table(details: Sequence[PickedTest]) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Headings and a row of text a test; all columns but the first two hold numbers.

    The residual is there where some test has one, ψ where some vertical displacement was read.
    """
    unit = details[0].record.unit
    residual = any(test.residual is not None for test in details)
    dilating = any(math.isfinite(test.peak.rise) for test in details)
    headings = [
        "Test",
        "Peak read at",
        f"Peak [{unit}]",
        "At [mm]",
        *(["ψ [deg]"] if dilating else []),
        f"End [{unit}]",
        "At [mm]",
        *([f"Residual [{unit}]"] if residual else []),
    ]
    rows = []
    for test in details:
        row = [test.name, _READ_AS[test.peak.found_by]]
        row += [f"{test.peak.shear:.1f}", f"{test.peak.displacement:.2f}"]
        if dilating:
            angle = test.peak.dilation_angle
            row.append(f"{angle:.1f}" if math.isfinite(angle) else "-")
        row += [f"{test.end.shear:.1f}", f"{test.end.displacement:.2f}"]
        if residual:
            row.append("-" if test.residual is None else f"{test.residual.shear:.1f}")
        rows.append(tuple(row))
    return tuple(headings), rows
