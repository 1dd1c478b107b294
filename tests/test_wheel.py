"""The wheel runs by itself: outside the checkout, with nothing of it on the path."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import venv
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
ROOMS = ("strength", "stability", "cli", "scenarios")
OLDEST_SETUPTOOLS = 77  # as the build asks for


def _setuptools() -> int:
    try:
        return int(version("setuptools").split(".")[0])
    except PackageNotFoundError:
        return 0


pytestmark = pytest.mark.skipif(
    _setuptools() < OLDEST_SETUPTOOLS, reason=f"setuptools {OLDEST_SETUPTOOLS} is not installed"
)


@dataclass(frozen=True)
class Installed:
    """The wheel in an environment of its own, and a folder to run it in."""

    wheel: Path
    environment: Path
    folder: Path

    def run(self, program: str, *words: str) -> str:
        found = {name: text for name, text in os.environ.items() if name != "PYTHONPATH"}
        ran = subprocess.run(
            [str(self.programs / program), *words],
            cwd=self.folder,
            env=found,
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
        )
        assert ran.returncode == 0, ran.stderr
        return ran.stdout

    @property
    def programs(self) -> Path:
        scheme = sysconfig.get_preferred_scheme("prefix")
        paths = {"base": str(self.environment), "platbase": str(self.environment)}
        return Path(sysconfig.get_path("scripts", scheme, vars=paths))

    @property
    def packages(self) -> Path:
        return Path(
            self.run(
                "python", "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"
            ).strip()
        )


def _pip(*words: str) -> None:
    quiet = ["-q", "--disable-pip-version-check", "--no-input", "--no-deps", "--no-index"]
    ran = subprocess.run(
        [sys.executable, "-m", "pip", *words, *quiet], capture_output=True, text=True, check=False
    )
    assert ran.returncode == 0, ran.stderr


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installed]:
    base = tmp_path_factory.mktemp("wheel")
    source = base / "source"
    source.mkdir()
    for room in ROOMS:
        shutil.copytree(ROOT / room, source / room, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, source)
    _pip("wheel", "--no-build-isolation", "-w", str(base), str(source))
    (wheel,) = base.glob("*.whl")
    environment, folder = base / "environment", base / "elsewhere"
    venv.create(environment, symlinks=os.name != "nt")
    folder.mkdir()
    found = Installed(wheel, environment, folder)
    # the dependencies of this environment, but not the hooks that lead to the checkout
    shared = dict.fromkeys((sysconfig.get_path("purelib"), sysconfig.get_path("platlib")))
    (found.packages / "dependencies.pth").write_text("\n".join(shared) + "\n", encoding="utf-8")
    _pip("--python", str(found.programs / "python"), "install", str(wheel))
    yield found
    shutil.rmtree(base)


def test_the_wheel_holds_every_file_of_the_rooms_and_nothing_else(installed: Installed) -> None:
    with zipfile.ZipFile(installed.wheel) as archive:
        held = {name for name in archive.namelist() if ".dist-info/" not in name}
        (entry,) = (name for name in archive.namelist() if name.endswith("entry_points.txt"))
        assert "slipmargin = slipmargin.__main__:run" in archive.read(entry).decode("utf-8")
    paths = (path for room in ROOMS for path in (ROOT / room).rglob("*"))
    files = {path.relative_to(ROOT) for path in paths if path.is_file() and path.suffix != ".png"}
    apart = {"__pycache__", "reference"}  # the second: pages, not installed
    wanted = {path.as_posix() for path in files if not apart & {*path.parts}}
    assert held == {f"slipmargin/{name}".replace("cli/program/", "") for name in wanted}


def test_it_takes_one_name_and_runs_beside_a_users_own_modules(installed: Installed) -> None:
    for name in ("cli", "strength", "stability"):
        (installed.folder / f"{name}.py").write_text("raise SystemExit(9)\n", encoding="utf-8")
    said = installed.run("python", "-m", "slipmargin", "methods", "infinite_slope")
    assert "Infinite slope" in said


def test_what_is_imported_is_the_wheel_and_not_the_checkout(installed: Installed) -> None:
    program = (
        "import sys, slipmargin.cli.main, slipmargin.stability.rotational, slipmargin.strength\n"
        "held = [m for n, m in sys.modules.items() if n.startswith('slipmargin')]\n"
        "print('\\n'.join(m.__file__ for m in held))"
    )
    places = [Path(line) for line in installed.run("python", "-c", program).splitlines()]
    assert len(places) > 20
    for place in places:
        assert place.is_relative_to(installed.packages)
        assert not place.is_relative_to(ROOT)


def test_it_starts_a_site_checks_it_and_writes_its_sheet(installed: Installed) -> None:
    installed.run("slipmargin", "start", "site")
    scenario = installed.folder / "site" / "scenario.toml"
    # the first check alone: what is tested is the wheel
    short = "[[checks]]".join(scenario.read_text(encoding="utf-8").split("[[checks]]")[:2])
    scenario.write_text(short, encoding="utf-8")
    assert "Preliminary" in installed.run("slipmargin", "check", "site/scenario.toml")
    installed.run("slipmargin", "report", "site/scenario.toml", "-o", "sheet.html")
    sheet = (installed.folder / "sheet.html").read_text(encoding="utf-8")
    assert "<svg" in sheet
    assert "Bank, dry" in sheet


def test_it_writes_the_tutorial(installed: Installed) -> None:
    installed.run("slipmargin", "start", "learn", "--tutorial")
    for name in ("student.ipynb", "linnet-pit/class-readings.csv"):
        written = (installed.folder / "learn" / name).read_bytes()
        assert written == (ROOT / "scenarios" / name).read_bytes()


def test_it_verifies_its_published_values(installed: Installed) -> None:
    assert "reproduce" in installed.run("slipmargin", "verify", "infinite_slope")
