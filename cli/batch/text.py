"""A batch as plain text: one line a check, then what they come to together."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipmargin.cli.page.blocks import Words
from slipmargin.cli.page.terminal import Screen
from slipmargin.cli.words import CAUTION
from slipmargin.stability.factor_text import factor_text

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
            verdict = _verdict(check)
            self.meeting += verdict is True
            self.missing += verdict is False
            self.below_one += min(_factors(check).values(), default=1.0) < 1.0
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
            f"target met by {self.meeting}, missed by {self.missing}, not given for {without}. "
            f"Factor below 1: {self.below_one}. With a notice that says stop: {self.stopped}."
            f"{others}"
        )


def print_line(out: Screen, document: dict[str, Any]) -> None:
    """The scenario's path, and a line for each of its checks; or why it was refused."""
    path = document["path"]
    if not document["ok"]:
        error = document["error"]
        place = "" if error.startswith(f"{path}: ") else f"{path}: "
        out.line(("REFUSED", "bold red"), (f"  {place}{error}", ""))
        return
    out.line((path, "bold"))
    result = document["result"]
    of_soils = [notice for soil in result["soils"].values() for notice in soil["notices"]]
    said = _said([*result["notices"], *of_soils])
    if said:
        out.line((f"  soils and scenario: {said}", ""))
    for check in result["checks"]:
        out.line(*_check_text(check))


def print_totals(out: Screen, totals: Totals) -> None:
    """Counts, and the caution."""
    out.line()
    out.show([Words(totals.text, "strong"), Words(CAUTION, "strong")])


def _check_text(check: dict[str, Any]) -> tuple[tuple[str, str], ...]:
    factors = _factors(check)
    targets = {s: value for s, value in check.get("targets", {}).items() if value is not None}
    state = min(factors, key=lambda one: factors[one], default="")
    lowest, target = factors.get(state), targets.get(state)
    verdict = {True: "meets", False: "MISSES"}.get(_verdict(check), "")  # type: ignore[arg-type]
    if verdict != "MISSES" and lowest is not None and lowest < 1.0:
        verdict = "BELOW 1"  # whatever less a target asks
    wanted = "" if target is None else f"of {target:.2f}"
    factor = "-" if lowest is None else factor_text(lowest)
    if not factors and check["factors_of_safety"]:
        state = "no limit"
    parts = [f"{check['label']} ({state})" if state else str(check["label"])]
    parts += [
        f"{name} {factor_text(found)} of {targets[name]:.2f}"
        for name, found in factors.items()
        if name != state and name in targets and found < targets[name]
    ]
    parts += [
        f"{design['set']}: {name} fails"
        for design in check.get("design", [])
        for name, found in design["limit_states"].items()
        if not np.all(found["passes"])
    ]
    said = _said(check["notices"])
    return (
        (f"  {factor:>6} {wanted:7} ", ""),
        (f"{verdict:7}", _COLOURS.get(verdict, "")),
        ("  " + "; ".join([*parts, said] if said else parts), ""),
    )


def _factors(check: dict[str, Any]) -> dict[str, float]:
    """Finite factors of a check by limit state."""
    factors = check["factors_of_safety"]
    return {state: value for state, value in factors.items() if value is not None}


def _verdict(check: dict[str, Any]) -> bool | None:
    """Whether targets are met and sets of partial factors are passed, where there are any."""
    found = [] if check["meets_target"] is None else [check["meets_target"]]
    for design in check.get("design", []):
        found += [bool(np.all(state["passes"])) for state in design["limit_states"].values()]
    return all(found) if found else None


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
