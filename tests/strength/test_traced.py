"""Numbers that remember how they came about: what they write gives what they hold."""

from __future__ import annotations

import numpy as np
import pytest

from slipmargin.strength.expression import reason, written
from slipmargin.strength.traced import WRITTEN, Traced, named, sourced, worded, written_as
from slipmargin.strength.working import put_numbers_in


def number(value: float, symbol: str) -> Traced:
    return Traced(value, symbol=symbol)


def text(found: Traced) -> str:
    return written(found)[0]


def test_an_expression_is_written_in_its_symbols_and_its_numbers() -> None:
    gamma, height = number(18.0, "γ"), number(6.0, "H")
    thrust = gamma * height**2 / 2.0
    equation, known = written(thrust)
    assert equation == "γ * H^2 / 2"
    assert put_numbers_in(equation, known) == "18 * 6^2 / 2"
    assert float(thrust) == pytest.approx(324.0)


def test_what_has_a_name_is_written_by_it() -> None:
    weight = named("W", number(18.0, "γ") * number(6.0, "A"))
    assert text(weight) == "γ * A"
    assert text(weight * number(0.1, "k_h")) == "W * k_h"


def test_angles_are_written_in_degrees_whatever_the_kernel_holds() -> None:
    beta = np.radians(number(30.0, "β"))
    assert text(np.sin(beta)) == "sin(β)"
    assert text(np.tan(np.pi / 4.0 + beta / 2.0)) == "tan(45 + β / 2)"
    assert text(np.degrees(np.arctan(number(1.0, "a") / number(2.0, "b")))) == "atan(a / b)"
    assert text(2.0 * np.arctan(number(1.0, "a"))) == "2 * π / 180 * atan(a)"
    steep = named("ψ", np.degrees(turn := np.arctan2(number(1.0, "a"), number(2.0, "b"))))
    assert text(steep) == "atan(a / b)"
    assert text(np.cos(turn)) == "cos(ψ)"
    assert text(np.cos(np.arctan(np.tan(beta)))) == "cos(β)"


def test_the_case_at_hand_is_written_and_a_bare_number_says_why() -> None:
    push, hold = number(0.0, "T"), number(5.0, "V")
    assert text(np.where(hold > 2.0, hold * 2.0, hold * 3.0)) == "V * 2"
    alone = np.where(push == 0.0, 1.0, 1.0 - push / hold)
    assert (text(alone), float(alone), reason(alone)) == ("", 1.0, "T = 0")
    both = np.where((push > 0.0) & (hold > 0.0), push, 0.0)
    assert reason(both) == "T ≤ 0"


def test_what_is_zero_or_does_nothing_drops_out() -> None:
    a, nothing = number(3.0, "a"), number(0.0, "q")
    assert text(a * 2.0 + nothing * a) == "a * 2"
    assert text(nothing - a) == "-a"
    assert text(np.cos(np.radians(nothing) + 0.0)) == "cos(q)"
    assert text(nothing + number(0.0, "p")) == "q"
    assert text(a / (1.0 + nothing * a)) == "a"
    assert text(np.maximum(a * 2.0, 0.0)) == "a * 2"
    assert text(np.maximum(-a, 0.0)) == "max(-a, 0)"
    assert text(np.clip(a / 4.0, 0.0, 1.0)) == "a / 4"


def test_the_least_of_several_is_written_once() -> None:
    a, b, c = number(5.0, "a"), number(3.0, "b"), number(2.0, "c")
    assert text(np.minimum(np.minimum(a, b), c)) == "min(a, b, c)"
    assert text(np.minimum(np.minimum(a, b) * a, c)) == "min(min(a, b) * a, c)"
    assert text(np.minimum(np.maximum(a, b), c)) == "min(max(a, b), c)"


def test_parentheses_stand_where_the_order_asks_for_them() -> None:
    a, b, c = number(5.0, "a"), number(3.0, "b"), number(2.0, "c")
    for found in (
        a - (b - c),
        a / (b * c),
        a / (b / c),
        (a + b) * c,
        (a + b) ** 2,
        -(a + b),
        a - -b,
        a - -b * c,
        a * (-b / c),
        a / -b,
        (-a) ** c,
        -(a + b) / c,
        c - -(a + b) / c,
        (a * b) ** c,
        a ** (b - c),
        -a * b + c,
        np.square(a - b) / np.sqrt(a + b),
        np.minimum(a, b) - np.abs(c - a),
    ):
        equation, known = written(found)
        worked = eval(
            put_numbers_in(equation, known).replace("^", "**"),
            {"sqrt": np.sqrt, "min": min, "max": max, "abs": abs},
        )
        assert worked == pytest.approx(float(found)), equation


def test_a_minus_stands_in_front_of_a_product_without_parentheses() -> None:
    a, b, c = number(5.0, "a"), number(3.0, "b"), number(2.0, "c")
    assert text(-a / (b * c)) == "-a / (b * c)"
    assert text(a + -b * c) == "a - b * c"
    assert text(a * -b) == "a * (-b)"
    assert text(a - -b * c) == "a + b * c"
    assert text(-(-b * c)) == "b * c"
    assert text(np.cos(-np.radians(a))) == "cos(a)"


def test_an_angle_past_the_vertical_is_that_of_its_line_and_half_a_turn() -> None:
    up, down, back = number(2.0, "u"), number(-2.0, "d"), number(-3.0, "b")
    assert text(np.degrees(np.arctan2(up, back))) == "atan(u / b) + 180"
    assert text(np.degrees(np.arctan2(down, back))) == "atan(d / b) - 180"


def test_what_a_search_found_says_so() -> None:
    found = worded(number(60.0, "ρ"), "Found by a search.")
    assert (text(found), reason(found), found.case) == ("", "", "Found by a search.")
    assert worded(60.0, "Found by a search.") == 60.0


def test_a_form_of_its_own_says_how_it_is_written() -> None:
    @written_as("{0} - 1")
    def less_one(n_q: float, exponent: float) -> float:
        return float(np.expm1(exponent))

    WRITTEN.pop()
    assert text(less_one(number(3.0, "N_q"), 1.0986123) / number(0.5, "t")) == "(N_q - 1) / t"
    assert less_one(3.0, 1.0) == pytest.approx(np.e - 1.0)


def test_a_kernel_that_leaves_its_numbers_is_stopped() -> None:
    with pytest.raises(TypeError, match="bare array"):
        np.asarray(number(1.0, "a"))
    with pytest.raises(TypeError, match="not written out"):
        np.cumsum(number(1.0, "a"))


def test_a_form_of_its_own_is_put_in_parentheses_only_where_it_must_be() -> None:
    @written_as("{0} / ({1} + {0})")
    def share(one: float, other: float) -> float:
        return one / (other + one)

    @written_as("π + 2")
    def limit(_angle: float) -> float:
        return float(np.pi + 2.0)

    for _ in range(2):
        WRITTEN.pop()
    found = share(number(3.0, "T"), number(5.0, "V"))
    assert text((1.0 - found) ** 2) == "(1 - T / (V + T))^2"
    assert text(found / limit(number(0.0, "φ"))) == "T / (V + T) / (π + 2)"


def test_an_equation_knows_its_source() -> None:
    found = sourced(number(3.0, "a") * 2.0, "Somebody (1948)")
    assert found.source == "Somebody (1948)"
    assert sourced(6.0, "Somebody (1948)") == 6.0
