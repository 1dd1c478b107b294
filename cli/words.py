"""Sentences that several outputs share."""

from __future__ import annotations

__all__ = ["BESIDE", "CAUTION", "OVERALL", "STATE_OF"]

BESIDE = "rotation beside it"
"""Name of the factor of the rotation that is set beside a searched plane."""

OVERALL = "overall (approximate)"
"""Name of the factor of the ground around a wall."""

STATE_OF = {BESIDE: "rotation", OVERALL: "overall"}
"""Limit state of each factor that stands beside those of a check."""

CAUTION = (
    "Preliminary quick check, not a design. Local codes and the review of a licensed engineer "
    "decide; ground differs from samples, and what this check leaves out can govern. No factor "
    "printed here is permission to enter an unsupported excavation or to stand below a slope or "
    "wall."
)
