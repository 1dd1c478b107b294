"""The working from forces in the shear box to stresses on its plane."""

from __future__ import annotations

from slipmargin.strength.laboratory.area_correction import area_factor
from slipmargin.strength.laboratory.specimen import LoadScale, Specimen
from slipmargin.strength.working import Step, put_numbers_in

__all__ = ["OVERLAP", "overlap_steps", "plane_steps", "stress_equation"]

OVERLAP = {
    "square": "1 - {0} / {1}",
    # the angle whose cosine is r is 90 deg less that whose sine it is
    "circle": "1 - asin({0} / {1}) / 90 - 2 / 3.14159 * {0} / {1} * sqrt(1 - ({0} / {1})^2)",
}
"""Share of the plane still in contact, of displacement and width, by shape; ``area_correction``."""


def plane_steps(specimen: Specimen, scale: LoadScale, known: dict[str, float]) -> list[Step]:
    """Area of the plane, and what is added to and taken from every force; all become known."""
    square = specimen.shape == "square"
    equation = "w^2" if square else "3.14159 * w^2 / 4"
    known |= {
        "w": specimen.width,
        "A": specimen.area,
        "N_a": scale.added_normal,
        "S_a": scale.subtracted_shear,
    }
    says = f"Area of the shear plane, of {'side' if square else 'diameter'} w."
    steps = [Step(says, "A", specimen.area, "mm²", equation, put_numbers_in(equation, known))]
    if scale.added_normal:
        says = "Added to every normal force: the weight of cap, hanger and soil above."
        steps.append(Step(says, "N_a", scale.added_normal, "N"))
    if scale.subtracted_shear:
        says = "Taken from every shear force: apparatus friction and reading at no load."
        steps.append(Step(says, "S_a", scale.subtracted_shear, "N"))
    return steps


def overlap_steps(
    specimen: Specimen, displacement: float, index: int, name: str, known: dict[str, float]
) -> list[Step]:
    """The share of the plane still in contact in a test; its displacement d must be known."""
    known |= {"w": specimen.width, f"d_{index}": displacement}
    equation = OVERLAP[specimen.shape].format(f"d_{index}", "w")
    share = known[f"a_c{index}"] = float(area_factor(specimen, displacement))
    says = f"Share of the area of test {name} that is still in contact there, of width w."
    return [Step(says, f"a_c{index}", share, "", equation, put_numbers_in(equation, known))]


def stress_equation(force: str, scale: LoadScale, *, normal: bool) -> str:
    """The equation of a nominal stress; 1 N/mm² is 1000 kPa."""
    total = force
    if normal and scale.added_normal:
        total = f"({force} + N_a)"
    if not normal and scale.subtracted_shear:
        total = f"({force} - S_a)"
    return f"1000 * {total} / A"
