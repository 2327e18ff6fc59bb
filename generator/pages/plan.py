"""The page of a plan: what can't be done, what to buy, what each station does each day, labels,
leftovers, last days; and the list of plans."""

from __future__ import annotations

from itertools import groupby

from generator.measures.words import date
from generator.pages.navigation import KITCHEN
from generator.pages.page import Heading, Page, make_page
from generator.resolve.plans import JoinedPlan
from generator.sheet.cautioning import Notice
from generator.sheet.manual import Manual
from generator.sheet.order import needs_broken
from generator.sheet.sheet import Sheet
from generator.views.plan_view import Day, PlanView, StationDay, day_words, plan_view
from generator.views.uris import (
    FINDINGS,
    PLAN_INDEX,
    Link,
    formula_uri,
    link,
    plan_uri,
    station_uri,
)


def plan_pages(manual: Manual) -> list[Page]:
    """The list of plans and a page for each; none for a kitchen without."""
    if not manual.plans:
        return []
    items = [_item(manual, one, PLAN_INDEX) for one in manual.plans.values()]
    index = make_page(
        PLAN_INDEX,
        "Plans",
        KITCHEN,
        "index.html",
        items=items,
        about="What is served when, and what follows from it: batches, buying, labels.",
    )
    return [index, *(_page(manual, one) for one in manual.plans.values())]


def plans_to_come(manual: Manual, start: str) -> list[Link]:
    """The plans with a dish still to come, or that can't be worked out, as page ``start`` links
    them."""
    orders = manual.orders
    due = [one for i, one in manual.plans.items() if i not in orders or orders[i].dishes]
    return [_item(manual, one, start) for one in due]


def planned_at(manual: Manual, station: str) -> list[Link]:
    """What plans ask of a station, day by day, as its front page links it."""
    start, found = station_uri(station), []
    for order in manual.orders.values():
        for one in plan_view(order).days:
            if one.station == station:
                at = f"#on-{one.date.isoformat()}-at-{station}"
                names = ", ".join(dict.fromkeys(work.made.name for work in one.work))
                href = f"{link(start, plan_uri(order.plan.id))}{at}"
                found.append((one.date, Link(one.day, href, names)))
    return [one for _, one in sorted(found, key=lambda pair: pair[0])]


def _item(manual: Manual, plan: JoinedPlan, start: str) -> Link:
    """A plan in a list, with the days of its dishes to come."""
    order = manual.orders.get(plan.id)
    rest = "not computed"
    if order is not None:
        days = sorted({one.due.date() for one in order.dishes})
        rest = (
            " – ".join(day_words(day) for day in dict.fromkeys((days[0], days[-1]))) if days else ""
        )
        rest = rest or "no dish is to come"
        rest += " · can't all be done" if order.problems else ""
    return Link(plan.plan.name, link(start, plan_uri(plan.id)), rest)


def _page(manual: Manual, plan: JoinedPlan) -> Page:
    uri, house = plan_uri(plan.id), manual.house
    order = manual.orders.get(plan.id)
    view = plan_view(order) if order is not None else None
    days = _days(manual, view, uri) if view is not None else []
    return make_page(
        uri,
        plan.plan.name,
        KITCHEN,
        "plan.html",
        edit=f"standards/plans/{plan.id}.yaml",
        listed=False,
        headings=tuple(_headings(view, days)) if view is not None else (),
        ident=plan.id,
        note=plan.plan.note,
        made_on=date(manual.as_of),
        plan=view,
        days=days,
        dangers=_dangers(view.sheets) if view is not None else [],
        stopped=_stopped(manual, plan, uri) if view is None else [],
        index_href=link(uri, PLAN_INDEX),
        document=house.pack.facts.document,
        adopted=house.kitchen.code.adopted_by,
    )


def _days(manual: Manual, view: PlanView, uri: str) -> list[tuple[Day, str, list[object]]]:
    """Each day with its id and its stations: each with its address and its work, each run with the
    address of its formula."""

    def work(at: StationDay) -> list[object]:
        return [
            (one.made, link(uri, formula_uri(one.made.station, one.made.formula)), one.steps)
            for one in at.work
        ]

    found: list[tuple[Day, str, list[object]]] = []
    for day, stations in groupby(view.days, key=lambda one: one.date):
        at = [(one, link(uri, station_uri(one.station)), work(one)) for one in stations]
        found.append((day_words(day), f"on-{day.isoformat()}", list(at)))
    return found


def _headings(view: PlanView, days: list[tuple[Day, str, list[object]]]) -> list[Heading]:
    below = (
        ("buy", "Buy", view.to_buy),
        ("shelf", "From the shelf", view.shelf),
        ("labels", "Labels", view.labels),
        ("left", "Left over", view.left),
        ("made", "Every batch", view.made),
    )
    found = [Heading("served", "Served")] if view.dishes else []
    found += [Heading(ident, day) for day, ident, _ in days]
    return [*found, *(Heading(ident, title) for ident, title, rows in below if rows)]


def _dangers(sheets: tuple[Sheet, ...]) -> list[tuple[str, Notice]]:
    """Every DANGER of what is made, each whole and once, with the formula it is of."""
    found: dict[str, tuple[str, Notice]] = {}
    for sheet in sheets:
        for notice in sheet.notices.all:
            if notice.severity == "danger" and notice.whole:
                found.setdefault(notice.words, (sheet.name, notice))
    return list(found.values())


def _stopped(manual: Manual, plan: JoinedPlan, uri: str) -> list[Link]:
    """Why a plan isn't worked out: the formulas it needs that have errors, or its own findings."""
    found = []
    for ident in needs_broken(manual, plan):
        stopped = manual.stopped.get(ident)
        if stopped is not None:
            found.append(Link(stopped.name, link(uri, formula_uri(stopped.station, ident))))
    return found or [Link("Findings", link(uri, FINDINGS))]
