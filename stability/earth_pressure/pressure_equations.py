"""Equations of earth pressure as a working shows them, in the symbols of the check at hand.

They say in text what :mod:`stability.earth_pressure.coefficients` computes, and how a pressure in
one straight piece, or in two that meet at a water level, adds up to a thrust.
"""

from __future__ import annotations

from dataclasses import dataclass

from slipmargin.stability.fields import Follows

__all__ = [
    "PressurePieces",
    "coulomb_active",
    "coulomb_cohesion",
    "curved_pressure",
    "rankine",
]

_RANKINE = "Rankine (1857)"
_COULOMB = "Coulomb (1776)"
_SHAKEN = "Okabe (1926), Mononobe & Matsuo (1929)"


def rankine(phi: str, *, passive: bool = False) -> Follows:
    """K on a vertical plane below a slope β."""
    root = f"sqrt(cos(β)^2 - cos({phi})^2)"
    over, under = ("+", "-") if passive else ("-", "+")
    return Follows(f"cos(β) * (cos(β) {over} {root}) / (cos(β) {under} {root})", _RANKINE)


def coulomb_active(phi: str, delta: str, leaning: str, *, shaken: bool) -> Follows:
    """K on a face with the batter θ below a slope β, for the wall friction ``delta`` and the
    angle ``leaning`` of the thrust from horizontal; shaking leans the body force by ψ.
    """
    more, less, upright = (" + ψ", " - ψ", "cos(ψ) * ") if shaken else ("", "", "")
    turned = f"cos({leaning}{more})"
    root = f"sin({phi} + {delta}) * sin({phi} - β{less}) / ({turned} * cos(β - θ))"
    return Follows(
        f"cos({phi} - θ{less})^2 / ({upright}cos(θ)^2 * {turned} * (1 + sqrt({root}))^2)",
        _SHAKEN if shaken else _COULOMB,
    )


def coulomb_cohesion(phi: str, turned: str, adhesion: str = "", delta: str = "") -> Follows:
    """K_c of Coulomb's wedge: ``turned`` is η, ``adhesion`` a / c where there is any, at a
    wall friction ``delta``, negative on the passive side.
    """
    plane = f"cos({phi}) * cos(β - θ)"
    if not adhesion:
        return Follows(f"2 * {plane} / ((1 + sin({turned})) * cos(θ))")
    wall, both = f"{adhesion} * cos({delta})", f"{adhesion} * cos({delta}) * cos({turned})"
    least = f"sqrt({plane} * ({plane} + {both}))"
    return Follows(
        f"((2 * {plane} + {both}) / (1 + sin({turned}))"
        f" - {plane} * ({wall})^2 / ({least} + {plane})^2 + {adhesion} * sin({delta})) / cos(θ)"
    )


def curved_pressure(stress: str, phi: str, c: str, *, passive: bool = False) -> Follows:
    """Pressure of Rankine's conjugate stresses below a slope β, at a vertical stress."""
    sign, held = "+" if passive else "-", f"{c} * cos({phi})"
    product = (
        f"(cos(β) * sin({phi} + β) * {stress} + {held})"
        f" * (cos(β) * sin({phi} - β) * {stress} + {held})"
    )
    return Follows(
        f"cos(β) * (2 * (cos(β)^2 * {stress} + {held} * sin({phi}) {sign} sqrt({product}))"
        f" / cos({phi})^2 - {stress})",
        "Mazindrani & Ganjali (1997)",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PressurePieces:
    """A pressure that is straight from the top to the water level and from there to the foot.

    Parameters
    ----------
    pressures
        At the top, at the water level, at the foot [kPa].
    wet
        Whether there is a water level above the foot.
    cut
        Whether negative pressure is left out.
    height, water
        Symbols of the height of the plane and of the water level above its foot.
    crack, thrust
        Symbols of the depth of tension and of the thrust.
    names
        Symbols of the pressures.
    """

    pressures: tuple[float, float, float]
    wet: bool
    cut: bool = True
    height: str
    water: str
    crack: str
    thrust: str
    names: tuple[str, str, str] = ("p_0", "p_w", "p_f")

    @property
    def _crack_above_water(self) -> bool:
        return self.wet and self.pressures[1] >= 0.0

    @property
    def _upper(self) -> str:
        return f"({self.height} - {self.water})"

    @property
    def force(self) -> Follows:
        """The thrust."""
        (top, _, foot), (p_0, p_w, p_f) = self.pressures, self.names
        if top >= 0.0 or not self.cut:
            if not self.wet:
                return Follows(f"({p_0} + {p_f}) / 2 * {self.height}")
            return Follows(
                f"({p_0} + {p_w}) / 2 * {self._upper} + ({p_w} + {p_f}) / 2 * {self.water}"
            )
        if foot <= 0.0:
            return Follows(words="Nowhere positive: the soil stands by its cohesion.")
        if self._crack_above_water:
            return Follows(f"{p_w} / 2 * {self._below_crack} + ({p_w} + {p_f}) / 2 * {self.water}")
        return Follows(f"{p_f} / 2 * ({self.height} - {self.crack})")

    @property
    def _below_crack(self) -> str:
        return f"({self.height} - {self.water} - {self.crack})"

    @property
    def level(self) -> Follows:
        """Height of the thrust above the foot."""
        (top, _, foot), (p_0, p_w, p_f) = self.pressures, self.names
        lower = f"{self.water}^2 * (2 * {p_w} + {p_f}) / 6) / {self.thrust}"
        if top >= 0.0 or not self.cut:
            if not self.wet:
                return Follows(f"{self.height}^2 * (2 * {p_0} + {p_f}) / (6 * {self.thrust})")
            return Follows(
                f"(({p_0} + {p_w}) / 2 * {self._upper} * {self.water}"
                f" + {self._upper}^2 * (2 * {p_0} + {p_w}) / 6 + {lower}"
            )
        if foot <= 0.0:
            return Follows()
        if self._crack_above_water:
            return Follows(
                f"({p_w} / 2 * {self._below_crack} * {self.water}"
                f" + {self._below_crack}^2 * {p_w} / 6 + {lower}"
            )
        return Follows(f"({self.height} - {self.crack}) / 3")
