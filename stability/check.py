"""What every check returns, and the statements every check owes."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from importlib import import_module
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Protocol

import numpy as np

from slipmargin.stability import fields
from slipmargin.stability.factor_text import factor_shown, factor_text
from slipmargin.stability.strength_law import StrengthLaw
from slipmargin.strength import InputError, Notice, Numeric
from slipmargin.strength.errors import MISSING
from slipmargin.strength.short_table import ShortTable, shown
from slipmargin.strength.working import Steps

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = [
    "OF_THE_CHECK",
    "Check",
    "CheckResult",
    "Part",
    "Target",
    "below_target",
    "examples_of",
    "factors_alone",
    "in_words",
    "left_out_notice",
    "lowest_of",
    "not_run_notice",
    "target_notices",
    "with_part",
]

Target = Annotated[
    Numeric | None,
    fields.Amount("ratio", "F_t", "Factor of safety asked for.", above=0.0, usual=(1.0, 10.0)),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckResult:
    """Factors of safety with the numbers and the notices behind them.

    Parameters
    ----------
    factors_of_safety
        By limit state, in the order they are read; ``inf`` where nothing drives the
        movement. Scalars or arrays, as the inputs were. Empty where a check has none.
    values
        The intermediates: a record of declared quantities, of the same shapes.
    notices
        What must not be parted from the factors.
    parts
        What stands behind a limit state that is a check of its own, by its name.
    check
        What gave them; ``None`` in a result put together by hand.
    """

    factors_of_safety: Mapping[str, Numeric]
    values: Any
    notices: tuple[Notice, ...] = ()
    parts: Mapping[str, Part] = field(default_factory=dict)
    check: Any = field(default=None, compare=False)

    def plot(self, *, axes: Axes | None = None) -> Figure:
        """Draw the section of the check to scale, with what was found; see ``plot_section``.

        Raises
        ------
        InputError
            Several cases at once, or a result that was not given by a check.
        """
        drawn: Figure = _late("drawing.section").plot_section(self._known, self, axes=axes)
        return drawn

    def working(self) -> Steps:
        """What the check was given, and every value that follows, with its numbers.

        Raises
        ------
        InputError
            A result that was not given by a check.
        """
        steps = _late("working")
        return Steps([*steps.given_steps(self._known), *steps.result_steps(self._known, self)])

    @property
    def _known(self) -> Any:
        if self.check is None:
            raise InputError("check", MISSING, "the result of evaluate() has it")
        return self.check

    @property
    def lowest(self) -> Numeric:
        """Lowest factor of safety over the limit states."""
        return lowest_of(self.factors_of_safety)

    def __repr__(self) -> str:
        values = [] if self.factors_of_safety else self._values()
        rows = [(textwrap.shorten(row[0], 60, placeholder=" ..."), *row[1:]) for row in values]
        return self._table(rows).text()

    def _repr_html_(self) -> str:
        """The factors, every value and the notices, for a notebook."""
        return self._table(self._values()).html()

    def _values(self) -> list[tuple[str, str, str, str]]:
        return [
            (given.says, given.symbol, shown(getattr(self.values, name), given.unit), given.unit)
            for name, given, _ in fields.of(self.values)
        ]

    def _table(self, values: list[tuple[str, str, str, str]]) -> ShortTable:
        name = type(self.values).__name__.removesuffix("Values")
        factors = [
            (f"Factor of safety, {state}", "F", factor_shown(factor), "")
            for state, factor in self.factors_of_safety.items()
        ]
        return ShortTable(
            title=re.sub("(?<=[a-z])(?=[A-Z])", " ", name).capitalize(),
            header=("", "symbol", "value", "unit"),
            rows=[*factors, *values],
            notices=self.notices,
        )


def _late(name: str) -> Any:
    """What draws and works a result out, which builds on it; found by name, as checks are."""
    return import_module(f"slipmargin.stability.{name}")


class Check(Protocol):
    """What is asked of a check: declared fields and ``evaluate``; the rest it inherits.

    ``LIMIT_STATES`` names its factors of safety, none for a check that has none. ``SLOW`` are
    those of them that take seconds, which a sweep or a sampler leaves out. ``STRUCTURE`` is
    ``slope`` or ``wall``, which decides how it is held to targets and to partial factors;
    nothing where no such rule is known.
    """

    __slots__ = ()

    LIMIT_STATES: ClassVar[tuple[str, ...]] = ()
    SLOW: ClassVar[tuple[str, ...]] = ()
    STRUCTURE: ClassVar[str] = ""

    @property
    def limit_states(self) -> tuple[str, ...]:
        """Those of its limit states that these inputs have."""
        return self.LIMIT_STATES

    def of_samples(self, count: int) -> tuple[Notice, ...]:  # noqa: ARG002
        """Notices owed by the factors of so many samples at once."""
        return ()

    def evaluate(self, *, leave_out: Collection[str] = ()) -> CheckResult:
        """Run the check, without the slow limit states named."""
        ...

    def factors_alone(self, *, leave_out: Collection[str] = ()) -> Mapping[str, Numeric]:
        """Factors by limit state and nothing beside them.

        Raises
        ------
        InputError
            As ``evaluate``, also where a limit state that is not left out has no answer.
        """
        return self.evaluate(leave_out=leave_out).factors_of_safety

    def behind(self, state: str) -> Check:  # noqa: ARG002
        """The check that works out a limit state: itself, or another of the same ground."""
        return self

    def follow(self, found: Any) -> Any:
        """The values again, with what a search found taken from ``found``: here all of them."""
        return found

    @classmethod
    def example(cls) -> Check:
        """Inputs in which every term acts; each kind that is registered gives them."""
        missing = f"{cls.__name__} gives no example of itself"
        raise NotImplementedError(missing)

    @classmethod
    def further_examples(cls) -> tuple[Check, ...]:
        """Inputs in which other equations hold; none where they are always the same."""
        return ()

    def strength_law(self) -> StrengthLaw | None:
        """Its factor as a function of c′ and φ′ alone; none where no curve is."""
        return None


@dataclass(frozen=True, slots=True)
class Part:
    """A check that stands behind a limit state of another, and what it gave."""

    check: Check
    result: CheckResult


def with_part(
    result: CheckResult, state: str, behind: Check, target: Numeric | None
) -> CheckResult:
    """The result with a limit state that is worked out by a check of its own.

    ``behind`` is the check whose lowest factor it is; where that has no answer the factor is left
    out, and a notice says so. Its notices stay with the part. The factors of ``result`` have the
    shape of the inputs; ``target`` is the factor asked for, ``None`` for none.
    """
    try:
        found = behind.evaluate()
    except InputError as error:
        return replace(result, notices=(*result.notices, not_run_notice(state, error)))
    shape = np.broadcast_shapes(*(np.shape(one) for one in result.factors_of_safety.values()))
    factors = {state: np.broadcast_to(found.lowest, shape)[()]}
    return replace(
        result,
        factors_of_safety={**result.factors_of_safety, **factors},
        notices=(*result.notices, *target_notices(factors, target)),
        parts={**result.parts, state: Part(behind, found)},
    )


OF_THE_CHECK = frozenset({"sliding", "rotation", "overall"})
"""Limit states that are held to the target a check states; others have values of their own."""


def in_words(state: str) -> str:
    """What a factor of safety is against."""
    return "overall instability" if state == "overall" else state


def not_run_notice(state: str, error: InputError) -> Notice:
    """The notice owed where one of the limit states has no answer."""
    return Notice.caution(
        f"{state}-not-run",
        f"The factor of safety against {in_words(state)} could not be worked out ({error}); it "
        "may be lower than the others.",
    )


def left_out_notice(state: str) -> Notice:
    """The notice owed where factors are given without one of the limit states."""
    return Notice.caution(
        f"{state}-left-out",
        f"The factor of safety against {in_words(state)} is not among these factors, and may be "
        "lower: `check` gives it.",
    )


def examples_of(check: type[Check]) -> tuple[Check, ...]:
    """Inputs of a check whose working together shows its equations, the one in which every
    term acts first.
    """
    return check.example(), *check.further_examples()


def factors_alone(check: Check) -> Mapping[str, Numeric]:
    """Factors by limit state, for a search that needs nothing beside them: without slow ones;
    ``InputError`` as ``Check.factors_alone``.
    """
    return check.factors_alone(leave_out=check.SLOW)


def lowest_of(factors: Mapping[str, Numeric]) -> Numeric:
    """Lowest factor over the limit states."""
    return np.min(np.stack(np.broadcast_arrays(*factors.values())), axis=0)  # type: ignore[no-any-return]


def below_target(state: str, factor: float, target: Numeric) -> Notice:
    """The notice owed when a factor misses what is asked of its limit state."""
    return Notice.caution(
        "below-target",
        f"The factor of safety against {in_words(state)}, {factor_text(factor)}, is below its "
        f"target of {float(np.max(target)):g}.",
    )


def target_notices(
    factors_of_safety: Mapping[str, Numeric], target: Numeric | None
) -> Iterator[Notice]:
    """The notices owed when a factor, of an array the lowest, falls below 1, or one of
    ``OF_THE_CHECK`` below the target of the check; ``None`` asks for none.
    """
    for state, factor in factors_of_safety.items():
        lowest = float(np.min(factor))
        if lowest < 1.0:
            yield Notice.stop(
                "below-one",
                f"The factor of safety against {in_words(state)} is {factor_text(lowest)}: by this "
                "model the ground or the wall does not stand.",
            )
        if state in OF_THE_CHECK and target is not None and lowest < float(np.max(target)):
            yield below_target(state, lowest, target)
