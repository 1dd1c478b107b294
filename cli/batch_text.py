"""A batch as plain text: one line a check, then what they come to together."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

from rich.console import Console
from rich.text import Text

from cli.as_text import factor_text
from cli.words import CAUTION

__all__ = ["Totals", "print_line", "print_totals"]

_COLOURS = {"meets": "green", "MISSES": "bold red", "BELOW 1": "bold red"}


@dataclass(slots=True)
class Totals:
    """What a batch came to."""

    scenarios: int = 0
    refused: int = 0
    failing: int = 0
    checks: int = 0
    meeting: int = 0
    missing: int = 0
    below_one: int = 0
    stopped: int = 0
    others: int = 0

    def count(self, document: dict[str, Any]) -> None:
        """Count in the document of one line."""
        self.scenarios += 1
        if not document["ok"]:
            self.refused += 1
            return
        self.failing += bool(document["fails"])
        for check in document["result"]["checks"]:
            self.checks += 1
            self.meeting += check["meets_target"] is True
            self.missing += check["meets_target"] is False
            lowest = _lowest(check)[0]
            self.below_one += lowest is not None and lowest < 1.0
            self.stopped += bool(_of_severity(check["notices"], "stop"))

    @property
    def fails(self) -> bool:
        """Whether anything is refused, misses its target or says stop."""
        return self.refused > 0 or self.failing > 0

    @property
    def text(self) -> str:
        """One sentence or two."""
        others = f" Other .toml files, no scenarios: {self.others}." if self.others else ""
        without = self.checks - self.meeting - self.missing
        refused = f", {self.refused} of them refused" if self.refused else ""
        return (
            f"{_counted(self.scenarios, 'scenario')}{refused}; {_counted(self.checks, 'check')}: "
            f"{self.meeting} meet the target, {self.missing} miss it, {without} have none. "
            f"Factor below 1: {self.below_one}. With a notice that says stop: {self.stopped}."
            f"{others}"
        )


def print_line(out: Console, document: dict[str, Any]) -> None:
    """The scenario's path, and a line for each of its checks; or why it was refused."""
    path = document["path"]
    if not document["ok"]:
        error = document["error"]
        place = "" if error.startswith(f"{path}: ") else f"{path}: "
        _print(out, Text.assemble(("REFUSED", "bold red"), f"  {place}{error}"))
        return
    _print(out, Text(path, style="bold"))
    result = document["result"]
    of_soils = [notice for soil in result["soils"].values() for notice in soil["notices"]]
    said = _said([*result["notices"], *of_soils])
    if said:
        _print(out, Text(f"  soils and scenario: {said}"))
    for check in result["checks"]:
        _print(out, _check_text(check))


def print_totals(out: Console, totals: Totals) -> None:
    """Counts, and the caution."""
    out.print()
    out.print(Text(totals.text, style="bold"))
    out.print()
    out.print(Text(CAUTION, style="bold"))


def _print(out: Console, text: Text) -> None:
    out.print(text, soft_wrap=True)


def _check_text(check: dict[str, Any]) -> Text:
    lowest, state = _lowest(check)
    target, meets = check["target"], check["meets_target"]
    verdict = ""
    if meets is not None:
        verdict = "meets" if meets else "MISSES"
    elif lowest is not None and lowest < 1.0:
        verdict = "BELOW 1"
    wanted = "" if target is None else f"of {target:.2f}"
    factor = "-" if lowest is None else factor_text(lowest, target)
    said = _said(check["notices"])
    where = f" ({state})" if state else ""
    return Text.assemble(
        f"  {factor:>6} {wanted:7} ",
        (f"{verdict:7}", _COLOURS.get(verdict, "")),
        f"  {check['label']}{where}{'; ' if said else ''}{said}",
    )


def _lowest(check: dict[str, Any]) -> tuple[float | None, str]:
    """Lowest factor of a check, of a rotation beside it too, and its limit state."""
    factors = dict(check["factors_of_safety"])
    for value in check.get("beside", {}).get("factors_of_safety", {}).values():
        factors["rotation beside it"] = value
    finite = {state: value for state, value in factors.items() if value is not None}
    if not finite:
        return None, "no limit" if factors else ""
    state = min(finite, key=lambda one: finite[one])
    return finite[state], state


def _of_severity(notices: list[dict[str, str]], severity: str) -> list[str]:
    return [notice["code"] for notice in notices if notice["severity"] == severity]


def _said(notices: list[dict[str, str]]) -> str:
    """What says stop by its code, and how many cautions."""
    stops = Counter(_of_severity(notices, "stop"))
    cautions = len(_of_severity(notices, "caution"))
    parts = ["STOP: " + ", ".join(stops)] if stops else []
    if cautions:
        parts.append(_counted(cautions, "caution"))
    return ", ".join(parts)


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"
