"""Date marks: day 1 is the day the food first is ready to eat; the law caps the chef's figure."""

from __future__ import annotations

from dataclasses import dataclass, replace

from generator.files.finding import Finding
from generator.measures.words import breakable, counted, duration, verb_for, with_verb
from generator.records.formula import Keeps
from generator.reference.row_kinds import DateRow
from generator.rules.basics.context import (
    DAY_S,
    DatedPart,
    Dates,
    DayOne,
    EndContext,
    EndOutcome,
    cited,
    source_of,
)
from generator.rules.basics.fate import (
    chilled_on_the_way,
    put_by_before_hold,
    raw_dough,
    work_of,
)
from generator.rules.basics.product import Product
from generator.rules.basics.uncovered import never_covered
from generator.rules.cold.plants import why_cold
from generator.rules.packing.reduced_oxygen import ends_at_the_makers_date
from generator.rules.store.souring import asked_of_sour, days_row

BEYOND = "keeps-beyond-law"
ASKED_BEYOND = 10
"""Where the law sets no days, a longer life in the cold is asked about: no limit, a question."""


def _days(keeps: Keeps | None, which: str) -> int | None:
    time = getattr(keeps, which) if keeps else None
    return int(time.seconds // DAY_S) if time else None


@dataclass(frozen=True)
class _Law:
    """The days a ready-to-eat food has by ``row``, counted from ``from_day``; ``ours``: by the
    kitchen's own limit in the row's place."""

    days: int
    row: DateRow
    from_day: DayOne
    ours: bool

    @property
    def packed(self) -> bool:
        return self.from_day == "packed"


def dating(context: EndContext) -> EndOutcome:
    """How long it keeps; of food held by time at its end, how long the stock keeps before that."""
    found = _dated(context)
    if found.dates is None or not context.product.by_time or found.dates.kind == "by-time":
        return found
    return replace(found, dates=replace(found.dates, before_hold=True))


def _dated(context: EndContext) -> EndOutcome:
    """How long it keeps. Food Code 3-501.17: 7 days at 41 °F with the day of preparation day 1.

    Only ready-to-eat food that needs temperature control is dated by law; anything else keeps the
    chef's figure.
    """
    if context.not_tcs or not context.tcs:
        return EndOutcome((), (), _dry(context))
    unkept = _nothing_kept(context)
    if unkept is not None:
        return EndOutcome((), (), unkept)
    keeps = context.formula.formula.keeps
    chef, frozen = _days(keeps, "cold"), _days(keeps, "frozen")
    findings = _never_dry(context)
    if not _ready(context):
        return _raw(context, chef, frozen, findings)
    law = _law_of(context)
    if law is None:
        return _by_parts(context, _chefs_own(context, chef, frozen, findings))
    if chef is not None and chef > law.days:
        findings.append(_beyond_law(context, chef, law))
    findings += _too_old(context, law.days)
    found = EndOutcome((), tuple(findings), _by_law(context, law, chef, frozen))
    return _by_parts(context, found)


def _by_parts(context: EndContext, found: EndOutcome) -> EndOutcome:
    """The same where a part made ahead keeps for fewer days by its own formula: what is made with
    it keeps no longer, cooked again or not (3-501.17(C): the earliest part's date)."""
    dates = found.dates
    parts = [p for p in context.parts_to_date if p.days is not None]
    if dates is None or not parts:
        return found
    first = min(parts, key=lambda p: p.days or 0)
    days = first.days
    assert days is not None
    if dates.day is not None and dates.day <= days:
        return found
    words = f"day {days}, as long as {first.name} in it keeps"
    shorter = replace(dates, day=days, alone=dates.day, words=words)
    refused = any(f.code == BEYOND for f in found.findings)
    more = () if refused else _beyond_a_part(context, dates.chef_day, first)
    return EndOutcome(found.limits, (*found.findings, *more), shorter)


def _beyond_a_part(context: EndContext, chef: int | None, part: DatedPart) -> tuple[Finding, ...]:
    """A warning where the chef's own figure is longer than that of a part in it."""
    formula, days = context.formula.formula, part.days
    if chef is None or days is None or chef <= days:
        return ()
    keeps = formula.keeps
    assert keeps is not None and keeps.cold is not None
    place = keeps.place("cold")
    fixed = place.text.replace(str(keeps.cold.text), counted(days, "day")).strip()
    found = Finding(
        "keeps-beyond-part",
        "warning",
        f"{with_verb(formula.name, 'keeps')} {counted(chef, 'day')} by its formula, but "
        f"{part.name} in it {verb_for(part.name, 'keeps')} "
        f"{counted(days, 'day')}.",
        place,
        "Its use-by is the part's. Write that figure here, or a longer one for the part.",
        (breakable(fixed),),
        about=frozenset({context.formula.id}),
    )
    return (found,)


def _ready(context: EndContext) -> bool:
    """Whether it is ready to eat; raw fish freed of parasites is where it is kept."""
    product = context.product
    if raw_dough(context.formula, product):
        return False
    return product.ready_to_eat or (context.fate.kept and product.eaten_as_it_is)


def _dry(context: EndContext) -> Dates:
    """The chef's own figure, for food that needs no temperature control; and why it needs none."""
    keeps = context.formula.formula.keeps
    chef = _days(keeps, "dry") or _days(keeps, "cold")
    words = (
        context.not_tcs or context.product.acidified or "Nothing in it needs temperature control."
    )
    return Dates("dry", chef, None, chef, _days(keeps, "frozen"), (), words, None)


def _nothing_kept(context: EndContext) -> Dates | None:
    """No date, for food that is hot or held by time at its end and of which nothing is put by."""
    keeps = context.formula.formula.keeps
    by_time = Dates(
        "by-time",
        None,
        None,
        None,
        None,
        (),
        "Serve it within its time, or throw it away. Nothing of it is kept.",
        None,
    )
    if context.product.by_time and keeps is None and not put_by_before_hold(context.formula):
        return by_time
    if _kept_on_the_way(context):
        return None
    says_how_long = keeps is not None and (
        keeps.dry is not None or any(_days(keeps, w) is not None for w in ("cold", "frozen"))
    )
    if context.product.hot and not says_how_long:
        words = "It is served hot. Nothing of it is kept."
        return Dates("hot", None, None, None, None, (), words, None)
    if context.product.by_time and keeps is None:
        return by_time
    return None


def _never_dry(context: EndContext) -> list[Finding]:
    """An error where food that needs temperature control is said to be kept dry."""
    formula, keeps = context.formula.formula, context.formula.formula.keeps
    if keeps is None or keeps.dry is None:
        return []
    because = why_cold(context.product, context.house.pack) or _why_needed(context.product)
    return [
        Finding(
            "keeps-dry",
            "error",
            f"{with_verb(formula.name, 'needs')} temperature control. It can't be kept dry.",
            keeps.place("dry"),
            f"{because + '. ' if because else ''}Write `cold`. Or write under `not_tcs` why it "
            f"needs none.{asked_of_sour(context)}",
            about=frozenset({context.formula.id}),
        )
    ]


def _why_needed(product: Product) -> str:
    """What makes food need temperature control that no row of plant food names, in words."""
    needing = list(dict.fromkeys(c.name for c in product.components if c.tcs))
    if needing:
        gone = all(not c.grams for c in product.components if c.tcs)
        out = ", and what it lay in needs it too" if gone else ""
        return f"{with_verb(needing, 'needs')} it{out}"
    if product.cooked or product.plants_heated:
        return "Something in it was cooked: it needs the control even where that is strained out"
    return ""


def _law_of(context: EndContext) -> _Law | None:
    """The days by law; None where it sets none. Packed without air they count from the packing,
    unless the kitchen's own days are fewer."""
    pack, most = context.house.pack, context.product.air_days
    row = days_row(context.house)
    if row is None or row.days is None:
        return None
    ours, packed = "date" in pack.ours, pack.row_for(DateRow, "reduced-oxygen")
    if most is None or packed is None or (ours and row.days < most):
        return _Law(row.days, row, "made", ours)
    return _Law(most, packed[1], "packed", False)


def _beyond_law(context: EndContext, chef: int, law: _Law) -> Finding:
    whose = "the house limit" if law.ours else "the code"
    where = cited(context.house, law.row)
    help = f"Day 1 is the day it is {law.from_day}.{asked_of_sour(context)}"
    return _beyond(context, chef, law.days, help, where, whose)


def _by_law(context: EndContext, law: _Law, chef: int | None, frozen: int | None) -> Dates:
    """The date mark: the law's last day, or the chef's where that is sooner."""
    day = min(law.days, chef) if chef is not None else law.days
    colder = context.product.air_row
    moved = colder.then_days if colder is not None else None
    makers = law.packed and ends_at_the_makers_date(context.house, context.formula)
    return Dates(
        "cold",
        day,
        law.days,
        chef,
        frozen,
        context.parts_to_date,
        f"day {day}, {_whose_day(law, chef, moved, makers)}",
        source_of(context.house, law.row),
        moved_days=moved,
        marked_after_s=law.row.after.seconds if law.row.after is not None else None,
        day_one=law.from_day,
        makers_date=makers,
    )


def _whose_day(law: _Law, chef: int | None, moved: int | None, makers: bool) -> str:
    """Whose figure the last day is, and what may end it sooner: days out of the colder place
    (``moved``), the maker's own date (``makers``)."""
    codes = "the house limit's" if law.ours else "the code's"
    words = "the chef's figure" if chef is not None and chef < law.days else codes
    if law.packed:
        words += ", from the day it is packed without air"
    if moved is not None:
        words += f", or {counted(moved, 'day')} out of the colder place, whichever is first"
    if makers:
        words += ", or the maker's sell-by or use-by date if that is sooner"
    return words


def _kept_on_the_way(context: EndContext) -> bool:
    """Whether its own steps put it by before it is served hot or held by time: heated, cooled and
    hot again, stored, or a day and more in the cold once it is ready to eat."""
    steps = work_of(context.formula)
    stored = any("stores" in step.effects for step in steps[:-1])
    return stored or chilled_on_the_way(context.formula) or context.aged_s >= DAY_S


def _too_old(context: EndContext, law: int) -> list[Finding]:
    """An error where the steps themselves, and those of what was made ahead, keep food that is
    ready to eat to the end of its days or past it: 3-501.17(A), 3-501.18. Day 1 is the day it is
    ready to eat, so ``law`` days are over once as many times 24 hours have passed."""
    if context.aged_s < law * DAY_S:
        return []
    formula = context.formula.formula
    return [
        Finding(
            "kept-too-long",
            "error",
            f"{formula.name}: its steps keep it for {duration(context.aged_s)} after it is ready "
            f"to eat. It has {counted(law, 'day')}.",
            formula.key_place("name"),
            "Keep it for less time, or freeze it. Or make the part that is kept so long later.",
            about=frozenset({context.formula.id}),
        )
    ]


def _beyond(
    context: EndContext, chef: int, law: int, help: str, source: str, who: str = "the code"
) -> Finding:
    formula = context.formula.formula
    keeps = formula.keeps
    assert keeps is not None and keeps.cold is not None
    place = keeps.place("cold")
    days = breakable(counted(law, "day"))
    fixed = place.text.replace(str(keeps.cold.text), days).strip()
    return Finding(
        BEYOND,
        "error",
        f"{with_verb(formula.name, 'keeps')} {counted(chef, 'day')} by its formula; {who} allows "
        f"{law}.",
        place,
        help,
        (fixed,),
        source,
        frozenset({context.formula.id}),
    )


def _raw(
    context: EndContext, chef: int | None, frozen: int | None, findings: list[Finding]
) -> EndOutcome:
    """Not ready to eat: undated by the code, but capped once it is packed without air."""
    law = context.product.air_days
    words = "It is not ready to eat. The code dates it only once it is."
    if context.product.ready_to_eat:
        words = "It is raw dough: flour is a raw food. The code dates it only once it is baked."
    if context.formula.formula.undercooked:
        words = "It is made to order and served at once. Nothing of it is kept."
    if law is None:
        dates = Dates("raw", chef, None, chef, frozen, (), words, None)
        return EndOutcome((), tuple(findings), dates)
    if chef is not None and chef > law:
        findings.append(_beyond(context, chef, law, "Day 1 is the day it is packed.", ""))
    day = min(law, chef) if chef is not None else law
    words = f"Packed without air, it keeps {counted(law, 'day')} from packing at most."
    makers = ends_at_the_makers_date(context.house, context.formula)
    if makers:
        words += " The maker's sell-by or use-by date counts if it is sooner."
    dates = Dates("raw", day, law, chef, frozen, (), words, None, makers_date=makers)
    return EndOutcome((), tuple(findings), dates)


def _chefs_own(
    context: EndContext, chef: int | None, frozen: int | None, findings: list[Finding]
) -> EndOutcome:
    """Ready-to-eat food where the law leaves the shelf life to the business: its words, the chef's
    figure, and never one of ours."""
    rows = [r for _, r in context.house.pack.rows_of(DateRow) if r.words]
    if not rows:
        why = "The rules here say nothing about how long it keeps."
        missing = never_covered(context, "date", "store", "Store", why)
        return EndOutcome(missing.limits, (*findings, *missing.findings))
    row, keeps = rows[0], context.formula.formula.keeps
    if _served_at_once(context):
        words = "It is served at once. Nothing of it is kept."
    elif chef is None:
        findings += _no_figure(context, row)
        words = row.words
    else:
        findings += _past_the_packing(context, chef)
        findings += _unproven(context, chef, row)
        words = f"day {chef}, the chef's figure"
    if keeps is not None and keeps.study:
        words += f"; {keeps.study}"
    dates = Dates(
        "cold",
        chef,
        None,
        chef,
        frozen,
        context.parts_to_date,
        words,
        source_of(context.house, row),
        row.words,
    )
    return EndOutcome((), tuple(findings), dates)


def _served_at_once(context: EndContext) -> bool:
    """Whether its last step serves it, no step puts it by before that, and nothing is said of how
    long it keeps: a plate of cold food needs no shelf life. A part made ahead has its own."""
    kept = context.formula.formula.keeps is not None or _kept_on_the_way(context)
    return context.fate.to_the_guest and not kept


def _source_words(context: EndContext, row: DateRow) -> str:
    return f"{source_of(context.house, row).document}, {row.clause}"


_BEFORE_THE_HOLD = (
    "Under `keeps`, write how long the stock keeps before it is held by time, as far as you can "
    "prove it. What was held by time is never kept."
)


def _no_figure(context: EndContext, row: DateRow) -> list[Finding]:
    """An error where food that is kept has no shelf life, neither by law nor by its formula."""
    formula, product = context.formula.formula, context.product
    if product.hot or product.frozen or formula.undercooked:
        return []
    if formula.keeps is not None and formula.keeps.dry is not None:
        return []  # said of that
    return [
        Finding(
            "keeps-missing",
            "error",
            f"{formula.name}: how long does it keep? The law here sets no days.",
            formula.key_place("name"),
            _BEFORE_THE_HOLD
            if product.by_time
            else "Write the shelf life you can prove. Day 1 is the day it is made.",
            ("keeps: {cold: 3 days}",) if formula.keeps is None and not product.by_time else (),
            _source_words(context, row),
            frozenset({context.formula.id}),
        )
    ]


def _past_the_packing(context: EndContext, chef: int) -> list[Finding]:
    """An error where the chef's figure is beyond the days of a pack without air."""
    most = context.product.air_days
    if most is None or chef <= most:
        return []
    help = "Day 1 is the day it is packed without air."
    return [_beyond(context, chef, most, help, "", "the guidance on packing without air")]


def _unproven(context: EndContext, chef: int, row: DateRow) -> list[Finding]:
    """A question where a long shelf life of the chef's names nothing that shows it; packed without
    air food has days of its own."""
    formula, keeps = context.formula.formula, context.formula.formula.keeps
    if context.product.air_days is not None or chef <= ASKED_BEYOND:
        return []
    if keeps is None or keeps.study:
        return []
    return [
        Finding(
            "keeps-unproven",
            "warning",
            f"{with_verb(formula.name, 'keeps')} {counted(chef, 'day')} by its formula. The law "
            "here sets no "
            "days. What proves it?",
            keeps.place("cold"),
            "Name the shelf-life study or the reason under `keeps: {study: …}`. Or keep it "
            "shorter.",
            source=_source_words(context, row),
            about=frozenset({context.formula.id}),
        )
    ]
