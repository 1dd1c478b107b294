"""Scenario files, built from the models that read them, and then broken.

Most values are such as a person would write; some stand at a limit; a few are nonsense. About
half of the scenarios can be checked, so that the search reaches the kernels as well as the
refusals. A key that a model declares is drawn without being told of here.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from copy import deepcopy
from functools import cache, partial
from typing import Any

from chance import Dice
from pydantic import BaseModel
from table_inputs import CALIBRATION, readings_file
from toml_text import toml_text

from slipmargin.cli.scenario.check_model import check_model
from slipmargin.cli.scenario.readers import Points, Unit, Word, reader_of
from slipmargin.cli.scenario.schema import ScenarioModel, SoilModel, SweepModel, model_of
from slipmargin.stability import KINDS, fields
from slipmargin.stability.design.partial_factors import RECOMMENDED
from slipmargin.strength.quantities import DIMENSIONS, unit_factor

__all__ = ["NASTY_TEXT", "check_table", "scenario_files", "table_of", "written"]

UNITS = {
    "length": ("mm", "cm", "in", "ft"), "angle": ("rad",), "ground_angle": ("rad",),
    "area": ("cm^2", "m^2", "in^2"), "time": ("s", "h"), "velocity": ("cm/s", "in/s", "ft/s"),
    "stress": ("Pa", "MPa", "kN/m^2", "psf", "ksf", "tsf", "psi", "kgf/cm^2"),
    "force": ("kN", "kgf", "gf", "lbf", "kip"), "force_per_length": ("N/m", "lbf/ft"),
    "displacement": ("m", "cm", "in"), "unit_weight": ("pcf", "lbf/ft^3"), "rate": ("in/min",),
    "ring_constant": ("kgf/div", "lbf/div"),
}  # fmt: skip
"""Units of the trade in which a quantity may stand."""

SENSIBLE = {
    "angle": (0.0, 42.0), "ground_angle": (2.0, 62.0), "length": (0.2, 12.0),
    "stress": (0.0, 40.0), "unit_weight": (13.0, 25.0), "force_per_length": (0.0, 80.0),
    "velocity": (0.01, 1.5), "ratio": (0.0, 0.5), "displacement": (1.0, 80.0), "force": (0.0, 5.0),
    "time": (1.0, 500.0), "rate": (0.01, 1.0), "ring_constant": (0.5, 4.0),
    "divisions": (0.0, 20.0),
}  # fmt: skip
BY_NAME = {
    "target": (1.0, 2.0), "overconsolidation_ratio": (1.0, 4.0), "height": (1.0, 14.0),
    "face_angle": (25.0, 85.0), "upper_slope_angle": (0.0, 20.0), "slope_angle": (10.0, 40.0),
    "backfill_slope_angle": (0.0, 24.0), "wall_batter": (-10.0, 15.0), "lever_ratio": (5.0, 15.0),
    "vertical_seismic_coefficient": (-0.1, 0.1), "tension_crack_distance": (0.2, 4.0),
    "horizontal_seismic_coefficient": (0.0, 0.25), "tension_crack_water_depth": (0.0, 1.0),
    "tension_crack_depth": (0.2, 3.0), "embedment": (0.0, 1.5), "confidence": (0.5, 0.999),
    "magnitude": (5.0, 8.0), "standing_water_level": (0.0, 4.0), "water_line_rise": (-1.0, 1.0),
    "x": (-2.0, 12.0), "y": (4.0, 30.0), "radius": (5.0, 40.0), "friction_angle": (12.0, 42.0),
    "saturated_unit_weight": (18.0, 23.0), "plane_angle": (15.0, 55.0),
    "stem_height": (1.5, 6.0), "stem_top_thickness": (0.2, 0.4),
    "stem_bottom_thickness": (0.3, 0.7), "toe_width": (0.2, 1.2), "heel_width": (0.8, 3.0),
    "base_thickness": (0.3, 0.7), "top_width": (0.4, 1.0), "base_width": (0.8, 3.0),
    "back_offset": (0.0, 0.8), "key_depth": (0.1, 1.0), "key_width": (0.2, 0.4),
    "key_position": (0.0, 2.0),
}  # fmt: skip
EDGES = [0.0, -0.0, 1e-300, 1e-12, 1e-6, 0.999999, 1.0, 45.0, 89.9999, 90.0, 1e3, 1e6, 1e12, 1e300]
NASTY_TEXT = [
    "", " ", "\t", "nan", "inf kPa", "1,8 m", "1e999 m", "-5 m", "0 m", "1V:0H", "0V:1H", "50 %",
    "١٢ m", "1.8 \u202em", "1\u00a0m", "12 parsec", "1 m^99", "1 m**m", "/ m", "9" * 400 + " m",
    "1e-400 m", "=1+1", "\x1b[31m", "a\x00b", "\n", "$\\frac{", "<script>", "{x}", "%s", "é" * 50,
    "-0.0 kPa", "+1 m", "1 m m m m m m m m m m", "1 m/m/m", "1 kPa*0", "\ud7ff\ufeff", "full",
]  # fmt: skip
NASTY = [
    True, False, 0, -1, 3, 10**400, 1.5, -0.0, float("nan"), float("inf"), -float("inf"),
    [], [[]], [1, 2], [[0, 0], [1, "1 m"]], {}, {"a": 1}, {"unit_weight": "18 kN/m^3"},
    datetime.date(2020, 2, 29), datetime.datetime(2020, 1, 1, 12, 0), "x",
]  # fmt: skip
NAMES = ["bank", "fill", "clay 2", "dune-sand", "日本", "a.b", "x" * 60, "=cmd", "\x1b[2J", "$a$"]
SNIPPETS = [
    "[[checks]]", "[soils]", "x = 1", "[[sweeps]]", "kind = 3", '"', "'''", "[", "]", "{", "}", "=",
    "\x00", "\ufeff", "#", "a.b.c = 1", "soils = 1", "checks = {}", 'kind = "rotational"',
    "[uncertain]", '[ranges."x"]\nfoo = 1', "[reliability]\nsamples = -1", "1979-05-27", "\\u0000",
    "[[variants]]", "[sheet]", "[[checks.layers]]", "[checks.wall]",
]  # fmt: skip
OUTLINES = [
    [[0, 0], [2.2, 0], [2.2, 0.5], [0.9, 0.5], [0.9, 4.0], [0.5, 4.0], [0.5, 0.5], [0, 0.5]],
    [[0, 0], [2, 0], [1, 4]],
    [[0, 0], [1, 1], [1, 0], [0, 1]],
    [[0, 0], [1, 0]],
]
WALLS = {
    "cantilever": ["stem_height", "stem_top_thickness", "stem_bottom_thickness", "toe_width",
                   "heel_width", "base_thickness"],
    "gravity": ["height", "top_width", "base_width", "back_offset"],
    "outline": ["points"],
}  # fmt: skip
KEY = ["key_depth", "key_width", "key_position"]
LIKELY = {
    "height": 96, "face_angle": 96, "soil": 97, "target": 60, "saturated_unit_weight": 60,
    "layers": 96,
}  # fmt: skip
BESIDE = {  # what the first needs
    "magnitude": "peak_acceleration", "peak_velocity": "peak_acceleration",
    "water_line_rise": "water_line", "seepage_angle": "water_table_depth",
    "tension_crack_water_depth": "tension_crack_depth", "surcharge_setback": "surcharge",
    "surcharge_width": "surcharge", "support_angle": "support_force",
    "support_height": "support_force", "peak_acceleration": "horizontal_seismic_coefficient",
}  # fmt: skip
OFTEN = {  # those that search take the longest
    "infinite_slope": 50, "earth_pressure": 30, "planar_wedge": 20, "rotational": 1.5,
    "retaining_wall": 1.5, "layered_slope": 0.5,
}  # fmt: skip

Maker = Callable[[Dice], Any]


def nonsense(dice: Dice) -> Any:
    kind = dice.randint(0, 2)
    # a list that a later change went into would come up again, in this input and the next
    return deepcopy((dice.choice(NASTY_TEXT), dice.choice(NASTY), dice.text(8))[kind])


def written(dice: Dice, value: float, dimension: str) -> Any:
    """A value in the program's own unit, as a person writes it."""
    if dimension == "ratio":
        return value
    own = DIMENSIONS[dimension].canonical
    if dimension == "ground_angle" and dice.rare(20):
        return f"1V:{max(0.05, value / 20.0):.4g}H" if dice.rare(60) else f"{2.0 * value:.3g} %"
    unit = own if dice.rare(60) else dice.choice([own, *UNITS.get(dimension, ())])
    return f"{value / unit_factor(unit, dimension)[0]:.5g} {unit}"


def amount(dice: Dice, name: str, reader: Unit) -> Any:
    if dice.wild and dice.rare(1):
        return nonsense(dice)
    if reader.words and dice.rare(20):
        return dice.choice(reader.words)
    limits = getattr(reader.check, "__self__", fields.Amount("ratio", "", ""))
    least = max(limits.low, limits.above, -1e9)
    most = min(limits.high, limits.below, 1e9)
    if dice.rare(3 if dice.wild else 0.4):
        return written(dice, dice.choice([*EDGES, least, most]), reader.dimension)
    low, high = BY_NAME.get(name, SENSIBLE[reader.dimension])
    return written(dice, dice.between(max(low, least), min(high, most)), reader.dimension)


def line_of_points(dice: Dice) -> Any:
    if dice.wild and dice.rare(8):
        return nonsense(dice)
    x, y = 0.0, 0.0
    points: list[list[Any]] = [[x, y]] if dice.rare(50) else [[-5.0, 0.0], [x, y]]
    for _ in range(dice.randint(1, 5)):
        x += dice.fraction() * 8.0 - (0.5 if dice.rare(3) else 0.0)
        y += dice.fraction() * 6.0 - (1.0 if dice.rare(5) else 0.0)
        points.append([round(x, 3), f"{y:.3g} m" if dice.rare(5) else round(y, 3)])
    if dice.rare(60):
        points.append([x + 40.0, round(y, 3)])
    return points


@cache
def keys_of(model: type[BaseModel]) -> list[tuple[str, bool, Maker]]:
    """Each key of a model, whether it is needed, and what draws its value."""
    found = []
    for name, info in model.model_fields.items():
        key = info.alias or name
        found.append((key, info.is_required(), _maker(model, key)))
    return found


def by_state(dice: Dice, one: Maker) -> dict[str, Any]:
    return {word: one(dice) for word in dice.some(["slope", "sliding", "bearing", "x"], 0, 2)}


def _maker(model: type[BaseModel], key: str) -> Maker:
    info = next(i for n, i in model.model_fields.items() if (i.alias or n) == key)
    said = str(info.annotation)
    inner = model_of(model, key)

    def many(dice: Dice) -> Any:
        return [table_of(dice, inner) for _ in range(dice.randint(0, 3))] if inner else []

    match reader_of(info):
        case Unit() as reader:
            one = partial(amount, name=key, reader=reader)
            return partial(by_state, one=one) if "dict" in said else one
        case Word(options=options):
            return lambda dice: "x" if dice.wild and dice.rare(2) else dice.choice(options)
        case Points():
            return line_of_points
        case _ if inner is not None and "dict" not in said:
            return many if "list" in said else lambda dice: table_of(dice, inner)
    if "bool" in said:
        return lambda dice: dice.rare(50)
    return lambda dice: dice.choice(NAMES) if dice.rare(70) else nonsense(dice)


def table_of(
    dice: Dice, model: type[BaseModel], own: dict[str, Any] | None = None, often: float = 12.0
) -> dict[str, Any]:
    """A table for one model; ``own`` holds what draws the values of some keys, or their value."""
    table: dict[str, Any] = {}
    own = own or {}
    for key, needed, maker in keys_of(model):
        likely = LIKELY.get(key, often)
        if not dice.rare((98 if dice.wild else 100) if needed else likely):
            continue
        made = own.get(key, maker)
        table[key] = made(dice) if callable(made) else made
    return table


def wall(dice: Dice, model: type[BaseModel]) -> dict[str, Any]:
    shape = dice.choice(list(WALLS))
    drawn = table_of(dice, model, {"points": dice.choice(OUTLINES)}, often=100.0)
    kept = WALLS[shape] + (KEY if dice.rare(15) else [])
    if dice.wild and dice.rare(10):
        kept += dice.some(list(drawn), 1, 3)
    table: dict[str, Any] = {"unit_weight": "24 kN/m^3", "shape": shape}
    return table | {key: drawn[key] for key in kept if key in drawn}


def soil_table(dice: Dice, files: dict[str, bytes]) -> dict[str, Any]:
    low = dice.between(15.0, 18.0)
    own: dict[str, Any] = {
        "unit_weight": written(dice, low, "unit_weight"),
        "soil_class": lambda d: d.choice(["SM", "CH", "GW", "ML", "XX" if d.wild else "SW"]),
    }
    table = table_of(dice, SoilModel, own, often=4.0)
    if not isinstance(table.get("strength"), dict):
        return table
    held = {key: value for key, value in table["strength"].items() if key == "stated_by"}
    if dice.rare(75):
        cohesion = 0.0 if dice.rare(25) else dice.between(0.0, 25.0)
        held |= {
            "cohesion": written(dice, cohesion, "stress"),
            "friction_angle": written(dice, dice.between(12.0, 42.0), "angle"),
        }
        if dice.rare(5):
            edges = ["0 deg", "1e-9 deg", "1e-3 deg", "89.999 deg", "60 deg"]
            held["friction_angle"] = dice.choice(edges)
        if dice.rare(3):
            held["cohesion"] = dice.choice(["1e-9 kPa", "1e4 kPa", "1e9 kPa"])
        if not dice.wild:
            table = {k: v for k, v in table.items() if k not in ("specimen", "apparatus")}
        return {**table, "strength": held}
    made = readings_file(dice)
    files[made.name] = made.content
    strength = model_of(SoilModel, "strength")
    assert strength is not None
    no_pair = {"cohesion", "friction_angle", "sample", "test_kind", "beside", "stated_by"}
    drawn = table_of(dice, strength, {"readings": made.name}, often=12.0)
    held |= {k: v for k, v in drawn.items() if k not in no_pair or (dice.wild and dice.rare(10))}
    held["readings"] = made.name
    if dice.wild and dice.rare(4):
        held["readings"] = dice.choice(["../" + made.name, "none.csv", ".", "/etc/hostname"])
    if made.name.endswith("ags"):
        held |= {"sample": "BH1"} if dice.rare(30) else {}
        held |= {"test_kind": dice.choice(made.kinds)} if dice.rare(40) else {}
    if dice.rare(5):
        beside = readings_file(dice)
        files["beside-" + beside.name] = beside.content
        held["beside"] = "beside-" + beside.name
    table["strength"] = held
    if made.forces and dice.rare(92):
        specimen = model_of(SoilModel, "specimen")
        assert specimen is not None
        square = dice.rare(60)
        shape = {"shape": "square"} if square else {"shape": "circle"}
        box = table_of(dice, specimen, often=10.0) | shape
        box["width" if square else "diameter"] = "60 mm"
        box.pop("diameter" if square else "width", None)
        table["specimen"] = box
    if made.raw and dice.rare(95):
        table["apparatus"] = {"lever_ratio": 10, "dial_zero": "2 div"}
        if dice.rare(30):
            files["ring.csv"] = dice.choice(CALIBRATION)
            table["apparatus"]["ring_calibration"] = "ring.csv"
        else:
            table["apparatus"]["ring_constant"] = "1.85 N/div"
    return table


def check_table(dice: Dice, soils: list[str], kind: str = "") -> dict[str, Any]:
    kind = kind or dice.choices(list(KINDS), [OFTEN.get(kind, 10) for kind in KINDS])[0]
    model = check_model(kind)

    def soil(dice: Dice) -> str:
        return "nowhere" if dice.wild and dice.rare(1) else dice.choice(soils)

    def layers(dice: Dice) -> list[dict[str, Any]]:
        inner = model_of(model, "layers")
        assert inner is not None
        return [
            table_of(dice, inner, {"soil": soil}, often=0.0 if number == 0 else 90.0)
            for number in range(dice.randint(1, 3))
        ]

    own: dict[str, Any] = {
        **dict.fromkeys(("soil", "backfill", "foundation"), soil),
        "kind": kind,
        "label": lambda d: d.choice(NAMES if d.rare(80) or not d.wild else NASTY_TEXT),
        "layers": layers,
    }
    if (inner := model_of(model, "wall")) is not None:
        own["wall"] = lambda d: wall(d, inner)
    table = table_of(dice, model, own, often=10.0 if dice.wild else 6.0)
    makers = {key: made for key, _, made in keys_of(model)}
    for key, needed in BESIDE.items():
        if key in table and needed in makers and dice.rare(92):
            table.setdefault(needed, makers[needed](dice))
    if kind == "planar_wedge" and "plane_angle" in makers and dice.rare(92):
        table.setdefault("plane_angle", makers["plane_angle"](dice))
    if kind == "layered_slope" and dice.rare(97):
        table.setdefault("ground_line", line_of_points(dice))
    if kind == "earth_pressure" and (dice.rare(95) or not dice.wild):
        shaken = {"horizontal_seismic_coefficient", "vertical_seismic_coefficient", "wall_adhesion"}
        if table.get("theory", "rankine") in ("rankine", "at_rest"):
            table = {key: value for key, value in table.items() if key not in shaken}
    if table.get("layers"):
        table.pop("soil", None)
    if "ground_line" in table and dice.rare(90):
        for name in ("height", "face_angle", "upper_slope_angle", "backfill_slope_angle"):
            if kind != "earth_pressure" or name != "height":
                table.pop(name, None)
    if kind == "earth_pressure" and "ground_line" in table and dice.rare(80):
        table["theory"] = "trial_wedge"
    return table


def field_path(dice: Dice, table: dict[str, Any]) -> str:
    """A field by its path; most of them are there."""
    if dice.wild and dice.rare(6):
        return str(dice.choice([*NASTY_TEXT, "soils.", "checks.x.height", "title", "soils.bank"]))
    if dice.rare(50):
        fields = ["friction_angle", "cohesion", "unit_weight", "strength.state"]
        field = dice.choice(fields[:3] if dice.rare(95) else fields)
        return f"soils.{dice.choice(list(table['soils']))}.{field}"
    check = dice.choice(table["checks"])
    label = check.get("label", f"{check.get('kind', 'x')} 1".replace("_", " "))
    return f"checks.{label}.{dice.choice(list(check))}"


def value_at(dice: Dice, path: str) -> Any:
    """A value that may do for the field at the end of a path."""
    if dice.wild and dice.rare(10):
        return nonsense(dice)
    name = path.rpartition(".")[2]
    dimension = next(
        (u for word, u in (("angle", "angle"), ("weight", "unit_weight"), ("cohesion", "stress"),
                           ("surcharge", "stress"), ("coefficient", "ratio"), ("ratio", "ratio"),
                           ("target", "ratio")) if word in name),
        "length",
    )  # fmt: skip
    return written(dice, dice.between(*BY_NAME.get(name, SENSIBLE[dimension])), dimension)


def sweep_table(dice: Dice, table: dict[str, Any]) -> dict[str, Any]:
    def run(_: Dice) -> dict[str, Any]:
        path = field_path(dice, table)
        steps = dice.choice([2, 3, 4, 5]) if dice.rare(96) else dice.choice([0, 1, -1, 10**6, 3.5])
        ends = {"from": value_at(dice, path), "to": value_at(dice, path)}
        return {"vary": path, **ends, "steps": steps}

    drawn = table_of(dice, SweepModel, {"second": run}, often=12.0)
    return {**{key: drawn[key] for key in ("second",) if key in drawn}, **run(dice)}


def distribution(dice: Dice, path: str) -> dict[str, Any]:
    kind = dice.choice(["normal", "lognormal", "uniform", "triangular"])
    keys = {"uniform": ["low", "high"], "triangular": ["low", "mode", "high"]}
    table: dict[str, Any] = {"distribution": kind}
    for key in keys.get(kind, ["mean", "std"]):
        if dice.rare(96):
            table[key] = value_at(dice, path)
    return table


def basis(dice: Dice, model: type[BaseModel]) -> dict[str, Any]:
    own = {
        "method": dice.choice(["global", "partial"]),
        "sets": lambda d: d.some(["DA1-1", "DA1-2", "DA2", "DA3", "mine", "DA9"], 1, 3),
        "own_sets": lambda d: {
            "mine": {
                key: d.choice([1.0, 1.25, 1.4, 0.9, 0.0, "x"] if d.wild else [1.0, 1.0, 1.25])
                for key in RECOMMENDED["DA1-1"].factors
                if not d.rare(3)
            }
        },
    }
    table = table_of(dice, model, own, often=25.0)
    if table.get("method") == "partial" and "sets" not in table:
        table["sets"] = dice.some(["DA1-1", "DA1-2", "DA2", "DA3"], 1, 4)
    if not dice.wild and table.get("method") == "global":
        table = {key: table[key] for key in ("method", "targets") if key in table}
    return table


def variant(dice: Dice, table: dict[str, Any], name: str) -> dict[str, Any]:
    paths = [field_path(dice, table) for _ in range(dice.randint(0 if dice.wild else 1, 2))]
    found: dict[str, Any] = {"name": name}
    if dice.rare(90):
        found["set"] = {path: value_at(dice, path) for path in paths}
    if dice.rare(15):
        found["leave_out"] = [field_path(dice, table)]
    return found


def scenario_table(
    dice: Dice, files: dict[str, bytes], *, checks: int = 2, wanted: tuple[str, ...] = ()
) -> dict[str, Any]:
    """The tables of a scenario; ``wanted`` names keys that it is to have."""
    names = dice.some(NAMES, 1, 2)
    table: dict[str, Any] = {
        "title": "Cut",
        "soils": {name: soil_table(dice, files) for name in names},
        "checks": [check_table(dice, names) for _ in range(1 if dice.rare(60) else checks)],
    }
    top: dict[str, Maker] = {
        "title": lambda d: d.choice(NASTY_TEXT),
        "basis": lambda d: basis(d, model_of(ScenarioModel, "basis")),  # type: ignore[arg-type]
        "sweeps": lambda d: [sweep_table(d, table) for _ in range(d.randint(1, 2))],
        "uncertain": lambda d: {
            path: distribution(d, path) for path in (field_path(d, table), field_path(d, table))
        },
        "ranges": lambda d: {
            path: {"range": [value_at(d, path), value_at(d, path)]}
            for path in [field_path(d, table)]
        },
        "correlations": lambda d: [
            {
                "between": [field_path(d, table), field_path(d, table)],
                "coefficient": d.choice([0.5, -0.99, 0, 1, 2]),
            }
        ],
        "reliability": lambda d: {
            "samples": d.choice([100, 101, 128]) if d.rare(95) else d.choice([-1, 0, 10**12]),
            "seed": d.choice([0, 1, -1, 2**70]) if d.wild else 1,
            "sampling": d.choice(["random", "sobol"]),
        },
        "variants": lambda d: [
            variant(d, table, name) for name in (["wet", "berm"] if d.rare(90) else ["wet", "wet"])
        ],
    }
    for key, _, maker in keys_of(ScenarioModel):
        if key in ("soils", "checks"):
            continue
        if key in wanted or dice.rare(4.0 if dice.wild else 2.5):
            table[key] = top.get(key, maker)(dice)
    return table


def _mutate(dice: Dice, table: dict[str, Any]) -> None:
    """Change, take away or add one entry somewhere."""
    here: Any = table
    while not dice.rare(35):
        held = here.values() if isinstance(here, dict) else here
        inner = [value for value in held if value and isinstance(value, (dict, list))]
        if not inner:
            break
        here = dice.choice(inner)
    if isinstance(here, list):
        place: Any = dice.randint(0, len(here) - 1)
    else:
        place = dice.choice(list(here))
    roll = dice.randint(0, 99)
    if roll < 45:
        here[place] = nonsense(dice)
    elif roll < 70:
        del here[place]
    elif isinstance(here, dict):
        here[place + dice.choice(["x", "", "_", " "])] = nonsense(dice)
    else:
        here.append(here[place])


def scenario_files(
    dice: Dice, *, checks: int = 2, wanted: tuple[str, ...] = ()
) -> tuple[dict[str, bytes], dict[str, Any]]:
    """Files of one scenario by name, ``s.toml`` being the scenario, and its tables as meant."""
    files: dict[str, bytes] = {}
    table = scenario_table(dice, files, checks=checks, wanted=wanted)
    broken = table
    if changes := dice.mutations(16, [1, 2]):
        broken = deepcopy(table)
        for _ in changes:
            _mutate(dice, broken)
    text = toml_text(broken)
    for _ in dice.mutations(10, [1, 3]):
        place = dice.randint(0, len(text))
        match dice.randint(0, 3):
            case 0:
                text = text[:place] + dice.choice(SNIPPETS) + text[place:]
            case 1:
                text = text[:place] + text[place + dice.randint(1, 30) :]
            case 2:
                text = text[:place] + "\n" + dice.choice(SNIPPETS) + "\n" + text[place:]
            case _:
                lines = text.split("\n")
                lines.insert(dice.randint(0, len(lines)), dice.choice(lines))
                text = "\n".join(lines)
    files["s.toml"] = text.encode("utf-8", "surrogatepass")
    return files, table
