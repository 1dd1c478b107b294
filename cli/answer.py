"""What every command that asks a question of a scenario shares: its options, and its answer.

A command is a function of the scenario, read, and of the options of its own; it returns an
``Answer``. Reading the file, refusing outputs that could not be written before any work is
done, and writing what was asked for are done here, once.
"""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, get_type_hints

import typer

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from rich.console import Console

    from slipmargin.cli.scenario.read import Scenario

__all__ = [
    "AllowOutside",
    "Answer",
    "AsJson",
    "Force",
    "Picture",
    "ScenarioFile",
    "Table",
    "Variant",
    "of_a_scenario",
    "read_as_asked",
    "refuse_outputs_of",
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


@dataclass(frozen=True, slots=True)
class Answer:
    """What a question gave, in every form that it can be asked for.

    Parameters
    ----------
    document, show
        The JSON document, and what prints the same as text.
    csv, draw
        A table and a picture of it, where the command offers them.
    fails
        Whether the run ends with exit code 1.
    beside_check
        Whether the answer stands beside that of ``check``, whose cautions it names.
    """

    document: Callable[[], Mapping[str, Any]]
    show: Callable[[Console], None]
    csv: Callable[[], str] | None = None
    draw: Callable[[], Figure] | None = None
    fails: bool = False
    beside_check: bool = True


def of_a_scenario(
    *, csv: bool = False, plot: bool = False, one_check: bool = False
) -> Callable[[Callable[..., Answer]], Callable[..., None]]:
    """Make a command of the terminal out of a function of a scenario and its own options.

    It takes the scenario's path, ``--variant``, ``--json``, ``--notes`` and ``--allow-outside``
    beside its own options, and what it offers of ``--csv``, ``--plot`` (each with ``--force``)
    and ``--check``.
    """
    offered: dict[str, tuple[Any, Any]] = {"variant": (Variant, None)}
    offered |= {"label": (OneCheck, None)} if one_check else {}
    offered |= {"as_json": (AsJson, False)}
    offered |= {"csv": (Table, None)} if csv else {}
    offered |= {"plot": (Picture, None)} if plot else {}
    offered |= {"force": (Force, False)} if csv or plot else {}
    offered |= {"notes": (Notes, False)}
    offered |= {"allow_outside": (AllowOutside, False)}

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
            if table is not None and answer.csv is not None:
                from slipmargin.cli.files import write_whole

                write_whole(table, answer.csv().encode(), force=force)
            if picture is not None and answer.draw is not None:
                from slipmargin.cli.figures import save

                save(answer.draw(), picture, force=force, of=site.version)
            _print(answer, site, as_json=asked["as_json"], every_notice=asked["notes"])

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
    """A scenario, of it the variant and the check that are asked for.

    Raises
    ------
    FileError
        As ``load``; a check that is not there.
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


def _print(answer: Answer, site: Scenario, *, as_json: bool, every_notice: bool) -> None:
    """The answer as it was asked for, and exit code 1 where it fails."""
    if as_json:
        from slipmargin.cli.as_json import dump

        document = dict(answer.document())
        if site.variant is not None:
            document = {"schema": document.pop("schema"), "variant": site.variant, **document}
        typer.echo(dump(document))
    else:
        from slipmargin.cli.questions.owed import of_the_checks
        from slipmargin.cli.terminal.as_text import console

        said = of_the_checks(site) if answer.beside_check else ()
        out = console(every_notice=every_notice, said=said)
        if site.version:
            out.print(site.version)
            out.print()
        answer.show(out)
    if answer.fails:
        raise typer.Exit(1)
