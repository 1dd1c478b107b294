"""Notices: what a result must not travel without."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum

__all__ = ["Notice", "Severity", "by_severity", "distinct"]


class Severity(StrEnum):
    """How much a notice weighs, lightest first."""

    INFO = "info"
    CAUTION = "caution"
    STOP = "stop"


@dataclass(frozen=True, slots=True)
class Notice:
    """One statement about a result.

    Parameters
    ----------
    code
        Words of the trade in kebab case, stable between versions.
    severity
        ``info`` (good to know), ``caution`` (changes how the number may be used) or
        ``stop`` (the number must not be used as it stands).
    text
        One or two plain sentences.
    ground
        The published ground for the statement, where there is one.
    weight
        How far beyond its limit a case lies, so that of several the worst can be told first.
    """

    code: str
    severity: Severity
    text: str
    ground: str = ""
    weight: float = field(default=0.0, compare=False)

    @classmethod
    def info(cls, code: str, text: str, ground: str = "") -> Notice:
        """A notice that is good to know."""
        return cls(code, Severity.INFO, text, ground)

    @classmethod
    def caution(cls, code: str, text: str, ground: str = "") -> Notice:
        """A notice that changes how the number may be used."""
        return cls(code, Severity.CAUTION, text, ground)

    @classmethod
    def stop(cls, code: str, text: str, ground: str = "") -> Notice:
        """A notice that says the number must not be used as it stands."""
        return cls(code, Severity.STOP, text, ground)


def distinct(notices: Iterable[Notice]) -> tuple[Notice, ...]:
    """Notices without repeats, in the order they were raised."""
    return tuple(dict.fromkeys(notices))


def by_severity(notices: Iterable[Notice]) -> list[Notice]:
    """Most severe first, those alike in the order they were raised."""
    return sorted(notices, key=lambda notice: -list(Severity).index(notice.severity))
