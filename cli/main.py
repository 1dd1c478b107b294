"""The command line."""

from __future__ import annotations

import sys
from contextlib import suppress
from typing import Annotated, Any

import typer

from slipmargin.cli.commands import documents, fitting, questions
from slipmargin.cli.terminal.interruption import Stopped, heeding_signals
from slipmargin.cli.terminal.standard_streams import drop, lasting_streams
from slipmargin.cli.visible_text import visible
from slipmargin.strength import InputError

__all__ = ["app", "run"]

app = typer.Typer(
    help="From a laboratory shear test to a margin of safety, with its uncertainty.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)

for command in (
    fitting.fit,
    questions.check,
    questions.compare,
    questions.batch,
    questions.sweep,
    questions.review,
    questions.interpretations,
    questions.influence,
    questions.reliability,
    questions.strength_map,
    questions.back_analysis,
    documents.report,
    documents.methods,
    documents.handbook,
    documents.schema,
    documents.verify,
    documents.start,
):
    app.command()(command)


def _version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        typer.echo(f"slipmargin {version('slipmargin')}")
        raise typer.Exit


@app.callback()
def _root(
    _show_version: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Print the version."),
    ] = False,
) -> None:
    pass


def run() -> Any:
    """Entry point: exit 0, 1 (with ``--strict``) or 2, and no traceback for bad input.

    A reader of the output that leaves changes none of these.
    A signal that ends the program gives 128 and its number: 130 for an interruption, 143 for
    a termination.
    """
    with lasting_streams():
        try:
            with heeding_signals():
                try:
                    app()
                finally:
                    sys.stdout.flush()
        except InputError as error:
            _end(str(error), 2)
        except OSError as error:
            drop(sys.stdout)
            reason = (error.strerror or str(error)).lower()
            _end(f"{error.filename or 'output'}: it cannot be read or written: {reason}", 2)
        except MemoryError:
            _end("there is not enough memory for this", 2)
        except Stopped as stop:
            _end("interrupted" if stop.code == 130 else "stopped", stop.code)


def _end(message: str, code: int) -> None:
    with suppress(OSError):  # nobody can read it, and the code still tells
        sys.stderr.write(f"slipmargin: {visible(message)}\n")
        sys.stderr.flush()
    sys.exit(code)
