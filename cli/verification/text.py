"""The check values as a person reads them: every source, the counts, what does not reproduce."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from slipmargin.cli.page.blocks import Block, Cell, Lines, Table, Verdict, Words
from slipmargin.cli.questions.result import Result

__all__ = [
    "ITS_REACH",
    "Verified",
    "features_tables",
    "left_out_table",
    "values_table",
]

ITS_REACH = (
    "A value that reproduces shows that the program works out the published case; it does not "
    "show that the case is yours."
)

_WIDEST = 15
_READS = {
    "printed": "",
    "chart reading": "read from a chart",
    "other method": "found by another method: a band of agreement",
    "identity": "follows from the theory: no published number",
    "common practice": "",
}
_COUNTS = {
    "Values": "values",
    "Reproduce": "reproduce",
    "Examples": "independent",
    "Recalled": "independent_from_memory",
    "Apart": "not_published",
}


@dataclass(frozen=True, slots=True)
class Verified(Result):
    """The check values with what the program gives for them, as the document of ``verify``."""

    found: dict[str, Any]

    @property
    def fails(self) -> bool:
        """Whether a value does not reproduce."""
        counts = self.found["counts"]
        return bool(counts["reproduce"] < counts["values"])

    def document(self) -> dict[str, Any]:
        """The document of ``verify``."""
        return self.found

    def blocks(self) -> Iterator[Block]:
        """Every source with its values, then the counts, then what does not reproduce."""
        for kind, checks in groupby(self.found["checks"], key=lambda check: str(check["kind"])):
            yield values_table(kind, list(checks))
        yield from _counts(self.found["counts"])
        if self.found["features"]:
            yield from features_tables(self.found["features"])
        if left := self.found["left_out"]:
            yield left_out_table(left)
        failed = [check for check in self.found["checks"] if not check["reproduces"]]
        if failed:
            yield Words("Does not reproduce:", "strong")
            yield Lines(tuple(map(_failure, failed)))
        yield Words(_verdict(self.found["counts"]), "strong")
        yield Words(ITS_REACH)


def values_table(kind: str, checks: Sequence[Mapping[str, Any]]) -> Table:
    """A line a quantity under its source; of a table of values the one that lies furthest out."""
    rows: list[tuple[Cell, ...]] = []
    above: list[tuple[int, str]] = []
    source = ""
    for name, of_row in groupby(checks, key=lambda check: str(check["id"])):
        row = list(of_row)
        first = row[0]
        what = first.get("from_memory_what", "")
        recalled = f"from memory: {what}" if what else "from memory"
        marks = [_READS[first["basis"]], recalled if first["from_memory"] else ""]
        said = "; ".join(mark for mark in marks if mark)
        shown = "the same source" if first["source"] == source else first["source"]
        above.append((len(rows), f"{name}: {shown}" + (f" ({said})" if said else "")))
        source = first["source"]
        for quantity, cells in groupby(row, key=lambda one: str(one["quantity"]).split("[")[0]):
            rows.append(_quantity(quantity, list(cells)))
    heads = ("Quantity", "Published", "Computed", "Difference", "Allowed", "OK")
    return Table(kind, heads, rows, {1, 2, 3, 4}, above=above)


def _quantity(name: str, cells: list[Mapping[str, Any]]) -> tuple[Cell, ...]:
    worst = max(cells, key=_share_of_allowed)
    digits = _digits(worst["published"])
    computed, difference = worst["computed"], worst["difference"]
    good = all(cell["reproduces"] for cell in cells)
    words = name.removeprefix("values.").removeprefix("factors_of_safety.")
    words = words.replace("_", " ").replace(".", ", ")
    return (
        words if len(cells) == 1 else f"{words} (worst of {len(cells)})",
        _figure(worst["published"], digits),
        "none" if computed is None else _figure(computed, digits + 1),
        "" if difference is None else f"{difference:.1e}",
        f"{worst['tolerance']:.1e}",
        Verdict("yes", "good") if good else Verdict("no", "bad"),
    )


def _share_of_allowed(check: Mapping[str, Any]) -> float:
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
    """The number to its figures, or to as many as a column holds."""
    return next(text for n in range(digits, 0, -1) if len(text := f"{value:.{n}g}") <= _WIDEST)


def _counts(counts: Mapping[str, Any]) -> Iterator[Block]:
    rows: list[tuple[Cell, ...]] = []
    few = []
    for kind, one in counts["kinds"].items():
        several = len(one["topics"]) > 1
        rows.append((kind, *(str(one[name]) for name in _COUNTS.values())))
        for topic, part in one["topics"].items():
            if several:
                rows.append((f"  {topic}", *(str(part[name]) for name in _COUNTS.values())))
            if part["fewer_than_five"]:
                few.append(f"{topic} ({part['independent']})")
    heads = ("Kind and topic", *_COUNTS)
    yield Table("Counts", heads, rows, range(1, len(heads)))
    if few:
        yield Words(f"Fewer than five independent published values: {', '.join(few)}.")
    yield Words(
        "Examples: worked examples, tables and data sets that the published values come from, "
        "which are independent of each other; of these, recalled: from memory alone. Apart: "
        "values that follow from the theory, and facts of the trade (common practice, no source); "
        "none of them counts as published."
    )


def features_tables(features: Sequence[Mapping[str, Any]]) -> Iterator[Table]:
    """What each feature rests on, and those that rest on nothing published."""
    held: list[tuple[Cell, ...]] = []
    bare: list[tuple[Cell, ...]] = []
    for owner, of_owner in groupby(features, key=lambda one: str(one["name"]).partition(".")[0]):
        own = [(one["name"].partition(".")[2], one) for one in of_owner]
        known = [
            f"{n} {one['independent']} ({one['read']})" for n, one in own if one["independent"]
        ]
        unknown = ", ".join(name for name, one in own if not one["independent"])
        held.append((owner, ", ".join(known) or "none"))
        if unknown:
            bare.append((owner, unknown))
    yield Table(
        "Features that published results touch: how many independent results, and how many of "
        "them were read (the others are from memory)",
        ("Of", "Features"),
        held,
    )
    yield Table("Features that NO PUBLISHED VALUE touches", ("Of", "Features"), bare)


def left_out_table(left: Sequence[Mapping[str, Any]]) -> Table:
    """What is published and does not reproduce, with both numbers and why."""
    rows = []
    for _, of_row in groupby(left, key=lambda one: str(one["id"])):
        row = list(of_row)
        computed = (
            "nothing" if c is None else f"{c:.4g}" for c in (one["computed"] for one in row)
        )
        published = ", ".join(f"{one['published']:g}" for one in row)
        rows.append((row[0]["source"], published, ", ".join(computed), row[0].get("note", "")))
    title = "Published, and left out because it does not reproduce"
    return Table(title, ("Source", "Published", "Computed", "Why"), rows)


def _failure(check: Mapping[str, Any]) -> str:
    computed = "nothing" if check["computed"] is None else f"{check['computed']:.8g}"
    text = (
        f"{check['kind']}, {check['id']}, {check['quantity']}: {computed} instead of "
        f"{check['published']:.8g} ± {check['tolerance']:.1e}"
    )
    return text + (f" ({check['failure']})" if "failure" in check else "")


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
