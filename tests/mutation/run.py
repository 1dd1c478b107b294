"""Alters the kernels one place at a time and counts what the tests find out.

    pip install cosmic-ray
    python tests/mutation/run.py [KERNEL ...] [--sample N] [--seed N]

Every arithmetic, comparison and logical operator, number, condition and loop of a kernel is
altered as cosmic-ray does it, and a few names are swapped beside (``sin`` for ``cos``,
``minimum`` for ``maximum``). Annotations and decorators are left alone. No file is touched:
each altered kernel is loaded in a process of its own, which runs the tests named beside the
kernel below up to the first failure, draws of hypothesis from a fixed seed. A mutant is killed
where a test fails or does not come to an end.

``--sample`` takes so many mutants of a kernel, drawn with ``--seed`` (0); without it all run,
which takes hours. Those that survive are printed; what each of them means is to be judged:
some are equal to the kernel in all they answer.
"""

from __future__ import annotations

import argparse
import ast
import difflib
import importlib.util
import os
import random
import re
import shlex
import signal
import sys
import time
from dataclasses import dataclass
from importlib.machinery import ModuleSpec, SourceFileLoader
from pathlib import Path
from types import CodeType

os.environ.setdefault("OMP_NUM_THREADS", "1")

import hypothesis
import numpy  # noqa: F401  (loaded once, before the processes part)
import pytest
import scipy.optimize
import scipy.stats  # noqa: F401
import statsmodels.api  # noqa: F401
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code
from cosmic_ray.plugins import get_operator, operator_names

ROOT = Path(__file__).resolve().parents[2]

_PUBLISHED = "tests/published/test_published.py -k "

KERNELS = {
    "strength/line.py": ("tests/strength/test_line.py",),
    "strength/envelope/fit.py": (
        "tests/strength/test_envelope_fit.py tests/strength/test_power_curve.py",
        "tests/strength/test_fit_working.py",
    ),
    "strength/envelope/cautious.py": (
        "tests/strength/test_line.py tests/strength/test_envelope_fit.py",
    ),
    "strength/envelope/power_curve.py": ("tests/strength/test_power_curve.py",),
    "strength/laboratory/drainage.py": ("tests/strength/test_drainage.py",),
    "strength/laboratory/area_correction.py": (
        "tests/strength/test_area_correction.py tests/strength/test_stress_displacement.py",
    ),
    "strength/envelope/joint.py": ("tests/strength/test_joint.py",),
    "stability/infinite_slope/column.py": (
        "tests/stability/test_infinite_slope.py tests/properties/test_infinite_slope_laws.py",
        _PUBLISHED + "'rounding and infinite_slope-'",
    ),
    "stability/planar_wedge/forces.py": (
        _PUBLISHED + "'rounding and planar_wedge-'",
        "tests/stability/test_planar_wedge.py",
    ),
    "stability/planar_wedge/geometry.py": (
        _PUBLISHED + "'rounding and planar_wedge-'",
        "tests/stability/test_planar_wedge.py",
    ),
    "stability/rotational/log_spiral.py": (
        "tests/stability/test_log_spiral.py -k 'not optimiser'",
        _PUBLISHED + "'rounding and rotational-'",
        "tests/stability/test_rotational.py",
    ),
    "stability/earth_pressure/coefficients.py": (
        "tests/stability/test_pressure_coefficients.py tests/stability/test_earth_pressure.py",
        _PUBLISHED + "'rounding and earth_pressure-'",
        "tests/properties/test_earth_pressure_laws.py tests/stability/test_wall_thrust.py",
    ),
    "stability/earth_pressure/profile.py": (
        "tests/stability/test_earth_pressure.py tests/properties/test_earth_pressure_laws.py",
        _PUBLISHED + "'rounding and earth_pressure-'",
    ),
    "stability/retaining_wall/bearing_factors.py": (
        "tests/stability/test_bearing_capacity.py tests/stability/test_wall_on_a_slope.py",
        _PUBLISHED + "'rounding and bearing_capacity-'",
    ),
    "stability/retaining_wall/equilibrium.py": (
        "tests/stability/test_wall_equilibrium.py tests/stability/test_wall_balance.py",
        _PUBLISHED + "'rounding and retaining_wall-'",
    ),
    "stability/retaining_wall/thrust.py": (
        "tests/stability/test_wall_thrust.py tests/stability/test_wall_balance.py",
        _PUBLISHED + "'rounding and retaining_wall-'",
        "tests/properties/test_retaining_wall_laws.py",
    ),
    "stability/strength_law.py": (
        "tests/stability/test_strength_law.py",
        "tests/stability/test_planar_wedge.py -k law",
    ),
    "stability/soil.py": ("tests/stability/test_soil.py",),
    "stability/uncertainty/reliability.py": (
        "tests/stability/test_correlated_doubts.py",
        _PUBLISHED + "'rounding and reliability-'",
        "tests/stability/test_reliability.py",
    ),
}
"""Kernel: the runs of pytest that concern it, quickest first."""

_PAIRS = {
    "sin": "cos",
    "minimum": "maximum",
    "min": "max",
    "argmin": "argmax",
    "any": "all",
    "floor": "ceil",
    "arcsin": "arccos",
}
SWAPS = _PAIRS | {new: old for old, new in _PAIRS.items()}
"""Names that are written for each other by mistake."""

_NOT_LOADED = 99
"""Exit code where the tests passed, but never with the altered module."""

_LEFT_ALONE = re.compile(
    r"Decorator|Exception|Variable|_(Is|IsNot|In|NotIn)_|_(Is|IsNot|In|NotIn)$"
    r"|Binary\w+_(?!Bit)[A-Za-z]+_(RShift|LShift|BitOr|BitAnd|BitXor)$"
    r"|Binary\w+_Bit\w+_(?!Bit)|BitXor|Invert"
)
"""Operators of cosmic-ray that no kernel has a use for, or whose mutants only fail to load."""


@dataclass(frozen=True)
class Mutant:
    """One alteration: an operator of cosmic-ray and which of its places, or a swapped name."""

    operator: str
    place: int

    def code(self, source: str) -> str:
        """The altered code."""
        if self.operator in SWAPS:
            return (
                source[: self.place]
                + SWAPS[self.operator]
                + source[self.place :][len(self.operator) :]
            )
        altered = mutate_code(source, get_operator(self.operator)(), self.place)
        assert altered is not None
        return str(altered)


def mutants(source: str) -> list[Mutant]:
    """All alterations of a code, in a fixed order."""
    nodes = list(ast_nodes(get_ast(source)))
    typing = _typing(source)
    found = []
    for name in sorted(operator_names()):
        if _LEFT_ALONE.search(name) or get_operator(name).arguments():
            continue
        operator = get_operator(name)()
        places = [start for node in nodes for start, _ in operator.mutation_positions(node)]
        found += [
            Mutant(name, place)
            for place, start in enumerate(places)
            if not any(low <= start < high for low, high in typing)
        ]
    names = re.finditer(r"(?<=\.)(" + "|".join(SWAPS) + r")(?=\()", source)
    return found + [Mutant(spot[0], spot.start()) for spot in names]


def _typing(source: str) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """Where annotations and decorators stand: (line, column) of start and end."""
    parts: list[ast.expr | None] = []
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.FunctionDef():
                parts += [node.returns, *node.decorator_list]
            case ast.ClassDef():
                parts += node.decorator_list
            case ast.arg() | ast.AnnAssign():
                parts.append(node.annotation)
    return [
        ((part.lineno, part.col_offset), (part.end_lineno or 0, part.end_col_offset or 0))
        for part in parts
        if part is not None
    ]


class Altered(SourceFileLoader):
    """Loads one module from altered code, everything else as it is."""

    def __init__(self, kernel: str, code: str) -> None:
        self.module = f"slipmargin.{kernel.removesuffix('.py').replace('/', '.')}"
        self.code = code
        self.loaded = False
        super().__init__(self.module, str(ROOT / kernel))

    def find_spec(self, name: str, *_: object) -> ModuleSpec | None:
        """How the import system asks."""
        if name != self.module:
            return None
        return importlib.util.spec_from_file_location(name, self.path, loader=self)

    def get_code(self, _name: str) -> CodeType:
        """Compiled from the altered code, never from a cache."""
        self.loaded = True
        return compile(self.code, self.path, "exec", dont_inherit=True)


def outcome(kernel: str, code: str, limit: float) -> str:
    """``survived``, or how the tests found the altered kernel out."""
    child = os.fork()
    if not child:
        os.setpgrp()
        os._exit(_tests(kernel, code))
    end = time.monotonic() + limit
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            told = {0: "survived", 5: "no test ran", _NOT_LOADED: "no test loads it"}
            return told.get(os.waitstatus_to_exitcode(status), "killed")
        time.sleep(0.02)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return "killed: no end"


def _tests(kernel: str, code: str) -> int:
    """Exit code of the tests of a kernel, in a process of their own."""
    sink = os.open(os.devnull, os.O_WRONLY)
    os.dup2(sink, 1)
    os.dup2(sink, 2)
    sys.path.insert(0, str(ROOT))
    altered = Altered(kernel, code)
    sys.meta_path.insert(0, altered)
    os.chdir(ROOT)
    phases = (hypothesis.Phase.explicit, hypothesis.Phase.generate)  # a failure is enough
    hypothesis.settings.register_profile("quick", phases=phases, database=None, deadline=None)
    hypothesis.settings.load_profile("quick")
    options = ["-x", "-q", "-p", "no:cacheprovider", "--hypothesis-seed=0"]
    options += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]  # hypothesis is loaded already
    for run in KERNELS[kernel]:
        failed = int(pytest.main([*options, *shlex.split(run)]))
        if failed:
            return failed
    return 0 if altered.loaded else _NOT_LOADED


def change(source: str, altered: str) -> str:
    """Line number and the line before and after."""
    before, after = source.splitlines(), altered.splitlines()
    for tag, i, j, k, m in difflib.SequenceMatcher(None, before, after).get_opcodes():
        if tag != "equal":
            old, new = (" ".join(" ".join(part).split()) for part in (before[i:j], after[k:m]))
            return f"{i + 1}: {old}\n      -> {new}"
    return ""


def main() -> None:
    """Run the kernels asked for."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("kernels", nargs="*", metavar="KERNEL", default=list(KERNELS))
    asked.add_argument("--sample", type=int)
    asked.add_argument("--seed", type=int, default=0)
    given = asked.parse_args()
    for kernel in given.kernels:
        source = (ROOT / kernel).read_text(encoding="utf-8")
        every = mutants(source)
        taken = every
        if given.sample is not None and given.sample < len(every):
            taken = random.Random(given.seed).sample(every, given.sample)
        start = time.monotonic()
        if (unaltered := outcome(kernel, source, 600.0)) != "survived":
            sys.exit(f"{kernel}: its tests fail as it is ({unaltered})")
        limit = 20.0 + 5.0 * (time.monotonic() - start)
        codes = [mutant.code(source) for mutant in taken]
        ends = [outcome(kernel, code, limit) for code in codes]
        alive = [change(source, c) for c, end in zip(codes, ends, strict=True) if end == "survived"]
        say(
            f"{kernel}: {len(taken)} of {len(every)} mutants, {len(taken) - len(alive)} killed"
            f" ({ends.count('killed: no end')} without end), {len(alive)} survived"
        )
        for line in sorted(alive, key=lambda line: int(line.partition(":")[0])):
            say("  " + line)


def say(text: str) -> None:
    """A line on standard output, at once."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
