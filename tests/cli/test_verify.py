"""`verify` as a user meets it: passes on the program as it is, fails where a kernel is altered."""

from __future__ import annotations

import dataclasses
import functools
import importlib
import re
import subprocess
import sys
from typing import Any

import numpy as np
import pytest

from slipmargin.cli.verification import run
from slipmargin.cli.verification.rows import published_rows
from slipmargin.cli.verification.run import TOPICS
from slipmargin.stability.design.basis import CUSTOMARY_TARGETS
from slipmargin.stability.design.partial_factors import (
    ACTIONS,
    EQUILIBRIUM,
    RECOMMENDED,
    SLOPE_RESISTANCES,
    STRENGTHS,
    WALL_RESISTANCES,
)
from slipmargin.stability.earth_pressure import profile as pressure_profile


@pytest.mark.slow  # the rows themselves run daily, one by one
def test_the_whole_document_counts_what_reproduces_of_every_kind(slipmargin: Any) -> None:
    document = slipmargin("verify", "--json").json
    assert set(document["counts"]["kinds"]) == set(TOPICS)
    assert document["counts"]["values"] == document["counts"]["reproduce"] > 1000


@pytest.mark.parametrize("kind", ["strength", "infinite_slope", "earth_pressure"])
def test_the_document_names_every_source_and_counts_what_reproduces(
    slipmargin: Any, kind: str
) -> None:
    ran = slipmargin("verify", kind, "--json")
    assert ran.code == 0
    document = ran.json
    assert document["schema"] == 1
    assert set(document["counts"]["kinds"]) == {kind}
    counts, checks = document["counts"], document["checks"]
    assert counts["values"] == counts["reproduce"] == len(checks) > 10
    for check in checks:
        assert check["source"]
        assert check["reproduces"] is True
        assert check["difference"] == pytest.approx(check["computed"] - check["published"])
        assert abs(check["difference"]) <= check["tolerance"]
    fewer = [
        topic
        for kind in counts["kinds"].values()
        for topic, count in kind["topics"].items()
        if count["fewer_than_five"]
    ]
    assert ("power_curve" in fewer) == (kind == "strength")
    assert "infinite_slope" not in fewer


def test_the_table_fits_a_terminal_and_says_what_was_recalled(slipmargin: Any) -> None:
    ran = slipmargin("verify", "planar_wedge")
    assert ran.code == 0
    assert max(map(len, ran.out.splitlines())) <= 80
    text = " ".join(ran.out.split())
    assert "Wyllie & Mah, Rock Slope Engineering (4th ed.), Example 6.1(a)" in text
    assert "(from memory)" in text
    assert "common practice, no source" in text
    assert re.search(r"\b(\d+) of \1 values reproduce; \d+ are published", text)


def test_what_has_fewer_than_five_independent_values_is_said(slipmargin: Any) -> None:
    text = " ".join(slipmargin("verify", "strength").out.split())
    assert "Fewer than five independent published values: power_curve (1)" in text


def test_an_unknown_kind_is_a_usage_error(slipmargin: Any) -> None:
    ran = slipmargin("verify", "plane")
    assert ran.code == 2
    assert "known: strength" in ran.err


# A kernel that is off by a little: the field or the place of its answer, and by which share;
# tests/alteration alters all of them.
ALTERED = [
    ("strength", "slipmargin.strength.line", "fit_line", "slope", 1.001),
    ("shear_tests", "slipmargin.strength.quantities", "unit_factor", 0, 1.0003),
    (
        "infinite_slope",
        "slipmargin.stability.infinite_slope.check",
        "infinite_slope",
        "factor_of_safety",
        1.01,
    ),
    ("planar_wedge", "slipmargin.stability.planar_wedge.forces", "block_forces", "uplift", 1.005),
    ("rotational", "slipmargin.stability.rotational.log_spiral", "cohesion_required", 0, 0.99),
    ("layered_slope", "slipmargin.stability.layered_slope.spencer", "bishop", 0, 0.99),
    (
        "earth_pressure",
        "slipmargin.stability.earth_pressure.coefficients",
        "coulomb",
        None,
        1.002,
    ),
    (
        "retaining_wall",
        "slipmargin.stability.retaining_wall.equilibrium",
        "add_up",
        "righting",
        1.003,
    ),
    (
        "bearing_capacity",
        "slipmargin.stability.retaining_wall.bearing_factors",
        "bearing_factors",
        "weight",
        1.002,
    ),
    (
        "reliability",
        "slipmargin.stability.uncertainty.reliability",
        "normal_probability",
        None,
        1.1,
    ),
    (
        "partial_factors",
        "slipmargin.stability.design.partial_factors",
        "design_friction_angle",
        None,
        1.01,
    ),
]


def off(found: Any, part: str | int | None, share: float) -> Any:
    if isinstance(part, str):
        held = getattr(found, part)  # none where the case has no crack
        return found if held is None else dataclasses.replace(found, **{part: held * share})
    if isinstance(part, int):
        return tuple(one * share if k == part else one for k, one in enumerate(found))
    return np.asarray(found) * share


def alter(
    monkeypatch: pytest.MonkeyPatch, module: str, name: str, part: str | int | None, share: float
) -> None:
    """Put a kernel that is off in every place that holds the true one."""
    kernel = getattr(importlib.import_module(module), name)

    @functools.wraps(kernel)
    def altered(*given: Any, **named: Any) -> Any:
        return off(kernel(*given, **named), part, share)

    for place in [one for key, one in sys.modules.items() if key.startswith("slipmargin.")]:
        for held in [key for key, value in vars(place).items() if value is kernel]:
            monkeypatch.setattr(place, held, altered)


@pytest.mark.parametrize(
    ("kind", "module", "name", "part", "share"),
    ALTERED,
    ids=lambda part: str(part).rpartition(".")[2] if isinstance(part, str) else None,
)
def test_an_altered_kernel_is_found_out(
    kind: str,
    module: str,
    name: str,
    part: str | int | None,
    share: float,
    slipmargin: Any,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    alter(monkeypatch, module, name, part, share)
    if kind == "rotational":  # searched for in each of its rows: one is enough
        monkeypatch.setattr(run, "published_rows", lambda one: published_rows(one)[:1])
    ran = slipmargin("verify", kind)
    assert ran.code == 1
    text = " ".join(ran.out.split())
    assert "Does not reproduce:" in text
    assert "DO NOT REPRODUCE: do not rely on this copy of the program" in text


def test_every_kind_is_altered_once() -> None:
    assert {kind for kind, *_ in ALTERED} == set(TOPICS)


def test_an_altered_law_is_found_out(slipmargin: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    law = pressure_profile.ConjugateLaw
    true = law.pressure
    monkeypatch.setattr(law, "pressure", lambda self, stress: 1.01 * true(self, stress))
    ran = slipmargin("verify", "earth_pressure", "--json")
    assert ran.code == 1
    failed = {check["id"] for check in ran.json["checks"] if not check["reproduces"]}
    assert any("mazindrani" in name for name in failed)


ALTERED_TABLES: dict[str, Any] = {
    "ACTIONS": ACTIONS | {"A1": ACTIONS["A1"] | {"permanent_unfavourable": 1.4}},
    "STRENGTHS": STRENGTHS | {"M2": STRENGTHS["M2"] | {"undrained_strength": 1.45}},
    "WALL_RESISTANCES": WALL_RESISTANCES | {"R2": WALL_RESISTANCES["R2"] | {"sliding": 1.15}},
    "SLOPE_RESISTANCES": SLOPE_RESISTANCES | {"R2": {"slope_resistance": 1.15}},
    "EQUILIBRIUM": dataclasses.replace(EQUILIBRIUM, permanent_favourable=0.95),
    "RECOMMENDED": RECOMMENDED
    | {"DA3": dataclasses.replace(RECOMMENDED["DA3"], tan_friction_angle=1.3)},
    "CUSTOMARY_TARGETS": CUSTOMARY_TARGETS
    | {"slope": dataclasses.replace(CUSTOMARY_TARGETS["slope"], value=1.4)},
}


@pytest.mark.parametrize("table", ALTERED_TABLES)
def test_an_altered_table_is_found_out(
    table: str, slipmargin: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    home = "basis" if table == "CUSTOMARY_TARGETS" else "partial_factors"
    monkeypatch.setattr(f"slipmargin.stability.design.{home}.{table}", ALTERED_TABLES[table])
    assert slipmargin("verify", "partial_factors").code == 1


def test_a_kernel_that_raises_fails_its_rows_and_leaves_the_others(
    slipmargin: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: Any, **__: Any) -> Any:
        raise ZeroDivisionError("no more")

    monkeypatch.setattr("slipmargin.stability.uncertainty.reliability.normal_probability", broken)
    ran = slipmargin("verify", "reliability", "--json")
    assert ran.code == 1
    failed = [check for check in ran.json["checks"] if not check["reproduces"]]
    assert {check["failure"] for check in failed} == {"ZeroDivisionError: no more"}
    assert 0 < len(failed) < len(ran.json["checks"])


def test_the_command_alone_loads_the_check_values() -> None:
    """Other commands start without them."""
    code = "import sys, slipmargin.cli.main; sys.exit('slipmargin.cli.verification' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
