"""The sheet as one page that needs nothing beside it."""

from __future__ import annotations

import base64
import hashlib
import json
import math
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from slipmargin.cli.page.blocks import Cell, Factor, Picture, Section, Sheet, Slider
from slipmargin.cli.page.cells import verdict
from slipmargin.cli.page.equations import mathml
from slipmargin.cli.page.notices import WEIGHTS, words_of
from slipmargin.cli.page.pictures import Area, as_svg
from slipmargin.cli.page.slider import SliderData
from slipmargin.cli.visible_text import readable
from slipmargin.strength.working import digits, printed

__all__ = ["page"]

_TEMPLATES = Path(__file__).parent / "templates"
_RULER_END = 3.0
_LONGEST_WORD = 24


def page(sheet: Sheet) -> str:
    """The sheet as an HTML document."""
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_readable,
        keep_trailing_newline=True,
    )
    script = (_TEMPLATES / "sheet.js").read_text(encoding="utf-8")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    touched = {
        block.picture
        for section in sheet.sections
        for block in _blocks(section)
        if isinstance(block, Slider)
    }

    drawn: Counter[str] = Counter()

    def svg(picture: Picture) -> Markup:
        drawn[picture.key] += 1
        if (again := drawn[picture.key]) > 1:  # no two things on a page share a name
            picture = replace(picture, key=f"{picture.key}-again-{again}")
        return _svg(picture, marked=picture.key in touched)

    environment.globals.update(
        dict=dict,
        digits=digits,
        grid=_grid,
        half=_half,
        kind=lambda value: type(value).__name__,
        long=_long,
        math=lambda text: Markup(mathml(text)),  # its symbols are the program's own
        percent=_percent,
        printed=printed,
        ruler=_ruler,
        svg=svg,
        verdict=verdict,
        weights=WEIGHTS,
        words_of=words_of,
    )
    return environment.get_template("sheet.html.j2").render(
        sheet=sheet,
        css=Markup((_TEMPLATES / "sheet.css").read_text(encoding="utf-8")),
        script=Markup(script),
        script_hash=f"sha256-{digest}",
    )


def _blocks(section: Section) -> list[Any]:
    return [*section.blocks, *(block for leaf in section.leaves for block in leaf.blocks)]


def _readable(value: Any) -> Any:
    return readable(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _svg(picture: Picture, *, marked: bool) -> Markup:
    body, area = as_svg(picture, readable(picture.words))
    if marked:
        body = body.removesuffix("</svg>") + _marker(picture.key, area) + "</svg>"
    return Markup(body)


def _marker(key: str, area: Area) -> str:
    """What the sliders move over a strength map: a cross in a ring, outside the map at first."""
    return (
        f'<g id="{key}-marker" class="marker" transform="translate(-99 -99)" '
        f'data-left="{area.left:.2f}" data-bottom="{area.bottom:.2f}" '
        f'data-width="{area.width:.2f}" data-height="{area.height:.2f}">'
        '<circle r="9" fill="none" stroke="#ffffff" stroke-width="5"/>'
        '<circle r="9" fill="none" stroke="#8c3310" stroke-width="2.4"/>'
        '<path d="M-14 0H14M0 -14V14" stroke="#8c3310" stroke-width="1.6"/></g>'
    )


def _grid(data: SliderData) -> Markup:
    """The grid as JSON that no text in it can leave."""
    text = json.dumps(data.document(), ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    for sign in "<>&":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return Markup(text)


def _half(axis: Any) -> float:
    """Step of a slider: half that of the grid."""
    return round(float(axis[1] - axis[0]) / 2.0, 6)


def _long(cell: Cell) -> bool:
    """Whether a cell holds a word that must be broken."""
    return isinstance(cell, str) and any(len(word) > _LONGEST_WORD for word in cell.split())


def _percent(share: float) -> str:
    """A bound in percent, rounded up."""
    return f"{max(math.ceil(1e4 * share) / 100.0, 0.01):.2f} %"


def _ruler(row: tuple[Cell, ...]) -> Markup:
    """The factor of a row on a line from 0 to 3, with 1 and the target marked."""
    factor = next((one for one in row if isinstance(one, Factor)), None)
    if factor is None or math.isnan(factor.value):
        return Markup("")

    def x(value: float) -> str:
        return f"{4.0 + 150.0 * min(max(value, 0.0), _RULER_END) / _RULER_END:.1f}"

    ink = "#17212b"
    marks = [
        '<path d="M4 12H154" stroke="#8a949c" stroke-width="1"/>',
        f'<path d="M{x(1.0)} 4V20" stroke="{ink}" stroke-width="1.6"/>',
    ]
    if factor.target is not None:
        line = f'<path d="M{x(factor.target)} 4V20" stroke="{ink}" stroke-width="1.4"'
        marks.append(f'{line} stroke-dasharray="3 2"/>')
    at = x(factor.value)
    short = factor.is_short
    fill = "#8c3310" if short else "#23563d"
    if factor.value > _RULER_END:
        marks.append(f'<path d="M150 6.5L159 12L150 17.5Z" fill="{fill}"/>')
    elif short:
        marks.append(f'<path d="M{at} 6.5l5.5 5.5l-5.5 5.5l-5.5 -5.5Z" fill="{fill}"/>')
    else:
        marks.append(f'<circle cx="{at}" cy="12" r="4.6" fill="{fill}"/>')
    return Markup(
        '<svg class="ruler" viewBox="0 0 162 24" aria-hidden="true">' + "".join(marks) + "</svg>"
    )
