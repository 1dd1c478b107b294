"""Readings files, as CSV, workbook and in the transfer format, sound and broken."""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass

from chance import Dice

__all__ = ["CALIBRATION", "Made", "readings_file"]

CELLS = [
    "", " ", "nan", "inf", "-inf", "-5", "0", "-0.0", "1e400", "1e308", "1e-320", "1,5", "=1+1",
    "abc", "1e3", ".5", "5.", "+7", "0x10", "1_000", "١٢", "9" * 400, "\x1b[31m", '"', "'", "peak",
    "end_of_test", "residual", "#", "\ufeff", "1 2", "--1", "1e", "é" * 200,
]  # fmt: skip
WORDS = ["psf", "m", "GROUP", "DATA", "SHBT", "LOCA_ID", "TRAN", "UNIT"]
HEADERS = [
    "test", "state", "normal_stress [kPa]", "normal_stress [psf]", "normal_force [N]",
    "normal_force [kg]", "shear_stress [kPa]", "shear_force [N]", "shear_force [lbf]",
    "shear_stress_low [kPa]", "shear_stress_high [kPa]", "shear_force_low [N]",
    "shear_force_high [N]", "displacement [mm]", "displacement [in]", "vertical_displacement [mm]",
    "rate [mm/min]", "rate [in/min]", "normal_stress", "colour", "", "normal_stress [m]",
    "cell_pressure [kPa]", "deviator_stress [psf]", "pore_pressure [kPa]", "load [N]",
    "hanger_load [kg]", "hanger_load [N]", "dial [div]", "dial_low [div]", "dial_high [div]",
    "Normal stress (kPa)", "SHEAR STRESS [kg/cm2]", "σ′ [kPa]", "tau",
    "displacement []", "test [kPa]", "shear_stress [kPa^2]", "shear_stress [\x00]",
]  # fmt: skip


@dataclass(frozen=True)
class Made:
    """A readings file: whether it holds forces, or raw readings, and which kinds of test."""

    name: str
    content: bytes
    forces: bool = False
    raw: bool = False
    kinds: tuple[str, ...] = ("direct_shear",)


def readings_file(dice: Dice) -> Made:
    """A file of any kind that can be fitted, sound or broken."""
    if dice.rare(12):
        return _ags(dice)
    way = dice.choices(["points", "records", "raw", "triaxial"], [55, 15, 15, 15])[0]
    forces = dice.rare(50)
    table = {"points": points, "records": records, "raw": raw, "triaxial": triaxial}[way](
        dice, forces
    )
    for _ in dice.mutations(20, [1, 2, 4]):
        _mutate(dice, table)
    kinds = ("triaxial",) if way == "triaxial" else ("direct_shear",)
    made = Made("lab.csv", b"", forces or way == "raw", way == "raw", kinds)
    if dice.rare(0.4):
        return Made("lab.xlsx", _workbook(dice, table), made.forces, made.raw, kinds)
    separator = dice.choice([";", "\t"]) if dice.wild and dice.rare(3) else ","
    end = dice.choice(["\r\n", "\r", "\n\n"]) if dice.rare(12) else "\n"
    text = end.join(separator.join(row) for row in table) + end
    return Made("lab.csv", _bytes(dice, text), made.forces, made.raw, kinds)


def _headings(forces: bool) -> tuple[str, str, str]:
    """Kind and unit of the readings, and the columns that every file has."""
    kind, unit = ("force", "N") if forces else ("stress", "kPa")
    return kind, unit, f"test,normal_{kind} [{unit}],shear_{kind} [{unit}]"


def _scale(dice: Dice) -> float:
    return dice.choice([1e-300, 1e-9, 1e-3, 1e5, 1e300]) if dice.wild and dice.rare(10) else 1.0


def _loads(dice: Dice) -> list[tuple[float, float]]:
    """Normal and shear of each test, about a line."""
    slope, intercept = dice.between(0.2, 1.0), dice.between(0.0, 20.0)
    count = 1 if dice.wild and dice.rare(6) else dice.randint(2, 5)
    normals = [25.0 * (test + 1) for test in range(count)]
    if dice.rare(8 if dice.wild else 1):
        normals[-1] = dice.choice([0.0, 50.0, 1e-9])
    return [(n, intercept + slope * n + 4.0 * dice.fraction()) for n in normals]


def points(dice: Dice, forces: bool) -> list[list[str]]:
    """Rows of a file with a reading or two a test."""
    kind, unit, columns = _headings(forces)
    band, states, rates = dice.rare(20), dice.rare(20), dice.rare(10)
    if band:
        columns += f",shear_{kind}_low [{unit}],shear_{kind}_high [{unit}]"
    columns += ",state" * states + ",rate [mm/min]" * rates
    scale = _scale(dice)
    rows = []
    for test, (normal, peak) in enumerate(_loads(dice)):
        for _ in range(dice.randint(1, 2)):
            shear = scale * (peak + 0.5 * dice.fraction())
            row = [f"T{test}", f"{scale * normal:.6g}", f"{shear:.6g}"]
            if band:
                row += [f"{0.97 * shear:.6g}", f"{1.03 * shear:.6g}"]
            if states:
                row.append(dice.choice(["end_of_test", "residual"]) if dice.rare(30) else "peak")
            if rates:
                row.append("0.05")
            rows.append(row)
    return [columns.split(","), *rows]


def records(dice: Dice, forces: bool) -> list[list[str]]:
    """Rows of a stress-displacement record."""
    _, _, columns = _headings(forces)
    columns += ",displacement [mm]"
    heave, scale = dice.rare(50), _scale(dice)
    columns += ",vertical_displacement [mm]" * heave
    rows = []
    for test, (normal, peak) in enumerate(_loads(dice)):
        for step in range(dice.randint(6 if dice.wild else 8, 24)):
            travel = 0.5 * step
            shear = peak * min(1.0, travel / 3.0) * (1.0 - 0.02 * step) + 0.5 * dice.fraction()
            row = [f"T{test}", f"{scale * normal:.6g}", f"{scale * shear:.6g}", f"{travel:.3g}"]
            rows.append(row + [f"{0.01 * travel:.3g}"] * heave)
    return [columns.split(","), *rows]


def raw(dice: Dice, forces: bool) -> list[list[str]]:
    """Rows of what was read at the machine: loads on a hanger, divisions of a dial."""
    band = dice.rare(30)
    normal_name = "hanger_load [kg]" if forces or dice.rare(80) else "normal_stress [kPa]"
    columns = ["test", normal_name, "dial [div]"] + ["dial_low [div]", "dial_high [div]"] * band
    scale = _scale(dice)
    rows = []
    for test, (normal, peak) in enumerate(_loads(dice)):
        for _ in range(dice.randint(1, 2)):
            dial = scale * (2.0 + 2.0 * peak + dice.fraction())
            load = normal * (0.04 if normal_name.startswith("hanger") else 1.0)
            row = [f"T{test}", f"{load:.5g}", f"{dial:.4g}"]
            rows.append(row + [f"{dial - 1.0:.4g}", f"{dial + 1.0:.4g}"] * band)
    return [columns, *rows]


def triaxial(dice: Dice, forces: bool) -> list[list[str]]:
    """Rows of triaxial tests at failure; ``forces`` for those with pore pressures."""
    columns = ["test", "cell_pressure [kPa]", "deviator_stress [kPa]"]
    columns += ["pore_pressure [kPa]"] * forces
    scale = _scale(dice)
    rows = []
    for test, (cell, shear) in enumerate(_loads(dice)):
        row = [f"T{test}", f"{scale * 2.0 * cell:.5g}", f"{scale * 2.5 * shear:.5g}"]
        rows.append(row + [f"{scale * dice.between(0.0, cell):.4g}"] * forces)
    return [columns, *rows]


def _mutate(dice: Dice, table: list[list[str]]) -> None:
    """Change, take away or add one cell or row."""
    line = dice.randint(0, len(table) - 1)
    row = list(table[line])
    column = dice.randint(0, max(0, len(row) - 1))
    match dice.randint(0, 6):
        case 0:
            row[column : column + 1] = [dice.choice(CELLS)]
        case 1 if line == 0:
            row[column : column + 1] = [dice.choice(HEADERS)]
        case 2:
            del row[column : column + 1]
        case 3:
            row.insert(column, dice.choice(CELLS + HEADERS))
        case 4:
            table.append(list(row))
        case 5:
            table.insert(0, [dice.choice(["# note", "", "#", '"', "title"])])
            return
        case _:
            row[column : column + 1] = [dice.text(6)]
    table[line] = row


def _bytes(dice: Dice, text: str) -> bytes:
    encoding = "utf-8"
    if dice.rare(6):
        encoding = dice.choice(["utf-8-sig", "utf-16", "latin-1"] if dice.wild else ["utf-8-sig"])
    content = text.encode(encoding, "replace")
    if dice.wild and dice.rare(4):
        place = dice.randint(0, len(content))
        content = content[:place] + dice.randbytes(dice.randint(0, 6)) + content[place:]
    if dice.wild and dice.rare(2):
        content = content[: dice.randint(0, len(content))]
    return content


def _workbook(dice: Dice, table: list[list[str]]) -> bytes:
    import openpyxl
    from openpyxl.utils.exceptions import IllegalCharacterError

    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in table:
        try:
            sheet.append([float(cell) if cell[:1].isdigit() else cell for cell in row])
        except (IllegalCharacterError, ValueError):
            continue
    if dice.rare(10):
        book.create_sheet("more").append(["x"])
    stream = io.BytesIO()
    book.save(stream)
    content = stream.getvalue()
    if dice.wild and dice.rare(30):
        place = dice.randint(0, len(content))
        content = content[:place] + dice.randbytes(4) + content[place + dice.randint(0, 8) :]
    if dice.wild and dice.rare(10):
        with zipfile.ZipFile(stream := io.BytesIO(), "w") as archive:
            archive.writestr("a.txt", "x")
        content = stream.getvalue()
    return content


CALIBRATION = [
    b"Dial (div),Load (N)\n0,0\n60,109\n120,220\n240,448\n",
    b"dial [div],load [N]\n0,0\n60,109\n60,110\n",
    b"dial [div],load [N]\n0,0\n",
    b"dial,load [kPa]\n0,0\n5,x\n",
    b"",
]


GROUPS = {
    "SHBG": {
        "LOCA_ID": ("", "ID", "BH1"), "SAMP_TOP": ("m", "2DP", "2.00"), "SAMP_REF": ("", "X", "1"),
        "SAMP_TYPE": ("", "PA", "U"), "SAMP_ID": ("", "ID", "BH1"), "SPEC_REF": ("", "X", "1"),
        "SPEC_DPTH": ("m", "2DP", "2.05"), "SHBG_PCOH": ("kPa", "0DP", "5"),
        "SHBG_PHI": ("deg", "1DP", "30.5"), "SHBG_LAB": ("", "X", "Lab"),
    },
    "SHBT": {
        "LOCA_ID": ("", "ID", "BH1"), "SAMP_TOP": ("m", "2DP", "2.00"), "SAMP_REF": ("", "X", "1"),
        "SAMP_TYPE": ("", "PA", "U"), "SAMP_ID": ("", "ID", "BH1"), "SPEC_REF": ("", "X", "1"),
        "SPEC_DPTH": ("m", "2DP", "2.05"), "SHBT_TESN": ("", "X", "1"),
        "SHBT_NORM": ("kPa", "0DP", "50"), "SHBT_DISP": ("mm/min", "2DP", "0.05"),
        "SHBT_PEAK": ("kPa", "0DP", "35"), "SHBT_PDIS": ("mm", "1DP", "2.0"),
        "SHBT_RES": ("kPa", "0DP", "25"), "SHBT_RDIS": ("mm", "1DP", "8.0"),
    },
    "TREG": {
        "LOCA_ID": ("", "ID", "BH1"), "SAMP_TOP": ("m", "2DP", "2.00"), "SAMP_REF": ("", "X", "1"),
        "SAMP_TYPE": ("", "PA", "U"), "SAMP_ID": ("", "ID", "BH1"), "SPEC_REF": ("", "X", "1"),
        "SPEC_DPTH": ("m", "2DP", "2.05"), "TREG_TYPE": ("", "PA", "CD"),
        "TREG_COH": ("kPa", "0DP", "6"), "TREG_PHI": ("deg", "1DP", "29"),
        "TREG_FCR": ("", "X", "peak deviator"),
    },
    "TRET": {
        "LOCA_ID": ("", "ID", "BH1"), "SAMP_TOP": ("m", "2DP", "2.00"), "SAMP_REF": ("", "X", "1"),
        "SAMP_TYPE": ("", "PA", "U"), "SAMP_ID": ("", "ID", "BH1"), "SPEC_REF": ("", "X", "1"),
        "SPEC_DPTH": ("m", "2DP", "2.05"), "TRET_TESN": ("", "X", "1"),
        "TRET_CELL": ("kPa", "0DP", "100"), "TRET_DEVF": ("kPa", "0DP", "180"),
        "TRET_PWPF": ("kPa", "0DP", "20"), "TRET_BACK": ("kPa", "0DP", "0"),
    },
}  # fmt: skip


def _ags(dice: Dice) -> Made:
    """A file in the transfer format."""
    lines: list[list[str]] = []
    pairs = dice.choices([("SHB",), ("TRE",), ("SHB", "TRE")], [60, 30, 10])[0]
    kinds = tuple({"SHB": "direct_shear", "TRE": "triaxial"}[pair] for pair in pairs)
    for group, headings in GROUPS.items():
        if group[:3] not in pairs or (dice.wild and dice.rare(4)):
            continue
        kept = [name for name in headings if not (dice.wild and dice.rare(3))]
        lines.append(["GROUP", group])
        lines.append(["HEADING", *kept])
        lines.append(["UNIT", *(headings[name][0] for name in kept)])
        lines.append(["TYPE", *(headings[name][1] for name in kept)])
        for test in range(1 if group.endswith("G") else dice.randint(1 if dice.wild else 2, 4)):
            cells = {name: headings[name][2] for name in headings}
            normal = 50.0 * (test + 1)
            cells |= {f"{group}_TESN": str(test + 1), "SHBT_NORM": f"{normal:g}"}
            cells |= {"SHBT_PEAK": f"{5.0 + 0.6 * normal + dice.fraction():.3g}"}
            cells |= {"SHBT_RES": f"{0.45 * normal:.3g}", "TRET_CELL": f"{normal + 20.0:g}"}
            cells |= {"TRET_DEVF": f"{20.0 + 1.9 * normal + dice.fraction():.4g}"}
            lines.append(["DATA", *(cells[name] for name in kept)])
        lines.append([])
    for _ in dice.mutations(33, [1, 2, 4]):
        if not lines:
            break
        line = dice.randint(0, len(lines) - 1)
        row = list(lines[line])
        match dice.randint(0, 5):
            case 0 if row:
                row[dice.randint(0, len(row) - 1)] = dice.choice(CELLS)
            case 1 if row:
                row[dice.randint(0, len(row) - 1)] = dice.choice(WORDS)
            case 2 if row:
                del row[dice.randint(0, len(row) - 1)]
            case 3:
                row.append(dice.text(5))
            case 4:
                lines.insert(line, list(row))
                continue
            case _:
                del lines[line]
                continue
        lines[line] = row
    quoted = (",".join('"' + cell.replace('"', '""') + '"' for cell in row) for row in lines)
    return Made("lab.ags", _bytes(dice, "\r\n".join(quoted) + "\r\n"), kinds=kinds)
