"""Wrong tables as they come from people: each refusal says where, and what to do about it."""

from __future__ import annotations

from pathlib import Path

import pytest

from slipmargin.strength import Apparatus, InputError, read_readings

HEAD = "test,normal_stress [kPa],shear_stress [kPa]\n"
FORCES = "test,normal_force [N],shear_force_low [N],shear_force_high [N]\n"
MOVED = "test,normal_stress [kPa],shear_stress [kPa],displacement [mm]\n"
RAW = "test,hanger_load [kg],dial [div]\n"
BOX = Apparatus(lever_ratio=10.0, ring_constant=1.85, dial_zero=12.0)
RECORD = "".join(f"A,100,{5 * i},{0.1 * i:.1f}\n" for i in range(9))

WRONG: dict[str, tuple[str | bytes, str, str]] = {
    "empty file": ("", "file", "it holds no header line"),
    "comments only": ("# nothing\n\n", "file", "it holds no header line"),
    "blank cells only": (",,\n,,\n", "file", "it holds no header line"),
    "header only": (HEAD, "file", "a header but no reading"),
    "no header": ("A,50,30\nB,100,60\n", "header: 'A,50,30'", "begin with a row of names, such"),
    "short row": (HEAD + "A,50\n", "row 2: 'A,50'", "2 fields where the header has 3"),
    "long row": (HEAD + "A,50,30,1\n", "row 2", "it has 4 fields where the header has 3"),
    "decimal comma": (HEAD + "A,50,5,30,2\n", "row 2", "write decimals with a point"),
    "quoted decimal comma": (
        HEAD + 'A,"50,5",30\n',
        "row 2, column normal_stress [kPa]: '50,5'",
        "give a number with a decimal point",
    ),
    "semicolons": (
        "test;normal_stress [kPa];shear_stress [kPa]\nA;50,5;30\n",
        "header",
        "separate columns by commas",
    ),
    "semicolons under commas": (HEAD + "A;50;30\n", "row 2: 'A;50;30'", "columns by commas"),
    "tabs": ("test\tnormal_stress [kPa]\tshear_stress [kPa]\n", "header", "columns by commas"),
    "column twice": (
        "test,normal_stress [kPa],Normal stress (kPa)\nA,1,2\n",
        "header: 'Normal stress (kPa)'",
        "give each column once",
    ),
    "column misspelt": (
        "test,normal_stres [kPa],shear_stress [kPa]\n",
        "header: 'normal_stres [kPa]'",
        "did you mean normal_stress?",
    ),
    "column by its Greek letter": (
        "test,σ′ [kPa],τ [kPa]\n",
        "header: 'σ′ [kPa]'",
        "did you mean normal_stress?",
    ),
    "column by the name of its letter": (
        "test,normal_stress [kPa],tau (kPa)\n",
        "header: 'tau (kPa)'",
        "did you mean shear_stress?",
    ),
    "force by half its name": (
        "test,normal [N],shear [N]\n",
        "header: 'normal [N]'",
        "did you mean normal_force?",
    ),
    "sample in place of test": ("Sample no.,normal_stress [kPa]\n", "header", "did you mean test?"),
    "ring in place of dial": ("test,hanger_load [kg],Ring (div)\n", "header", "did you mean dial?"),
    "nameless column": ("test,,shear_stress [kPa]\nA,1,2\n", "header", "name it, or clear it"),
    "no unit": (
        "test,normal_stress,shear_stress [kPa]\n",
        "header: 'normal_stress'",
        "put its unit in brackets, such as normal_stress [kPa]",
    ),
    "no unit of displacement": (
        "test,normal_stress [kPa],shear_stress [kPa],displacement\n",
        "header: 'displacement'",
        "such as displacement [mm]",
    ),
    "no unit of the dial": ("test,hanger_load [kg],dial\n", "header: 'dial'", "such as dial [div]"),
    "unit of another kind": (
        "test,normal_stress [mm],shear_stress [kPa]\n",
        "header: 'normal_stress [mm]'",
        'give a stress with its unit, such as "100 kPa"',
    ),
    "unknown unit": (
        "test,normal_stress [kPq],shear_stress [kPa]\n",
        "header: 'normal_stress [kPq]'",
        "unit not known; give a stress with its unit",
    ),
    "unit that could be milli": (
        "test,normal_stress [mPa],shear_stress [kPa]\n",
        "header: 'normal_stress [mPa]'",
        "unit not known; give a stress with its unit",
    ),
    "unit on words": ("test [N],normal_stress [kPa]\n", "header: 'test [N]'", "takes no unit"),
    "force beside shear stress": (
        "test,normal_force [N],shear_stress [kPa]\nA,50,30\n",
        "header: 'normal_force, shear_stress'",
        "give normal_stress with shear_stress, or normal_force with shear_force",
    ),
    "two normal loads": (
        "test,normal_force [N],hanger_load [kg],shear_force [N]\nA,50,5,30\n",
        "header: 'normal_force, hanger_load'",
        "keep one column of the normal load",
    ),
    "no shear": ("test,normal_stress [kPa]\nA,50\n", "column shear_stress is missing", "add it"),
    "no normal": ("test,shear_stress [kPa]\nA,50\n", "column normal_stress is missing", "add it"),
    "no test": (
        "normal_stress [kPa],shear_stress [kPa]\n50,30\n",
        "column test is missing",
        "add it; it names each test",
    ),
    "half a band": (
        "test,normal_force [N],shear_force_low [N]\nA,50,30\n",
        "column shear_force_high is missing",
        "add it; a band has both ends",
    ),
    "half a band in a row": (
        FORCES + "A,50,,30\n",
        "row 2, column shear_force_low [N] is missing",
        "add it; a band has both ends",
    ),
    "band upside down": (FORCES + "A,50,31,30\n", "row 2, column shear_force_low", "swap the two"),
    "reading outside its band": (
        FORCES.replace("\n", ",shear_force [N]\n") + "A,50,30,31,35\n",
        "row 2, column shear_force [N]: '35'",
        "allowed: 30 to 31",
    ),
    "blank test": (HEAD + ",50,30\n", "row 2, column test", "name the test"),
    "blank reading": (
        HEAD + "A,50,\n",
        "row 2, column shear_stress [kPa] is missing",
        "add it; give a number, or a band",
    ),
    "blank normal": (
        HEAD + "A,,30\n",
        "row 2, column normal_stress [kPa] is missing",
        "give a number",
    ),
    "words for a number": (
        HEAD + "A,fifty,30\n",
        "row 2, column normal_stress [kPa]: 'fifty'",
        "give a number",
    ),
    "not a number": (HEAD + "A,50,nan\n", "row 2, column shear_stress [kPa]", "give a number"),
    "infinite": (HEAD + "A,50,inf\n", "row 2, column shear_stress [kPa]", "give a number"),
    "overflow": (HEAD + "A,50,1e999\n", "row 2, column shear_stress [kPa]", "a finite number"),
    "unit in a cell": (
        HEAD + "A,50 kPa,30\n",
        "row 2, column normal_stress [kPa]: '50 kPa'",
        "put its unit in the header",
    ),
    "negative normal": (HEAD + "A,-50,30\n", "row 2, column normal_stress", "from 0 upward"),
    "negative shear": (HEAD + "A,50,30\nB,9,-5\n", "row 3, column shear_stress", "from 0 upward"),
    "negative displacement": (
        MOVED + "A,50,30,-2\n",
        "row 2, column displacement",
        "from 0 upward",
    ),
    "negative rate": (
        HEAD.replace("\n", ",rate [mm/min]\n") + "A,50,30,-2\n",
        "row 2, column rate",
        "allowed: above 0",
    ),
    "rate of zero": (
        HEAD.replace("\n", ",rate [mm/min]\n") + "A,50,30,0\n",
        "row 2, column rate",
        "allowed: above 0",
    ),
    "negative normal in a record": (
        MOVED + RECORD + "A,-1,2,3\n",
        "row 11, column normal_stress",
        "from 0 upward",
    ),
    "unknown state": (
        "test,state,normal_stress [kPa],shear_stress [kPa]\nA,pek,5,3\n",
        "row 2, column state: 'pek'",
        "allowed: peak, end_of_test, residual",
    ),
    "state in a record": (
        MOVED[:-1] + ",state\n" + RECORD.replace("\n", ",peak\n"),
        "header: 'state'",
        "leave the column out",
    ),
    "dial below its zero": (
        RAW + "A,5,11\n",
        "row 2, column dial [div]: '11'",
        "from the dial_zero",
    ),
    "a lever that nothing hangs on": (HEAD + "A,50,30\n", "lever_ratio", "it belongs to readings"),
    "open quote": (HEAD + 'A,"50,30\n', "file", "give plain comma-separated rows"),
    "NUL byte": (HEAD + "A,50,3\x000\n", "row 2", "give a text file in UTF-8"),
    "UTF-16": ((HEAD + "A,5,3\n").encode("utf-16"), "file: 'UTF-16 text'", "save it as UTF-8"),
    "UTF-16 without a mark": ((HEAD + "A,5,3\n").encode("utf-16-le"), "row 1", "in UTF-8"),
    "Latin-1": ((HEAD + "é,50,30\n").encode("latin-1"), "file: 'byte 0xe9'", "save it as UTF-8"),
    "old workbook": (b"\xd0\xcf\x11\xe0\xa1\xb1", "file", "old .xls format: save the readings as"),
    "a document": (b"%PDF-1.7\n", "file", "a PDF document: save the readings as CSV"),
    "a torn workbook": (b"PK\x03\x04torn", "file", "a damaged archive; give a CSV table"),
}


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_table_is_refused_with_its_place_and_its_remedy(tmp_path: Path, name: str) -> None:
    content, place, remedy = WRONG[name]
    path = tmp_path / "readings.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    apparatus = BOX if "dial" in name or "lever" in name else None
    with pytest.raises(InputError) as refusal:
        read_readings(path, apparatus)
    message = str(refusal.value)
    assert message.startswith(place)
    assert remedy in message
