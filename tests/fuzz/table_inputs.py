"""Readings files, as CSV and in the transfer format, sound and broken."""

from __future__ import annotations

from typing import Any

from chance import fraction, rare, several
from hypothesis import strategies as st

__all__ = ["ags_files", "csv_files", "readings_files"]

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
    "hanger_load [kg]", "hanger_load [N]", "dial [div]", "dial_low [div]", "dial_high [div]",
    "Normal stress (kPa)", "SHEAR STRESS [kg/cm2]", "σ′ [kPa]", "tau",
    "displacement []", "test [kPa]", "shear_stress [kPa^2]", "shear_stress [\x00]",
]  # fmt: skip


@st.composite
def csv_files(draw: Any) -> tuple[bytes, bool]:
    """Content, and whether its readings are forces."""
    forces = draw(st.booleans())
    table = draw(records(forces) if rare(draw, 25) else points(forces))
    for _ in range(several(draw, 8, [1, 2, 4])):
        _mutate(draw, table)
    separator = draw(st.sampled_from([";", "\t"])) if rare(draw, 3) else ","
    end = draw(st.sampled_from(["\r\n", "\r", "\n\n"])) if rare(draw, 12) else "\n"
    text = end.join(separator.join(row) for row in table) + end
    return _bytes(draw, text), forces


def _headings(forces: bool) -> tuple[str, str, str]:
    """Kind and unit of the readings, and the columns that every file has."""
    kind, unit = ("force", "N") if forces else ("stress", "kPa")
    return kind, unit, f"test,normal_{kind} [{unit}],shear_{kind} [{unit}]"


def _scale(draw: Any) -> float:
    return draw(st.sampled_from([1e-300, 1e-9, 1e-3, 1e5, 1e300])) if rare(draw, 10) else 1.0


def _loads(draw: Any) -> list[tuple[float, float]]:
    """Normal and shear of each test, about a line."""
    slope, intercept = 0.2 + 0.8 * draw(fraction), 20.0 * draw(fraction)
    count = 1 if rare(draw, 6) else draw(st.integers(2, 5))
    normals = [25.0 * (test + 1) for test in range(count)]
    if rare(draw, 8):
        normals[-1] = draw(st.sampled_from([0.0, 50.0, 1e-9]))
    return [(n, intercept + slope * n + 4.0 * draw(fraction)) for n in normals]


@st.composite
def points(draw: Any, forces: bool) -> list[list[str]]:
    """Rows of a file with a reading or two a test."""
    kind, unit, columns = _headings(forces)
    band, states, rates = rare(draw, 20), rare(draw, 20), rare(draw, 10)
    if band:
        columns += f",shear_{kind}_low [{unit}],shear_{kind}_high [{unit}]"
    columns += ",state" * states + ",rate [mm/min]" * rates
    scale = _scale(draw)
    rows = []
    for test, (normal, peak) in enumerate(_loads(draw)):
        for _ in range(draw(st.integers(1, 2))):
            shear = scale * (peak + 0.5 * draw(fraction))
            row = [f"T{test}", f"{scale * normal:.6g}", f"{shear:.6g}"]
            if band:
                row += [f"{0.97 * shear:.6g}", f"{1.03 * shear:.6g}"]
            if states:
                other = rare(draw, 30)
                row.append(draw(st.sampled_from(["end_of_test", "residual"])) if other else "peak")
            if rates:
                row.append("0.05")
            rows.append(row)
    return [columns.split(","), *rows]


@st.composite
def records(draw: Any, forces: bool) -> list[list[str]]:
    """Rows of a stress-displacement record."""
    _, _, columns = _headings(forces)
    columns += ",displacement [mm]"
    heave, scale = rare(draw, 50), _scale(draw)
    columns += ",vertical_displacement [mm]" * heave
    rows = []
    for test, (normal, peak) in enumerate(_loads(draw)):
        for step in range(draw(st.integers(6, 24))):
            travel = 0.5 * step
            shear = peak * min(1.0, travel / 3.0) * (1.0 - 0.02 * step) + 0.5 * draw(fraction)
            row = [f"T{test}", f"{scale * normal:.6g}", f"{scale * shear:.6g}", f"{travel:.3g}"]
            rows.append(row + [f"{0.01 * travel:.3g}"] * heave)
    return [columns.split(","), *rows]


def _mutate(draw: Any, table: list[list[str]]) -> None:
    """Change, take away or add one cell or row."""
    line = draw(st.integers(0, len(table) - 1))
    row = list(table[line])
    column = draw(st.integers(0, max(0, len(row) - 1)))
    match draw(st.integers(0, 6)):
        case 0:
            row[column : column + 1] = [draw(st.sampled_from(CELLS))]
        case 1 if line == 0:
            row[column : column + 1] = [draw(st.sampled_from(HEADERS))]
        case 2:
            del row[column : column + 1]
        case 3:
            row.insert(column, draw(st.sampled_from(CELLS + HEADERS)))
        case 4:
            table.append(list(row))
        case 5:
            table.insert(0, [draw(st.sampled_from(["# note", "", "#", '"', "title"]))])
            return
        case _:
            row[column : column + 1] = [draw(st.text(max_size=6))]
    table[line] = row


def _bytes(draw: Any, text: str) -> bytes:
    encoding = (
        draw(st.sampled_from(["utf-8-sig", "utf-16", "latin-1"])) if rare(draw, 6) else "utf-8"
    )
    content = text.encode(encoding, "replace")
    if rare(draw, 4):
        place = draw(st.integers(0, len(content)))
        content = content[:place] + draw(st.binary(max_size=6)) + content[place:]
    if rare(draw, 2):
        content = content[: draw(st.integers(0, len(content)))]
    return content


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
}  # fmt: skip


@st.composite
def ags_files(draw: Any) -> bytes:
    """Content of a file in the transfer format."""
    lines: list[list[str]] = []
    for group, headings in GROUPS.items():
        if rare(draw, 4):
            continue
        kept = [name for name in headings if not rare(draw, 3)]
        lines.append(["GROUP", group])
        lines.append(["HEADING", *kept])
        lines.append(["UNIT", *(headings[name][0] for name in kept)])
        lines.append(["TYPE", *(headings[name][1] for name in kept)])
        for test in range(1 if group == "SHBG" else draw(st.integers(1, 4))):
            row = {name: headings[name][2] for name in kept}
            if "SHBT_NORM" in row:
                normal = 50.0 * (test + 1)
                row["SHBT_NORM"] = f"{normal:g}"
                row["SHBT_PEAK"] = f"{5.0 + 0.6 * normal + draw(fraction):.3g}"
                row["SHBT_RES"] = f"{0.45 * normal:.3g}"
                row["SHBT_TESN"] = str(test + 1)
            lines.append(["DATA", *(row[name] for name in kept)])
        lines.append([])
    for _ in range(several(draw, 4, [1, 2, 4])):
        if not lines:
            break
        line = draw(st.integers(0, len(lines) - 1))
        row = list(lines[line])
        match draw(st.integers(0, 5)):
            case 0 if row:
                row[draw(st.integers(0, len(row) - 1))] = draw(st.sampled_from(CELLS))
            case 1 if row:
                row[draw(st.integers(0, len(row) - 1))] = draw(st.sampled_from(WORDS))
            case 2 if row:
                del row[draw(st.integers(0, len(row) - 1))]
            case 3:
                row.append(draw(st.text(max_size=5)))
            case 4:
                lines.insert(line, list(row))
                continue
            case _:
                del lines[line]
                continue
        lines[line] = row
    quoted = (",".join('"' + cell.replace('"', '""') + '"' for cell in row) for row in lines)
    return _bytes(draw, "\r\n".join(quoted) + "\r\n")


@st.composite
def readings_files(draw: Any) -> tuple[str, bytes, bool]:
    """Name and content of a readings file, and whether it holds forces."""
    if rare(draw, 10):
        return "lab.ags", draw(ags_files()), False
    content, forces = draw(csv_files())
    return "lab.csv", content, forces
