"""Dice for the generators of inputs; the same seed throws the same."""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import Any

__all__ = ["Dice", "FromBytes"]


class Dice(random.Random):
    """Throws with the few words that the generators need.

    ``wild`` is set where an input may hold nonsense; a tame one is meant to give a result.
    """

    wild = True

    def rare(self, hundredths: float) -> bool:
        return self.random() * 100.0 < hundredths

    def fraction(self) -> float:
        return self.randint(0, 1000) / 1000.0

    def between(self, low: float, high: float) -> float:
        return low + self.fraction() * (high - low)

    def mutations(self, hundredths: int, numbers: Sequence[int]) -> range:
        """Mostly none; none at all in a tame input."""
        return range(self.choice(numbers) if self.wild and self.rare(hundredths) else 0)

    def some(self, options: Sequence[Any], least: int, most: int) -> list[Any]:
        """Some of them, each once."""
        return self.sample(options, min(len(options), self.randint(least, most)))

    def text(self, most: int) -> str:
        planes = ((0, 127), (0, 127), (128, 0x2FF), (0x2000, 0x20FF), (0xFE00, 0xFFFF))
        letters = (chr(self.randint(*self.choice(planes))) for _ in range(self.randint(0, most)))
        return "".join(letters)


class FromBytes(Dice):
    """The same out of given bytes, so that a search can choose them."""

    def __init__(self, content: bytes) -> None:
        self._left = int.from_bytes(b"\x01" + content, "big")
        super().__init__(0)

    def getrandbits(self, k: int, /) -> int:
        found = self._left & ((1 << k) - 1)
        self._left >>= k
        return found

    def random(self) -> float:
        return self.getrandbits(53) / (1 << 53)
