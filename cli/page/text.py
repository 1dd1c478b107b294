"""Text of others in a sheet: made readable, never trusted."""

from __future__ import annotations

import unicodedata

from slipmargin.strength import Notice, Severity

__all__ = ["WEIGHTS", "readable", "words_of"]

WEIGHTS = {Severity.STOP: "Stop", Severity.CAUTION: "Caution", Severity.INFO: "Note"}


def readable(text: str) -> str:
    """Text without control characters and without marks that turn the direction around.

    Letters that run from right to left stay; what could turn the words after them is taken
    out, and so is all that no page can show.
    """
    kept = []
    for sign in text:
        if sign in "\t\n\r":
            kept.append(" ")
        elif unicodedata.category(sign) not in ("Cc", "Cs") and sign not in _TURNING:
            kept.append(sign)
    return "".join(kept)


_TURNING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def words_of(notice: Notice) -> str:
    """Name of a notice in words, by which other parts of a sheet point at it."""
    return notice.code.replace("-", " ")
