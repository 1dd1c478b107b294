"""How results show themselves at a prompt and in a notebook."""

from __future__ import annotations

from html.parser import HTMLParser

import numpy as np
import pytest

from slipmargin.stability import EarthPressure, InfiniteSlope, Soil
from slipmargin.stability.factor_text import factor_shown, factor_text
from slipmargin.strength import (
    Notice,
    Pair,
    Readings,
    Specimen,
    Strength,
    fit_envelope,
    reduce_readings,
    strength_from_readings,
)
from slipmargin.strength.short_table import ShortTable, shown

MARKUP = "<script>alert('x')</script>&amp;"


class Cells(HTMLParser):
    """Tags, and the text of each cell."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.cells: list[str] = []
        self.whole = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.tags.add(tag)
        if tag in ("td", "th"):
            self.cells.append("")

    def handle_data(self, data: str) -> None:
        self.whole += data
        if self.cells:
            self.cells[-1] += data


KNOWN = {"div", "p", "b", "table", "thead", "tbody", "tr", "th", "td", "ul", "li"}


def readings() -> Readings:
    normal = np.array([25.0, 50.0, 100.0, 150.0])
    return Readings(
        test=("1", "2", "3", "4"),
        state=("peak",) * 4,
        normal=normal,
        shear=np.array([20.3, 35.2, 65.8, 94.9]),
        unit="kPa",
    )


def soil(**fields: object) -> Soil:
    strength = Strength(cohesion=4.0, friction_angle=31.0)
    return Soil(strength=strength, unit_weight=18.5, **fields)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, "-"),
        (np.nan, "-"),
        (np.inf, "no limit"),
        (1.23456, "1.23"),
        (np.array([1.0, 2.5]), "1 to 2.50 (2 values)"),
        (np.array([np.nan, 2.5]), "2.50 to 2.50 (2 values)"),
    ],
)
def test_a_value_is_shown_as_it_is_printed(value: object, text: str) -> None:
    assert shown(value, "kPa") == text  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("factor", "text"),
    [
        (0.999, "0.99"),
        (0.9951, "0.99"),
        (1.0, "1.00"),
        (1.236, "1.23"),
        (1.2957, "1.29"),
        (1.15, "1.15"),
        (np.inf, "no limit"),
        (np.array([0.999, np.inf]), "0.99 to no limit (2 values)"),
    ],
)
def test_a_factor_is_cut_and_never_rounded_up(factor: object, text: str) -> None:
    assert factor_shown(factor) == text  # type: ignore[arg-type]


def test_a_table_is_aligned_and_names_what_weighs() -> None:
    table = ShortTable(
        title="Title",
        header=("", "value"),
        rows=[("one", "1"), ("another", "22")],
        notices=(
            Notice.info("a", "Lighter."),
            Notice.caution("b", "Heavier."),
            Notice.stop("c", "Heaviest " + "word " * 30),
        ),
    )
    lines = table.text().splitlines()
    assert lines[:4] == ["Title", "         value", "one      1", "another  22"]
    assert lines[4].startswith("STOP    Heaviest")
    assert lines[5].startswith("        word")
    assert "CAUTION Heavier." in lines
    assert "and 1 to note: see .notices" in lines
    assert lines[-1].startswith("Preliminary")
    assert max(map(len, lines)) <= 88
    html = Cells(table.html())
    assert html.tags == KNOWN
    assert html.cells[:4] == ["", "value", "one", "1"]
    assert html.whole.index("Heaviest") < html.whole.index("Heavier") < html.whole.index("Lighter")


def test_a_check_shows_its_factors_and_notices() -> None:
    result = InfiniteSlope(
        soil=soil(name=MARKUP), slope_angle=28.0, depth=1.8, water_table_depth=0.6, target=1.5
    ).evaluate()
    text = repr(result)
    assert text.startswith("Infinite slope\n")
    assert f"Factor of safety, sliding  F       {factor_text(float(result.lowest))}" in text
    assert "below its target of 1.5" in text
    html = Cells(result._repr_html_())
    assert html.tags == KNOWN
    assert MARKUP in html.whole
    assert "Pore pressure on the plane." in html.cells
    assert shown(result.values.pore_pressure, "kPa") in html.cells
    for notice in result.notices:
        assert notice.text in html.whole


def test_a_check_over_arrays_shows_ranges() -> None:
    result = InfiniteSlope(soil=soil(), slope_angle=np.linspace(20, 40, 5), depth=1.8).evaluate()
    factors = np.asarray(result.lowest)
    assert f"{factor_text(factors.min())} to {factor_text(factors.max())} (5 values)" in repr(
        result
    )
    assert "(5 values)" in result._repr_html_()


def test_a_check_without_factors_shows_its_values() -> None:
    result = EarthPressure(soil=soil(), height=3.0).evaluate()
    assert shown(result.values.thrust, "kN/m") in repr(result)


def test_a_fit_shows_its_line_and_its_doubt() -> None:
    fit = fit_envelope(reduce_readings(readings()))
    lines = repr(fit).splitlines()
    assert lines[0] == "Strength line from 4 tests, peak"
    assert lines[2].split()[:3] == ["cohesion", "c′", f"{fit.best_fit.cohesion:.2f}"]
    assert fit.cautious is not None
    assert f"{fit.cautious.friction_angle:.2f}" in lines[3]
    assert Cells(fit._repr_html_()).tags <= KNOWN


def test_a_fit_that_cannot_tell_shows_dashes() -> None:
    two = Readings(
        test=("1", "2"),
        state=("peak",) * 2,
        normal=np.array([50.0, 100.0]),
        shear=np.array([35.0, 66.0]),
        unit="N",
    )
    fit = fit_envelope(reduce_readings(two))
    assert "intercept          4         -           -           -         N" in repr(fit)


def test_laboratory_work_shows_what_others_stated_and_every_notice() -> None:
    found = strength_from_readings(
        readings(), Specimen(shape="square", width=60.0), stated={MARKUP: Pair(8.0, 34.0)}
    )
    assert f"stated by {MARKUP}, c′  8" in repr(found)
    html = Cells(found._repr_html_())
    assert html.tags == KNOWN
    assert f"stated by {MARKUP}, φ′" in html.cells
    for notice in found.notices:
        assert notice.text in html.whole
