"""A short run of the fuzzer; ``run.py`` beside this file is the long one.

Its limit of time is only there to end what would hang: the long run holds the real one.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from outcome import judge
from scenario_inputs import scenario_files
from table_inputs import ags_files, csv_files
from toml_text import toml_text

HANGS = 20.0  # s

short = settings(
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "case").mkdir()
    return tmp_path / "case"


def hold(files: dict[str, bytes], folder: Path) -> None:
    found = judge(files, folder, HANGS)
    assert found.kind != "violation", found.detail


@settings(short, max_examples=200)
@given(files=scenario_files())
def test_a_scenario_gives_a_result_or_a_clean_refusal(
    files: dict[str, bytes], folder: Path
) -> None:
    hold(files, folder)


@settings(short, max_examples=250)
@given(made=csv_files())
def test_a_readings_file_gives_a_fit_or_a_clean_refusal(
    made: tuple[bytes, bool], folder: Path
) -> None:
    hold({"lab.csv": made[0]}, folder)


@settings(short, max_examples=150)
@given(content=ags_files())
def test_a_transfer_file_gives_a_fit_or_a_clean_refusal(content: bytes, folder: Path) -> None:
    hold({"lab.ags": content}, folder)


@settings(short, max_examples=100)
@given(content=st.binary(max_size=200), name=st.sampled_from(["s.toml", "lab.csv", "lab.ags"]))
def test_any_bytes_give_a_clean_refusal(content: bytes, name: str, folder: Path) -> None:
    hold({name: content}, folder)


def test_the_judge_tells_results_from_refusals_and_violations(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import outcome

    strength = {"cohesion": "4 kPa", "friction_angle": "31 deg"}
    check = {"kind": "infinite_slope", "soil": "a", "slope_angle": "28 deg", "depth": "2 m"}
    table = {
        "title": "x",
        "soils": {"a": {"unit_weight": "18 kN/m^3", "strength": strength}},
        "checks": [check],
    }
    sound = {"s.toml": toml_text(table).encode()}
    assert judge(sound, folder).kind == "result"
    assert judge({"s.toml": b"title = 3"}, folder).kind == "refusal"

    def fail(*_: object) -> None:
        raise KeyError("no such thing")

    def hang(*_: object) -> None:
        while True:
            pass

    monkeypatch.setattr(outcome, "evaluate", fail)
    assert judge(sound, folder).detail.startswith("KeyError at")
    monkeypatch.setattr(outcome, "evaluate", hang)
    assert judge(sound, folder, 0.05).detail.startswith("out of time")
    monkeypatch.setattr(outcome, "evaluate", lambda _: bytearray(10**15))
    assert judge(sound, folder).detail.startswith("out of memory")
