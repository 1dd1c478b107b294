"""Overall stability of a retaining wall under partial factors.

As for a slope (:mod:`stability.design.slope`): γ_G γ_R;e over the factor of safety that the
search finds with design strengths and the loads on the backfill multiplied by γ_Q / γ_G. Structural
actions take the factor of ground actions here, as EN 1997-1:2004, 2.4.7.3.4, has it for
overall stability (from memory).
"""

from __future__ import annotations

from slipmargin.stability.design.partial_factors import FactorSet
from slipmargin.stability.design.result import DesignLimitState, with_design_strengths
from slipmargin.stability.design.slope import ground_state
from slipmargin.stability.retaining_wall.inputs import RetainingWallInputs
from slipmargin.stability.retaining_wall.overall_stability import OverallStability

__all__ = ["design_overall"]

_SAYS = (
    "factor asked for, γ_G γ_R;e, against the factor of overall stability for design strengths and "
    "loads; approximate"
)
_FACTORS = (
    "permanent_unfavourable",
    "variable_unfavourable",
    "tan_friction_angle",
    "cohesion",
    "slope_resistance",
)


def design_overall(check: RetainingWallInputs, factors: FactorSet) -> DesignLimitState:
    """Degree of utilisation in overall stability, a search of its own; ``InputError`` as
    ``OverallStability``.
    """
    share = factors.variable_unfavourable / factors.permanent_unfavourable
    reduced = with_design_strengths(check, factors).under(share)
    found = OverallStability(wall=reduced).evaluate().lowest
    return ground_state("overall stability", factors, found, _FACTORS, _SAYS)
