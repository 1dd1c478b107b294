"""The examples in the docstrings of the public rooms run, and print what they say."""

from __future__ import annotations

import doctest
import inspect
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages

import pytest

from slipmargin import stability, strength
from slipmargin.stability import KINDS, fields


def examples() -> list[doctest.DocTest]:
    finder = doctest.DocTestFinder(exclude_empty=True)
    found: list[doctest.DocTest] = []
    for room in (strength, stability):
        for module in walk_packages(room.__path__, f"{room.__name__}."):
            found += finder.find(import_module(module.name))
    return [test for test in found if test.examples]


EXAMPLES = examples()


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.name)
def test_an_example_prints_what_it_says(example: doctest.DocTest) -> None:
    said: list[str] = []
    # nothing of the module is at hand but what the example imports, as for its reader
    example.globs = {"__name__": "__main__"}
    failed, _ = doctest.DocTestRunner(verbose=False).run(example, out=said.append)
    assert not failed, "".join(said)


def test_the_rooms_are_shown_by_examples() -> None:
    rooms = [example.name.split(".")[1] for example in EXAMPLES]
    assert min(rooms.count("strength"), rooms.count("stability")) >= 5
    assert len(rooms) >= 15


def test_every_kind_of_check_has_an_example() -> None:
    named = {example.name for example in EXAMPLES}
    assert {f"{kind.__module__}.{kind.__name__}" for kind in stability.KINDS.values()} <= named


def test_an_example_that_is_wrong_is_found(tmp_path: Path) -> None:
    example = doctest.DocTestParser().get_doctest(">>> 1 + 1\n3\n", {}, "wrong", str(tmp_path), 0)
    with pytest.raises(AssertionError, match="Expected"):
        test_an_example_prints_what_it_says(example)


@pytest.mark.parametrize("kind", KINDS)
def test_the_docstring_of_a_check_lists_every_field_as_it_is_declared(kind: str) -> None:
    text = " ".join((inspect.getdoc(KINDS[kind]) or "").split())
    for name, declaration, _ in fields.of(KINDS[kind]):
        assert f"{name} : " in text
        assert " ".join(declaration.says.split()) in text
        if isinstance(declaration, fields.Amount):
            assert (
                f"{declaration.symbol}{f' [{declaration.unit}]' if declaration.unit else ''}:"
                in text
            )
            assert declaration.allowed[1:] in text
