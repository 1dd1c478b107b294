"""The working from the gauges of a shear box to the stresses on its plane."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from slipmargin.strength.laboratory.area_correction import area_factor
from slipmargin.strength.laboratory.readings import Readings
from slipmargin.strength.laboratory.specimen import Specimen, load_scale
from slipmargin.strength.quantities import STANDARD_GRAVITY
from slipmargin.strength.working import Working

__all__ = ["OVERLAP", "BoxWorking"]

OVERLAP = {
    "square": "1 - {0} / {1}",
    # the angle whose cosine is r is 90 deg less that whose sine it is
    "circle": "1 - asin({0} / {1}) / 90 - 2 / 3.14159 * {0} / {1} * sqrt(1 - ({0} / {1})^2)",
}
"""Share of the plane still in contact, of displacement and width, by shape; ``area_correction``."""


class BoxWorking(Working):
    """Steps from readings on; what is known of plane and apparatus comes first."""

    def __init__(
        self, readings: Readings, specimen: Specimen | None, *, area_correction: bool
    ) -> None:
        super().__init__()
        self.readings, self.specimen = readings, specimen
        self.corrected = specimen if area_correction else None
        self.scale = load_scale(readings.unit, specimen, readings.normal_unit)
        if readings.unit == "N" and specimen is not None:
            self._plane(specimen)
        self._apparatus()

    def _plane(self, specimen: Specimen) -> None:
        square, scale = specimen.shape == "square", self.scale
        self.known["w"] = specimen.width
        self.add(
            f"Area of the shear plane, of {'side' if square else 'diameter'} w.",
            "A",
            specimen.area,
            "mm²",
            "w^2" if square else "3.14159 * w^2 / 4",
        )
        if scale.added_normal:
            says = "Added to every normal force: the weight of cap, hanger and soil above."
            self.add(says, "N_a", scale.added_normal, "N")
        if scale.subtracted_shear:
            says = "Taken from every shear force: apparatus friction and reading at no load."
            self.add(says, "S_a", scale.subtracted_shear, "N")

    def _apparatus(self) -> None:
        """R_L lever ratio, D_0 dial at no load, k ring constant."""
        taken, box = self.readings.taken, self.readings.apparatus
        if box.lever_ratio is not None and taken.keys() & {"hanger_mass", "hanger_load"}:
            says = "Lever ratio: normal force of a unit weight on the hanger."
            self.add(says, "R_L", box.lever_ratio)
        if "dial" in taken:
            if box.zero:
                self.add("Dial at no load.", "D_0", box.zero, "div")
            if box.ring_constant is not None:
                self.add("Constant of the proving ring.", "k", box.ring_constant, "N/div")

    def overlap(self, specimen: Specimen, displacement: float, index: int, name: str) -> None:
        """The share of the plane still in contact in a test, at its displacement d [mm]."""
        moved = f"d_{index}"
        self.known |= {"w": specimen.width, moved: displacement}
        says = f"Share of the area of test {name} that is still in contact there, of width w."
        share = float(area_factor(specimen, displacement))
        self.add(says, f"a_c{index}", share, "", OVERLAP[specimen.shape].format(moved, "w"))

    def stress_equation(self, force: str, *, normal: bool) -> str:
        """The equation of a nominal stress; 1 N/mm² is 1000 kPa."""
        total = force
        if normal and self.scale.added_normal:
            total = f"({force} + N_a)"
        if not normal and self.scale.subtracted_shear:
            total = f"({force} - S_a)"
        return f"1000 * {total} / A"

    def force(self, rows: Sequence[int], index: int, name: str, *, normal: bool) -> bool:
        """From hanger or dial to the force N or S of some rows; whether there were any.

        They are numbered as their test is; a second index counts readings that differ.
        """
        before = len(self.steps)
        (self._normal_force if normal else self._shear_force)(list(rows), index, name)
        return len(self.steps) > before

    def _normal_force(self, rows: list[int], index: int, name: str) -> None:
        taken = self.readings.taken
        masses = "hanger_mass" in taken
        hung = taken.get("hanger_mass" if masses else "hanger_load")
        if hung is None:
            return
        for suffix, of, load in _numbered(np.unique(hung[rows]).tolist(), index, name):
            weight, mass = f"W_{suffix}", f"m_{suffix}"
            newtons = load * STANDARD_GRAVITY if masses else load
            if masses:
                self.add(f"Mass on the hanger of {of}.", mass, load, "kg")
                self.add("Its weight.", weight, newtons, "N", f"{STANDARD_GRAVITY} * {mass}")
            else:
                self.add(f"Load on the hanger of {of}.", weight, newtons, "N")
            force = float(self.readings.apparatus.normal_force(np.array(newtons)))
            says = f"Normal force of {of}, by the lever."
            self.add(says, f"N_{suffix}", force, "N", f"R_L * {weight}")

    def _shear_force(self, rows: list[int], index: int, name: str) -> None:
        taken, box = self.readings.taken, self.readings.apparatus
        if "dial" not in taken:
            return
        banded = bool(np.all(np.isfinite(taken["dial_low"][rows])))
        middle = ", the middle of the band in which it bounced" if banded else ""
        dials = taken["dial"][rows]
        dials = np.unique(dials) if np.ptp(dials) == 0.0 else dials
        for suffix, of, dial in _numbered(dials.tolist(), index, name):
            symbol = f"D_{suffix}"
            squeezed = f"{symbol} - D_0" if box.zero else symbol
            says = f"Shear force of {of}, by the ring"
            table = box.ring_calibration
            if table is None:
                equation = f"k * ({squeezed})" if box.zero else f"k * {symbol}"
            else:
                span = slice((upper := table.span(dial - box.zero)) - 1, upper + 1)
                ends = dict(zip(("d_l", "d_u"), table.divisions[span].tolist(), strict=True))
                ends |= dict(zip(("L_l", "L_u"), table.loads[span].tolist(), strict=True))
                self.known |= ends
                equation = f"L_l + ({squeezed} - d_l) * (L_u - L_l) / (d_u - d_l)"
                says += (
                    f": between the rows of its calibration of {ends['d_l']:g} div, "
                    f"{ends['L_l']:g} N, and {ends['d_u']:g} div, {ends['L_u']:g} N"
                )
            force = float(box.shear_force(np.array([dial]))[0])
            self.add(f"Dial of {of}{middle}.", symbol, dial, "div")
            self.add(f"{says}.", f"S_{suffix}", force, "N", equation)


def _numbered(values: list[float], index: int, name: str) -> Iterator[tuple[str, str, float]]:
    """Values with their subscript and in words."""
    for count, value in enumerate(values, start=1):
        if len(values) == 1:
            yield f"{index}", f"test {name}", value
        else:
            yield f"{index},{count}", f"test {name}, reading {count}", value
