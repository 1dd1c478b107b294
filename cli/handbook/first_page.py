"""The handbook's first page: from nothing to a factor of safety with its picture.

The files are the starter's own, and what each command prints is what it printed when this
handbook was written.
"""

from __future__ import annotations

from pathlib import Path

from slipmargin.cli.handbook.notebook import commanded
from slipmargin.cli.page.blocks import Block, Leaf, Lines, Picture, Section, Words
from slipmargin.cli.questions.check import Outcome
from slipmargin.cli.sheet.checks import section_picture
from slipmargin.cli.sheet.laboratory import laboratory_section

__all__ = ["first_page"]

_PROMISE = (
    "You need the program and a terminal, and nothing that you know beforehand but what a force "
    "and an angle are. At the end you have a factor of safety of a slope, its picture, and an "
    "idea of how far to trust it."
)

_BEFORE = (
    "Type the line below. If the answer is that there is no such command, switch on the "
    "environment that the program was installed in, or type python -m slipmargin in place of "
    "slipmargin everywhere."
)

_FILES = (
    "Two files make a run. The first command writes a pair into a new folder: a table of "
    "readings, and a scenario that says what ground they are from and which slope is asked about."
)
_READINGS = (
    "The readings, shear-box.csv. Soil was put into a box of two halves, pressed together with "
    "a normal force, and one half was pushed until the soil gave way: the largest push is the "
    "shear force. The gauge bounced, so each row gives the ends of its band. Test 2 was done "
    "twice."
)
_SCENARIO = (
    "The scenario, scenario.toml, as far as the first slope. Each number carries its unit. "
    "Below it, in the file, stand a wet season and a wall."
)

_LINE = (
    "Force over area is stress. In a plot of shear stress against normal stress the tests lie "
    "near a straight line. It climbs at the friction angle φ′: press harder, and the soil holds "
    "more. It starts at the cohesion c′: what holds with nothing pressing. Together they are "
    "the strength, τ = c′ + σ′ tan φ′, with σ′ the normal stress less what water carries. "
    "Before you type the next line, guess c′ and φ′ from the readings: the plane is 60 mm by 60 "
    "mm, and 100 N on it are 27.8 kPa."
)
_LINE_READ = (
    "The 95% limits say how far the tests leave the numbers open. Those of c′ stop at 0 because "
    "they are cut there: no soil has less. The cautious ones give a line on the safe side, within "
    "the tested range. The picture is in line.png."
)

_FACTOR = (
    "Now the slope: 1.5 m of soil, measured straight down, on a plane parallel to a bank that "
    "falls 1 in 2. Its weight pulls along the plane; the strength holds. The factor of safety is "
    "what can be held over what pulls: 1 is the edge, and the target says how far from it you "
    "want to stay."
)
_FACTOR_READ = (
    "Read three things: the factor beside its target, then the cautions, then the paragraph at "
    "the end. The sections are drawn into the folder sections, one file a check; any browser "
    "opens them. This is the first:"
)

_MOVE = (
    "Open scenario.toml in any editor. In the check called Bank, wet season, the water stands "
    '0.5 m below the ground. Guess what the factor becomes if it falls to 1.2 m; write "1.2 m", '
    "save, and run the check again. Or ask for the whole row at once:"
)

_ON = (
    "The other questions about the same file. In the answer of review, HANGS says that one line "
    "through the tests meets the target and another misses it, Miss is the probability of missing "
    "it, and s.e. how many standard errors above the fit the friction angle lies that just meets "
    "it. Then the tutorial: three notebooks of an hour each, "
    "for the student, the junior engineer and the reviewer, with ten exercises and their answers. "
    "The last line writes them out; in the whole handbook they stand as they run."
)
_OTHERS = (
    "slipmargin fit first/scenario.toml --soil bank --working",
    "slipmargin review first/scenario.toml",
    "slipmargin report first/scenario.toml -o first.html",
    "slipmargin start learn --tutorial",
)


def first_page(folder: Path, outcome: Outcome) -> Section:
    """The first page, from a folder in which the starter was written as ``first``."""

    def typed(command: str) -> tuple[Block, ...]:
        said = commanded(command, folder).rstrip().splitlines()
        return Lines((command,)), Lines(said, said=True)

    bank = outcome.checks[0]
    (line,) = (
        block
        for block in laboratory_section(outcome.scenario).leaves[0].blocks
        if isinstance(block, Picture)
    )
    slope = section_picture(bank.entry.check, bank.result, "handbook-first", bank.entry.label)
    table = (folder / "first" / "shear-box.csv").read_text(encoding="utf-8")
    scenario = (folder / "first" / "scenario.toml").read_text(encoding="utf-8")
    one_slope = "[[checks]]".join(scenario.split("[[checks]]")[:2])
    water = "checks.Bank, wet season.water_table_depth"
    return Section(
        "The first fifteen minutes",
        (Words(_PROMISE),),
        (
            Leaf("Before you start", (Words(_BEFORE), Lines(("slipmargin --version",)))),
            Leaf(
                "Two files",
                (
                    Words(_FILES),
                    Lines(("slipmargin start first",)),
                    Words(_READINGS),
                    _without_remarks(table),
                    Words(_SCENARIO),
                    _without_remarks(one_slope),
                ),
            ),
            Leaf(
                "The strength",
                (
                    Words(_LINE),
                    *typed("slipmargin fit first/scenario.toml --soil bank --plot line.png"),
                    line,
                    Words(_LINE_READ),
                ),
            ),
            Leaf(
                "The factor of safety",
                (
                    Words(_FACTOR),
                    *typed("slipmargin check first/scenario.toml --plot sections"),
                    Words(_FACTOR_READ),
                    slope,
                ),
            ),
            Leaf(
                "Move one number",
                (
                    Words(_MOVE),
                    *typed(
                        f'slipmargin sweep first/scenario.toml --vary "{water}" '
                        '--from "0 m" --to "1.5 m" --steps 6',
                    ),
                ),
            ),
            Leaf("Where to go on", (Words(_ON), Lines(_OTHERS))),
        ),
    )


def _without_remarks(text: str) -> Lines:
    kept = [line.partition("  #")[0].rstrip() for line in text.splitlines() if line[:1] != "#"]
    return Lines(tuple("\n".join(kept).strip().splitlines()))
