"""What a review says of a limit state: its factor over the readings, and the verdict."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slipmargin.cli.questions.angle_needed import AngleNeeded
from slipmargin.cli.scenario.read import CheckEntry
from slipmargin.stability.uncertainty.reliability import FactorDoubt
from slipmargin.strength import Notice

__all__ = ["HANGS", "HOLDS", "MISSES", "CheckReview", "Judged", "Reading", "StateReview"]

HOLDS, HANGS, MISSES = "holds", "hangs_on_the_reading", "misses"
"""Verdicts, in the words of the document."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What one reading of the data of one soil gives."""

    name: str
    soil: str
    value: float


@dataclass(frozen=True, slots=True)
class Judged:
    """One factor of safety, or degree of utilisation, and what is asked of it.

    Parameters
    ----------
    by_set
        Name of the set of partial factors; empty for a factor of safety.
    used
        As ``check`` gives it.
    asked, asked_text
        The least factor, or the highest utilisation, and the same as it is written; ``None``
        and empty where nothing is asked.
    lowest, highest, cautious
        Over the readings of the same data, and the lowest factor (the highest utilisation) of
        cautious strengths; ``None`` where there is no other reading.
    over_region
        Least and most over the 95 % regions; ``None`` where no fit gives one.
    needed
        The friction angle at which it is just met; ``None`` where none does it.
    verdict
        One of the three; ``None`` where nothing is asked.
    """

    by_set: str
    used: float
    asked: float | None
    asked_text: str
    lowest: Reading | None
    highest: Reading | None
    cautious: float | None
    over_region: tuple[float, float] | None
    needed: AngleNeeded | None
    verdict: str | None

    def meets(self, value: float) -> bool:
        """Whether a value is what is asked."""
        asked = 1.0 if self.asked is None else self.asked
        return bool(value <= asked if self.by_set else value >= asked)

    @property
    def worst(self) -> Reading | None:
        """The reading least favourable to what is asked."""
        return self.highest if self.by_set else self.lowest

    @property
    def best(self) -> Reading | None:
        """The reading most favourable to it."""
        return self.lowest if self.by_set else self.highest

    @property
    def crosses(self) -> bool | None:
        """Whether the 95 % region lies on both sides of what is asked."""
        if self.over_region is None or self.asked is None:
            return None
        low, high = self.over_region
        return self.meets(low) != self.meets(high)

    @property
    def margin(self) -> float:
        """Over what is asked, as used: below 1 where it is missed."""
        if self.by_set:
            return np.inf if self.used <= 0.0 else 1.0 / self.used
        return self.used / self.asked if self.asked else np.inf


@dataclass(frozen=True, slots=True)
class StateReview:
    """One limit state: its factor of safety, and its degree of utilisation under each set.

    ``not_varied`` says why the verdict rests on less than tests could show: a stated strength,
    tests that give no region; empty otherwise.
    """

    state: str
    factor: Judged
    levels: tuple[Judged, ...]
    sampled: FactorDoubt | None
    not_varied: str = ""

    @property
    def judged(self) -> Judged:
        """The one of them that decides: the worst verdict, then the least margin."""
        held = [one for one in (self.factor, *self.levels) if one.verdict is not None]
        return min(held, key=_severity) if held else self.factor

    @property
    def severity(self) -> tuple[int, float]:
        """Smaller is more severe: by verdict, then by margin."""
        return _severity(self.judged)

    @property
    def verdict(self) -> str | None:
        """The verdict on all that is asked of the limit state."""
        return self.judged.verdict


def _severity(one: Judged) -> tuple[int, float]:
    order = {MISSES: 0, HANGS: 1, HOLDS: 2, None: 3}
    return order[one.verdict], one.margin


@dataclass(frozen=True, slots=True)
class CheckReview:
    """One check, limit state by limit state."""

    entry: CheckEntry
    states: tuple[StateReview, ...]
    notices: tuple[Notice, ...]

    @property
    def decides(self) -> StateReview:
        """The limit state that decides."""
        return min(self.states, key=lambda one: one.severity)
