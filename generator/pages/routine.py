"""The page of a process spec that stands alone: what is done and read, with its limits."""

from __future__ import annotations

from generator.measures.words import counted, date
from generator.pages.navigation import KITCHEN
from generator.pages.page import Heading, Page, make_page
from generator.records.approval import approval_of
from generator.rules.routine.checks import CheckedRoutine
from generator.sheet.manual import Manual
from generator.views.limit_view import Chip
from generator.views.routine_view import RoutineStep, routine_steps, written_in
from generator.views.status_view import status_line
from generator.views.uris import (
    EQUIPMENT_INDEX,
    FINDINGS,
    PROCESS_INDEX,
    REGISTER,
    Link,
    link,
    process_uri,
    station_uri,
)


def routine_items(manual: Manual, uri: str) -> list[Link]:
    """Every process spec that stands alone as the list on page ``uri`` names it, by its name; one
    that isn't computed leads to its findings."""
    items = []
    for ident, routine in manual.standards.routines.items():
        stations = [manual.house.stations[s].name for s in routine.station if s in _known(manual)]
        if ident in manual.routines:
            rest = f"{counted(len(routine.checks), 'check')} · {', '.join(stations)}"
            items.append(Link(routine.name, link(uri, process_uri(ident)), rest))
        else:
            items.append(Link(routine.name, link(uri, FINDINGS), "not computed"))
    return sorted(items, key=lambda item: item.words.lower())


def _known(manual: Manual) -> frozenset[str]:
    return frozenset(manual.house.stations)


def routine_pages(manual: Manual) -> list[Page]:
    """A page for each process spec that stands alone."""
    return [_page(manual, routine) for routine in manual.routines.values()]


def _page(manual: Manual, routine: CheckedRoutine) -> Page:
    uri, record, house = process_uri(routine.id), routine.routine, manual.house
    steps = routine_steps(manual, routine)
    approval = approval_of(record, house.kitchen, manual.as_of)
    logs = [found[1] if (found := written_in(one)) else "" for one in routine.checks]
    headings = tuple(
        Heading(f"step-{s.number}", s.name or "Do", str(s.number), _chips(s)) for s in steps
    )
    return make_page(
        uri,
        record.name,
        KITCHEN,
        "routine.html",
        edit=f"standards/processes/{routine.id}.yaml",
        listed=False,
        headings=headings,
        ident=routine.id,
        about=record.about,
        note=record.note,
        steps=list(zip(steps, logs, strict=True)),
        stations=[Link(house.stations[s].name, link(uri, station_uri(s))) for s in record.station],
        status=status_line(approval, approval.status),
        made=date(manual.as_of),
        index_href=link(uri, PROCESS_INDEX),
        equipment_href=link(uri, EQUIPMENT_INDEX),
        register_href=link(uri, REGISTER),
        document=house.pack.facts.document,
        adopted=house.kitchen.code.adopted_by,
    )


def _chips(step: RoutineStep) -> tuple[Chip, ...]:
    return tuple(Chip(r.figure, r.words) for r in step.readings[:2])
