"""What must be said beside a factor of bearing: how far the methods lie apart."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from slipmargin.strength import Notice, Numeric

__all__ = ["bearing_notices"]

_APART = 1.2  # highest over lowest, from which the choice of method is said to matter


def bearing_notices(used: str, by_method: Mapping[str, Numeric]) -> Iterator[Notice]:
    """The factor by every method in one notice, where they differ by more than a fifth.

    Parameters
    ----------
    used
        The method of the check.
    by_method
        Factor against bearing by each method.
    """
    every = np.stack(np.broadcast_arrays(*by_method.values()))
    low, high = np.min(every, axis=0), np.max(every, axis=0)
    apart = np.where(low > 0.0, high / np.where(low > 0.0, low, 1.0), 1.0)
    widest = np.unravel_index(int(np.argmax(apart)), apart.shape)
    if not apart[widest] > _APART:
        return
    found = dict(zip(by_method, (float(one[widest]) for one in every), strict=True))
    lowest = min(found, key=found.__getitem__)
    listed = ", ".join(f"{name} {value:.2f}" for name, value in found.items())
    where = ", where they differ most" if apart.ndim else ""
    text = (
        f"The methods of bearing capacity differ by more than a fifth{where}: {listed}. The "
        f"lowest is {lowest}; this check uses {used}."
    )
    kind = Notice.info if lowest == used else Notice.caution
    yield kind(
        "bearing-methods-differ",
        text,
        "N_γ of vesic lies above that of a rough base by exact plasticity, by a half at "
        "φ′ = 30° (Martin 2005, from memory)",
    )
