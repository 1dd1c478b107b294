"""Shows the characters that a screen obeys, or hides, as escapes.

Names and titles come from files of others. A control character in one of them moves the
cursor, recolours the screen or starts a line of its own; a direction override turns a
number around. None of them may reach a terminal as it stands, nor a page.
"""

from __future__ import annotations

import re
import unicodedata

__all__ = ["json_escaped", "readable", "visible"]

_UNSEEN = (
    "\x7f-\x9f"  # delete, and the second set of control characters
    "\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069"  # direction marks, embeddings and overrides
    "\u200b\u2060-\u2065\u206a-\u206f\ufeff\ufff9-\ufffb"  # of no width
    "\u2028\u2029"  # line and paragraph separators
    "\ud800-\udfff"  # halves of a pair: bytes of a file name that are not UTF-8
    "\U000e0000-\U000e007f"  # tags
)
_IN_TEXT = re.compile(f"[\x00-\x1f{_UNSEEN}]")
_IN_JSON = re.compile(f"[{_UNSEEN}]")
_SHORT = {"\n": r"\n", "\t": r"\t", "\r": r"\r"}


def visible(text: str) -> str:
    r"""Text with each such character as an escape: ``\n``, ``\x1b``, ``\u202e``.

    The result is one line.
    """
    return _IN_TEXT.sub(_escape, text)


def _escape(match: re.Match[str]) -> str:
    character = match[0]
    code = ord(character)
    if character in _SHORT:
        return _SHORT[character]
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"


def json_escaped(document: str) -> str:
    """A JSON document of the same meaning without any such character in its strings."""
    return _IN_JSON.sub(_json_escape, document)


def _json_escape(match: re.Match[str]) -> str:
    code = ord(match[0])
    if code < 0x10000:
        return f"\\u{code:04x}"
    high, low = divmod(code - 0x10000, 0x400)
    return f"\\u{0xD800 + high:04x}\\u{0xDC00 + low:04x}"


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
