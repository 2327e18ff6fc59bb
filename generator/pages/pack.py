"""A rule pack: every row of law held here, as enacted, with its clause and the copies it was read
in.

The figures are in the unit of record, with what the source prints beside them: what a page asks
the probe for is worked from them elsewhere, and is not shown here.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias, assert_never

from generator.measures.marks import as_written
from generator.measures.temperature import Temperature
from generator.measures.times import Time
from generator.measures.words import (
    NARROW,
    counted,
    counted_figure,
    date,
    duration,
    listed,
    plain,
)
from generator.pages.navigation import REFERENCE
from generator.pages.page import Heading, Page, make_page
from generator.pages.row_figures import (
    HEAT,
    SIDE,
    RowFigure,
    Upkeep,
    bare,
    figure,
    figures_of_upkeep,
    held,
    most,
)
from generator.reference.packs import Pack, row_group
from generator.reference.row_kinds import (
    OF_WHAT,
    AcidityRow,
    AdditiveRow,
    BoundedRow,
    ClockFrom,
    CompositionRow,
    CookRow,
    CoolRow,
    DateRow,
    HoldRow,
    OvenRow,
    ParasitesRow,
    PartCookRow,
    PowerCutRow,
    ProbeRow,
    ReceiveRow,
    ReducedOxygenRow,
    ReheatRow,
    Row,
    SanitiserRow,
    ThawRow,
    TimeControlRow,
    TimeRow,
    WarewashRow,
    WordsRow,
)
from generator.reference.rows import MARKS, Group, PackFacts
from generator.resolve.joined import House
from generator.rules.basics.limit import Measured
from generator.sheet.manual import Manual
from generator.views.uris import REGISTER, SOURCES, Link, link, pack_uri

_OVENS = {
    "still": "still oven",
    "convection": "convection oven",
    "high-humidity": "high-humidity oven",
}
_SECONDARY = (
    "Read in secondary copies only: check it against the code's own text or an authority's."
)
_NAME = re.compile(r"(\d+-\d+\.\d+(?:\.\d+)*|CFR \d+\.\d+|\b\d{4}\.\d+)")
"""A clause or a paper's number inside words: a name, whose point is no decimal mark."""


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
        f"of this kitchen's own for {listed(list(kinds))}; the register shows where"
        if kinds
        else ""
    )


def day(text: str) -> str:
    """A day of the data as people read it: 14 Sep 2026; any other words as they are."""
    try:
        return date(datetime.date.fromisoformat(text))
    except ValueError:
        return text


def _by_topic(house: House, pack: Pack) -> dict[str, list[Row]]:
    """The rows of a pack by topic; a row shared by its own name is under its topic at home."""
    homes = (pack, *house.library.packs.values())
    found: dict[str, list[Row]] = {}
    for ident, row in pack.rows.items():
        topic = next(
            (t for home in homes for t, ids in home.topics.items() if ident in ids), "other"
        )
        found.setdefault(topic, []).append(row)
    return found


def _groups(pack: Pack, rows: list[Row]) -> Iterator[tuple[str, str]]:
    for ident in dict.fromkeys(filter(None, map(row_group, rows))):
        group = pack.groups.get(ident)
        if group is not None:
            yield _named(group), _own(group.covers) or group.clause


def _named(group: Group) -> str:
    return group.name[:1].upper() + group.name[1:]


def _row(house: House, pack: Pack, row: Row) -> RowView:
    group = pack.groups.get(row_group(row) or "")
    name = _oven(row) if isinstance(row, OvenRow) else _own(row.food)
    uri = pack_uri(pack.id)
    copies = tuple(
        Link(house.library.source_title(key), f"{link(uri, SOURCES)}#{key}") for key in row.read_in
    )
    facts = list(_facts_of_row(row))
    if MARKS.get(house.library.read_as(row.read_in)):
        facts.append(_SECONDARY)
    if group is not None:
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


def _oven(row: OvenRow) -> str:
    """An oven row's own name: which oven, which roast."""
    weight = row.weight_under or row.weight_from
    if weight is None:
        return row.clause
    size = "under" if row.weight_under else "from"
    printed = f" ({as_written(row.weight_printed.text)})"
    return f"{_OVENS[row.oven]}, roast {size} {as_written(weight.text)}{printed}"


Tempered: TypeAlias = CookRow | ReheatRow | HoldRow | ReceiveRow | ThawRow | ParasitesRow | OvenRow
"""The kinds of row whose figure is one temperature."""


def _figures(row: Row) -> Iterator[RowFigure]:
    """The row's figures in its unit of record: those a reading, a clock or a dose is held to."""
    match row:
        case CookRow() | BoundedRow() | OvenRow():
            yield from _temperatures(row)
        case CoolRow():
            yield from _stages(row)
            yield from most(row.within)
        case PartCookRow() | TimeControlRow() | TimeRow():
            yield from most(row.within)
        case DateRow():
            yield from _days(row.days)
        case ReducedOxygenRow():
            yield from figure(row.value, HEAT[row.bound])
            yield from bare(row.most, "", SIDE[row.bound])
            yield from most(row.within)
            yield from _days(row.days)
        case AcidityRow():
            yield from bare(row.most, "", SIDE[row.bound])
            yield from bare(row.below, "", "never so much")
        case AdditiveRow():
            yield from bare(row.ppm, "ppm", SIDE[row.bound])
            yield from _factor(row.factor)
        case CompositionRow():
            yield from bare(row.percent, "%", SIDE[row.bound])
        case ProbeRow():
            yield RowFigure(f"±{plain(row.off.in_unit(row.off.unit))}", row.off.unit, "")
        case SanitiserRow() | WarewashRow() | PowerCutRow():
            yield from figures_of_upkeep(row)
        case WordsRow():
            pass
        case _:
            assert_never(row)


def _temperatures(row: Tempered) -> Iterator[RowFigure]:
    hold = row.hold if isinstance(row, CookRow | ReheatRow | ParasitesRow) else None
    yield from figure(row.value, f"{HEAT[row.bound]}{held(hold)}")
    if isinstance(row, ReheatRow):
        yield from most(row.within)


def _factor(factor: Fraction | None) -> Iterator[RowFigure]:
    if factor is not None:
        yield RowFigure(f"× {plain(factor)}", "", "")


def _stages(row: CoolRow) -> Iterator[RowFigure]:
    for stage in row.stages:
        more = " of the stage before" if stage.counts_from == "stage-before" else ""
        more += ", advised" if stage.advised else ""
        yield from figure(stage.to, f"within {duration(stage.within.seconds)}{more}")


def _days(days: int | None) -> Iterator[RowFigure]:
    if days is not None:
        yield RowFigure(*counted_figure(days, "day"), "day 1 counted")


def _facts_of_row(row: Row) -> Iterator[str]:
    """Everything else a row says, each fact a sentence."""
    yield from (fact for fact in _own_facts(row) if fact)
    if row.note:
        yield _own(row.note)
    if row.editions:
        yield f"Editions: {row.editions}."


def _own_facts(row: Row) -> tuple[str, ...]:
    """What the rows of its kind say beside their figures; a fact that isn't stated is empty."""
    match row:
        case CookRow() | BoundedRow() | OvenRow():
            return _printed_beside(row.printed if row.value else None), *_of_a_temperature(row)
        case CoolRow():
            return _cooling(row)
        case TimeControlRow():
            return (
                _clock("May start cold, at most", row.start_max),
                _clock("May start hot, at least", row.start_min),
                _clock("Never above", row.stay_max),
                _by(row.how),
            )
        case DateRow():
            return _dating(row)
        case ReducedOxygenRow():
            return _packing(row)
        case AcidityRow():
            return _own(row.words), *_dryness(row)
        case AdditiveRow() | CompositionRow():
            return _of_what_is_in_it(row)
        case TimeRow() | WordsRow() | PartCookRow() | ProbeRow():
            return (_own(getattr(row, "words", "")),)
        case SanitiserRow() | WarewashRow() | PowerCutRow():
            return _of_upkeep(row)
        case _:
            assert_never(row)


def _of_what_is_in_it(row: AdditiveRow | CompositionRow) -> tuple[str, ...]:
    if isinstance(row, CompositionRow):
        return (f"{OF_WHAT[row.constituent].capitalize()}.",)
    ppm = f"{as_written(row.printed_ppm)}{NARROW}ppm" if row.printed_ppm else None
    return _printed_beside(ppm), _own(row.words)


def _of_upkeep(row: Upkeep) -> tuple[str, ...]:
    """The facts of a row of washing, sanitising, or a power cut."""
    if isinstance(row, PowerCutRow):
        return (_own(row.words),)
    printed = _printed_beside(row.printed if row.value else None)
    return printed, _own(row.words) if isinstance(row, SanitiserRow) else ""


def _of_a_temperature(row: Tempered) -> tuple[str, ...]:
    """The facts of a row with one temperature, but for what is printed beside it."""
    match row:
        case CookRow():
            return _own(row.words), _measured(row.measured), _standing(row.stand)
        case ReheatRow():
            clock = _clock("The clock starts at", row.clock_from)
            lent = f"The rows of the {_plain(row.rows_of)} group." if row.rows_of else ""
            return _own(row.words), clock, _standing(row.stand), lent
        case HoldRow() | ReceiveRow():
            return _own(row.words), _measured(row.measured)
        case ThawRow():
            above = _above(row.above_for)
            return _own(row.words), _measured(row.measured), above, _by(row.how)
        case ParasitesRow():
            return _own(row.words), _stored(row), _by(row.how)
        case OvenRow():
            return ()
        case _:
            assert_never(row)


def _packing(row: ReducedOxygenRow) -> tuple[str, ...]:
    """The facts of a row of packing without air."""
    return (
        _printed_beside(row.printed if row.value else None),
        _own(row.words),
        _stored(row),
        _kept_at(row.at, row.printed),
        _day_one(row.day_one),
    )


def _dryness(row: AcidityRow) -> tuple[str, ...]:
    """The water activity for which a pH counts."""
    most = f"Water activity {plain(row.aw_most)} or less." if row.aw_most is not None else ""
    below = f"Water activity below {plain(row.aw_below)}." if row.aw_below is not None else ""
    return most, below


def _cooling(row: CoolRow) -> tuple[str, ...]:
    """The facts of a row of cooling."""
    begins = duration(row.begins_within.seconds) if row.begins_within else ""
    cured = ""
    if row.nitrite_least is not None:
        cured = f"Cured with at least {plain(row.nitrite_least)}{NARROW}ppm of ingoing nitrite."
    return (
        _printed_beside(*(stage.printed for stage in row.stages)),
        _own(row.words),
        _clock("The clock starts at", row.clock_from),
        f"Named by `schedule: {row.option}`." if row.option else "",
        f"Chilling begins within {begins} of the end of cooking." if begins else "",
        _clock("Before it is packed or shipped at most", row.packed_at),
        cured,
    )


def _dating(row: DateRow) -> tuple[str, ...]:
    """The facts of a row of days."""
    after = f"Dated if kept longer than {duration(row.after.seconds)}." if row.after else ""
    return (
        _own(row.words),
        _kept_at(row.at, row.printed),
        after,
        _day_one(row.day_one),
        f"Frozen: the count {row.frozen}." if row.frozen else "",
    )


def _printed_beside(*figures: Temperature | str | None) -> str:
    """The figures its source prints in the other scale."""
    printed = [str(figure) for figure in figures if figure]
    return f"Printed beside: {', '.join(printed)}." if printed else ""


def _beside(value: Temperature, printed: Temperature | None) -> str:
    return f"{value} ({printed})" if printed is not None else str(value)


def _clock(words: str, clock: ClockFrom | None) -> str:
    """From what its time runs, or what it may not pass meanwhile."""
    return f"{words} {_beside(clock.value, clock.printed)}." if clock is not None else ""


def _measured(where: Measured) -> str:
    """Where its figure is read, if not in the core."""
    if where == "core":
        return ""
    return f"Measured {'on' if where == 'surface' else 'in'} the {where}."


def _standing(stand: Time | None) -> str:
    return f"Then left to stand {duration(stand.seconds)}." if stand else ""


def _above(time: Time | None) -> str:
    return f"Above it for {duration(time.seconds)} at most." if time else ""


def _stored(row: ParasitesRow | ReducedOxygenRow) -> str:
    """How cold it is stored, and for how long then."""
    if not row.store_at:
        return ""
    days = row.then_days if isinstance(row, ReducedOxygenRow) else None
    then = f" then, for {counted(days, 'day')} at most" if days else ""
    return f"Stored at {_beside(row.store_at, row.store_printed)} or colder{then}."


def _kept_at(at: Temperature | None, printed: Temperature | None) -> str:
    return f"Kept at {_beside(at, printed)} or colder." if at else ""


def _day_one(day_one: str | None) -> str:
    return f"Day 1: {_plain(day_one)}." if day_one else ""


def _by(how: str | None) -> str:
    return f"By {_plain(how)}." if how else ""


def _plain(ident: str) -> str:
    """An id of the data as words."""
    return ident.replace("-", " ")


def _own(text: str) -> str:
    """Words of a row with their decimals as this kitchen writes them; clauses stay as they are."""
    parts = _NAME.split(text)
    return "".join(part if n % 2 else as_written(part) for n, part in enumerate(parts))
