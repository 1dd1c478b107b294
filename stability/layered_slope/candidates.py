"""Many samples through one search: a set of circles that holds the critical one of each.

Where the strengths (or other numbers) differ from sample to sample, a few samples that lie far
apart are searched in full. The circles found for them, the lowest few of each, are the
candidates for all. Factors of a circle are homogeneous of degree one in the strengths and
change little from one sample to a like one, so a straight extension from the nearest of the
searched samples says which few candidates are worth a look; of these each sample has its
Spencer factor computed in full, and the lowest counts. It is never below the full search's by
more than rounding, and above it by what the candidates miss (held against full searches in
the tests).

Likeness is that of the ratios between strengths, since doubling all of them moves no circle.
"""

from __future__ import annotations

import pickle
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.layered_slope.search import Found, full_search, looked_at
from slipmargin.stability.layered_slope.section import Amounts, Float, Section

__all__ = ["lowest_circles"]

_FEW = 8  # samples that are searched one by one
_KEPT = 256  # samples up to which what was found is kept
_SEARCHED = 24
_EACH = 3  # candidates from each
_LOOKED_AT = 4  # candidates a sample looks at
_ALIKE = 0.03  # samples this close need no search of their own
_LIKENESS = 4096  # samples among which those to be searched are chosen
_STEP = 1e-3  # of a range, for rates of change


def lowest_circles(section: Section) -> Found:
    """The circle with the lowest factor of each sample.

    Of few samples each is searched; of many the candidates are looked at, and ``Found`` holds
    the lowest alone.
    """
    if section.amounts.samples <= _KEPT:
        # the same ground is asked for the same by every question of one run
        return _kept(pickle.dumps(section))
    return _lowest(section)


@lru_cache(maxsize=128)
def _kept(pickled: bytes) -> Found:
    return _lowest(pickle.loads(pickled))


def _lowest(section: Section) -> Found:
    size = section.amounts.samples
    if size <= _FEW:
        return full_search(section)
    varying = section.amounts.varying()
    if not varying:
        one = full_search(section.take(slice(0, 1)))
        return _repeated(one, size)
    like = _likeness(section.amounts, varying)
    chosen = _far_apart(like)
    searched = full_search(section.take(chosen))
    candidates = _merged(section, searched)
    nearest = _nearest(like, like[chosen])
    rows = section.take(chosen)
    table, tangent, rates = _table(rows, candidates, varying, chosen)
    values = np.stack(list(varying.values()), axis=1)
    return _looked_up(
        section, candidates, searched, nearest, values, values[chosen], table, tangent, rates
    )


def _repeated(one: Found, size: int) -> Found:
    return Found(*(np.repeat(getattr(one, name), size, axis=0) for name in Found.__slots__))


def _likeness(amounts: Amounts, varying: dict[str, Float]) -> Float:
    """Coordinates in which samples that lie close have like circles, shape (samples, n)."""
    size = amounts.samples
    columns = []
    stress = float(np.mean(amounts.unit_weight)) * 10.0
    pair = np.broadcast_arrays(amounts.cohesion / stress, amounts.tan_friction_angle)
    strength = np.concatenate(pair)
    if strength.shape[1] == size:
        total = np.maximum(np.linalg.norm(strength, axis=0), 1e-12)
        # differences between weak strengths count as much as between strong ones
        columns += list(np.sqrt(strength / total))
    for name, row in varying.items():
        if not name.startswith(("cohesion", "tan_friction_angle")):
            columns.append((row - np.min(row)) / np.ptp(row))
    return np.stack([np.broadcast_to(one, (size,)) for one in columns], axis=1)


def _far_apart(like: Float) -> NDArray[np.intp]:
    """Samples far from each other, the first the one nearest to the middle of all."""
    step = max(1, like.shape[0] // _LIKENESS)
    rows = np.arange(0, like.shape[0], step)
    some = like[rows]
    chosen = [int(np.argmin(np.sum((some - np.mean(some, axis=0)) ** 2, axis=1)))]
    gap = np.sum((some - some[chosen[0]]) ** 2, axis=1)
    while len(chosen) < min(_SEARCHED, rows.size):
        chosen.append(int(np.argmax(gap)))
        gap = np.minimum(gap, np.sum((some - some[chosen[-1]]) ** 2, axis=1))
        if np.max(gap) < _ALIKE**2:
            break
    found: NDArray[np.intp] = rows[np.array(chosen)]
    return found


def _nearest(like: Float, searched: Float) -> NDArray[np.intp]:
    best = np.zeros(like.shape[0], dtype=np.intp)
    least = np.full(like.shape[0], np.inf)
    for index, place in enumerate(searched):
        gap = np.sum((like - place) ** 2, axis=1)
        closer = gap < least
        best[closer], least[closer] = index, gap[closer]
    return best


def _merged(section: Section, searched: Found) -> Float:
    """Places of the lowest few circles of every search, each once, shape (1, circles, 4)."""
    place = searched.place[:, :_EACH][np.isfinite(searched.factor[:, :_EACH])]
    kept: list[Float] = []
    close = np.array([0.01 * section.size, 0.01 * section.size, 0.005, 0.02])
    for one in place:
        if not any(np.all(np.abs(one - other) < close) for other in kept):
            kept.append(one)
    return np.stack(kept)[None] if kept else searched.place[:1, :1]


def _table(
    rows: Section, candidates: Float, varying: dict[str, Float], chosen: NDArray[np.intp]
) -> tuple[Float, Float, Float]:
    """Factor, λ and rates of change of every candidate in every searched sample."""
    count = chosen.size
    places = np.broadcast_to(candidates, (count, *candidates.shape[1:]))
    guess = np.ones(places.shape[:2])
    table, tangent, _ = looked_at(rows, places, guess, np.full(guess.shape, 0.2))
    lam = np.where(np.isfinite(tangent), tangent, 0.2)
    known = np.where(np.isfinite(table), table, 1.0)
    rates = np.zeros((*table.shape, len(varying)))
    for index, (name, row) in enumerate(varying.items()):
        step = _STEP * np.ptp(row)
        # towards the middle, where every number is allowed
        signed = np.where(row[chosen] > np.mean(row), -step, step)
        moved = rows.with_amounts(rows.amounts.moved({name: row[chosen] + signed}))
        other, _, _ = looked_at(moved, places, known, lam)
        with np.errstate(invalid="ignore"):
            rate = (other - table) / signed[:, None]
        rates[..., index] = np.where(np.isfinite(rate), rate, 0.0)
    return table, lam, rates


def _looked_up(
    section: Section,
    candidates: Float,
    searched: Found,
    nearest: NDArray[np.intp],
    values: Float,
    origin: Float,
    table: Float,
    tangent: Float,
    rates: Float,
) -> Found:
    """The lowest of the candidates worth a look, for each sample."""
    size = section.amounts.samples
    count = min(_LOOKED_AT, candidates.shape[1])
    chosen = np.empty((size, count), dtype=np.intp)
    guess = np.empty((size, count))
    for index in range(origin.shape[0]):
        mine = np.flatnonzero(nearest == index)
        if not mine.size:
            continue
        estimate = table[index] + (values[mine] - origin[index]) @ rates[index].T
        best = np.argsort(estimate, axis=1, kind="stable")[:, :count]
        chosen[mine] = best
        guess[mine] = np.take_along_axis(estimate, best, axis=1)
    factor, lam = np.full((size, 1), np.inf), np.full((size, 1), np.nan)
    best = chosen[:, 0].copy()
    for index in range(candidates.shape[1]):
        mine, rank = np.nonzero(chosen == index)
        if not mine.size:
            continue
        start = guess[mine, rank]
        start = np.where(np.isfinite(start) & (start > 0.02), start, 1.0)
        found, turned, _ = looked_at(
            section.take(mine),
            candidates[:, index : index + 1],
            start[:, None],
            tangent[nearest[mine], index][:, None],
        )
        lower = found[:, 0] < factor[mine, 0]
        rows = mine[lower]
        factor[rows, 0], lam[rows, 0] = found[lower, 0], turned[lower, 0]
        best[rows] = index
    return Found(
        place=candidates[0][best][:, None],
        factor=factor,
        tangent=lam,
        shallow=np.full(size, np.inf),
        settled=np.full(size, np.all(searched.settled)),
    )
