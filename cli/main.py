"""The command line."""

from __future__ import annotations

import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from slipmargin.cli.answer import (
    AllowOutside,
    Answer,
    AsJson,
    Force,
    OneCheck,
    Picture,
    ScenarioFile,
    Variant,
    of_a_scenario,
    read_as_asked,
    refuse_outputs_of,
    say,
)
from slipmargin.cli.terminal.interruption import Stopped, heeding_signals
from slipmargin.cli.terminal.standard_streams import drop, lasting_streams
from slipmargin.cli.visible_text import visible
from slipmargin.strength import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from slipmargin.cli.page.blocks import Block
    from slipmargin.cli.scenario.read import Scenario

__all__ = ["app", "run"]

app = typer.Typer(
    help="From a laboratory shear test to a margin of safety, with its uncertainty.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)

SheetFile = Annotated[
    Path, typer.Option("-o", "--output", metavar="FILE", help="A name in .html, .pdf or .md.")
]
Working = Annotated[bool, typer.Option("--working", help="Print every step with its numbers.")]


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


@app.command()
def fit(
    context: typer.Context,
    readings: Annotated[
        Path,
        typer.Argument(metavar="FILE", help="Readings (.csv, .xlsx, .ags), or a scenario (.toml)."),
    ],
    soil: Annotated[
        str | None, typer.Option(metavar="NAME", help="Soil of a scenario, fitted as it says.")
    ] = None,
    state: Annotated[str, typer.Option(help="peak, end_of_test or residual.")] = "peak",
    intercept: Annotated[str, typer.Option(help="non_negative, free or zero.")] = "non_negative",
    specimen: Annotated[
        str | None, typer.Option(help='Shear plane, such as "square 60 mm" or "circle 63.5 mm".')
    ] = None,
    envelope: Annotated[str, typer.Option(help="line or power.")] = "line",
    confidence: Annotated[float, typer.Option(help="Of the limits, 0.5 to below 1.")] = 0.95,
    area_correction: Annotated[
        bool, typer.Option("--area-correction", help="Stresses on the area still in contact.")
    ] = False,
    cohesionless: Annotated[
        bool, typer.Option("--cohesionless", help="The soil has no cohesion of its own.")
    ] = False,
    soil_class: Annotated[
        str | None, typer.Option(help="USCS symbol, to hold the values against published ranges.")
    ] = None,
    sample: Annotated[
        str | None, typer.Option(metavar="ID", help="Sample in a transfer file (.ags).")
    ] = None,
    test_kind: Annotated[
        str | None, typer.Option(help="direct_shear or triaxial, where a transfer file has both.")
    ] = None,
    lever_ratio: Annotated[
        float | None, typer.Option(help="Of the lever, where hanger loads were read, such as 10.")
    ] = None,
    ring_constant: Annotated[
        str | None, typer.Option(help='Of the ring, where a dial was read, such as "1.85 N/div".')
    ] = None,
    dial_zero: Annotated[
        str | None, typer.Option(help='Dial at no load, such as "12 div".')
    ] = None,
    ring_calibration: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Table dial [div], load [N] in place of a constant."),
    ] = None,
    stated: Annotated[
        str | None, typer.Option(help='Line drawn by eye to set beside it: "4 kPa 31 deg".')
    ] = None,
    working: Working = False,
    as_json: AsJson = False,
    plot: Picture = None,
    force: Force = False,
    variant: Variant = None,
    allow_outside: AllowOutside = False,
) -> None:
    """Fit c′ and φ′, with their uncertainty, to shear readings or to a soil of a scenario."""
    from slipmargin.cli.questions.fit import apparatus_of, fit_readings, fit_soil
    from slipmargin.strength.from_laboratory import Choices

    inputs = [readings, *([ring_calibration] if ring_calibration else [])]
    refuse_outputs_of(inputs, force=force, plot=plot)
    choices = Choices(
        state=state,
        intercept=intercept,
        envelope=envelope,
        confidence=confidence,
        area_correction=area_correction,
        cohesionless=cohesionless,
        soil_class=soil_class,
    )
    if readings.suffix.lower() == ".toml":
        _refuse_beside_scenario(context)
        found = fit_soil(readings, soil, stated, variant=variant, allow_outside=allow_outside)
    elif soil is not None or variant is not None:
        option, given = ("--variant", variant) if soil is None else ("--soil", soil)
        raise InputError(option, given, "it belongs to a scenario, whose name ends in .toml")
    else:
        found = fit_readings(
            readings,
            choices,
            specimen=specimen,
            stated=stated,
            apparatus=apparatus_of(lever_ratio, ring_constant, dial_zero, ring_calibration),
            sample=sample,
            test_kind=test_kind,
        )
    if plot is not None:
        from slipmargin.cli.figures import save

        save(found.figure(), plot, force=force)
    after: Iterable[Block] = ()
    if working:
        from slipmargin.cli.questions.working import fit_working, shown_workings

        after = shown_workings([("strength line", (fit_working(found.laboratory),))])
    say(found, as_json=as_json, every_notice=True, after=after)


@app.command()
@of_a_scenario()
def check(
    site: Scenario,
    *,
    working: Working = False,
    variants: Annotated[
        bool, typer.Option("--variants", help="All [[variants]] of the scenario side by side.")
    ] = False,
    strict: Annotated[
        bool,
        typer.Option("--strict", help="Exit with 1 if a target is missed or a notice is stop."),
    ] = False,
    plot: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Draw the section of every check into a folder."),
    ] = None,
    force: Force = False,
) -> Answer:
    """Fit what must be fitted, run every check, print factors of safety and notices."""
    from slipmargin.cli.questions.check import evaluate

    if variants:
        return _every_variant(site, strict=strict, alone=plot is None and not working)

    sections: list[Path] = []
    if plot is not None:
        from slipmargin.cli.figures import section_files

        sections = section_files(site, plot, force=force)
    outcome = evaluate(site)
    if plot is not None:
        from slipmargin.cli.figures import save_sections

        save_sections(outcome, sections, force=force)
    after: Iterable[Block] = ()
    if working:
        from slipmargin.cli.questions.working import shown_workings, workings

        after = shown_workings(workings(outcome))
    return Answer(outcome, fails=strict and outcome.fails, said=(), after=after)


def _every_variant(site: Scenario, *, strict: bool, alone: bool) -> Answer:
    from slipmargin.cli.questions.compare import Variants, load_variants, side_by_side

    if site.variant is not None or not alone:
        allowed = "leave out --variant, --working and --plot, which belong to one version"
        raise InputError("--variants", "given", allowed)
    found = side_by_side(load_variants(site), Variants)
    return Answer(found, fails=strict and any(one.fails for one in found.outcomes), said=())


@app.command()
def compare(
    first: Annotated[Path, typer.Argument(metavar="A.toml", help="Scenario file.")],
    second: Annotated[
        Path | None, typer.Argument(metavar="[B.toml]", help="The version to set beside it.")
    ] = None,
    *,
    variant: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME",
            help="Of both files; of one file, the variant to set beside it as written. "
            "Given twice: of the first and of the second.",
        ),
    ] = None,
    as_json: AsJson = False,
    allow_outside: AllowOutside = False,
) -> None:
    """Say which inputs of two versions differ, and what that does to each factor."""
    from slipmargin.cli.questions.compare import load_pair, side_by_side

    found = side_by_side(load_pair(first, second, variant or [], allow_outside=allow_outside))
    say(found, as_json=as_json)


@app.command()
def batch(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where to look.")],
    as_json: Annotated[
        bool, typer.Option("--json", help="Print JSON Lines: one document a scenario.")
    ] = False,
    jobs: Annotated[
        int | None, typer.Option(metavar="N", help="Processes; one a processor by default.")
    ] = None,
    output: Annotated[
        Path | None, typer.Option(metavar="FILE.jsonl", help="Write JSON Lines there as well.")
    ] = None,
    resume: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE.jsonl",
            help="Take over what a run that was stopped wrote there, and add the rest to it.",
        ),
    ] = None,
    strict: Annotated[
        bool,
        typer.Option("--strict", help="Exit with 1 if any is refused, misses or says stop."),
    ] = False,
    variant: Variant = None,
    force: Force = False,
    allow_outside: AllowOutside = False,
) -> None:
    """Check every scenario below a folder, in parallel; one bad file does not stop the rest.

    With --variant a scenario that has no variant of that name is refused.
    """
    from slipmargin.cli.batch.command import run_batch_command

    totals = run_batch_command(
        folder,
        as_json=as_json,
        jobs=jobs,
        resume=resume,
        output=output,
        force=force,
        allow_outside=allow_outside,
        variant=variant,
        to_the_end=strict,
    )
    if strict and totals.fails:
        raise typer.Exit(1)


@app.command()
@of_a_scenario(csv=True, plot=True, one_check=True)
def sweep(
    site: Scenario,
    *,
    vary: Annotated[
        str | None, typer.Option(help="Field: soils.NAME.FIELD or checks.LABEL.FIELD.")
    ] = None,
    start: Annotated[str | None, typer.Option("--from", help="First value, with unit.")] = None,
    stop: Annotated[str | None, typer.Option("--to", help="Last value, with unit.")] = None,
    steps: Annotated[int, typer.Option(help="Number of values.")] = 25,
    second: Annotated[str | None, typer.Option(help="A field to vary together with it.")] = None,
    second_start: Annotated[
        str | None, typer.Option("--second-from", help="Its first value, with unit.")
    ] = None,
    second_stop: Annotated[
        str | None, typer.Option("--second-to", help="Its last value, with unit.")
    ] = None,
    second_steps: Annotated[int, typer.Option(help="Its number of values.")] = 25,
) -> Answer:
    """Show how each factor of safety moves with an input, or with two at once."""
    from slipmargin.cli.questions.sweep import asked_for, other_field
    from slipmargin.cli.questions.sweeps import run_sweeps

    other = other_field(second, second_start, second_stop, second_steps)
    return Answer(run_sweeps(site, asked_for(site, vary, start, stop, steps, other)))


@app.command()
@of_a_scenario(plot=True, one_check=True)
def review(site: Scenario) -> Answer:
    """Say what holds, what hangs on the reading of the tests and what misses, on one page."""
    from slipmargin.cli.questions.review import review as reviewed
    from slipmargin.cli.terminal.progress import progress

    with progress("review") as report:
        found = reviewed(site, progress=report)
    return Answer(found, said=[notice for _, notice in found.every_notice])


@app.command()
@of_a_scenario(csv=True)
def interpretations(site: Scenario) -> Answer:
    """Show each factor of safety under every interpretation of the same laboratory data."""
    from slipmargin.cli.questions.interpretations import interpret

    return Answer(interpret(site))


@app.command()
@of_a_scenario(csv=True, plot=True)
def influence(site: Scenario) -> Answer:
    """Rank what each input moves, swung over its plausible range."""
    from slipmargin.cli.questions.influence import find_influence

    return Answer(find_influence(site))


@app.command()
@of_a_scenario(csv=True, plot=True)
def reliability(
    site: Scenario,
    *,
    samples: Annotated[int | None, typer.Option(help="Number of samples.")] = None,
    seed: Annotated[int | None, typer.Option(help="Seed; the same seed, the same result.")] = None,
) -> Answer:
    """Sample the doubt in the strengths (and other fields) through every check."""
    from slipmargin.cli.questions.reliability import run_reliability
    from slipmargin.cli.terminal.progress import progress

    with progress("sampling") as report:
        return Answer(run_reliability(site, samples=samples, seed=seed, progress=report))


@app.command(name="strength-map")
@of_a_scenario(csv=True, plot=True, one_check=True)
def strength_map(
    site: Scenario,
    *,
    soil: Annotated[str, typer.Option(help="Name of the soil.")],
) -> Answer:
    """Map every factor of safety over the cohesion and friction angle of one soil."""
    from slipmargin.cli.questions.strength_map import map_strength

    return Answer(map_strength(site, soil))


@app.command(name="back-analysis")
@of_a_scenario(csv=True, plot=True)
def back_analysis(
    site: Scenario,
    *,
    check_label: Annotated[str, typer.Option("--check", help="Label of the failed slope.")],
    soil: Annotated[
        str | None, typer.Option("--soil", help="Of several soils the one to be found.")
    ] = None,
) -> Answer:
    """For a slope that has failed, find the strengths that explain it."""
    from slipmargin.cli.questions.back_analysis import explain_failure

    return Answer(explain_failure(site, check_label, soil))


def _refuse_beside_scenario(context: typer.Context) -> None:
    """Refuse options that the scenario itself answers."""
    beside = {
        *("readings", "soil", "stated", "variant"),
        *("working", "as_json", "plot", "force", "allow_outside"),
    }
    for name, given in context.params.items():
        source = context.get_parameter_source(name)
        if name not in beside and source is not None and source.name == "COMMANDLINE":
            option = "--" + name.replace("_", "-")
            raise InputError(option, given, "leave it out: the scenario says it of its soil")


@app.command()
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


@app.command()
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


@app.command()
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


@app.command()
def schema() -> None:
    """Print the JSON Schema of a scenario, for editors."""
    from slipmargin.cli.as_json import dump
    from slipmargin.cli.scenario.json_schema import json_schema

    typer.echo(dump(json_schema()))


@app.command()
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


@app.command()
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
