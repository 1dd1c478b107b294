"""The commands that ask something of a scenario, or of many."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from slipmargin.cli.commands.answer import (
    AllowOutside,
    Answer,
    AsJson,
    Force,
    Variant,
    Working,
    of_a_scenario,
    say,
)
from slipmargin.strength import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from slipmargin.cli.page.blocks import Block
    from slipmargin.cli.scenario.read import Scenario

__all__ = [
    "back_analysis",
    "batch",
    "check",
    "compare",
    "influence",
    "interpretations",
    "reliability",
    "review",
    "strength_map",
    "sweep",
]


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
    from slipmargin.cli.questions.sweep import asked_for
    from slipmargin.cli.questions.sweeps import run_sweeps

    two = (second, second_start, second_stop, second_steps)
    return Answer(run_sweeps(site, asked_for(site, (vary, start, stop, steps), two)))


@of_a_scenario(plot=True, one_check=True)
def review(site: Scenario) -> Answer:
    """Say what holds, what hangs on the reading of the tests and what misses, on one page."""
    from slipmargin.cli.questions.review import review as reviewed
    from slipmargin.cli.terminal.progress import progress

    with progress("review") as report:
        found = reviewed(site, progress=report)
    return Answer(found, said=[notice for _, notice in found.every_notice])


@of_a_scenario(csv=True)
def interpretations(site: Scenario) -> Answer:
    """Show each factor of safety under every interpretation of the same laboratory data."""
    from slipmargin.cli.questions.interpretations import interpret

    return Answer(interpret(site))


@of_a_scenario(csv=True, plot=True)
def influence(site: Scenario) -> Answer:
    """Rank what each input moves, swung over its plausible range."""
    from slipmargin.cli.questions.influence import find_influence

    return Answer(find_influence(site))


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


@of_a_scenario(csv=True, plot=True, one_check=True)
def strength_map(
    site: Scenario,
    *,
    soil: Annotated[str, typer.Option(help="Name of the soil.")],
) -> Answer:
    """Map every factor of safety over the cohesion and friction angle of one soil."""
    from slipmargin.cli.questions.strength_map import map_strength

    return Answer(map_strength(site, soil))


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
