"""Many samples through one search: a set of circles that holds the critical one of each.

Where the strengths (or other numbers) differ from sample to sample, a few samples that lie far
apart are searched in full. The circles found for them, the lowest few of each, are the
candidates for all. Factors of a circle are homogeneous of degree one in the strengths and
change little from one sample to a like one, so a straight extension from the nearest of the
searched samples says which few candidates are worth a look; of these each sample has its
Spencer factor computed in full, and the lowest counts. Of few samples (a sweep, readings, a
map) each walks on downhill from there. Of many none does: their factors stand above those of
full searches by what the candidates miss.

Likeness is that of the ratios between strengths, since doubling all of them moves no circle.
"""

from __future__ import annotations

import pickle
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability.ground.flat import pieces
from slipmargin.stability.layered_slope.search import Found, full_search, looked_at, walked
from slipmargin.stability.layered_slope.section import Amounts, Float, Section, each

__all__ = ["WALKED", "lowest_circles"]

_FEW = 8  # samples that are searched one by one
WALKED = 64
"""Samples up to which each walks on."""

_WALKS = 3  # from so many candidates
_KEPT = 256  # samples up to which what was found is kept
_SEARCHED = 24
_EACH = 3  # candidates from each
_LOOKED_AT = 4  # candidates a sample looks at
_ALIKE = 0.03  # samples this close need no search of their own
_LIKENESS = 4096  # samples among which those to be searched are chosen
_SAME = 1e-6  # of a factor
_STEP = 1e-3  # of a range, for rates of change


def lowest_circles(section: Section) -> Found:
    """The circle with the lowest factor of each sample.

    Of few samples each is searched; of more the candidates are looked at, and what ``Found``
    holds beside the lowest is of no account.
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
        return each(one, lambda array: np.repeat(array, size, axis=0))
    like = _likeness(section.amounts, varying)
    chosen = _far_apart(like)
    searched = full_search(section.take(chosen))
    candidates = _merged(section, searched)
    gaps = (np.sum((like[part, None] - like[chosen]) ** 2, axis=2) for part in pieces(size))
    nearest = np.concatenate([np.argmin(gap, axis=1) for gap in gaps])
    worth = _worth_a_look(section, candidates, varying, chosen, nearest)
    place, factor, lam = _looked_at_worth(section, candidates, *worth)
    found = Found(
        place=place,
        factor=factor,
        tangent=lam,
        shallow=np.full(size, np.inf),
        settled=np.full(size, np.all(searched.settled)),
    )
    if size <= WALKED:
        _walk_on(section, found, chosen, searched)
    return found


def _walk_on(section: Section, found: Found, chosen: NDArray[np.intp], searched: Found) -> None:
    """Lower what was found by looking, in place: to what a search of its own gave a sample, or
    by walks from the lowest few where there was none, or none that low.
    """
    own = np.full(found.settled.size, np.nan)
    own[chosen] = searched.factor[:, 0]
    rest = np.flatnonzero(~(own <= found.factor[:, 0] * (1.0 + _SAME)))
    walk = walked(section.take(rest), found.place[rest, :_WALKS], found.factor[rest, :_WALKS])
    lowest = np.arange(rest.size), np.argmin(walk.factor, axis=1)
    for name in ("place", "factor", "tangent"):
        held = getattr(found, name)[:, 0]
        held[chosen] = getattr(searched, name)[:, 0]
        held[rest] = getattr(walk, name)[lowest]
    found.shallow[chosen], found.settled[chosen] = searched.shallow, searched.settled
    found.shallow[rest] = np.minimum(found.shallow[rest], walk.shallow)
    found.settled[rest] = walk.settled[lowest]


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


def _merged(section: Section, searched: Found) -> Float:
    """Places of the lowest few circles of every search, each once, shape (1, circles, 4)."""
    place = searched.place[:, :_EACH][np.isfinite(searched.factor[:, :_EACH])]
    kept: list[Float] = []
    close = np.array([0.01 * section.size, 0.01 * section.size, 0.005, 0.02])
    for one in place:
        if not any(np.all(np.abs(one - other) < close) for other in kept):
            kept.append(one)
    return np.stack(kept)[None] if kept else searched.place[:1, :1]


def _worth_a_look(
    section: Section,
    candidates: Float,
    varying: dict[str, Float],
    chosen: NDArray[np.intp],
    nearest: NDArray[np.intp],
) -> tuple[NDArray[np.intp], Float, Float]:
    """The candidates with the lowest factors in each sample by a straight extension from the
    nearest of those searched, these factors, and the λ there, all of shape (samples, few).
    """
    rows = section.take(chosen)
    places = np.broadcast_to(candidates, (chosen.size, *candidates.shape[1:]))
    usual = np.full(places.shape[:2], 0.2)
    table, tangent, _ = looked_at(rows, places, np.ones_like(usual), usual)
    lam = np.where(np.isfinite(tangent), tangent, usual)
    known = np.where(np.isfinite(table), table, 1.0)
    rates = np.zeros((*table.shape, len(varying)))
    for index, (name, row) in enumerate(varying.items()):
        step = _STEP * np.ptp(row)
        # towards the middle, where every number is allowed
        signed = np.where(row[chosen] > np.mean(row), -step, step)
        other, _, _ = looked_at(rows.with_row(name, row[chosen] + signed), places, known, lam)
        with np.errstate(invalid="ignore"):
            rate = (other - table) / signed[:, None]
        rates[..., index] = np.where(np.isfinite(rate), rate, 0.0)
    values = np.stack(list(varying.values()), axis=1)
    shape = nearest.size, min(_LOOKED_AT, candidates.shape[1])
    few, guess, start = np.empty(shape, dtype=np.intp), np.empty(shape), np.empty(shape)
    for index in range(chosen.size):
        mine = np.flatnonzero(nearest == index)
        estimate = table[index] + (values[mine] - values[chosen[index]]) @ rates[index].T
        best = np.argsort(estimate, axis=1, kind="stable")[:, : shape[1]]
        few[mine], start[mine] = best, lam[index, best]
        guess[mine] = np.take_along_axis(estimate, best, axis=1)
    return few, guess, start


def _looked_at_worth(
    section: Section, candidates: Float, few: NDArray[np.intp], guess: Float, tangent: Float
) -> tuple[Float, Float, Float]:
    """Places, factors and λ of the candidates worth a look, the lowest of each sample first."""
    factor, lam = np.full(few.shape, np.inf), np.full(few.shape, np.nan)
    start = np.where(np.isfinite(guess) & (guess > 0.02), guess, 1.0)
    for index in range(candidates.shape[1]):
        mine, rank = np.nonzero(few == index)
        if mine.size:
            found, turned, _ = looked_at(
                section.take(mine),
                candidates[:, index : index + 1],
                start[mine, rank][:, None],
                tangent[mine, rank][:, None],
            )
            factor[mine, rank], lam[mine, rank] = found[:, 0], turned[:, 0]
    order = np.argsort(factor, axis=1, kind="stable")
    few, factor, lam = (np.take_along_axis(one, order, axis=1) for one in (few, factor, lam))
    return candidates[0][few], factor, lam
