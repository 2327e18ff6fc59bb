"""The figures of house limits as rows: ordered against the code's, joined, and put in their
place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal, TypeAlias, assert_never

from generator.measures.temperature import Temperature, TemperatureDifference
from generator.measures.times import Time
from generator.measures.words import counted, duration, listed
from generator.records.house_limit import HouseFigure
from generator.reference.packs import Pack
from generator.reference.row_kinds import (
    ClockFrom,
    CookRow,
    CoolRow,
    DateRow,
    HoldRow,
    ReceiveRow,
    ReheatRow,
    Row,
    StageRow,
)
from generator.rules.basics.context import both, hold_words
from generator.rules.basics.limit import Bound, figure_of

Order = Literal["stricter", "same", "looser"]
Limited: TypeAlias = CookRow | ReheatRow | CoolRow | HoldRow | ReceiveRow | DateRow
"""The kinds of row a house limit may be in the place of."""


@dataclass(frozen=True)
class LawRows:
    """The code's rows a house limit is held against.

    ``pairs`` are core temperatures with the seconds each is held, any of which will do; ``value``
    with its ``bound`` one temperature; ``stages`` cooling (to, within seconds, counted from the
    stage before) from ``clock``; ``days`` a number of days. A law without a figure has none of
    them. ``ids`` are the rows that fall away, ``base`` the row a new one is modelled on.
    """

    base: Limited
    ids: tuple[str, ...]
    bound: Bound = "max"
    group: str | None = None
    pairs: tuple[tuple[Temperature, Fraction], ...] = ()
    value: Temperature | None = None
    clock: Temperature | None = None
    stages: tuple[tuple[Temperature, Fraction, bool], ...] = ()
    days: int | None = None


def in_words(law: LawRows) -> str:
    """The code's rows in one line with their clause: "165 °F (74 °C), any one reading;
    3-401.11(A)(3)"."""
    if law.pairs:
        reported = [_shown(at, "min") + hold_words(hold) for at, hold in law.pairs]
        words = listed(reported, "or")
    elif law.value is not None:
        words = f"{_shown(law.value, law.bound)} or {'hotter' if law.bound == 'min' else 'colder'}"
    elif law.stages:
        steps = [f"{_shown(to, 'max')} within {duration(within)}" for to, within, _ in law.stages]
        words = f"to {listed(steps)}"
    elif law.days is not None:
        words = counted(law.days, "day")
    else:
        words = "no figure"
    return f"{words}; {law.base.clause}"


def _shown(value: Temperature, bound: Bound) -> str:
    figure = figure_of(value, None, bound, TemperatureDifference(Fraction(0)))
    return both(value, figure.shown_c, figure.shown_f)


def order(figures: tuple[HouseFigure, ...], law: LawRows) -> Order:
    """How a house limit compares with the code's, exactly.

    A core temperature is as strict as the code's if some row is no hotter and held no longer; one
    that is hotter but shorter than every row counts as looser, for it can't be ordered. A course
    of cooling is as strict if each of the code's stages is reached by one of the house's, no
    warmer and no later. A stage with a time of its own must be reached within that, counted from
    the start. Every figure of several must be as strict.
    """
    kind = figures[0].kind
    if kind == "core":
        return _order_pairs(figures, law)
    if kind == "at":
        return _order_values(figures, law)
    if kind == "cool":
        return _order_cooling(figures, law)
    days = min(f.days for f in figures)
    if law.days is None or days < law.days:
        return "stricter"
    return "same" if days == law.days else "looser"


def _order_pairs(figures: tuple[HouseFigure, ...], law: LawRows) -> Order:
    mine = {(_warmth(f).celsius, f.hold_s) for f in figures}
    rows = {(at.celsius, hold) for at, hold in law.pairs}
    if mine == rows:
        return "same"
    as_strict = all(any(at <= mark and hold <= held for at, hold in rows) for mark, held in mine)
    return "stricter" if as_strict else "looser"


def _warmth(figure: HouseFigure) -> Temperature:
    assert figure.temperature is not None, "only a figure of days has no temperature"
    return figure.temperature


def _order_values(figures: tuple[HouseFigure, ...], law: LawRows) -> Order:
    assert law.value is not None, "a law without a figure for holding is not covered"
    orders: set[Order] = set()
    for figure in figures:
        mine, theirs = _warmth(figure).celsius, law.value.celsius
        if mine == theirs:
            orders.add("same")
        else:
            orders.add("stricter" if (mine > theirs) == (law.bound == "min") else "looser")
    return next(o for o in ("looser", "same", "stricter") if o in orders)


def _order_cooling(figures: tuple[HouseFigure, ...], law: LawRows) -> Order:
    clock = _start_of(figures) or law.clock
    if _starts_cooler(clock, law.clock):
        return "looser"
    mine = {(_warmth(f).celsius, f.within_s) for f in figures}
    rows = {(to.celsius, within) for to, within, _ in law.stages}
    later = clock is not None and law.clock is not None and clock > law.clock
    if mine == rows and not later and not _has_own_time(law):
        return "same"
    return "stricter" if _reached(mine, rows) else "looser"


def _starts_cooler(clock: Temperature | None, law: Temperature | None) -> bool:
    """Whether a clock starts at a cooler food than the code's, or at none where the code's has
    one."""
    return law is not None and (clock is None or clock < law)


def _has_own_time(law: LawRows) -> bool:
    """Whether the time of one of its stages runs from the stage before."""
    return any(after for _, _, after in law.stages)


def _start_of(figures: Iterable[HouseFigure]) -> Temperature | None:
    """The temperature at which a course of cooling is said to start."""
    return next((f.start for f in figures if f.start is not None), None)


def _reached(mine: set[tuple[Fraction, Fraction]], rows: set[tuple[Fraction, Fraction]]) -> bool:
    """Whether each of the code's stages is reached by one of the house's, no warmer, no later."""
    return all(any(to <= mark and by <= time for to, by in mine) for mark, time in rows)


def joined_figures(
    one: tuple[HouseFigure, ...], other: tuple[HouseFigure, ...], law: LawRows
) -> tuple[HouseFigure, ...] | None:
    """What meets two house limits at once; None for two courses of cooling neither of which is the
    stricter."""
    if one[0].kind == "core":
        return pruned(tuple(_hotter_and_longer(a, b) for a in one for b in other))
    if order(other, _as_law(law, one)) != "looser":
        return other
    if one[0].kind != "cool" or order(one, _as_law(law, other)) != "looser":
        return one
    return None


def _hotter_and_longer(a: HouseFigure, b: HouseFigure) -> HouseFigure:
    """The core figure that meets two."""
    hotter = max(_warmth(a), _warmth(b), key=lambda t: t.celsius)
    return HouseFigure("core", hotter, max(a.hold_s, b.hold_s))


def _as_law(law: LawRows, figures: tuple[HouseFigure, ...]) -> LawRows:
    """A house limit in the place of the code's figures, to hold another against it."""
    return replace(
        law,
        value=figures[0].temperature,
        days=figures[0].days or None,
        clock=_start_of(figures) or law.clock,
        stages=tuple((_warmth(f), f.within_s, False) for f in figures if f.kind == "cool"),
    )


def pruned(figures: tuple[HouseFigure, ...]) -> tuple[HouseFigure, ...]:
    """Core figures without those another makes needless, coldest first."""
    kept: list[HouseFigure] = []
    for figure in sorted(figures, key=lambda f: (_warmth(f).celsius, f.hold_s)):
        if not any(k.hold_s <= figure.hold_s for k in kept):
            kept.append(figure)
    return tuple(kept)


def pack_with(
    pack: Pack,
    hazard: str,
    law: LawRows,
    figures: tuple[HouseFigure, ...],
    source: tuple[str, str],
    keep: bool,
) -> Pack:
    """A pack with a house limit in the place of the code's rows. ``source`` is its document and the
    place in it; ``keep`` leaves the code's own core rows beside a looser one, but for those it
    makes needless."""
    document, clause = source
    reported = {"document": document, "clause": clause, "read_in": (), "note": "", "editions": ""}
    base = law.base.model_copy(update=reported)
    new = {
        f"house-{hazard}-{number}": row for number, row in enumerate(_rows(base, law, figures), 1)
    }
    gone = set(law.ids)
    if keep and law.pairs:
        gone = {i for i in gone if _needless(pack.rows[i], figures)}
    rows = {i: row for i, row in pack.rows.items() if i not in gone}
    groups = dict(pack.groups)
    if law.group is not None and groups[law.group].rows_of:
        groups[law.group] = groups[law.group].model_copy(
            update={"rows_of": (*(groups[law.group].rows_of if keep else ()), law.group)}
        )
    return replace(pack, rows={**new, **rows}, groups=groups, ours=pack.ours | {hazard})


def _needless(row: Row, figures: tuple[HouseFigure, ...]) -> bool:
    if not isinstance(row, CookRow | ReheatRow) or row.value is None:
        return False
    hold = row.hold.seconds if row.hold else Fraction(0)
    return any(_warmth(f) <= row.value and f.hold_s <= hold for f in figures)


def _rows(base: Limited, law: LawRows, figures: tuple[HouseFigure, ...]) -> list[Row]:
    """The rows of a house limit, modelled on the code's row of their hazard."""
    match base:
        case CookRow() | ReheatRow():
            return [_core_row(base, law, figure) for figure in pruned(figures)]
        case HoldRow() | ReceiveRow():
            least = max if law.bound == "min" else min
            value = least((_warmth(f) for f in figures), key=lambda t: t.celsius)
            return [base.model_copy(update={**_BARE, "value": value})]
        case DateRow():
            days = min(f.days for f in figures)
            return [base.model_copy(update={**_BARE, "days": days, "day_one": "preparation"})]
        case CoolRow():
            return [_cooling_row(base, figures)]
        case _:
            assert_never(base)


_BARE = {"printed": None, "words": ""}
"""What the code's row says of its figure, which the house's doesn't."""


def _core_row(base: CookRow | ReheatRow, law: LawRows, figure: HouseFigure) -> CookRow | ReheatRow:
    update = {**_BARE, "value": figure.temperature, "hold": Time(figure.hold_s), "applies": None}
    if isinstance(base, CookRow):
        update["group"] = law.group
    return base.model_copy(update=update)


def _cooling_row(base: CoolRow, figures: tuple[HouseFigure, ...]) -> CoolRow:
    """A course of cooling as a row; the code's advised stages are no limit, so none takes their
    place."""
    stages = tuple(
        StageRow.model_construct(
            to=_warmth(f),
            printed=None,
            within=Time(f.within_s),
            counts_from="start",
            clause=base.clause,
        )
        for f in sorted(figures, key=lambda f: -_warmth(f).celsius)
    )
    advised = tuple(s for s in base.stages if s.advised)
    stages = tuple(sorted(advised + stages, key=lambda s: -s.to.celsius))
    update: dict[str, object] = {"stages": stages, "words": ""}
    clock = _start_of(figures)
    if clock is not None:
        update["clock_from"] = ClockFrom.model_construct(value=clock, printed=None)
    return base.model_copy(update=update)
