"""The program a person meets: scenario files in, text, JSON and pictures out.

From Python, ``load`` reads a scenario, whose soils and checks are those of the other rooms;
``map_strength`` asks what the tests leave open about one soil, and draws it with ``figure``.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from slipmargin.cli.questions.strength_map import StrengthMap, map_strength
    from slipmargin.cli.scenario.read import Scenario, load

__all__ = ["Scenario", "StrengthMap", "load", "map_strength"]

_LATE = {
    "Scenario": "scenario.read",
    "StrengthMap": "questions.strength_map",
    "load": "scenario.read",
    "map_strength": "questions.strength_map",
}


def __getattr__(name: str) -> Any:
    """Load what is asked for only then, so that the program starts quickly."""
    if name in _LATE:
        return getattr(import_module(f"slipmargin.cli.{_LATE[name]}"), name)
    raise AttributeError(f"module 'slipmargin.cli' has no attribute {name!r}")
