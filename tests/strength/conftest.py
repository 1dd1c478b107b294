"""Builds shear tests from bare points."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import pytest

from slipmargin.strength import ShearTests


@pytest.fixture(scope="session")
def shear_tests() -> Callable[..., ShearTests]:
    """Tests from normal and shear stresses, with an optional half-width of reading band."""

    def build(
        normal: Sequence[float], shear: Sequence[float], half_band: float | None = None, **more: Any
    ) -> ShearTests:
        x, y = np.asarray(normal, dtype=float), np.asarray(shear, dtype=float)
        half = np.nan if half_band is None else half_band
        return ShearTests(
            **{
                "names": tuple(f"T{i + 1}" for i in range(x.size)),
                "normal": x,
                "shear": y,
                "low": y - half,
                "high": y + half,
                "band_std": float(half / np.sqrt(3.0)),
                "readings": (1,) * x.size,
            }
            | more
        )

    return build
