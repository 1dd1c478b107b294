"""One check of a scenario looked at alone."""

from __future__ import annotations

from dataclasses import replace

from slipmargin.cli.scenario.read import Scenario, SweepEntry
from slipmargin.cli.scenario.varied import find_field
from slipmargin.strength import InputError

__all__ = ["one_check"]


def one_check(scenario: Scenario, label: str) -> Scenario:
    """The scenario with one of its checks, and what bears on that one; refuses an unknown label."""
    entry = scenario.entry(label, "--check")

    def moves(path: str) -> bool:
        try:
            return any(one is entry for one in find_field(scenario, path).entries)
        except InputError:
            return True  # whoever asks for it says what is wrong with it

    def kept(sweep: SweepEntry) -> bool:
        return moves(sweep.vary) and (sweep.second is None or moves(sweep.second.vary))

    top = scenario.top
    kept_of = {
        "uncertain": {path: one for path, one in top.uncertain.items() if moves(path)},
        "correlations": [one for one in top.correlations if all(map(moves, one.between))],
        "ranges": {path: one for path, one in top.ranges.items() if moves(path)},
    }
    return replace(
        scenario,
        written=replace(scenario.written, top=top.model_copy(update=kept_of)),
        soils={name: scenario.soils[name] for name in entry.soil_names},
        checks=(entry,),
        sweeps=tuple(one for one in scenario.sweeps if kept(one)),
        only=label,
    )
