"""The document of ``verify`` as plain text for a terminal of 80 columns."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import groupby
from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from slipmargin.cli.words import CAUTION

__all__ = ["print_verification", "share_of_allowed"]

_WIDTHS = (18, 17, 18, 11, 10)  # with a mark of three, 80 columns
_COUNTS = ("values", "reproduce", "examples", "recalled", "apart")
_READS = {
    "printed": "",
    "chart reading": "read from a chart",
    "other method": "found by another method: a band of agreement",
    "identity": "follows from the theory: no published number",
    "common practice": "",
}


def print_verification(out: Console, document: Mapping[str, Any]) -> None:
    """Every source with its values, then the counts, then what does not reproduce."""
    for kind, checks in groupby(document["checks"], key=lambda check: str(check["kind"])):
        out.print(Text(kind, style="bold"))
        heads = ("quantity", "published", "computed", "difference", "allowed")
        out.print(Text(_line(*heads, "ok"), style="dim"), overflow="ignore")
        above = ""
        for _, of_row in groupby(checks, key=lambda check: str(check["id"])):
            row = list(of_row)
            _print_row(out, row, above)
            above = row[0]["source"]
        out.print()
    _print_counts(out, document["counts"])
    _print_features(out, document["features"])
    _print_left_out(out, document["left_out"])
    failed = [check for check in document["checks"] if not check["reproduces"]]
    if failed:
        out.print()
        out.print(Text("Does not reproduce:", style="bold red"))
        for check in failed:
            _print_failure(out, check)
    out.print()
    out.print(Text(_verdict(document["counts"]), style="bold"))
    out.print(
        Text(
            "A value that reproduces shows that the program works out the published case. It "
            "does not show that the case is yours."
        )
    )
    out.print(Text(CAUTION, style="bold"))


def _print_row(out: Console, checks: list[Mapping[str, Any]], source_above: str) -> None:
    first = checks[0]
    source = "the same source" if first["source"] == source_above else first["source"]
    what = first.get("from_memory_what", "")
    recalled = f"from memory: {what}" if what else "from memory"
    marks = [_READS[first["basis"]], recalled if first["from_memory"] else ""]
    said = "; ".join(mark for mark in marks if mark)
    out.print(Padding(Text(f"{first['id']}: {source}" + (f" ({said})" if said else "")), (0, 1)))
    for name, cells in groupby(checks, key=lambda check: str(check["quantity"]).split("[")[0]):
        _print_quantity(out, name, list(cells))


def _print_quantity(out: Console, name: str, cells: list[Mapping[str, Any]]) -> None:
    """A number, or of a table the one that lies furthest out."""
    worst = max(cells, key=share_of_allowed)
    label = name if len(cells) == 1 else f"{name} (worst of {len(cells)})"
    digits = _digits(worst["published"])
    computed, difference = worst["computed"], worst["difference"]
    numbers = (
        _figure(worst["published"], digits),
        "none" if computed is None else _figure(computed, digits + 1),
        "-" if difference is None else f"{difference:.1e}",
        f"{worst['tolerance']:.1e}",
    )
    good = all(cell["reproduces"] for cell in cells)
    style = "" if good else "bold red"
    if len(label) >= _WIDTHS[0]:
        out.print(Text(f"  {label}", style=style))
        label = ""
    text = _line(label, *numbers, "yes" if good else "NO")
    out.print(Text(text, style=style), overflow="ignore")


def share_of_allowed(check: Mapping[str, Any]) -> float:
    """Difference over what is allowed; most where there is no number."""
    if check["difference"] is None:
        return float("inf")
    difference = abs(float(check["difference"]))
    tolerance = float(check["tolerance"])
    if tolerance == 0.0:
        return 0.0 if difference == 0.0 else float("inf")
    return difference / tolerance


def _digits(value: float) -> int:
    """Figures that the value was printed with, at least four."""
    mantissa = f"{value!r}".lower().partition("e")[0]
    return max(4, len(mantissa.replace(".", "").replace("-", "").strip("0")))


def _figure(value: float, digits: int) -> str:
    """The number to its figures, or to as many as the column holds."""
    return next(text for n in range(digits, 0, -1) if len(text := f"{value:.{n}g}") < _WIDTHS[1])


def _line(quantity: str, *numbers: str) -> str:
    *columns, mark = numbers
    cells = [f"{cell:>{width}}" for cell, width in zip(columns, _WIDTHS[1:], strict=True)]
    return f"  {quantity:<{_WIDTHS[0]}}" + "".join(cells) + f" {mark}"


def _print_counts(out: Console, counts: Mapping[str, Any]) -> None:
    out.print(Text(_count_line("kind and topic", *_COUNTS), style="dim"))
    few = []
    for kind, one in counts["kinds"].items():
        topics = one["topics"]
        several = len(topics) > 1
        out.print(Text(_count_line(kind, *_numbers(one))))
        for topic, part in topics.items():
            if several:
                out.print(Text(_count_line(f"  {topic}", *_numbers(part))))
            if part["fewer_than_five"]:
                few.append(f"{topic} ({part['independent']})")
    out.print()
    if few:
        out.print(Text(f"Fewer than five independent published values: {', '.join(few)}."))
    out.print(
        Text(
            "examples: worked examples, tables and data sets that the published values come "
            "from, which are independent of each other; of these, recalled: from memory alone. "
            "apart: values that follow from the theory, and facts of the trade (common practice, "
            "no source); none of them counts as published."
        )
    )


def _print_features(out: Console, features: list[Mapping[str, Any]]) -> None:
    """What each feature rests on, and those that rest on nothing published."""
    if not features:
        return
    out.print()
    out.print(
        Text(
            "Independent published results that touch each feature, and how many of them were "
            "read (the others are from memory):",
            style="bold",
        )
    )
    for owner, of_owner in groupby(features, key=lambda one: str(one["name"]).partition(".")[0]):
        own = [(one["name"].partition(".")[2], one) for one in of_owner]
        held = [
            f"{name} {one['independent']} ({one['read']})"
            for name, one in own
            if one["independent"]
        ]
        bare = [name for name, one in own if not one["independent"]]
        out.print(Text(owner, style="bold"))
        out.print(Padding(Text(", ".join(held) or "none"), (0, 0, 0, 2)))
        if bare:
            out.print(Padding(Text(f"NO PUBLISHED VALUE: {', '.join(bare)}"), (0, 0, 0, 2)))


def _print_left_out(out: Console, left: list[Mapping[str, Any]]) -> None:
    if not left:
        return
    out.print()
    out.print(Text("Published, and left out because it does not reproduce:", style="bold"))
    for _, of_row in groupby(left, key=lambda one: str(one["id"])):
        row = list(of_row)
        pairs = [
            f"{one['published']:g} is "
            + ("nothing" if one["computed"] is None else f"{one['computed']:.4g}")
            for one in row
        ]
        text = f"{row[0]['source']}: published {', '.join(pairs)} here."
        out.print(Padding(Text(f"{text} {row[0].get('note', '')}".rstrip()), (0, 0, 0, 2)))


def _count_line(name: str, *numbers: str) -> str:
    return f"{name:<24}" + "".join(f"{number:>11}" for number in numbers)


def _numbers(count: Mapping[str, Any]) -> list[str]:
    names = ("values", "reproduce", "independent", "independent_from_memory", "not_published")
    return [str(count[name]) for name in names]


def _print_failure(out: Console, check: Mapping[str, Any]) -> None:
    computed = "nothing" if check["computed"] is None else f"{check['computed']:.8g}"
    text = (
        f"{check['kind']}, {check['id']}, {check['quantity']}: {computed} instead of "
        f"{check['published']:.8g} ± {check['tolerance']:.1e}"
    )
    out.print(
        Padding(Text(text + (f" ({check['failure']})" if "failure" in check else "")), (0, 1))
    )


def _verdict(counts: Mapping[str, Any]) -> str:
    text = (
        f"{counts['reproduce']} of {counts['values']} values reproduce; {counts['published']} are "
        f"published ({counts['from_memory']} of them from memory), {counts['not_published']} are "
        "not."
    )
    missing = counts["values"] - counts["reproduce"]
    if missing:
        text += f" {missing} DO NOT REPRODUCE: do not rely on this copy of the program."
    return text
