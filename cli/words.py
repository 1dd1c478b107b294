"""Sentences that several outputs share."""

from __future__ import annotations

__all__ = ["CAUTION"]

CAUTION = (
    "Preliminary quick check, not a design. Local codes and the review of a licensed engineer "
    "decide; ground differs from samples, and what this check leaves out can govern. No factor "
    "printed here is permission to enter an unsupported excavation or to stand below a slope or "
    "wall."
)
