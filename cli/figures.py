"""Saves figures: whole files, the same bytes for the same input."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from slipmargin.cli.files import refuse_outputs, write_whole
from slipmargin.strength import InputError

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from slipmargin.cli.questions.check import Outcome
    from slipmargin.cli.questions.influence import CheckInfluence
    from slipmargin.cli.questions.reliability import CheckReliability
    from slipmargin.cli.questions.review import Review
    from slipmargin.cli.questions.strength_map import FailedSlope, StrengthMap
    from slipmargin.cli.questions.sweeps import Sweeps
    from slipmargin.cli.scenario.read import Scenario
    from slipmargin.stability.uncertainty.strength_map_plot import MapLayer

__all__ = [
    "plot_influence",
    "plot_reliability",
    "plot_review",
    "plot_strength_map",
    "plot_sweeps",
    "refuse_format",
    "save",
    "save_sections",
    "section_files",
]

_CAUTION = "Preliminary quick check, not a design: local codes and a licensed engineer decide."
"""Stands on every picture, which may travel alone."""

_METADATA: dict[str, dict[str, str | None]] = {
    ".png": {"Software": None},
    ".svg": {"Date": None, "Creator": None},
    ".pdf": {"CreationDate": None, "Creator": None, "Producer": None},
}


def refuse_format(path: Path) -> None:
    """Refuse a picture format that is not written.

    Raises
    ------
    InputError
        With the formats that are.
    """
    if path.suffix.lower() not in _METADATA:
        raise InputError("--plot", path.name, "allowed: a name ending in .png, .svg or .pdf")


def save(figure: Figure, path: Path, *, force: bool, of: str = "") -> None:
    """Write a figure in the format its name asks for; ``of`` is what part of a scenario it is
    of, and stands on it.
    """
    import matplotlib as mpl

    suffix = path.suffix.lower()
    stream = io.BytesIO()
    with mpl.rc_context({"svg.hashsalt": "slipmargin", "svg.fonttype": "path"}):
        # below the figure, whose layout it leaves alone
        said = f"{_CAUTION} {of[0].upper()}{of[1:]}." if of else _CAUTION
        figure.text(0.01, -0.01, said.replace("$", r"\$"), va="top", fontsize=6.5, color="#54606b")
        figure.savefig(
            stream,
            format=suffix[1:],
            dpi=150,
            metadata=_METADATA[suffix],
            bbox_inches="tight",
            pad_inches=0.06,
        )
    write_whole(path, stream.getvalue(), force=force)


def plot_sweeps(sweeps: Sweeps) -> Figure:
    """Factor against input, one panel a sweep; lines of equal factor for two inputs."""
    from slipmargin.stability.uncertainty.field_words import field_words
    from slipmargin.stability.uncertainty.sweep_plot import Curve, plot_curves, plot_lines

    labels = [
        *(check.entry.label for one in sweeps.single for check in one.checks),
        *(entry.label for two in sweeps.two_way for entry, _ in two.checks),
    ]

    def words(path: str) -> str:
        return field_words(path, labels=labels)

    if sweeps.two_way:
        return plot_lines(
            [
                (
                    entry.label,
                    (words(two.vary[0]), words(two.vary[1])),
                    two.units,
                    two.values,
                    grids,
                    entry.margin(grids),
                )
                for two in sweeps.two_way
                for entry, grids in two.checks
            ]
        )
    panels = []
    for one in sweeps.single:
        curves = [
            Curve(
                label=check.entry.label,
                limit_state=state if len(check.sweep.factors_of_safety) > 1 else "",
                factors=factors,
                target=check.entry.target(state),
            )
            for check in one.checks
            for state, factors in check.sweep.factors_of_safety.items()
        ]
        panels.append((words(one.vary), one.unit, one.values, curves))
    return plot_curves(panels)


def plot_reliability(found: Sequence[CheckReliability]) -> Figure:
    """Range of every factor, one bar a factor."""
    from slipmargin.cli.questions.as_used import quick
    from slipmargin.stability.uncertainty.reliability_plot import FactorRange, plot_ranges

    rows = [
        FactorRange(
            label=one.entry.label + (f": {state}" if len(one.factors) > 1 else ""),
            percentiles=doubt.percentiles,
            probability_below_one=doubt.probability_below_one,
            target=one.entry.target(state),
            used=float(quick(one.entry.check)[state]),
        )
        for one in found
        for state, doubt in one.factors.items()
    ]
    return plot_ranges(rows)


def plot_strength_map(
    found: StrengthMap,
    failed: FailedSlope | None = None,
    *,
    below: str = "",
    axes: Axes | None = None,
) -> Figure:
    """The map of one soil, with the pairs that explain a failure where there is one.

    ``below`` stands below the title; ``axes`` is where to draw, a new figure without it.
    """
    from slipmargin.stability.uncertainty.strength_map_plot import plot_map

    return plot_map(
        found.soil.name,
        found.cohesion,
        found.friction_angle,
        [_layer(found, label) for label in found.factors],
        regions=found.regions,
        points={n: (float(p.cohesion), float(p.friction_angle)) for n, p in found.points.items()},
        failed=None if failed is None else (failed.label, *failed.pairs["sliding"]),
        below=below,
        axes=axes,
    )


def _layer(found: StrengthMap, label: str) -> MapLayer:
    """Factors of one check on the map, and the line on which they meet what is asked of them."""
    from slipmargin.cli.questions.utilisations import room
    from slipmargin.stability.uncertainty.strength_map_plot import MapLayer

    entry, factors, levels = found.entries[label], found.factors[label], found.levels[label]
    asked = entry.asked(factors)
    # a list of targets would crowd the map out of its own picture
    words = ["all targets" if "," in asked else asked] if asked else []
    words += ["utilisation 1"] if any(levels.values()) else []
    lowest = np.min(list(factors.values()), axis=0)
    return MapLayer(label, lowest, room(entry, factors, levels), ", ".join(words))


def plot_review(found: Review) -> Figure:
    """The strength map of every soil that has one, each under the verdicts on its checks.

    Raises
    ------
    FileError
        No soil has one: their envelopes are curved.
    """
    from matplotlib.figure import Figure

    from slipmargin.cli.questions.review_words import verdicts
    from slipmargin.cli.questions.strength_map import map_strength
    from slipmargin.cli.scenario.read import FileError

    scenario = found.scenario
    soils = dict.fromkeys(name for one in found.checks for name in one.entry.soils.values())
    flat = [name for name in soils if scenario.soils[name].soil.strength.curve is None]
    if not flat:
        problem = InputError("--plot", "curved envelopes", "they have no strength map to draw")
        raise FileError(scenario.path, problem)
    height = 7.0
    figure = Figure(figsize=(8.6, height * len(flat)))
    for index, name in enumerate(flat):
        bottom = (len(flat) - 1 - index + 0.09) / len(flat)
        axes = figure.add_axes((0.085, bottom, 0.885, 0.74 / len(flat)))
        one = map_strength(scenario, name)
        plot_strength_map(one, axes=axes, below=verdicts(found, name))
    return figure


def plot_influence(found: Sequence[CheckInfluence]) -> Figure:
    """One panel a check."""
    from slipmargin.stability.uncertainty.influence_plot import plot_swings

    return plot_swings([(one.entry.label, one.base, one.target, one.swings) for one in found])


def section_files(scenario: Scenario, folder: Path, *, force: bool) -> list[Path]:
    """Where the section of every check is to lie, in their order; the folder may be yet to make.

    Raises
    ------
    InputError
        No folder, a folder in no other, or a picture that cannot be written there.
    """
    if folder.exists() and not folder.is_dir():
        raise InputError("--plot", str(folder), "name a folder")
    if not folder.absolute().parent.is_dir():
        raise InputError("--plot", str(folder), "the folder it would stand in does not exist")
    files = [
        folder / f"section-{number:02d}-{entry.kind.replace('_', '-')}.svg"
        for number, entry in enumerate(scenario.checks, start=1)
    ]
    if folder.is_dir():
        refuse_outputs(*files, force=force, inputs=scenario.files)
    return files


def save_sections(outcome: Outcome, files: Sequence[Path], *, force: bool) -> None:
    """Draw the section of every check, one picture a check, into ``section_files``.

    Raises
    ------
    InputError
        A picture that cannot be written.
    """
    from slipmargin.stability.drawing.labels import written
    from slipmargin.stability.drawing.section import plot_section

    for target, check in zip(files, outcome.checks, strict=True):
        target.parent.mkdir(exist_ok=True)
        figure = plot_section(check.entry.check, check.result)
        title = written(check.entry.label, 80)
        figure.axes[0].set_title(title, loc="left", fontsize=10)
        save(figure, target, force=force)
