"""Notices of many places, gathered: each said once, with all the places it holds for."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable

from slipmargin.cli.page.blocks import NoticeList, WrittenNotice
from slipmargin.strength import Notice, Severity

__all__ = ["by_kind", "notice_list", "written"]

_BY_SEVERITY = (Severity.STOP, Severity.CAUTION, Severity.INFO)


def written(items: Iterable[tuple[str, Notice]]) -> tuple[WrittenNotice, ...]:
    """Notices without repeats, most severe first, each with the places it was raised at."""
    merged: dict[Notice, list[str]] = {}
    for where, notice in items:
        places = merged.setdefault(notice, [])
        if where and where not in places:
            places.append(where)
    order = sorted(merged, key=lambda notice: _BY_SEVERITY.index(notice.severity))
    return tuple(WrittenNotice(notice, tuple(merged[notice])) for notice in order)


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
