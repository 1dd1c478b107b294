"""The reference of the Python packages, made from their docstrings.

sphinx-build -W -q cli/reference build/reference
"""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from dataclasses import is_dataclass
from importlib import import_module
from importlib.metadata import version as installed
from typing import TYPE_CHECKING, Any, get_type_hints

from sphinx.util.inspect import TypeAliasForwardRef
from sphinx.util.logging import getLogger

from slipmargin import stability
from slipmargin.stability import KINDS, fields

if TYPE_CHECKING:
    from sphinx.application import Sphinx

project = "slipmargin"
author = "The slipmargin developers"
release = version = installed(project)
extensions = ["sphinx.ext.autodoc", "numpydoc"]
autodoc_member_order = "bysource"
autodoc_type_aliases = {name: name for name in ("Numeric", "ArrayLike", "Floats")}
TypeAliasForwardRef.__repr__ = lambda alias: alias.name  # type: ignore[method-assign, unused-ignore]
numpydoc_show_class_members = False
python_maximum_signature_line_length = 88
html_theme_options = {"page_width": "78rem", "body_max_width": "auto"}
html_copy_source = False
html_show_copyright = False


def list_checks(_: Sphinx, page: str, source: list[str]) -> None:
    """Give every check that is registered a section: its model, fields and values."""
    if page != "checks":
        return
    shown: set[type] = set()  # what several checks take stands where it is met first
    for kind, check in KINDS.items():
        title = kind.replace("_", " ").capitalize()
        source[0] += f"\n{title}\n{'-' * len(title)}\n\n"
        source[0] += f".. automodule:: {check.__module__}\n   :no-index:\n\n"
        values = get_type_hints(check.follow)["return"]
        records = [one for one in (check, *_parts(check), values) if one not in shown]
        shown.update(records)
        for record in records:
            source[0] += f".. autoclass:: {_public(record)}\n   :members:\n\n"


def _parts(check: type) -> Iterator[type]:
    for _, declaration, _ in fields.of(check):
        if isinstance(declaration, fields.Part):
            yield declaration.kind


def _public(record: type) -> str:
    here = record.__name__ in stability.__all__
    return f"{stability.__name__ if here else record.__module__}.{record.__name__}"


def as_declared(_: Sphinx, what: str, __: str, held: Any, ___: Any, lines: list[str]) -> None:
    """Keep the lines of equations in the account of a module, and list declared values."""
    if what == "module":
        kept = [
            mark
            for above, line in zip(["", *lines], lines, strict=False)
            for mark in (["::", "", line] if line[:1] == " " and not above else [line])
        ]
        lines[:] = kept
    if what == "class":
        lines += ["", "Attributes", "----------"] if _given(held) else []
        for name, one in _given(held).items():
            lines += [name, f"    {one.symbol} [{one.unit or '-'}] {one.says}"]
    lines.append("")


def without_types(
    _: Sphinx, what: str, __: str, held: Any, ___: Any, given: str | None, back: str | None
) -> tuple[str | None, str | None]:
    """Leave the types of fields to their description; values are not put in by hand."""
    if what == "class" and given:
        own = inspect.signature(held)
        bare = [one.replace(annotation=one.empty) for one in own.parameters.values()]
        given = (
            "" if _given(held) else str(own.replace(parameters=bare, return_annotation=own.empty))
        )
    return given, back


def _given(record: type) -> dict[str, fields.Given]:
    if not is_dataclass(record):
        return {}
    return {name: one for name, one, _ in fields.of(record) if isinstance(one, fields.Given)}


def hold_to_public_names(_: Sphinx, env: Any) -> None:
    """Warn of every name that the packages offer and no page describes."""
    described = {name.rpartition(".")[2] for name, *_ in env.domains["py"].get_objects()}
    for package in ("strength", "stability"):
        for name in import_module(f"slipmargin.{package}").__all__:
            if name not in described:
                getLogger(__name__).warning("slipmargin.%s.%s is on no page", package, name)


def setup(app: Sphinx) -> None:
    """Read what is declared beside the docstrings."""
    app.connect("source-read", list_checks)
    app.connect("autodoc-process-docstring", as_declared, priority=100)  # before numpydoc
    app.connect("autodoc-process-signature", without_types)
    app.connect("env-check-consistency", hold_to_public_names)
