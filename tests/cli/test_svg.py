"""The SVG of a figure: where things stand, in which dress, and that it stands by itself."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.cli.page.svg import svg
from slipmargin.stability import InfiniteSlope, RetainingWall
from slipmargin.stability.check import examples_of
from slipmargin.stability.drawing.section import plot_section
from slipmargin.strength.drawing.frame import area, framed, line, scales
from slipmargin.strength.drawing.labels import Label, place_labels
from slipmargin.strength.drawing.lettering import setting

SPACE = "{http://www.w3.org/2000/svg}"


def numbers(text: str) -> np.ndarray:
    return np.array([float(one) for one in re.findall(r"-?[\d.]+", text)])


@pytest.mark.parametrize("kind", [InfiniteSlope, RetainingWall])
def test_every_name_is_its_own_and_all_that_is_used_is_there(kind: type) -> None:
    check = examples_of(kind)[0]
    text = svg(plot_section(check, check.evaluate()), "first", "a <b> & c")
    root = ElementTree.fromstring(text)
    names = [one.get("id") for one in root.iter() if one.get("id")]
    assert len(set(names)) == len(names)
    assert all(str(name).startswith("first-") for name in names)
    used = set(re.findall(r'href="#([^"]+)"', text) + re.findall(r"url\(#([^)]+)\)", text))
    assert used
    assert used <= set(names)
    assert root.findtext(f"{SPACE}title") == "a <b> & c"


def test_a_line_and_an_area_stand_at_their_points_in_their_dress() -> None:
    (axes,) = framed(4.0, [2.0], left=0.5, right=0.5, below=0.5, above=0.5)
    axes.set_xlim(0.0, 3.0)
    axes.set_ylim(0.0, 2.0)
    scales(axes, "", "")
    line(axes, [0.0, 3.0], [0.0, 1.0], color="#123456", linewidth=1.5, linestyle=(0, (4, 2)))
    area(axes, [(1, 1), (2, 1), (2, 2)], facecolor="#abcdef", alpha=0.5)
    paths = list(ElementTree.fromstring(svg(axes.figure, "k", "")).iter(f"{SPACE}path"))  # type: ignore[arg-type]
    (drawn,) = (one for one in paths if one.get("stroke") == "#123456")
    # 72 points an inch, y downward on paper of 3 inches
    assert_allclose(numbers(str(drawn.get("d")))[:4], [36.0, 180.0, 252.0, 108.0])
    assert drawn.get("stroke-width") == "1.5"
    assert_allclose(numbers(str(drawn.get("stroke-dasharray"))), [6.0, 3.0])
    (filled,) = (one for one in paths if one.get("fill") == "#abcdef")
    corners = [108.0, 108.0, 180.0, 108.0, 180.0, 36.0]
    assert_allclose(numbers(str(filled.get("d")))[:6], corners)
    assert filled.get("fill-opacity") == "0.5"


def test_words_are_as_wide_as_they_were_set_and_each_letter_is_held_once() -> None:
    (axes,) = framed(4.0, [2.0])
    axes.set_axis_off()
    place_labels(axes, [Label("otto", (0.5, 0.5)), Label("toot", (0.2, 0.2))], ())
    root = ElementTree.fromstring(svg(axes.figure, "k", ""))  # type: ignore[arg-type]
    shapes = [one for one in root.iter(f"{SPACE}path") if one.get("id")]
    assert len(shapes) == 2
    words = next(one for one in root.iter(f"{SPACE}g"))
    places = [float(str(one.get("x"))) for one in words]
    (matrix,) = {one.get("transform") for one in root.iter(f"{SPACE}use") if one.get("transform")
                 and one.get("href") == f"#{words.get('id')}"}  # fmt: skip
    scale = numbers(str(matrix))[0]
    first, last = (setting(text, 8.0).width for text in ("ott", "otto"))
    assert places[3] * scale - places[0] * scale == pytest.approx(first, abs=0.02)
    assert last > first


def test_by_itself_it_has_the_size_of_what_is_drawn() -> None:
    (axes,) = framed(4.0, [2.0])
    scales(axes, "across", "up")
    root = ElementTree.fromstring(svg(axes.figure, "k", "", margin=0.1))  # type: ignore[arg-type]
    box = numbers(str(root.get("viewBox")))
    assert_allclose([*numbers(str(root.get("width"))), *numbers(str(root.get("height")))], box[2:])
    assert 0.0 < box[2] <= 4.0 * 72.0
