"""Sentences that several outputs share."""

from __future__ import annotations

from typing import Any

from strength import Notice

__all__ = ["CAUTION", "plane_alone"]

CAUTION = (
    "Preliminary quick check, not a design. Local codes and the review of a licensed engineer "
    "decide; ground differs from samples, and what this check leaves out can govern. No factor "
    "printed here is permission to enter an unsupported excavation or to stand below a slope or "
    "wall."
)


def plane_alone(check: Any) -> tuple[Notice, ...]:
    """The notice owed where a searched plane is used without the rotation beside it."""
    if getattr(check, "plane_angle", 0.0) is not None:
        return ()
    return (
        Notice.caution(
            "plane-without-rotation",
            "These factors are of the searched plane alone, which overstates stability on slopes "
            "flatter than about 75 deg: the rotation of the same slope is mostly lower. Add a "
            "rotational check and take the lower.",
        ),
    )
