"""The commands that write a document, or say what the program holds."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from slipmargin.cli.commands.answer import (
    AllowOutside,
    AsJson,
    Force,
    OneCheck,
    ScenarioFile,
    Variant,
    read_as_asked,
    say,
)
from slipmargin.cli.visible_text import visible
from slipmargin.strength import InputError

__all__ = ["handbook", "methods", "report", "schema", "start", "verify"]

SheetFile = Annotated[
    Path, typer.Option("-o", "--output", metavar="FILE", help="A name in .html, .pdf or .md.")
]


def report(
    scenario: ScenarioFile,
    *,
    output: SheetFile,
    sampled: Annotated[
        bool, typer.Option("--sampled", help="Add the table of sampled factors.")
    ] = False,
    working: Annotated[
        bool, typer.Option("--working", help="Add the working to a PDF or Markdown too.")
    ] = False,
    variant: Variant = None,
    label: OneCheck = None,
    force: Force = False,
    allow_outside: AllowOutside = False,
) -> None:
    """Write the calculation sheet: data, fit, checks, working, pictures, notices."""
    from slipmargin.cli.files import refuse_outputs
    from slipmargin.cli.questions.check import evaluate
    from slipmargin.cli.sheet import refuse_report_name, write_report
    from slipmargin.cli.terminal.progress import progress

    refuse_report_name(output)
    site = read_as_asked(scenario, variant, label, allow_outside=allow_outside)
    refuse_outputs(output, force=force, inputs=site.files)
    with progress("writing the sheet"):
        write_report(
            evaluate(site), output, force=force, now=None, sampled=sampled, working=working
        )
    typer.echo(visible(str(output)))


def methods(
    kind: Annotated[
        str | None, typer.Argument(metavar="[KIND]", help="fit, or a kind of check.")
    ] = None,
) -> None:
    """Print equations, assumptions, limits and sources of a check."""
    from slipmargin.cli.questions.methods import METHODS, method_text

    if kind is None:
        typer.echo("\n".join(METHODS))
    else:
        typer.echo(method_text(kind))


def handbook(
    output: SheetFile,
    kind: Annotated[
        str | None, typer.Option("--kind", metavar="KIND", help="Of this kind of check alone.")
    ] = None,
    force: Force = False,
) -> None:
    """Write the handbook: theory, worked examples and check values, from the program itself."""
    from slipmargin.cli.files import refuse_outputs
    from slipmargin.cli.sheet import refuse_report_name, write_sheet

    refuse_report_name(output)
    refuse_outputs(output, force=force, inputs=())
    from slipmargin.cli.handbook.content import handbook as made
    from slipmargin.cli.terminal.progress import progress

    with progress("writing the handbook"):
        write_sheet(lambda now: made(now, kind), output, force=force)
    typer.echo(visible(str(output)))


def schema() -> None:
    """Print the JSON Schema of a scenario, for editors."""
    from slipmargin.cli.as_json import dump
    from slipmargin.cli.scenario.json_schema import json_schema

    typer.echo(dump(json_schema()))


def verify(
    kind: Annotated[
        str | None, typer.Argument(metavar="[KIND]", help="A kind of check or fit; all of them.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Run the published check values that ship with the program; exit 1 if one fails."""
    from slipmargin.cli.terminal.progress import progress
    from slipmargin.cli.verification.run import verify_document
    from slipmargin.cli.verification.text import Verified

    with progress("check values") as report:
        found = Verified(verify_document(kind, progress=report))
    say(found, as_json=as_json)
    if found.fails:
        raise typer.Exit(1)


def start(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where to put the files.")],
    kind: Annotated[
        str | None,
        typer.Option(metavar="KIND", help="A commented example of one kind of check instead."),
    ] = None,
    tutorial: Annotated[
        bool, typer.Option("--tutorial", help="The notebooks of the tutorial and their sites.")
    ] = False,
    force: Force = False,
) -> None:
    """Write a starter scenario with its readings."""
    from slipmargin.cli.questions.start import write_starter, write_tutorial

    if tutorial and kind is not None:
        raise InputError("--kind", kind, "it does not go with --tutorial")
    written = (
        write_tutorial(folder, force=force)
        if tutorial
        else write_starter(folder, kind=kind, force=force)
    )
    for path in written:
        typer.echo(visible(str(path)))
    if tutorial:
        typer.echo(visible(f"Open {written[0]} in Jupyter (pip install notebook), or read it"))
        typer.echo("in the handbook, where it has been run:  slipmargin handbook -o handbook.html")
    else:
        typer.echo(visible(f"Run it:  slipmargin check {folder / 'scenario.toml'}"))
