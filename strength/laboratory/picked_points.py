"""Points picked from the stress-displacement record of one test.

Peak. The largest single row is biased upward by gauge noise, which is unconservative. The
curve is therefore smoothed by a local quadratic (Savitzky and Golay, see
``local_quadratic``) over a window of a tenth of the travel, and the peak is the largest
smoothed value. Two small biases remain and oppose each other. Picking the largest of
several noisy values reads high, by up to 0.6 standard errors of the point. A parabola cuts
a peak that is sharp against the window: on a record that falls by a third after its peak,
by less than 0.1 % where the stress takes a tenth of the travel to rise, by 0.7 % where it
takes a twentieth.

A peak counts when the stress then falls by more than three standard errors and 0.5 % to the
end of the traverse. Without one, the stress at a relative displacement of 10 % of the
specimen's width is taken; a test that stopped sooner gives the mean of its last part.

End of test. Mean over the last 10 % of the travel of the first traverse; rising or falling
where the slope over that share is beyond its Student-t limit at 95 % and moves the stress by
more than 1 % of its mean.

Residual. The same mean over the last forward traverse, of two or more.

Points are picked on nominal stresses; an area correction is applied to what was picked.

Sources: failure at the largest stress, or at 10 % relative displacement: ASTM D3080-11,
terminology and sect. 9; traverses: BS 1377-7:1990 (both from memory). The thresholds are
this project's own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from slipmargin.strength.laboratory.area_correction import area_factor
from slipmargin.strength.laboratory.dilatancy import dilation_angle
from slipmargin.strength.laboratory.local_quadratic import FEWEST_ROWS, local_quadratic, noise_about
from slipmargin.strength.laboratory.record import Record, Traverse, forward_traverses
from slipmargin.strength.laboratory.specimen import Specimen
from slipmargin.strength.line import fit_line, student_t

__all__ = [
    "RELATIVE_DISPLACEMENT",
    "EndPoint",
    "PeakPoint",
    "PickedPoint",
    "PickedTest",
    "pick_points",
]

LAST_SHARE = 0.10
"""Share of the travel [-] over which the end of a test is averaged."""

WINDOW = 0.10
"""Share of the travel [-] over which the curve is smoothed."""

RELATIVE_DISPLACEMENT = 0.10
"""Displacement over width [-] that stands for failure without a peak, ASTM D3080."""

MOST_ROWS = 2000
"""A longer traverse is first averaged in blocks of neighbouring rows."""

FALL = (3.0, 0.005)
"""Fall after a peak that makes it one: in standard errors, and as a share of it."""

MATERIAL = 0.01
"""Change over the end of a traverse, as a share of its mean, that is worth a word."""

Floats = NDArray[np.float64]


FoundBy = Literal["largest", "ten_percent", "end"]
Trend = Literal["steady", "rising", "falling"]


@dataclass(frozen=True, slots=True, kw_only=True, init=False, repr=False, eq=False)
class PickedPoint:
    """A point read from a record.

    It was read at a ``displacement`` [mm], with both stresses there [kPa], or forces [N], and the
    ``standard_error`` of the shear value from the noise of the gauge. ``rows`` are those of the
    record that the values were read from, ``weights`` what each counts for.
    """

    displacement: float
    normal: float
    shear: float
    standard_error: float
    rows: tuple[int, ...]
    weights: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PeakPoint(PickedPoint):
    """The peak, or what stands for it.

    ``found_by`` tells how: the ``largest`` smoothed value, ``ten_percent`` relative displacement,
    or the ``end`` of a test that stopped sooner. ``rise`` is that of the cap per unit displacement
    there, dv/dh [-], from the slope of the smoothed rise, upward positive; low by a few percent
    where the peak is sharp, nan where not measured.
    """

    found_by: FoundBy
    rise: float

    @property
    def dilation_angle(self) -> float:
        """Dilation angle ψ at that place [deg], upward positive; nan where not measured."""
        return float(dilation_angle(self.rise))


@dataclass(frozen=True, slots=True, kw_only=True)
class EndPoint(PickedPoint):
    """The mean over the last part of a traverse, which ends at its displacement.

    It begins at ``start`` [mm]; ``change`` is that of the shear value over it, relative to the
    mean [-].
    """

    start: float
    trend: Trend
    change: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PickedTest:
    """One test, and how its points were picked.

    ``record`` holds nominal stresses [kPa], or forces [N], corrected for zero reading and
    friction; ``smooth_displacement`` and ``smooth_shear`` are the smoothed curve of the first of
    the forward ``traverses``, nominal. ``residual`` is ``None`` with a single traverse, and
    ``residual_change``, of the last traverse's end against the one before it [-], nan. ``fall`` is
    that from the largest smoothed value to the end of the first traverse, nominal, and
    ``fall_needed`` the fall from which it is a peak. ``corrected`` is the specimen over whose area
    in contact the points were taken; ``None`` where they are nominal.
    """

    record: Record
    traverses: tuple[Traverse, ...]
    smooth_displacement: Floats
    smooth_shear: Floats
    peak: PeakPoint
    end: EndPoint
    residual: EndPoint | None
    residual_change: float
    fall: float
    fall_needed: float
    corrected: Specimen | None

    @property
    def name(self) -> str:
        """Identifier of the test."""
        return self.record.name

    @property
    def peak_row(self) -> int:
        """The row of the record nearest to the peak, counted from 0."""
        rows = np.array(self.peak.rows)
        away = np.abs(self.record.displacement[rows] - self.peak.displacement)
        return int(rows[np.argmin(away)])

    def overlap(self, displacement: ArrayLike) -> Floats:
        """Share of the area that the points are taken over at a displacement [mm]; 1 if nominal."""
        if self.corrected is None:
            return np.ones_like(np.asarray(displacement, dtype=float))
        return area_factor(self.corrected, displacement)

    def point(self, state: str) -> PickedPoint | None:
        """The point of one of ``STATES``; ``None`` where the record has none."""
        return {"peak": self.peak, "end_of_test": self.end, "residual": self.residual}[state]


@dataclass(frozen=True, slots=True)
class _Curve:
    """Rows of one traverse in order of displacement, and their share of the area.

    Of a long one, means of neighbouring rows: ``sizes`` of those in ``rows``.
    """

    moved: Floats
    shear: Floats
    normal: Floats
    rise: Floats
    share: Floats
    rows: NDArray[np.intp]
    sizes: NDArray[np.intp]

    def read(self, places: NDArray[np.intp], weights: ArrayLike) -> dict[str, tuple[Any, ...]]:
        """Rows of the record behind some rows of the curve, and what each counts for."""
        of_each = np.zeros(self.moved.size)
        of_each[places] = weights
        used = np.repeat(np.isin(np.arange(self.moved.size), places), self.sizes)
        return {
            "rows": tuple(self.rows[used].tolist()),
            "weights": tuple(np.repeat(of_each / self.sizes, self.sizes)[used].tolist()),
        }


def pick_points(
    record: Record, specimen: Specimen | None = None, *, area_correction: bool = False
) -> PickedTest:
    """Pick peak, end of test and residual from the record of one test, nominal.

    The width of the specimen tells where 10 % relative displacement lies. An area correction
    divides both stresses of a point by the share of the area that still overlaps. A record that
    cannot be split into traverses, or moved further than its specimen is wide, is refused.
    """
    parts = forward_traverses(record)
    corrected = specimen if area_correction else None
    first = _curve(record, parts[0], corrected)
    end = _end(first)
    ends = [end, *(_end(_curve(record, part, corrected)) for part in parts[1:])]
    # a hair more keeps rows at both ends of the window, which rounding may put outside
    half = 0.5 * WINDOW * float(np.ptp(first.moved)) * (1.0 + 1e-9)
    smooth = local_quadratic(first.moved, first.shear, half)
    noise = noise_about(smooth, first.shear)

    top = int(np.argmax(smooth.value))
    error = noise * float(np.sqrt(smooth.value_factor[top]))
    nominal_end = float(first.shear[first.moved >= end.start].mean())
    fall = float(smooth.value[top]) - nominal_end
    enough = max(FALL[0] * float(np.hypot(error, end.standard_error)), FALL[1] * nominal_end)
    limit = np.inf if specimen is None else RELATIVE_DISPLACEMENT * specimen.width
    found_by: FoundBy = "end"
    place = end.displacement
    if first.moved[top] <= end.start and fall > enough:
        found_by, place = "largest", float(first.moved[top])
    elif first.moved[0] <= limit <= place:
        found_by, place = "ten_percent", float(limit)
    return PickedTest(
        record=record,
        traverses=parts,
        smooth_displacement=smooth.at,
        smooth_shear=smooth.value,
        peak=_peak(first, place, half, noise, found_by, end, corrected),
        end=end,
        residual=ends[-1] if len(ends) > 1 else None,
        residual_change=ends[-1].shear / ends[-2].shear - 1.0 if len(ends) > 1 else float("nan"),
        fall=fall,
        fall_needed=enough,
        corrected=corrected,
    )


def _curve(record: Record, part: Traverse, corrected: Specimen | None) -> _Curve:
    rows = slice(part.start, part.stop)
    moved = record.displacement[rows]
    order = np.argsort(moved, kind="stable")
    rise = record.vertical_displacement
    rises = np.full(moved.size, np.nan) if rise is None else rise[rows]
    table = np.stack([moved, record.shear[rows], record.normal[rows], rises])[:, order]
    edges = np.arange(0, moved.size, -(-moved.size // MOST_ROWS))
    sizes = np.diff([*edges, moved.size])
    if edges.size < moved.size:
        table = np.add.reduceat(table, edges, axis=1) / sizes
    share = np.ones(table.shape[1]) if corrected is None else area_factor(corrected, table[0])
    moved, shear, normal, rises = table
    return _Curve(moved, shear, normal, rises, share, part.start + order, sizes)


def _end(curve: _Curve) -> EndPoint:
    """Mean over the last share of the travel, and whether it still moves."""
    furthest = float(curve.moved[-1])
    start = furthest - LAST_SHARE * float(np.ptp(curve.moved))
    start = min(start, float(curve.moved[-3]))
    part = curve.moved >= start
    rows = int(part.sum())
    shear = curve.shear[part]
    line = fit_line(curve.moved[part], shear)
    mean, scatter = float(shear.mean()), float(line.residual_variance)
    if not np.isfinite(line.slope):
        change, limit, scatter = 0.0, 0.0, float(shear.var(ddof=1))
    else:
        change = float(line.slope) * (furthest - start)
        error = np.sqrt(scatter * float(line.variance_factors[1])) * (furthest - start)
        limit = student_t(0.975, rows - 2) * float(error)
    trend: Trend = "steady"
    if abs(change) > max(limit, MATERIAL * abs(mean)):
        trend = "rising" if change > 0.0 else "falling"
    return EndPoint(
        start=start,
        displacement=furthest,
        normal=float((curve.normal[part] / curve.share[part]).mean()),
        shear=float((shear / curve.share[part]).mean()),
        standard_error=float(np.sqrt(scatter / rows)),
        trend=trend,
        change=change / mean if mean else float("nan"),
        **curve.read(np.flatnonzero(part), 1.0 / rows),
    )


def _peak(
    curve: _Curve,
    place: float,
    half: float,
    noise: float,
    found_by: FoundBy,
    end: EndPoint,
    corrected: Specimen | None,
) -> PeakPoint:
    known = np.isfinite(curve.rise)
    slope = float("nan")
    if known.sum() >= FEWEST_ROWS:
        rise = local_quadratic(curve.moved[known], curve.rise[known], half, [place])
        slope = float(rise.slope[0])
    if found_by == "end":
        read = {
            name: getattr(end, name)
            for name in ("normal", "shear", "standard_error", "rows", "weights")
        }
    else:
        share = 1.0 if corrected is None else float(area_factor(corrected, place))
        shear = local_quadratic(curve.moved, curve.shear, half, [place])
        normal = local_quadratic(curve.moved, curve.normal, half, [place])
        read = {
            "normal": float(normal.value[0]) / share,
            "shear": float(shear.value[0]) / share,
            "standard_error": noise * float(np.sqrt(shear.value_factor[0])) / share,
            **curve.read(shear.rows[0], shear.weights[0]),
        }
    return PeakPoint(displacement=place, found_by=found_by, rise=slope, **read)
