"""House limits: which is in force where, judged against the code exactly.

A stricter limit of the kitchen's own takes the code's place freely, a looser one only by an
authorisation in force on the day. The nearest one counts: the formula's for its step, then the
process's, then the kitchen's for a verb and a food, for a verb, for a food, for anything. What is
in force is never looser than the code without an authorisation: a house limit that is refused, or
that can't be ordered as stricter, leaves the code's own rows standing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import TypeVar

from generator.files.finding import Finding, Place
from generator.measures.basis import Basis
from generator.measures.words import date, listed
from generator.records.house_limit import FORMS, HouseFigure, HouseLimit, LimitFor
from generator.records.kitchen import Authorisation
from generator.resolve.joined import House, JoinedFormula, JoinedStep
from generator.rules.basics.grouping import kinds_of
from generator.rules.basics.house_rule import HouseRule, Spoken
from generator.rules.basics.in_words import limit_words
from generator.rules.basics.limit import Law, Limit, LimitHead
from generator.rules.basics.product import Product
from generator.rules.house.house_rows import LawRows, in_words, joined_figures, order, pack_with

FOR: dict[str, LimitFor] = {
    "cook": "cook",
    "cool": "cool",
    "hot_hold": "hold-hot",
    "cold_hold": "hold-cold",
    "reheat": "reheat",
    "receive": "receive",
    "date": "date",
}
"""What `house_limits` calls each hazard."""
Kind = TypeVar("Kind", bound=LimitHead)
"""The kind of a limit, which a house limit leaves as it is."""
_OF_A_VERB = 2
"""The least rank of a house limit for a verb or a step."""
STORE, DATE_MARK = "store", "date"
"""The formula's `house_limits` for the end of the work: held cold, and its days."""


@dataclass(frozen=True)
class Spot:
    """Where a limit is asked for: ``step`` is None at the end of the work and at the door,
    ``formula`` None at the door. ``because`` are the components that put the food into its cooking
    group."""

    house: House
    product: Product
    formula: JoinedFormula | None = None
    step: JoinedStep | None = None
    because: tuple[str, ...] | None = None

    @property
    def verb(self) -> str:
        return self.step.step.do if self.step is not None else STORE

    @property
    def about(self) -> frozenset[str]:
        return frozenset({self.formula.id} if self.formula is not None else ())


@dataclass(frozen=True)
class Own:
    """A house limit that speaks of a spot: how near it is (greater is nearer), and where."""

    record: HouseLimit
    rank: int
    where: str

    @property
    def text(self) -> str:
        return listed([f.text for f in self.record.limit], "or" if self.kind == "core" else "and")

    @property
    def kind(self) -> str:
        return self.record.limit[0].kind

    @property
    def place(self) -> Place:
        return self.record.place("limit")


@dataclass(frozen=True)
class Found:
    """What is in force of the house limits at a spot: ``house`` with their rows, the rule and the
    code limit's hazard for each; ``touched`` are those that speak of the spot at all."""

    house: House
    rules: dict[str, HouseRule]
    findings: tuple[Finding, ...] = ()
    touched: Spoken = frozenset()
    narrow: frozenset[str] = frozenset()


def any_here(house: House, formula: JoinedFormula | None, step: JoinedStep | None = None) -> bool:
    """Whether there is any house limit to look at; most kitchens have none."""
    if house.kitchen.house_limits or (formula is not None and formula.formula.house_limits):
        return True
    steps = [step] if step is not None else formula.steps[-1:] if formula is not None else []
    return any(s.step.house_limit is not None for s in steps)


def find(spot: Spot, law: dict[str, LawRows]) -> Found:
    """The house limits in force at a spot. ``law`` holds the code's rows by hazard."""
    found = Found(spot.house, {})
    for hazard, rows in law.items():
        found = _of_hazard(found, spot, hazard, rows)
    return found


@dataclass
class _Ordered:
    """The house limits for a hazard at a spot as they are to the code: those that are stricter,
    nearest first; the nearest looser one that is allowed; what is said of the others."""

    stricter: list[Own] = field(default_factory=list)
    looser: tuple[Own, Authorisation] | None = None
    findings: list[Finding] = field(default_factory=list)


def _of_hazard(found: Found, spot: Spot, hazard: str, rows: LawRows) -> Found:
    owns = _owns(spot, hazard, rows)
    ordered = _ordered(spot, hazard, rows, owns)
    looser = ordered.looser
    in_force = [*ordered.stricter, *([looser[0]] if looser is not None else [])]
    touched = found.touched | {(own.record.place(), own in in_force) for own in owns}
    found = replace(found, findings=(*found.findings, *ordered.findings), touched=touched)
    if looser is not None and not any(own.rank > looser[0].rank for own in ordered.stricter):
        return _loosened(found, spot, hazard, rows, *looser)
    return _tightened(found, spot, hazard, rows, ordered.stricter) if ordered.stricter else found


def _ordered(spot: Spot, hazard: str, rows: LawRows, owns: list[Own]) -> _Ordered:
    law, reported = in_words(rows), _Ordered()
    for own in owns:
        standing = order(own.record.limit, rows)
        if standing == "stricter":
            reported.stricter.append(own)
        elif standing == "same":
            reported.findings.append(_same(spot, own, law))
        elif _aimed(spot, own, rows):  # else what is in it asks for more, and the code's rows stay
            permit = _permit(spot, own, hazard, law)
            if isinstance(permit, Finding):
                reported.findings.append(permit)
            elif reported.looser is None and not reported.stricter:
                reported.looser = (own, permit)
    return reported


def _loosened(
    found: Found, spot: Spot, hazard: str, rows: LawRows, own: Own, permit: Authorisation
) -> Found:
    """A looser limit in force, by the authority that allows it."""
    rule = HouseRule(
        "looser", own.text, own.record.reason, permit.authority, permit.document, permit.until
    )
    source = (permit.document, f"{permit.authority}, until {date(permit.until)}")
    return _with(found, spot, hazard, rows, own.record.limit, rule, source, own.rank)


def _tightened(found: Found, spot: Spot, hazard: str, rows: LawRows, kept: list[Own]) -> Found:
    """The stricter limits in force, all of them at once."""
    figures = kept[0].record.limit
    for own in kept[1:]:
        both = joined_figures(figures, own.record.limit, rows)
        if both is None:
            twice = _twice(spot, own, kept[0])
            return replace(found, findings=(*found.findings, twice))
        figures = both
    texts = list(dict.fromkeys(own.text for own in kept))
    reasons = " ".join(dict.fromkeys(own.record.reason for own in kept if own.record.reason))
    rule = HouseRule("stricter", listed(texts), reasons)
    source = ("House limit", listed(list(dict.fromkeys(own.where for own in kept))))
    return _with(found, spot, hazard, rows, figures, rule, source, max(o.rank for o in kept))


def _with(
    found: Found,
    spot: Spot,
    hazard: str,
    rows: LawRows,
    figures: tuple[HouseFigure, ...],
    rule: HouseRule,
    source: tuple[str, str],
    rank: int,
) -> Found:
    keep = rule.standing == "looser"
    pack = pack_with(found.house.pack, hazard, rows, figures, source, keep)
    narrow = found.narrow | ({hazard} if rank > 1 else set())
    return replace(
        found,
        house=replace(found.house, pack=pack),
        rules={**found.rules, hazard: rule},
        narrow=narrow,
    )


# --- which speak of a spot


def _owns(spot: Spot, hazard: str, rows: LawRows) -> list[Own]:
    """The house limits for a hazard at a spot, nearest first; those whose figure is of another kind
    are none of its."""
    kind = FORMS[FOR[hazard]]
    found = [*_of_the_formula(spot, hazard), *_of_the_kitchen(spot, hazard)]
    fitting = [own for own in found if all(f.kind == kind for f in own.record.limit)]
    if rows.stages and rows.clock is None:  # never hot: a clock that starts hot doesn't speak of it
        fitting = [own for own in fitting if not any(f.start for f in own.record.limit)]
    return sorted(fitting, key=lambda own: -own.rank)


def _of_the_formula(spot: Spot, hazard: str) -> Iterator[Own]:
    """Those of the formula, then of its process's step."""
    formula = spot.formula
    if formula is None:
        return
    key = spot.step.id if spot.step is not None else STORE
    record = formula.formula.house_limits.get(DATE_MARK if hazard == "date" else key)
    if record is not None:
        yield Own(record, 5, formula.formula.name)
    step = spot.step or formula.steps[-1]  # a last step of storing is the end itself
    if step.step.house_limit is not None and (spot.step or "stores" in step.effects):
        yield Own(step.step.house_limit, 4, formula.process.name)


def _of_the_kitchen(spot: Spot, hazard: str) -> Iterator[Own]:
    """Those of the whole kitchen that speak of this food and this verb."""
    for limit in spot.house.kitchen.house_limits:
        if limit.for_ == FOR[hazard] and limit.do in (None, spot.verb) and _in_it(spot, limit.food):
            rank = (_OF_A_VERB if limit.do else 0) + (1 if limit.food else 0)
            yield Own(limit, rank, "kitchen.yaml")


def _kinds(spot: Spot) -> list[tuple[str, frozenset[str]]]:
    pack, stuffed = spot.house.pack, spot.product.stuffed
    return [(c.name, kinds_of(c, pack, stuffed)) for c in spot.product.components]


def _in_it(spot: Spot, food: Iterable[str]) -> bool:
    words = set(food)
    if not words:
        return True
    if "plant" in words and all(c.species == "none" for c in spot.product.components):
        return True
    return any(words & kinds for _, kinds in _kinds(spot))


def _aimed(spot: Spot, own: Own, rows: LawRows) -> bool:
    """Whether a limit for some food is meant for what sets the code's own limit here. A course of
    cooling for the whole kitchen is meant for hot food, not for what was never hot."""
    if rows.stages and rows.clock is None and own.rank < _OF_A_VERB:
        return False
    food = set(getattr(own.record, "food", ()))
    if not food or not spot.because:
        return True
    return any(food & kinds for name, kinds in _kinds(spot) if name in spot.because)


# --- what is said of them


def _permit(spot: Spot, own: Own, hazard: str, law: str) -> Authorisation | Finding:
    """The authorisation that lets a limit be looser, or the error that there is none in force."""
    kitchen, today, asked = spot.house.kitchen, spot.house.as_of, FOR[hazard]
    record = own.record
    held = [
        a
        for a in kitchen.authorisations
        if record.allowed_by and a.document == record.allowed_by and a.for_ == asked
    ]
    words = f"House limit: {own.text} is looser than the code: {law}"
    if not held:
        help = (
            "Make it stricter. Or name under `allowed_by` the document of an authorisation that "
            f"allows it, `for: {asked}`."
        )
        return Finding(
            "house-limit-looser", "error", f"{words}.", own.place, help, about=spot.about
        )
    for one in held:
        if one.in_force(today):
            return one
    last = max(held, key=lambda a: a.until)
    when = (
        f"ran out on {date(last.until)}" if last.until < today else f"begins on {date(last.from_)}"
    )
    return Finding(
        "house-limit-expired",
        "error",
        f"{words}, but {last.document} {when}.",
        own.place,
        "Renew it with the authority and enter the new dates. Or go back to the code.",
        about=spot.about,
    )


def _same(spot: Spot, own: Own, law: str) -> Finding:
    words = f"House limit: {own.text} is the same as the code's: {law}."
    return Finding(
        "house-limit-same", "note", words, own.place, "You can delete it.", about=spot.about
    )


def _twice(spot: Spot, own: Own, other: Own) -> Finding:
    words = (
        f"House limit: {own.text} and {other.text} are for the same food. Neither is the stricter."
    )
    return Finding(
        "house-limit-twice", "error", words, own.place, "Make them one limit.", about=spot.about
    )


# --- what the limits become


def reported_of(limit: Kind, rule: HouseRule, law: Limit | None) -> Kind:
    """A limit worked out with the house's rows, and the code's own beside it: of another kind,
    where the code has words and the house a figure."""
    basis = limit.basis
    if not isinstance(law, Law):
        law = None
    inputs = [*basis.inputs, ("House", rule.compared)]
    if law is not None:
        inputs.append(("Code", f"{limit_words(law)}; {law.source.words}"))
    source = replace(limit.source, standing="house")
    return replace(
        limit,
        house=rule,
        law=law,
        source=source,
        basis=Basis(tuple(inputs), basis.rule, basis.source),
    )
