"""Notices of many places, gathered: each said once, with the places it holds for; their names."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable

from slipmargin.cli.page.blocks import NoticeList, Words, WrittenNotice
from slipmargin.strength import Notice, Severity
from slipmargin.strength.notice import by_severity

__all__ = ["WEIGHTS", "by_kind", "held_here", "notice_list", "words_of", "written"]

WEIGHTS = {Severity.STOP: "Stop", Severity.CAUTION: "Caution", Severity.INFO: "Note"}


def written(items: Iterable[tuple[str, Notice]]) -> tuple[WrittenNotice, ...]:
    """Notices without repeats, most severe first, each with the places it was raised at."""
    merged: dict[Notice, list[str]] = {}
    for where, notice in items:
        places = merged.setdefault(notice, [])
        if where and where not in places:
            places.append(where)
    return tuple(WrittenNotice(one, tuple(merged[one])) for one in by_severity(merged))


def notice_list(items: Iterable[tuple[str, Notice]]) -> NoticeList:
    """The same as a block."""
    return NoticeList(written(items))


def by_kind(notices: Iterable[WrittenNotice]) -> tuple[WrittenNotice, ...]:
    """Of notices of one kind the worst, or the first, which names the places of the others.

    What says stop is never left out, nor is a second one of the same place, or of no place:
    it says something of its own.
    """
    alike: dict[str, list[WrittenNotice]] = {}
    for one in notices:
        own = one.notice.text if one.notice.severity == Severity.STOP else one.notice.code
        same = {place for other in alike.get(own, ()) for place in other.places}
        if same & {*one.places} or (own in alike and not one.places):
            own = one.notice.text
        alike.setdefault(own, []).append(one)
    found = []
    for group in alike.values():
        first, *others = sorted(group, key=lambda one: -one.notice.weight)
        places = dict.fromkeys(place for one in others for place in one.places)
        named = ", ".join(place for place in places if place not in first.places)
        said = f" (Likewise: {named}.)" if named else ""
        notice = dataclasses.replace(first.notice, text=first.notice.text + said)
        found.append(WrittenNotice(notice, first.places, len(others)))
    return tuple(found)


def words_of(notice: Notice) -> str:
    """Name of a notice in words, by which other parts of a sheet point at it."""
    return notice.code.replace("-", " ")


def held_here(notices: Iterable[Notice]) -> list[Words]:
    """The names of the weightier ones, where there are any."""
    names = dict.fromkeys(words_of(n) for n in notices if n.severity != Severity.INFO)
    return [Words(f"Notices that hold here: {'; '.join(names)}.")] if names else []
