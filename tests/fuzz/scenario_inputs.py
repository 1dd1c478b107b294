"""Scenario files, built from the declared fields of every kind of check, and then broken.

Most values are such as a person would write; some stand at a limit; a few are nonsense. About
half of the scenarios can be checked, so that the search reaches the kernels as well as the
refusals.
"""

from __future__ import annotations

import datetime
from typing import Any

from chance import fraction, percent, rare, several
from hypothesis import strategies as st
from table_inputs import readings_files
from toml_text import toml_text

from slipmargin.stability import KINDS, fields

__all__ = ["scenario_files"]

UNITS = {
    "angle": ["deg", "deg", "deg", "rad"],
    "ground_angle": ["deg", "deg", "%", "V:H"],
    "length": ["m", "m", "m", "ft", "cm", "mm", "in"],
    "stress": ["kPa", "kPa", "psf", "tsf", "kgf/cm^2", "MPa", "Pa"],
    "unit_weight": ["kN/m^3", "kN/m^3", "pcf", "Mg/m^3", "kgf/m^3"],
    "force_per_length": ["kN/m", "kN/m", "lbf/ft", "kg/m"],
    "velocity": ["m/s", "cm/s", "in/s"],
}
IN_ONE = {  # numbers of each unit in the program's own
    "rad": 0.0174533, "ft": 3.28084, "cm": 100.0, "mm": 1000.0, "in": 39.3701, "psf": 20.8854,
    "tsf": 0.0104427, "kgf/cm^2": 0.0101972, "MPa": 0.001, "Pa": 1000.0, "pcf": 6.36588,
    "Mg/m^3": 0.101972, "kgf/m^3": 101.972, "lbf/ft": 68.5218, "kg/m": 101.972,
    "m/s": 1.0, "cm/s": 100.0, "in/s": 39.3701,
}  # fmt: skip
SENSIBLE = {
    "angle": (0.0, 42.0),
    "ground_angle": (2.0, 62.0),
    "length": (0.2, 12.0),
    "stress": (0.0, 40.0),
    "unit_weight": (13.0, 25.0),
    "force_per_length": (0.0, 80.0),
    "velocity": (0.01, 1.5),
    "ratio": (0.0, 0.5),
}
BY_NAME = {
    "target": (1.0, 2.0),
    "overconsolidation_ratio": (1.0, 4.0),
    "height": (1.0, 14.0),
    "face_angle": (25.0, 85.0),
    "upper_slope_angle": (0.0, 20.0),
    "backfill_slope_angle": (0.0, 24.0),
    "wall_batter": (-10.0, 15.0),
    "horizontal_seismic_coefficient": (0.0, 0.25),
    "vertical_seismic_coefficient": (-0.1, 0.1),
    "pore_pressure_ratio": (0.0, 0.5),
    "tension_crack_distance": (0.2, 4.0),
    "tension_crack_water_depth": (0.0, 1.0),
    "embedment": (0.0, 1.5),
    "unit_weight": (13.0, 25.0),
}
EDGES = [0.0, -0.0, 1e-300, 1e-12, 1e-6, 0.999999, 1.0, 45.0, 89.9999, 90.0, 1e3, 1e6, 1e12, 1e300]
NASTY_TEXT = [
    "", " ", "\t", "nan", "inf kPa", "1,8 m", "1e999 m", "-5 m", "0 m", "1V:0H", "0V:1H", "50 %",
    "١٢ m", "1.8 \u202em", "1\u00a0m", "12 parsec", "1 m^99", "1 m**m", "/ m", "9" * 400 + " m",
    "1e-400 m", "=1+1", "\x1b[31m", "a\x00b", "\n", "$\\frac{", "<script>", "{x}", "%s", "é" * 50,
    "-0.0 kPa", "+1 m", "1 m m m m m m m m m m", "1 m/m/m", "1 kPa*0", "\ud7ff\ufeff",
]  # fmt: skip
NASTY = [
    True, False, 0, -1, 3, 10**400, 1.5, -0.0, float("nan"), float("inf"), -float("inf"),
    [], [[]], [1, 2], [[0, 0], [1, "1 m"]], {}, {"a": 1}, {"unit_weight": "18 kN/m^3"},
    datetime.date(2020, 2, 29), datetime.datetime(2020, 1, 1, 12, 0), "x",
]  # fmt: skip
BASES = [
    {"method": "global"},
    {"method": "global", "targets": {"slope": 1.3, "bearing": 3.0}},
    {"method": "global", "targets": {"slope": 0.0, "colour": "red"}},
    {"method": "partial", "sets": ["DA1-1", "DA1-2", "DA2", "DA3"]},
    {"method": "partial", "sets": ["DA9"]},
    {"method": "partial"},
]
SWEPT = ("vary", "from", "to", "steps")
NAMES = ["bank", "fill", "clay 2", "dune-sand", "日本", "a.b", "x" * 60, "=cmd", "\x1b[2J", "$a$"]
SNIPPETS = [
    "[[checks]]", "[soils]", "x = 1", "[[sweeps]]", "kind = 3", '"', "'''", "[", "]", "{", "}", "=",
    "\x00", "\ufeff", "#", "a.b.c = 1", "soils = 1", "checks = {}", 'kind = "rotational"',
    "[uncertain]", '[ranges."x"]\nfoo = 1', "[reliability]\nsamples = -1", "1979-05-27", "\\u0000",
]  # fmt: skip


def nonsense() -> st.SearchStrategy[Any]:
    return st.one_of(st.sampled_from(NASTY_TEXT), st.sampled_from(NASTY), st.text(max_size=8))


def amount_text(draw: Any, value: float, dimension: str) -> Any:
    if dimension == "ratio":
        return value
    unit = draw(st.sampled_from(UNITS[dimension]))
    if unit == "V:H":
        return f"1V:{max(0.05, value / 20.0):.4g}H"
    return f"{value * IN_ONE.get(unit, 1.0):.5g} {unit}"


def amount(draw: Any, name: str, declaration: fields.Amount) -> Any:
    roll = draw(percent)
    if roll >= 99:
        return draw(nonsense())
    if roll >= 96:
        edges = [*EDGES, declaration.low, declaration.high]
        return amount_text(draw, draw(st.sampled_from(edges)), declaration.dimension)
    low, high = BY_NAME.get(name, SENSIBLE[declaration.dimension])
    low, high = max(low, declaration.low), min(high, declaration.high)
    value = low + draw(fraction) * (high - low)
    return amount_text(draw, value, declaration.dimension)


def line_of_points(draw: Any) -> Any:
    if rare(draw, 8):
        return draw(nonsense())
    x, y = 0.0, 0.0
    points: list[list[Any]] = [[x, y]] if draw(st.booleans()) else [[-5.0, 0.0], [x, y]]
    for _ in range(draw(st.integers(1, 5))):
        x += draw(fraction) * 8.0 - (0.5 if rare(draw, 6) else 0.0)
        y += draw(fraction) * 6.0 - (1.0 if rare(draw, 10) else 0.0)
        points.append([round(x, 3), f"{y:.3g} m" if rare(draw, 5) else round(y, 3)])
    return points


WALLS = {
    "cantilever": {
        "stem_height": (1.5, 6.0), "stem_top_thickness": (0.2, 0.4),
        "stem_bottom_thickness": (0.3, 0.7), "toe_width": (0.2, 1.2), "heel_width": (0.8, 3.0),
        "base_thickness": (0.3, 0.7),
    },
    "gravity": {
        "height": (1.0, 5.0), "top_width": (0.4, 1.0), "base_width": (0.8, 3.0),
        "back_offset": (0.0, 0.8),
    },
    "outline": {},
}  # fmt: skip
OUTLINES = [
    [[0, 0], [2.2, 0], [2.2, 0.5], [0.9, 0.5], [0.9, 4.0], [0.5, 4.0], [0.5, 0.5], [0, 0.5]],
    [[0, 0], [2, 0], [1, 4]],
    [[0, 0], [1, 1], [1, 0], [0, 1]],
    [[0, 0], [1, 0]],
]


@st.composite
def walls(draw: Any, record: type) -> dict[str, Any]:
    shape = draw(st.sampled_from(list(WALLS)))
    table: dict[str, Any] = {"unit_weight": "24 kN/m^3", "shape": shape}
    for name, (low, high) in WALLS[shape].items():
        table[name] = f"{low + draw(fraction) * (high - low):.3g} m"
    if shape == "outline":
        table["points"] = draw(st.sampled_from(OUTLINES))
    if rare(draw, 15):
        table |= {
            "key_depth": f"{draw(fraction):.3g} m",
            "key_width": "0.3 m",
            "key_position": f"{2 * draw(fraction):.3g} m",
        }
    if rare(draw, 10):
        strange = draw(records(record, ["bank"]))
        table |= {name: strange[name] for name in list(strange)[: draw(st.integers(1, 3))]}
    return table


@st.composite
def records(draw: Any, record: type, soils: list[str]) -> dict[str, Any]:
    """A table for one declared record."""
    table: dict[str, Any] = {}
    for name, declaration, default in fields.of(record):
        if isinstance(declaration, fields.Amount) and declaration.everywhere:
            continue
        needed = "MISSING" in repr(default)
        likely = name in ("height", "face_angle", "soil") or (name == "target")
        if not rare(draw, 98 if needed else 85 if likely else 15):
            continue
        match declaration:
            case fields.Amount():
                table[name] = amount(draw, name, declaration)
            case fields.Choice(options=options):
                table[name] = "x" if rare(draw, 2) else draw(st.sampled_from(options))
            case fields.Flag():
                table[name] = draw(st.booleans())
            case fields.SoilField():
                table[name] = "nowhere" if rare(draw, 1) else draw(st.sampled_from(soils))
            case fields.Ground():
                if needed or rare(draw, 45):
                    table[name] = line_of_points(draw)
            case fields.Part(kind=kind, many=True):
                table[name] = draw(st.lists(records(kind, soils), max_size=3))
            case fields.Part(kind=kind):
                inner = walls(kind) if name == "wall" else records(kind, soils)
                table[name] = draw(inner)
    return table


SOIL_CLASSES = ["SM", "CH", "GW", "ML", "SW", "XX"]
OF_A_FIT: dict[str, list[Any]] = {
    "state": ["peak", "end_of_test", "residual"],
    "intercept": ["non_negative", "free", "zero"],
    "value": ["best_fit", "cautious"],
    "envelope": ["line", "power"],
    "confidence": [0.5, 0.9, 0.95, 0.999999, 1.0],
    "area_correction": [True, False],
}
OF_A_SPECIMEN: dict[str, list[Any]] = {
    "height": ["25 mm", "0 mm", "1 in"],
    "added_normal_force": ["0.9 N", "-5 N", "50 gf"],
    "apparatus_friction": ["0.1 N", "1e6 N"],
    "zero_reading": ["0.2 N", "-1 N"],
    "time_to_failure": ["12 min", "0 min", "1 d"],
    "rate": ["0.05 mm/min", "0 mm/min"],
    "displacement_at_failure": ["3 mm", "0 mm"],
    "t50": ["2 min", "0 min"],
    "t90": ["2 h"],
    "dry": [True, False],
}


def some_of(draw: Any, words: dict[str, list[Any]], often: int) -> dict[str, Any]:
    return {k: draw(st.sampled_from(v)) for k, v in words.items() if rare(draw, often)}


@st.composite
def soil_tables(draw: Any, files: dict[str, bytes]) -> dict[str, Any]:
    low = 15.0 + 5.0 * draw(fraction)
    table: dict[str, Any] = {"unit_weight": f"{low:.4g} kN/m^3"}
    if rare(draw, 60):
        table["saturated_unit_weight"] = f"{low + 2.0:.4g} kN/m^3"
    table |= some_of(draw, {"cohesionless": [True, False], "soil_class": SOIL_CLASSES}, 8)
    if rare(draw, 70):
        cohesion = 0.0 if rare(draw, 25) else 25.0 * draw(fraction)
        strength = {
            "cohesion": amount_text(draw, cohesion, "stress"),
            "friction_angle": amount_text(draw, 12.0 + 30.0 * draw(fraction), "angle"),
        }
        edges = {"friction_angle": ["0 deg", "1e-9 deg", "1e-3 deg", "89.999 deg", "60 deg"]}
        strength |= some_of(draw, edges, 6)
        strength |= some_of(draw, {"cohesion": ["1e-9 kPa", "1e4 kPa", "1e9 kPa"]}, 3)
        return {**table, "strength": strength}
    name, content, forces = draw(readings_files())
    files[name] = content
    file = draw(st.sampled_from(["../" + name, "none.csv"])) if rare(draw, 3) else name
    table["strength"] = {"readings": file, **some_of(draw, OF_A_FIT, 12)}
    if name.endswith("ags"):
        table["strength"] |= some_of(draw, {"sample": ["BH1", "x"]}, 30)
    if rare(draw, 90 if forces else 30):
        specimen = {"shape": "square", "width": "60 mm"}
        table["specimen"] = specimen | some_of(draw, OF_A_SPECIMEN, 10)
    return table


@st.composite
def check_tables(draw: Any, soils: list[str]) -> dict[str, Any]:
    kind = draw(st.sampled_from(list(KINDS)))
    if kind == "retaining_wall" and rare(draw, 60):  # it takes ten times as long as the others
        kind = "earth_pressure"
    table = {"kind": kind, **draw(records(KINDS[kind], soils))}
    if rare(draw, 40):
        table["label"] = draw(st.sampled_from([*NAMES, *NASTY_TEXT]))
    if table.get("layers"):
        table.pop("soil", None)
    if "ground_line" in table and rare(draw, 80):
        for name in ("height", "face_angle", "upper_slope_angle", "backfill_slope_angle"):
            if kind != "earth_pressure" or name != "height":
                table.pop(name, None)
    return table


@st.composite
def scenario_tables(draw: Any, files: dict[str, bytes]) -> dict[str, Any]:
    names = draw(st.lists(st.sampled_from(NAMES), min_size=1, max_size=2, unique=True))
    table: dict[str, Any] = {
        "title": draw(st.sampled_from(NASTY_TEXT)) if rare(draw, 15) else "Cut",
        "soils": {name: draw(soil_tables(files)) for name in names},
        "checks": draw(st.lists(check_tables(names), min_size=1, max_size=2)),
    }
    field = f"soils.{names[0]}.friction_angle"
    strange_sweep = st.fixed_dictionaries(dict.fromkeys(SWEPT, nonsense()))
    for key, often, value in (
        ("groundwater_unit_weight", 4, st.sampled_from(["9.81 kN/m^3", "0 kN/m^3", "62.4 pcf"])),
        ("basis", 8, st.sampled_from(BASES)),
        ("basis", 2, nonsense().map(lambda v: {"method": "partial", "sets": v})),
        ("sweeps", 8, st.just([{"vary": field, "from": "20 deg", "to": "35 deg", "steps": 5}])),
        ("sweeps", 2, strange_sweep.map(lambda v: [v])),
        ("uncertain", 2, nonsense().map(lambda v: {field: {"distribution": "normal", "std": v}})),
        ("ranges", 2, nonsense().map(lambda v: {field: {"range": v}})),
        ("reliability", 2, nonsense().map(lambda v: {"samples": v, "seed": 1})),
        ("correlations", 2, nonsense().map(lambda v: [{"between": [field], "coefficient": v}])),
    ):
        if rare(draw, often):
            table[key] = draw(value)
    for _ in range(several(draw, 18, [1, 2])):
        _mutate(draw, table)
    return table


def _mutate(draw: Any, table: dict[str, Any]) -> None:
    """Change, take away or add one entry somewhere."""
    here: Any = table
    while not rare(draw, 35):
        held = here.values() if isinstance(here, dict) else here
        inner = [value for value in held if value and isinstance(value, (dict, list))]
        if not inner:
            break
        here = draw(st.sampled_from(inner))
    if isinstance(here, list):
        place: Any = draw(st.integers(0, len(here) - 1))
    else:
        place = draw(st.sampled_from(list(here)))
    roll = draw(percent)
    if roll < 45:
        here[place] = draw(nonsense())
    elif roll < 70:
        del here[place]
    elif isinstance(here, dict):
        here[place + draw(st.sampled_from(["x", "", "_", " "]))] = draw(nonsense())
    else:
        here.append(here[place])


@st.composite
def scenario_files(draw: Any) -> dict[str, bytes]:
    """Files of one scenario by name; ``s.toml`` is the scenario."""
    files: dict[str, bytes] = {}
    text = toml_text(draw(scenario_tables(files)))
    for _ in range(several(draw, 20, [1, 3])):
        place = draw(st.integers(0, len(text)))
        match draw(st.integers(0, 3)):
            case 0:
                text = text[:place] + draw(st.sampled_from(SNIPPETS)) + text[place:]
            case 1:
                text = text[:place] + text[place + draw(st.integers(1, 30)) :]
            case 2:
                text = text[:place] + "\n" + draw(st.sampled_from(SNIPPETS)) + "\n" + text[place:]
            case _:
                lines = text.split("\n")
                line = draw(st.integers(0, len(lines) - 1))
                lines.insert(draw(st.integers(0, len(lines))), lines[line])
                text = "\n".join(lines)
    files["s.toml"] = text.encode("utf-8", "surrogatepass")
    return files
