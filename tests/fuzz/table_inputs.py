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
HEADERS = [
    "test", "state", "normal_stress [kPa]", "normal_stress [psf]", "normal_force [N]",
    "normal_force [kg]", "shear_stress [kPa]", "shear_force [N]", "shear_force [lbf]",
    "shear_stress_low [kPa]", "shear_stress_high [kPa]", "shear_force_low [N]",
    "shear_force_high [N]", "displacement [mm]", "displacement [in]", "vertical_displacement [mm]",
    "rate [mm/min]", "rate [in/min]", "normal_stress", "colour", "", "normal_stress [m]",
    "displacement []", "test [kPa]", "shear_stress [kPa^2]", "shear_stress [\x00]",
]  # fmt: skip


@st.composite
def csv_files(draw: Any) -> tuple[bytes, bool]:
    """Content, and whether its readings are forces."""
    forces = draw(st.booleans())
    kind, unit = ("force", "N") if forces else ("stress", "kPa")
    scale = draw(st.sampled_from([1e-300, 1e-9, 1e-3, 1e5, 1e300])) if rare(draw, 12) else 1.0
    record = rare(draw, 25)
    header = ["test", f"normal_{kind} [{unit}]", f"shear_{kind} [{unit}]"]
    band = not record and rare(draw, 20)
    if band:
        header += [f"shear_{kind}_low [{unit}]", f"shear_{kind}_high [{unit}]"]
    states = not record and rare(draw, 20)
    if states:
        header.append("state")
    if record:
        header += ["displacement [mm]"] + (["vertical_displacement [mm]"] if rare(draw, 50) else [])
    if rare(draw, 10):
        header.append("rate [mm/min]")
    rows = []
    slope, intercept = draw(fraction), 20.0 * draw(fraction)
    for test in range(1 if rare(draw, 6) else draw(st.integers(2, 5))):
        normal = 25.0 * (test + 1) if rare(draw, 92) else draw(st.sampled_from([0.0, 50.0, 1e-9]))
        peak = intercept + slope * normal + draw(fraction) * 4.0
        steps = draw(st.integers(6, 24)) if record else draw(st.integers(1, 2))
        for step in range(steps):
            travel = 0.5 * step
            shear = peak * min(1.0, travel / 3.0) * (1.0 - 0.02 * step) if record else peak
            shear += draw(fraction) * 0.5
            row = [f"T{test}", f"{normal * scale:.6g}", f"{shear * scale:.6g}"]
            if band:
                row += [f"{0.97 * shear * scale:.6g}", f"{1.03 * shear * scale:.6g}"]
            if states:
                row.append(
                    draw(st.sampled_from(["end_of_test", "residual"])) if rare(draw, 30) else "peak"
                )
            if record:
                row += [f"{travel:.3g}"] + [f"{0.01 * travel:.3g}"] * (
                    "vertical_displacement [mm]" in header
                )
            if header[-1].startswith("rate"):
                row.append("0.05")
            rows.append(row)
    table = [header, *rows]
    for _ in range(several(draw, 6, [1, 2, 4])):
        line = draw(st.integers(0, len(table) - 1))
        row = list(table[line])
        if not row:
            continue
        column = draw(st.integers(0, len(row) - 1))
        match draw(st.integers(0, 6)):
            case 0:
                row[column] = draw(st.sampled_from(CELLS))
            case 1 if line == 0:
                row[column] = draw(st.sampled_from(HEADERS))
            case 2:
                del row[column]
            case 3:
                row.insert(column, draw(st.sampled_from(CELLS + HEADERS)))
            case 4:
                table.append(list(row))
            case 5:
                table.insert(0, [draw(st.sampled_from(["# note", "", "#", '"', "title"]))])
                continue
            case _:
                row[column] = draw(st.text(max_size=6))
        table[line] = row
    separator = draw(st.sampled_from([";", "\t"])) if rare(draw, 3) else ","
    end = draw(st.sampled_from(["\r\n", "\r", "\n\n"])) if rare(draw, 12) else "\n"
    text = end.join(separator.join(row) for row in table) + end
    return _bytes(draw, text), forces


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
                row[draw(st.integers(0, len(row) - 1))] = draw(
                    st.sampled_from(
                        ["psf", "m", "GROUP", "DATA", "SHBT", "LOCA_ID", "TRAN", "UNIT"]
                    )
                )
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
