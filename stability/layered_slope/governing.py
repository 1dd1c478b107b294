"""The governing circle of each sample, searched for or given."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slipmargin.stability.ground.flat import pieces
from slipmargin.stability.layered_slope.candidates import lowest_circles
from slipmargin.stability.layered_slope.factors import lowest_factors
from slipmargin.stability.layered_slope.given_circle import given_circle
from slipmargin.stability.layered_slope.inputs import SlipCircle
from slipmargin.stability.layered_slope.search import SLICES, Found, circles_through
from slipmargin.stability.layered_slope.section import Float, Section, each
from slipmargin.stability.layered_slope.slices import Circles, slices_of
from slipmargin.stability.layered_slope.spencer import bishop, strengths

__all__ = ["ROWS", "Governing", "factors_on", "governing_circles"]

ROWS = 2000
"""Samples at once."""


@dataclass(frozen=True, slots=True)
class Governing:
    """The governing circle of each sample, arrays of shape (samples, 1), and what to say.

    ``factor`` is nan or inf where there is none; ``tangent`` is λ, nan where the factor is
    Bishop's.
    """

    circles: Circles
    factor: Float
    tangent: Float
    shallow: Float
    settled: bool
    found: Found | None = None


def governing_circles(section: Section, circle: SlipCircle | None, size: int) -> Governing:
    """The governing circles of so many samples; ``InputError``: a given one is no slip surface."""
    found, settled = None, True
    if circle is not None:
        circles = given_circle(section, circle.x, circle.y, circle.radius, size)
        factor, tangent = factors_on(section, circles)
        shallow = np.full(1, np.inf)
    else:
        found = lowest_circles(section)
        circles, _ = circles_through(section, found.place[:, :1])
        factor, tangent, shallow = found.factor[:, :1], found.tangent[:, :1], found.shallow
        settled = bool(np.all(found.settled))
    return Governing(
        circles=each(circles, lambda one: np.broadcast_to(one, (size, 1))),
        factor=np.broadcast_to(factor, (size, 1)),
        tangent=np.broadcast_to(tangent, (size, 1)),
        shallow=np.broadcast_to(shallow, (size,)),
        settled=settled,
        found=found,
    )


def factors_on(section: Section, circles: Circles) -> tuple[Float, Float]:
    """Factor and λ of circles (samples, 1), as ``lowest_factors``."""
    parts = []
    for rows in pieces(len(circles.x), ROWS):
        one = section.take(rows)
        slices = slices_of(one, circles.at(rows), SLICES)
        shape = np.broadcast_shapes((one.amounts.samples, 1), slices.radius.shape)
        first, _ = bishop(slices, strengths(one, slices))
        first = np.broadcast_to(np.where(np.isfinite(first), first, 1.0), shape)
        parts.append(lowest_factors(one, slices, first, np.full(shape, 0.2)))
    factor, tangent = (np.concatenate(part) for part in zip(*parts, strict=True))
    return factor, tangent
