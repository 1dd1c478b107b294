"""The project's own exceptions: what was given, what is wrong with it, what is allowed."""

from __future__ import annotations

__all__ = ["InputError", "SlipmarginError"]


class SlipmarginError(Exception):
    """Base of every error this project raises on purpose."""


class InputError(SlipmarginError):
    """A value that cannot be used.

    Parameters
    ----------
    place
        The field, column or row that holds the value, in the words of the input.
    value
        What was found there.
    allowed
        What would be accepted, as a phrase a person can act on.
    """

    def __init__(self, place: str, value: object, allowed: str) -> None:
        self.place = place
        self.value = value
        self.allowed = allowed
        super().__init__(place, value, allowed)

    def __str__(self) -> str:
        shown = self.value if isinstance(self.value, str) else repr(self.value)
        if len(shown) > 80:
            shown = shown[:77] + "..."
        return f"{self.place}: {shown!r} cannot be used; {self.allowed}"

    def within(self, parent: str) -> InputError:
        """The same error, with its place read from one level further out."""
        return InputError(f"{parent}.{self.place}", self.value, self.allowed)
