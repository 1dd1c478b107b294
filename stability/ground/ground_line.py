"""The ground in section: straight pieces between points, going on without end at both sides.

A place on the ground is a station: the length walked along it from the first point,
negative to the left of that point. Stations tell the foot of a vertical face from its crest,
which x cannot. Points are complex numbers x + i y [m] inside this module and the kernels
that use it, so that a turn is a product.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

__all__ = ["Ground", "Place", "across", "cross"]

Complex = NDArray[np.complex128]
Float = NDArray[np.float64]
Table = TypeVar("Table", Float, Complex, NDArray[np.bool_])

_UPRIGHT = 1e-12


def cross(p: Complex, q: Complex) -> Float:
    """The cross product p_x q_y - p_y q_x."""
    return p.real * q.imag - p.imag * q.real


def across(values: Table | None, ndim: int) -> Table:
    """Values of the lines, shaped to broadcast against ``ndim`` axes."""
    shaped: Table = np.asarray(values).reshape((-1,) + (1,) * (ndim - 1))
    return shaped


@dataclass(frozen=True, slots=True)
class Place:
    """Places on the ground, and the line integrals from the first point up to them.

    ``station`` [m] and ``point`` [m] say where; ``area`` is ½ ∫ (x dy - y dx) [m²] and
    ``moment`` ⅓ ∫ (x + i y)(x dy - y dx) [m³], about the origin. Around a closed line they
    give area and first moments of the inside.
    """

    station: Float
    point: Complex
    area: Float
    moment: Complex

    def straight_to(self, point: Complex, station: Float) -> Place:
        """The end of a straight way from here."""
        turn = cross(self.point, point)
        moment = self.moment + turn * (self.point + point) / 6.0
        return Place(station, point, self.area + turn / 2.0, moment)


@dataclass(frozen=True, slots=True)
class Ground:
    """Ground lines of one shape or of many, one in a row.

    Parameters
    ----------
    vertices
        Points x + i y [m], shape (lines, points).
    directions
        Unit directions of the pieces, shape (lines, points + 1): the endless piece on the
        left, the pieces between, the endless piece on the right.
    stations, areas, moments
        What ``Place`` holds, at the vertices.
    turns_up
        The vertices at which some line bends upward.
    """

    vertices: Complex
    directions: Complex
    stations: Float
    areas: Float
    moments: Complex
    turns_up: tuple[int, ...]

    @classmethod
    def through(cls, vertices: Complex, right_angle: Float, left: complex = 1.0) -> Ground:
        """Ground through points (lines, points), in a direction, level by default, on the left,
        at an angle [rad] (lines,) on the right.
        """
        pieces = np.diff(vertices, axis=1)
        lengths = np.abs(pieces)
        start = np.zeros((vertices.shape[0], 1))
        turn = cross(vertices[:, :-1], vertices[:, 1:])
        middles = vertices[:, :-1] + vertices[:, 1:]
        way = np.hstack((start + left, pieces / lengths, np.exp(1j * right_angle)[:, None]))
        bends_up = np.any(cross(way[:, :-1], way[:, 1:]) > _UPRIGHT, axis=0)
        return cls(
            vertices=vertices,
            directions=way,
            stations=np.hstack((start, np.cumsum(lengths, axis=1))),
            areas=np.hstack((start, np.cumsum(turn / 2.0, axis=1))),
            moments=np.hstack((start, np.cumsum(turn * middles / 6.0, axis=1))),
            turns_up=tuple(int(k) for k in np.flatnonzero(bends_up)),
        )

    def at(self, station: Float) -> Place:
        """Places at stations of shape (lines, ...), or any leading axis over a single line."""
        if len(self.stations) == 1:
            piece = np.searchsorted(self.stations[0], station)
        else:
            piece = np.zeros(station.shape, dtype=np.intp)
            for k in range(self.vertices.shape[1]):
                piece += station > across(self.stations[:, k], station.ndim)
        vertex = np.maximum(piece - 1, 0)
        before = Place(
            _pick(self.stations, vertex),
            _pick(self.vertices, vertex),
            _pick(self.areas, vertex),
            _pick(self.moments, vertex),
        )
        along = station - before.station
        return before.straight_to(before.point + along * _pick(self.directions, piece), station)

    def station(self, x: Float) -> Float:
        """Stations [m] of the ground over x [m] of shape (lines,); the top of a vertical face."""
        found = x - self.vertices[:, 0].real
        for k in range(self.vertices.shape[1]):
            corner, way = self.vertices[:, k], self.directions[:, k + 1].real
            upright = np.abs(way) < _UPRIGHT
            along = self.stations[:, k] + (x - corner.real) / np.where(upright, 1.0, way)
            found = np.where((x >= corner.real) & ~upright, along, found)
        return found

    @property
    def steep_pieces(self) -> tuple[int, ...]:
        """Pieces that make up the face, at least half as steep as the steepest; each ends at
        the vertex of its number.
        """
        way = self.directions[0, 1:-1]
        dip = np.angle(way) * (way.imag > 0.0)
        return tuple(int(k) + 1 for k in np.flatnonzero(dip >= 0.5 * np.max(dip)))

    def drop(self, vertex: int) -> Float:
        """From a vertex down to the lowest ground in front of it [m]."""
        level = self.vertices.imag
        return np.asarray(level[:, vertex] - np.min(level[:, : vertex + 1], axis=1))

    def first_at_level(self, level: Float) -> Float:
        """Stations [m] at which the ground first rises to a level [m] (lines,); nan for none."""
        found = np.full(np.broadcast_shapes(level.shape, self.vertices.shape[:1]), np.nan)
        for k in range(1, self.vertices.shape[1]):
            low, high = self.vertices[:, k - 1].imag, self.vertices[:, k].imag
            here = np.isnan(found) & (low <= level) & (level <= high) & (high > low)
            share = (level - low) / np.where(high > low, high - low, 1.0)
            length = self.stations[:, k] - self.stations[:, k - 1]
            found = np.where(here, self.stations[:, k - 1] + share * length, found)
        return found

    def level(self, x: Float) -> Float:
        """Height of the ground [m] over x [m] of shape (lines, ...); the top of a vertical face."""
        ndim = x.ndim
        height = np.broadcast_to(across(self.vertices[:, 0], ndim).imag, x.shape)
        for k in range(self.vertices.shape[1]):
            corner = across(self.vertices[:, k], ndim)
            way = across(self.directions[:, k + 1], ndim)
            upright = np.abs(way.real) < _UPRIGHT
            slope = way.imag / np.where(upright, np.inf, way.real)
            height = np.where(
                (x >= corner.real) & ~upright, corner.imag + slope * (x - corner.real), height
            )
        return height


def _pick(table: Table, index: NDArray[np.intp]) -> Table:
    if table.shape[0] == 1:
        only: Table = table[0][index]
        return only
    rows = np.arange(table.shape[0]).reshape((-1,) + (1,) * (index.ndim - 1))
    picked: Table = table[rows, index]
    return picked
