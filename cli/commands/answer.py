"""What every command that asks a question of a scenario shares: its options, and its answer.

A command is a function of the scenario, read, and of the options of its own; it returns an
``Answer``. Reading the file, refusing outputs that could not be written before any work is
done, and writing what was asked for are done here, once.
"""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, get_type_hints

import typer

if TYPE_CHECKING:
    from slipmargin.cli.page.blocks import Block
    from slipmargin.cli.questions.result import Result
    from slipmargin.cli.scenario.read import Scenario
    from slipmargin.strength import Notice

__all__ = [
    "AllowOutside",
    "Answer",
    "AsJson",
    "Force",
    "OneCheck",
    "Picture",
    "ScenarioFile",
    "Variant",
    "Working",
    "of_a_scenario",
    "read_as_asked",
    "refuse_outputs_of",
    "say",
]

ScenarioFile = Annotated[Path, typer.Argument(metavar="SCENARIO.toml", help="Scenario file.")]
Variant = Annotated[
    str | None, typer.Option(metavar="NAME", help="One of the scenario's [[variants]].")
]
OneCheck = Annotated[
    str | None, typer.Option("--check", metavar="LABEL", help="Of this check alone.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]
AllowOutside = Annotated[
    bool, typer.Option("--allow-outside", help="Let readings lie outside the scenario's folder.")
]
Table = Annotated[Path | None, typer.Option("--csv", metavar="FILE", help="Write a table.")]
Picture = Annotated[
    Path | None, typer.Option("--plot", metavar="FILE", help="Draw it: .png, .svg or .pdf.")
]
Notes = Annotated[
    bool, typer.Option("--notes", help="Print every notice in full, the lighter ones too.")
]
Force = Annotated[bool, typer.Option("--force", help="Overwrite an existing output file.")]
Working = Annotated[bool, typer.Option("--working", help="Print every step with its numbers.")]


@dataclass(frozen=True, slots=True)
class Answer:
    """What a question gave, and how its command ends.

    ``fails`` tells whether it ends with exit code 1; ``said`` are cautions that stand in full
    elsewhere, and are named here (without it those of ``check``); ``after`` is what is printed
    below the result.
    """

    found: Result
    fails: bool = False
    said: Collection[Notice] | None = None
    after: Iterable[Block] = ()


def of_a_scenario(
    *, csv: bool = False, plot: bool = False, one_check: bool = False
) -> Callable[[Callable[..., Answer]], Callable[..., None]]:
    """Make a command of the terminal out of a function of a scenario and its own options.

    It takes the scenario's path, ``--variant``, ``--json``, ``--notes`` and ``--allow-outside``
    beside its own options, and what it offers of ``--csv``, ``--plot`` (each with ``--force``)
    and ``--check``.
    """
    options = (
        ("variant", Variant, None, True),
        ("label", OneCheck, None, one_check),
        ("as_json", AsJson, False, True),
        ("csv", Table, None, csv),
        ("plot", Picture, None, plot),
        ("force", Force, False, csv or plot),
        ("notes", Notes, False, True),
        ("allow_outside", AllowOutside, False, True),
    )
    offered = {name: (kind, default) for name, kind, default, given in options if given}

    def made(command: Callable[..., Answer]) -> Callable[..., None]:
        @functools.wraps(command)
        def run(**given: Any) -> None:
            asked = {name: given.pop(name) for name in offered}
            site = read_as_asked(
                given.pop("scenario"),
                asked["variant"],
                asked.get("label"),
                allow_outside=asked["allow_outside"],
            )
            table, picture = asked.get("csv"), asked.get("plot")
            force = asked.get("force", False)
            refuse_outputs_of(site.files, force=force, csv=table, plot=picture)
            answer = command(site, **given)
            if table is not None:
                from slipmargin.cli.files import write_whole

                write_whole(table, answer.found.csv().encode(), force=force)
            if picture is not None:
                from slipmargin.cli.figures import save

                save(answer.found.figure(), picture, force=force, of=site.version)
            said = answer.said
            if said is None and not asked["as_json"]:
                from slipmargin.cli.questions.owed import of_the_checks

                said = of_the_checks(site)
            say(
                answer.found,
                as_json=asked["as_json"],
                every_notice=asked["notes"],
                said=said or (),
                site=site,
                after=answer.after,
            )
            if answer.fails:
                raise typer.Exit(1)

        # the scenario's own type is for readers of the code; it is not loaded for a start
        hints = get_type_hints(command, localns={"Scenario": object}, include_extras=True)
        own = [
            _parameter(name, hints[name], one.default)
            for name, one in inspect.signature(command).parameters.items()
            if name != "site"
        ]
        parameters = [
            _parameter("scenario", ScenarioFile, inspect.Parameter.empty),
            *own,
            *(_parameter(name, kind, default) for name, (kind, default) in offered.items()),
        ]
        run.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
        run.__annotations__ = {one.name: one.annotation for one in parameters}
        return run

    return made


def _parameter(name: str, kind: Any, default: Any) -> inspect.Parameter:
    keyword = inspect.Parameter.KEYWORD_ONLY
    return inspect.Parameter(name, keyword, default=default, annotation=kind)


def read_as_asked(
    path: Path, variant: str | None, label: str | None = None, *, allow_outside: bool
) -> Scenario:
    """A scenario, of it the variant and the check that are asked for. ``FileError`` as ``load``; a
    check that is not there.
    """
    from slipmargin.cli.scenario.read import load

    site = load(path, variant=variant, allow_outside=allow_outside)
    if label is None:
        return site
    from slipmargin.cli.scenario.one_check import one_check

    return one_check(site, label)


def refuse_outputs_of(
    inputs: Iterable[Path], *, force: bool, csv: Path | None = None, plot: Path | None = None
) -> None:
    """Refuse a table or a picture that could not be written, before any work is done."""
    from slipmargin.cli.files import refuse_outputs

    if plot is not None:
        from slipmargin.cli.figures import refuse_format

        refuse_format(plot)
    refuse_outputs(csv, plot, force=force, inputs=inputs)


def say(
    found: Result,
    *,
    as_json: bool,
    every_notice: bool = False,
    said: Collection[Notice] = (),
    site: Scenario | None = None,
    after: Iterable[Block] = (),
) -> None:
    """Print a result, as a document or as text; ``site`` is the scenario it is of, if of one."""
    if as_json:
        from slipmargin.cli.as_json import dump, of_version

        document = found.document()
        typer.echo(dump(document if site is None else of_version(document, site)))
        return
    from slipmargin.cli.page.blocks import Words
    from slipmargin.cli.page.terminal import Screen
    from slipmargin.cli.words import CAUTION

    screen = Screen(every_notice=every_notice, said=said)
    if site is not None and site.version:
        screen.show([Words(site.version)])
    screen.show([*found.blocks(), Words(CAUTION, "strong")])
    screen.show(after)
