"""Was the test slow enough to be drained?

A shear test gives effective-stress parameters only where the pore water had time to leave.
The time from the start of shearing to failure is held against

    t_f = 50 t_50    or    t_f = 11.6 t_90

with t_50, t_90 the times for 50 % and 90 % consolidation of the same specimen, drained at
both ends; without a consolidation curve, against the least time for the soil's class. Where
both t_50 and t_90 are given the longer time governs. The two factors are one:
T_50 = 0.197 and T_90 = 0.848 give 50 t_50 = 11.6 t_90.

What share of the excess pore pressure had left the plane at mid-height, when shearing makes
it at a constant rate over t_f, follows from one-dimensional consolidation with T the time
factor of t_f on half the height:

    U = 1 - (1 / 2T) [1 - (32/π³) Σ (-1)ⁿ exp(-(2n+1)² π² T / 4) / (2n+1)³]

which is 0.949 at 50 t_50.

Sources: ASTM D3080 for 50 t_50; D3080-11, 9.10 and Table 1, for 11.6 t_90 and the times by
class (both from memory); the idea after Gibson and Henkel (1954), Géotechnique 4(1). That
half the time is the border between caution and stop is this project's own choice.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from slipmargin.strength.errors import InputError, need_number
from slipmargin.strength.notice import Notice

__all__ = [
    "LEAST_TIMES",
    "degree_of_drainage",
    "drainage_notices",
    "required_time_to_failure",
]

FACTOR_T50 = 50.0
"""Time to failure over t_50, ASTM D3080."""

FACTOR_T90 = 11.6
"""Time to failure over t_90, ASTM D3080-11, 9.10 (from memory)."""

TIME_FACTOR_50 = 0.197
"""Time factor of 50 % consolidation [-], Terzaghi."""

TIME_FACTOR_90 = 0.848
"""Time factor of 90 % consolidation [-], Terzaghi."""

LEAST_TIMES = {
    "SW": 10.0,
    "SP": 10.0,
    "SW-SM": 60.0,
    "SP-SM": 60.0,
    "SM": 60.0,
    "SC": 200.0,
    "ML": 200.0,
    "CL": 200.0,
    "SP-SC": 200.0,
    "MH": 1440.0,
    "CH": 1440.0,
}
"""Least time to failure [min] by soil class, ASTM D3080-11, Table 1 (from memory)."""

STOP_SHARE = 0.5
"""Share of the time asked for below which the parameters must not be used."""

NEARLY_DRAINED = 0.9
"""Share of the excess pore pressure gone from which a test is nearly drained; half the time
asked for gives 0.898. This project's own."""

PARTLY_DRAINED = 0.5
"""Share gone below which a test is not called drained at all; this project's own."""

_GROUND = "ASTM D3080, time to failure"


def degree_of_drainage(time_factor: ArrayLike) -> NDArray[np.float64]:
    """Share of the excess pore pressure that has left the plane at mid-height [-].

    The time factor is c_v t_f / (H/2)² [-], from 0 upward, of any shape.
    """
    time = np.asarray(time_factor, dtype=float)
    order = 2.0 * np.arange(200.0) + 1.0
    sign = np.where(np.arange(200) % 2 == 0, 1.0, -1.0)
    decay = 1.0 - np.exp(-((order * np.pi / 2.0) ** 2) * time[..., None])
    # The series is written with 1 - exp, since the signs over (2n+1)³ sum to π³/32.
    stored = (32.0 / np.pi**3) * np.sum(sign * decay / order**3, axis=-1)
    with np.errstate(divide="ignore", invalid="ignore"):
        # Below 0.02 less than a millionth has drained, and the cut series would say more.
        share = np.where(time > 0.02, 1.0 - stored / (2.0 * time), 0.0)
    return np.asarray(np.clip(share, 0.0, 1.0))


def required_time_to_failure(
    *, t50: float | None = None, t90: float | None = None, soil_class: str | None = None
) -> tuple[float, str] | None:
    """Time to failure that the rule asks for [min], and the rule in words.

    By the times for 50 % and 90 % consolidation [min], or without either by the USCS symbol.
    ``None`` where there is nothing to judge by: no time, and no class with a published least
    time. A time that is not above zero is an ``InputError``.
    """
    rules = []
    for name, factor, value in (("t50", FACTOR_T50, t50), ("t90", FACTOR_T90, t90)):
        if value is not None:
            need_number(name, value, "min", above=0.0)
            rules.append((factor * value, f"{factor:g} × {name}, {name} = {value:.4g} min"))
    if rules:
        return max(rules)
    least = LEAST_TIMES.get("" if soil_class is None else soil_class.strip().upper())
    return None if least is None else (least, f"the least time for class {soil_class}")


def drainage_notices(
    *,
    time_to_failure: ArrayLike | None = None,
    rate: ArrayLike | None = None,
    displacement_at_failure: ArrayLike | None = None,
    t50: float | None = None,
    t90: float | None = None,
    soil_class: str | None = None,
    dry: bool = False,
) -> tuple[Notice, ...]:
    """Say whether the tests were slow enough for effective-stress parameters.

    Parameters
    ----------
    time_to_failure
        From the start of shearing [min]; one number, or one a test. The shortest counts.
    rate, displacement_at_failure
        In its place: rate of displacement [mm/min] and displacement at failure [mm]; they
        broadcast; pairs with a nan are left out and counted.
    t50, t90, soil_class
        What to judge by, see ``required_time_to_failure``.
    dry
        The specimens held no water, so that there is nothing to drain.

    Returns
    -------
    tuple of Notice
        One notice: ``tested-too-fast`` (``stop`` below half the time asked for, else
        ``caution``), ``slow-enough-to-drain``, ``drainage-not-shown``, or none for dry soil.
        The first belongs to the caveats of every strength that rests on the tests.

    Raises
    ------
    InputError
        A time, rate or displacement that is not above zero; a time and a rate at once.
    """
    if time_to_failure is not None and rate is not None:
        raise InputError("rate", rate, "give time_to_failure, or rate with its displacement")
    required = required_time_to_failure(t50=t50, t90=t90, soil_class=soil_class)
    taken, untimed = _time_taken(time_to_failure, rate, displacement_at_failure)
    if dry:
        return ()
    if required is None or taken is None:
        sheared = (
            "how fast they were sheared (time_to_failure, or rate with displacement_at_failure)"
        )
        drains = (
            "how fast the soil drains (t50 or t90, or a USCS class with a published least time)"
        )
        missing = [words for words, of in ((sheared, taken), (drains, required)) if of is None]
        text = (
            f"Not given: {' and '.join(missing)}. The parameters are effective-stress "
            "parameters only if the tests were drained."
        )
        return (Notice.info("drainage-not-shown", text, _GROUND),)
    needed, rule = required
    some = "" if untimed == 0 else f" (not known for {untimed} of the tests)"
    compared = (
        f"Failure was reached after {_clock(taken)}{some}; {rule}, asks for {_clock(needed)}."
    )
    if taken >= needed:
        return (Notice.info("slow-enough-to-drain", compared, _GROUND),)
    times = [
        factor * taken / time
        for factor, time in ((TIME_FACTOR_50, t50), (TIME_FACTOR_90, t90))
        if time is not None
    ]
    fast = taken < STOP_SHARE * needed
    share = float(degree_of_drainage(min(times))) if times else None
    text = _too_fast(compared, share, fast=fast)
    return ((Notice.stop if fast else Notice.caution)("tested-too-fast", text, _GROUND),)


def _too_fast(compared: str, share: float | None, *, fast: bool) -> str:
    """What a test that was not slow enough says of the parameters, by how far it had drained."""
    says, means = "Tested too fast to drain", "are not effective-stress parameters."
    drained = ""
    if share is not None:
        drained = f" About {share:.0%} of the excess pore pressure had left the plane."
        if share >= NEARLY_DRAINED:
            says = "Not quite slow enough to drain"
            means = (
                "are close to effective-stress parameters, off by what the rest did, to either "
                "side."
            )
        elif share >= PARTLY_DRAINED:
            says = "Tested too fast to drain fully"
            means = "are those of partly drained soil, between effective-stress and undrained ones."
    elif not fast:
        means = "may be those of partly drained soil; give t50 or t90 to see how far."
    return f"{says}: {compared[0].lower()}{compared[1:]}{drained} The parameters {means}"


def _time_taken(
    time_to_failure: ArrayLike | None,
    rate: ArrayLike | None,
    displacement: ArrayLike | None,
) -> tuple[float | None, int]:
    """Shortest time to failure [min] if any is known, and how many are not."""
    if time_to_failure is not None:
        times = _above_zero("time_to_failure", time_to_failure, "min")
    elif rate is not None and displacement is not None:
        speed = _above_zero("rate", rate, "mm/min")
        times = _above_zero("displacement_at_failure", displacement, "mm") / speed
    else:
        return None, 0
    known = times[np.isfinite(times)]
    return (float(known.min()) if known.size else None), int(times.size - known.size)


def _above_zero(name: str, value: ArrayLike, unit: str) -> NDArray[np.float64]:
    values = np.atleast_1d(np.asarray(value, dtype=float))
    if np.any(values <= 0.0) or np.any(np.isinf(values)):
        raise InputError(name, value, f"allowed: above 0 {unit}")
    return values


def _clock(minutes: float) -> str:
    if minutes < 1.0:
        return f"{60.0 * minutes:.3g} s"
    return f"{minutes:.3g} min" if minutes < 120.0 else f"{minutes / 60.0:.3g} h"
