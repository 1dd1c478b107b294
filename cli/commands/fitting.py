"""The command that fits readings, or a soil of a scenario."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from slipmargin.cli.commands.answer import (
    AllowOutside,
    AsJson,
    Force,
    Picture,
    Variant,
    Working,
    refuse_outputs_of,
    say,
)
from slipmargin.strength import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from slipmargin.cli.page.blocks import Block

__all__ = ["fit"]


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
    from slipmargin.cli.questions.fit import fit_readings, fit_soil
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
            raw={
                "lever_ratio": lever_ratio,
                "ring_constant": ring_constant,
                "dial_zero": dial_zero,
                "ring_calibration": ring_calibration,
            },
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
