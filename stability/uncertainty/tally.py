"""What samples of a factor come to, counted as they stream by."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Tally"]

Floats = NDArray[np.float64]

_BINS = 1 << 16
_MOST = 1e4  # what is larger has no limit
_LOG_RANGE = (math.log(1e-4), math.log(_MOST))


@dataclass(slots=True)
class Tally:
    """Running moments, counts and histogram of one factor."""

    target: float | None
    count: int = 0
    mean: float = 0.0
    squares: float = 0.0
    below_one: int = 0
    below_target: int = 0
    unlimited: int = 0
    histogram: Floats | None = None

    def add(self, factors: Floats) -> None:
        """Count some more samples."""
        finite = np.minimum(factors, _MOST)
        self.unlimited += int(np.count_nonzero(factors > _MOST))
        n = factors.size
        mean = float(finite.mean())
        squares = float(((finite - mean) ** 2).sum())
        step = mean - self.mean
        total = self.count + n
        self.squares += squares + step * step * self.count * n / total
        self.mean += step * n / total
        self.count = total
        self.below_one += int(np.count_nonzero(factors < 1.0))
        if self.target is not None:
            self.below_target += int(np.count_nonzero(factors < self.target))
        low, high = _LOG_RANGE
        with np.errstate(divide="ignore"):
            place = (np.log(finite) - low) / (high - low) * _BINS
        index = np.clip(place, 0, _BINS - 1).astype(np.intp)
        counts = np.bincount(index, minlength=_BINS).astype(float)
        self.histogram = counts if self.histogram is None else self.histogram + counts

    def percentiles(self, percents: Sequence[float]) -> dict[str, float]:
        """The factors below which shares of the samples lie, by the share in percent."""
        assert self.histogram is not None
        cumulative = np.cumsum(self.histogram)
        low, high = _LOG_RANGE
        found = {}
        for percent in percents:
            wanted = percent / 100.0 * self.count
            index = int(np.searchsorted(cumulative, wanted))
            before = cumulative[index - 1] if index else 0.0
            limited = wanted <= self.count - self.unlimited
            inside = (wanted - before) / max(self.histogram[index], 1.0) if limited else 0.0
            factor = math.exp(low + (index + inside) / _BINS * (high - low))
            found[f"{percent:g}"] = factor if limited else math.inf
        return found
