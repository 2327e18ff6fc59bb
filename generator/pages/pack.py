"""A rule pack: every row of law held here, as enacted, with its clause and the copies it was read
in.

The figures stand in the unit of record, with what the source prints beside them: what a page asks
the probe for is worked from them elsewhere, and is not shown here.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from dataclasses import dataclass

from generator.measures.marks import as_written
from generator.measures.temperature import Temperature
from generator.measures.words import NARROW, counted, date, duration, duration_figure, listed, plain
from generator.pages.navigation import REFERENCE
from generator.pages.page import Heading, Page, make_page
from generator.reference.packs import Pack
from generator.reference.rows import MARKS, ClockFrom, Group, PackFacts, Row
from generator.resolve.joined import House
from generator.sheet.manual import Manual
from generator.views.uris import REGISTER, SOURCES, Link, link, pack_uri

_OVENS = {
    "still": "still oven",
    "convection": "convection oven",
    "high-humidity": "high-humidity oven",
}
_SIDE = {"min": "or more", "max": "or less", None: ""}
_HEAT = {"min": "or hotter", "max": "or colder", None: ""}
_SECONDARY = (
    "Read in secondary copies only: check it against the code’s own text or an authority’s."
)
_NAME = re.compile(r"(\d+-\d+\.\d+(?:\.\d+)*|CFR \d+\.\d+|\b\d{4}\.\d+)")
"""A clause or a paper's number inside words: a name, whose point is no decimal mark."""


@dataclass(frozen=True)
class RowFigure:
    """One figure of a row as the source prints it: number, unit, the words behind it."""

    number: str
    unit: str
    words: str


@dataclass(frozen=True)
class RowView:
    """One row: its figures as enacted, its food, the facts in words, clause and standing,
    copies."""

    figures: tuple[RowFigure, ...]
    name: str
    facts: tuple[str, ...]
    clause: str
    copies: tuple[Link, ...]
    counted: str


@dataclass(frozen=True)
class TopicView:
    """The rows of one topic; ``groups`` are the kinds of food its rows speak of, each explained."""

    id: str
    name: str
    groups: tuple[tuple[str, str], ...]
    rows: tuple[RowView, ...]


def packs_in_force(house: House) -> tuple[Pack, ...]:
    """The pack the kitchen is bound by, and the additives pack it leans on."""
    return (house.pack, house.additives) if house.additives is not None else (house.pack,)


def pack_pages(manual: Manual) -> list[Page]:
    """A page for each pack in force."""
    return [_page(manual.house, pack) for pack in packs_in_force(manual.house)]


def _page(house: House, pack: Pack) -> Page:
    uri, facts = pack_uri(pack.id), pack.facts
    topics = [
        TopicView(
            f"topic-{topic}",
            topic.replace("-", " ").capitalize(),
            tuple(_groups(pack, rows)),
            tuple(_row(house, pack, row) for row in rows),
        )
        for topic, rows in _by_topic(house, pack).items()
    ]
    headings = (*(Heading(t.id, t.name) for t in topics), Heading("not-covered", "Not covered"))
    return make_page(
        uri,
        facts.name,
        REFERENCE,
        "pack.html",
        headings=headings,
        topics=topics,
        counted=counted(len(pack.rows), "row"),
        facts=_facts(house, facts),
        not_covered=facts.not_covered,
        source=house.library.source_title(facts.source),
        source_href=f"{link(uri, SOURCES)}#{facts.source}",
        register_href=link(uri, REGISTER),
        document=house.pack.facts.document,
        adopted=house.kitchen.code.adopted_by,
    )


def _facts(house: House, facts: PackFacts) -> list[tuple[str, str]]:
    shared = [house.library.packs[p].facts.name for p in facts.shares if p in house.library.packs]
    only = facts.only_for or ""
    rows = [
        ("Document", facts.document),
        ("Edition", facts.edition),
        ("Publisher", facts.publisher),
        ("Issued", day(facts.issued)),
        ("In force from", day(facts.in_force_from)),
        ("Checked on", day(facts.checked_on)),
        ("Unit of record", f"{facts.unit}: the figures as enacted"),
        ("Only for", f"{only.replace('-', ' ')}, or a variance on file" if only else ""),
        ("Superseded by", facts.superseded_by),
        ("Rows taken from", ", ".join(shared)),
        ("House limits", _house_limits(house)),
        ("Note", facts.note),
    ]
    return [(name, words) for name, words in rows if words]


def _house_limits(house: House) -> str:
    """Which limits the kitchen sets for itself: the rows here are the code's all the same."""
    kinds = dict.fromkeys(limit.for_.replace("-", " ") for limit in house.kitchen.house_limits)
    return (
        f"of this kitchen’s own for {listed(list(kinds))}; the register shows where"
        if kinds
        else ""
    )


def day(text: str) -> str:
    """A day of the data as people read it: 14 Sep 2026; any other words as they stand."""
    try:
        return date(datetime.date.fromisoformat(text))
    except ValueError:
        return text


def _by_topic(house: House, pack: Pack) -> dict[str, list[Row]]:
    """The rows of a pack by topic; a row shared by its own name stands under its topic at home."""
    homes = (pack, *house.library.packs.values())
    found: dict[str, list[Row]] = {}
    for ident, row in pack.rows.items():
        topic = next(
            (t for home in homes for t, ids in home.topics.items() if ident in ids), "other"
        )
        found.setdefault(topic, []).append(row)
    return found


def _groups(pack: Pack, rows: list[Row]) -> Iterator[tuple[str, str]]:
    for ident in dict.fromkeys(row.group for row in rows if row.group):
        group = pack.groups.get(ident)
        if group is not None:
            yield _named(group), _own(group.covers) or group.clause


def _named(group: Group) -> str:
    return group.name[:1].upper() + group.name[1:]


def _row(house: House, pack: Pack, row: Row) -> RowView:
    group = pack.groups.get(row.group or "")
    name = _own(row.food) or (_named(group) if group else "") or _oven(row)
    uri = pack_uri(pack.id)
    copies = tuple(
        Link(house.library.source_title(key), f"{link(uri, SOURCES)}#{key}") for key in row.read_in
    )
    facts = list(_facts_of_row(row))
    if MARKS.get(house.library.read_as(row.read_in)):
        facts.append(_SECONDARY)
    if group is not None and row.food:
        facts.insert(0, f"Group: {group.name}.")
    document = row.document or pack.facts.document
    clause = row.clause if row.clause.startswith(document) else f"{document}, {row.clause}"
    return RowView(
        tuple(_figures(row)),
        name[:1].upper() + name[1:],
        tuple(facts),
        f"{clause} · {row.standing}",
        copies,
        f"Read in {counted(len(copies), 'copy', 'copies')}",
    )


def _oven(row: Row) -> str:
    """An oven row's own name: which oven, which roast."""
    weight = row.weight_under or row.weight_from
    if row.oven is None or weight is None:
        return row.clause
    printed = f" ({as_written(row.weight_printed.text)})" if row.weight_printed else ""
    size = "under" if row.weight_under else "from"
    return f"{_OVENS[row.oven]}, roast {size} {as_written(weight.text)}{printed}"


def _figure(value: Temperature, words: str) -> RowFigure:
    return RowFigure(plain(value.in_unit(value.unit)), value.unit, words)


def _figures(row: Row) -> Iterator[RowFigure]:
    """The row's figures in its unit of record: those a reading, a clock or a dose is held to."""
    if row.value is not None:
        yield _figure(row.value, f"{_HEAT[row.bound]}{_held(row)}")
    for stage in row.stages:
        more = " of the stage before" if stage.counts_from == "stage-before" else ""
        more += ", advised" if stage.advised else ""
        yield _figure(stage.to, f"within {duration(stage.within.seconds)}{more}")
    yield from _bare_figures(row)
    if row.off is not None:
        yield RowFigure(f"±{plain(row.off.in_unit(row.off.unit))}", row.off.unit, "")
    if row.within is not None:
        hours, unit = duration_figure(row.within.seconds, days=False)
        yield RowFigure(hours, unit, "at most")
    if row.days is not None:
        yield RowFigure(str(row.days), "days", "day 1 counted")


def _held(row: Row) -> str:
    """How long a row's temperature is held, behind it."""
    if row.hold is None:
        return ""
    return f" for {duration(row.hold.seconds)}" if row.hold.seconds else ", any one reading"


def _bare_figures(row: Row) -> Iterator[RowFigure]:
    """The figures of doses and of acidity, which are no temperature and no time."""
    if row.ppm is not None:
        yield RowFigure(row_ppm(row), "ppm", _SIDE[row.bound])
    if row.factor is not None:
        yield RowFigure(f"× {plain(row.factor)}", "", "")
    if row.most is not None:
        yield RowFigure(plain(row.most), "", _SIDE[row.bound])
    if row.below is not None:
        yield RowFigure(plain(row.below), "", "never so much")


def row_ppm(row: Row) -> str:
    """A dose as exactly as the row holds it."""
    assert row.ppm is not None
    return plain(row.ppm)


def _beside(value: Temperature | None, printed: Temperature | None) -> str:
    if value is None:
        return ""
    return f"{value} ({printed})" if printed is not None else str(value)


def _clock(words: str, clock: ClockFrom | None) -> str:
    return f"{words} {_beside(clock.value, clock.printed)}." if clock is not None else ""


def _facts_of_row(row: Row) -> Iterator[str]:
    """Everything else a row says, each fact a sentence."""
    told = (
        _printed_beside(row),
        _own(row.words),
        *_measured(row),
        *_clocks(row),
        _stored(row),
        *_times(row),
        *_meanings(row),
    )
    return (fact for fact in told if fact)


def _printed_beside(row: Row) -> str:
    """The figures its source prints in the other scale."""
    beside = [row.printed if row.value else None, *(stage.printed for stage in row.stages)]
    printed = [str(figure) for figure in beside if figure]
    if row.printed_ppm:
        printed.append(f"{as_written(row.printed_ppm)}{NARROW}ppm")
    return f"Printed beside: {', '.join(printed)}." if printed else ""


def _measured(row: Row) -> Iterator[str]:
    """Where its figure is read, and of which food."""
    if row.measured != "core":
        yield f"Measured {'on' if row.measured == 'surface' else 'in'} the {row.measured}."
    if row.aw_most is not None:
        yield f"Water activity {plain(row.aw_most)} or less."
    if row.aw_below is not None:
        yield f"Water activity below {plain(row.aw_below)}."


def _clocks(row: Row) -> Iterator[str]:
    """From what its time runs, and what it may not pass meanwhile."""
    yield _clock("The clock starts at", row.clock_from)
    yield _clock("May start cold, at most", row.start_max)
    yield _clock("May start hot, at least", row.start_min)
    yield _clock("Never above", row.stay_max)
    if row.option:
        yield f"Named by `by: {row.option}`."
    if row.begins_within:
        begins = duration(row.begins_within.seconds)
        yield f"Chilling begins within {begins} of the end of cooking."
    yield _clock("Before it is packed or shipped at most", row.packed_at)
    if row.nitrite_least is not None:
        yield f"Cured with at least {plain(row.nitrite_least)}{NARROW}ppm of ingoing nitrite."


def _stored(row: Row) -> str:
    """How cold it is stored, and for how long then."""
    if not row.store_at:
        return ""
    then = f" then, for {row.then_days} days at most" if row.then_days else ""
    return f"Stored at {_beside(row.store_at, row.store_printed)} or colder{then}."


def _times(row: Row) -> Iterator[str]:
    """What is counted, and from when."""
    if row.above_for:
        yield f"Above it for {duration(row.above_for.seconds)} at most."
    if row.stand:
        yield f"Then left to stand {duration(row.stand.seconds)}."
    if row.at:
        yield f"Kept at {_beside(row.at, row.printed)} or colder."
    if row.after:
        yield f"Dated if kept longer than {duration(row.after.seconds)}."
    if row.day_one:
        yield f"Day 1: {row.day_one.replace('-', ' ')}."


def _meanings(row: Row) -> Iterator[str]:
    """What else its words say of the food, its source and its editions."""
    if row.frozen:
        yield f"Frozen: the count {row.frozen}."
    if row.how:
        yield f"By {row.how.replace('-', ' ')}."
    if row.rows_of:
        yield f"The rows of the {row.rows_of.replace('-', ' ')} group."
    yield _own(row.note)
    if row.editions:
        yield f"Editions: {row.editions}."


def _own(text: str) -> str:
    """Words of a row with their decimals as this kitchen writes them; clauses stay as they are."""
    parts = _NAME.split(text)
    return "".join(part if n % 2 else as_written(part) for n, part in enumerate(parts))
