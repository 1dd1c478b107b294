"""Samples of doubts: points of the unit cube made into values, impossible ones drawn again."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.uncertainty.doubts import Doubt
from slipmargin.strength import InputError

__all__ = ["Draws", "drawn_at", "possible_draws"]

Floats = NDArray[np.float64]
Draws = list[Mapping[str, Floats]]
"""Values by field, one mapping a doubt."""

_CHUNK = 1 << 16
_LEAST = 2.0**-54  # in place of 0: half the least number above it that is drawn


def _points(dimensions: int, sampling: str, rng: np.random.Generator) -> Iterator[Floats]:
    """Endless chunks of points in the unit cube."""
    if sampling == "sobol":
        from scipy.stats import qmc  # noqa: PLC0415  (slow to load, rarely asked for)

        engine = qmc.Sobol(dimensions, scramble=True, rng=rng)
        while True:
            yield np.clip(engine.random(_CHUNK), 1e-15, 1.0 - 1e-15)
    while True:
        yield np.maximum(rng.random((_CHUNK, dimensions)), _LEAST)


def drawn_at(doubts: Sequence[Doubt], points: Floats) -> tuple[Draws, NDArray[np.bool_]]:
    """Values at points in the unit cube of all doubts, and which of them are possible."""
    kept = np.ones(len(points), dtype=bool)
    drawn = []
    for doubt, end in zip(doubts, np.cumsum([one.dimensions for one in doubts]), strict=True):
        values, possible = doubt.draw(points[:, end - doubt.dimensions : end])
        drawn.append(values)
        kept &= possible
    return drawn, kept


def possible_draws(
    doubts: Sequence[Doubt], count: int, rng: np.random.Generator, sampling: str = "random"
) -> Iterator[tuple[Draws, int, int]]:
    """Chunks of ``count`` possible draws, the size of each, and how many were tried so far;
    ``InputError``: hardly any draw is possible.
    """
    done = tried = 0
    for points in _points(sum(one.dimensions for one in doubts), sampling, rng):
        drawn, kept = drawn_at(doubts, points[: count - done])
        if not np.all(kept):
            drawn, kept = drawn_at(doubts, points)
        index = np.flatnonzero(kept)[: count - done]
        tried += len(kept) if done + index.size < count else int(index[-1]) + 1
        if tried >= 20 * _CHUNK and done < tried // 1000:
            names = ", ".join(one.name for one in doubts)
            raise InputError("uncertain", names, "hardly any draw is possible")
        if index.size:
            done += index.size
            if index.size < len(kept):
                drawn = [{k: v[index] for k, v in values.items()} for values in drawn]
            yield drawn, index.size, tried
        if done >= count:
            return
