"""Cook-chill and sous vide: packed hot or cooked in the pack, cooled there, kept cold and watched.

Food Code 3-502.12(D). Each condition is a stated fact or is read from the steps; the plan on file
holds the rest. Fish is refused before it comes here.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from generator.measures.basis import Basis
from generator.measures.temperature import Temperature
from generator.measures.words import breakable, counted, duration
from generator.records.equipment import Cold
from generator.records.formula import WithoutAir
from generator.reference.row_kinds import ReducedOxygenRow
from generator.resolve.joined import JoinedStep
from generator.rules.basics.context import Outcome, StepContext, both
from generator.rules.basics.limit import InWords, KeepingLimit, Limit, figure_of
from generator.rules.basics.product import Product
from generator.rules.basics.uncovered import ASK, not_covered
from generator.rules.cold.holding import ONCE_MOVED, UNTIL_MOVED

_DAY = 86400


_SEAL = "Probe the food before you seal each pack. Write the reading and the time."
_COLD_BEFORE = (
    "Colder than {below} before sealing? Don't seal it. Chill it and use it as unpacked food, or "
    "throw it away."
)


def cook_chill(context: StepContext, facts: WithoutAir) -> Outcome:
    """The limits of packing cook-chill food, or why a condition isn't met."""
    rows = {r.applies: r for _, r in context.house.pack.rows_of(ReducedOxygenRow)}
    row, sealed = rows.get(f"cook-chill-{facts.kept}"), rows.get("cook-chill-sealed")
    if sealed is None:
        return _refused(context, "The rules here have no paragraph on cook-chill.", ASK)
    if row is None:
        why = f"The rules here say nothing about cook-chill kept {facts.kept.replace('-', ' ')}."
        return _refused(context, why, ASK)
    later = context.formula.after(context.step.number)
    wrong = list(_problems(context, facts.sold, facts.kept, row))
    if wrong:
        return _refused(context, " ".join(w for w, _ in wrong), " ".join(h for _, h in wrong))
    limits: list[Limit] = []
    in_the_pack = any("cooks" in s.effects for s in later)
    if not in_the_pack:
        limits.append(_sealed(context, sealed))
    limits.append(_kept(context, facts, row, rows))
    if row.store_at is not None:
        limits.append(_moved(context, facts, row, limits[-1].basis.inputs))
    return Outcome(tuple(limits), air_days=row.days, air_row=row)


def _refused(context: StepContext, why: str, help: str) -> Outcome:
    return not_covered(context, "reduced_oxygen", why, help)


Problem = tuple[str, str]


def cook_chill_problems(context: StepContext, sold: bool | None, kept: str) -> list[Problem]:
    """Why it may not be packed as cook-chill food, ``kept`` so, ``sold`` or not: each condition
    that isn't met, and its fix. None where the rules have no such paragraph."""
    row = context.house.pack.row_for(ReducedOxygenRow, f"cook-chill-{kept}")
    return list(_problems(context, sold, kept, row[1])) if row is not None else []


def _problems(
    context: StepContext, sold: bool | None, kept: str, row: ReducedOxygenRow
) -> Iterator[Problem]:
    """Each condition that isn't met, and its fix. What comes after is asked from where it should be
    packed, if that is earlier."""
    formula, number = context.formula.formula, context.step.number
    later = context.formula.after(number)
    if sold is not False:
        yield (
            "Cook-chill food is eaten here or at another place of the same business. Never sell "
            "it in its pack.",
            "Never sold in its pack? Write `sold: no` under `without_air`.",
        )
    if formula.undercooked:
        yield (
            "Cook-chill food must be cooked to its limit. This is undercooked on request.",
            "Cook it to its limit, or serve it at once.",
        )
    if not _hot_or_cooked_there(context.before, later):
        yield (
            "Seal it in its pack before cooking, or straight after, while it is hot. Here it is "
            "packed cold.",
            "Pack it before the cooking, or between cooking and chilling: `do: vacuum-pack`; under "
            "fat or oil `do: pack` with `does: packs-without-air`.",
        )
        later = context.formula.after(min(_last_cooked(context) or number, number))
    if not any("cools" in s.effects for s in later):
        yield (
            "No later step cools it in its sealed pack.",
            "Add `do: chill` with a target after this step.",
        )
    keeps = formula.keeps
    frozen_too = row.store_at is not None and keeps is not None and keeps.frozen is not None
    badly = _TWO_PLACES if frozen_too else _kept_badly(kept, row, later)
    if badly is not None:
        yield badly


_TWO_PLACES = (
    "By its formula it is kept at two places, and frozen too. The code's paragraph is only for two "
    "places.",
    "Delete `frozen` under `keeps`, or write `kept: frozen`.",
)


def _last_cooked(context: StepContext) -> int:
    """The number of the last step that cooks it; 0 without one."""
    return max((s.number for s in context.formula.steps if "cooks" in s.effects), default=0)


def _hot_or_cooked_there(product: Product, later: tuple[JoinedStep, ...]) -> bool:
    """Whether it is cooked in its pack, or goes into it cooked and hot."""
    if any("cooks" in s.effects for s in later):
        return True
    return product.hot and product.cooked and not (product.raw_animals or product.mixed)


def _kept_badly(
    kept: str, row: ReducedOxygenRow, later: tuple[JoinedStep, ...]
) -> tuple[str, str] | None:
    """Whether the place it is kept in fails what is asked of it."""
    places = [s.cold for s in later if s.cold is not None and "stores" in s.effects]
    if kept == "frozen":
        return _not_frozen(places, later)
    if not places:
        return (
            "Its refrigerator isn't stated.",
            "Add `do: store` with `in:` at the end of its process.",
        )
    return _places_fail(row, places) or _too_long_out(row, later)


def _places_fail(row: ReducedOxygenRow, places: list[Cold]) -> tuple[str, str] | None:
    """Whether one of the places it is stored in, one after the other, fails; the last may be the
    warmer of two."""
    if row.store_at is not None and len(places) < 2:
        return (
            "By its formula it is kept at two places. Its process has "
            f"{'one step' if len(places) == 1 else 'none'} that stores it.",
            "Add `do: store` with `in:` the colder place, and then one with `in:` the warmer.",
        )
    for place in places[:-1]:
        wrong = _place_fails(place, row.at)
        if wrong is not None:
            return wrong
    return _place_fails(places[-1], row.store_at or row.at)


def _not_frozen(places: list[Cold], later: tuple[JoinedStep, ...]) -> tuple[str, str] | None:
    """Whether food kept frozen by its formula is neither frozen by a step nor stored in freezers
    alone."""
    if any("freezes" in s.effects for s in later):
        return None
    if places and all(p.kind == "freezer" for p in places):
        return None
    return (
        "By its formula it is kept frozen. No later step freezes it.",
        "Add `do: freeze` after chilling, or store it in a freezer.",
    )


def _place_fails(place: Cold, most: Temperature | None) -> tuple[str, str] | None:
    """Whether a place isn't watched, or is warmer than the ``most`` the food may have there."""
    if not place.watched:
        return (
            f"{place.name} isn't stated to be watched. An electronic system must read it without "
            "a break, and a person must look twice a day.",
            f"Is it watched? Add `watched: yes` to {place.name}.",
        )
    if most is not None and place.air.warmest > most:
        return (
            f"{place.name} is kept at {place.air}. The food must be at {most} or colder.",
            "Store it in a colder place, or write `kept: cold`.",
        )
    return None


def _too_long_out(row: ReducedOxygenRow, later: tuple[JoinedStep, ...]) -> tuple[str, str] | None:
    """Whether the step that stores it last says a longer time than it has there."""
    last = next((s for s in reversed(later) if s.cold is not None and "stores" in s.effects), None)
    if row.then_days is None or last is None or last.step.time is None:
        return None
    if last.step.time.longest <= row.then_days * _DAY:
        return None
    return (
        f"It is stored last for {last.step.time}. Out of the colder place it "
        f"has {counted(row.then_days, 'day')}.",
        f"Write `time: {breakable(counted(row.then_days, 'day'))}` there, or delete it.",
    )


def _sealed(context: StepContext, row: ReducedOxygenRow) -> KeepingLimit:
    """Packed after cooking: sealed before it falls below the row's figure."""
    step, source = context.step, context.source(row)
    assert row.value is not None
    figure = figure_of(row.value, row.printed, "min", context.accuracy)
    shown = both(figure.value, figure.shown_c, figure.shown_f)
    basis = Basis(
        (("In it", row.food), ("Probe", f"reads to ±{context.accuracy}")),
        f"{row.food}: sealed at {shown} or hotter",
        source.words,
    )
    return KeepingLimit(
        **context.names("sealed"),
        hazard="reduced_oxygen",
        bound="min",
        source=source,
        figure=figure,
        read=figure.read_at(context.unit),
        group=row.food,
        basis=basis,
        note="Seal every pack straight after cooking. Colder than this before sealing? Don't "
        "seal it.",
        probe=step.step.probe or _SEAL,
        if_missed=step.step.if_missed or _COLD_BEFORE,
    )


def _kept(
    context: StepContext,
    facts: WithoutAir,
    row: ReducedOxygenRow,
    rows: dict[str, ReducedOxygenRow],
) -> InWords | KeepingLimit:
    """How the pack is kept, and for how long."""
    step, source = context.step, context.source(row)
    more = [
        (name, f"{rows[key].words} ({rows[key].clause})")
        for name, key in (
            ("Where", "cook-chill-here"),
            ("Watched", "cook-chill-watched"),
            ("Records", "cook-chill-records"),
        )
        if key in rows
    ]
    inputs = (("In it", row.food), ("Record", facts.record), *more)
    label = "Label it: its name and the day it is packed."
    if row.at is None:
        return InWords(
            **context.names("reduced_oxygen"),
            hazard="reduced_oxygen",
            bound="max",
            source=source,
            words=row.words,
            note=label,
            group=row.food,
            basis=Basis(inputs, row.words, source.words),
            if_missed=step.step.if_missed,
        )
    assert row.days is not None
    figure = figure_of(row.at, row.printed, "max", context.accuracy)
    shown = both(figure.value, figure.shown_c, figure.shown_f)
    days = counted(Fraction(row.days), "day")
    chilled = ""
    if row.within is not None:
        cold = rows.get("cook-chill-cold")
        reached = f"{cold.at}" if cold is not None else "the cold-holding limit"
        chilled = (
            f" Be there within {duration(row.within.seconds, days=False)} of reaching {reached}."
        )
    basis = Basis(
        (*inputs, ("Probe", f"reads to ±{context.accuracy}")),
        f"{row.food}: {shown} or colder, use it or throw it away within {days} of packing",
        source.words,
    )
    return KeepingLimit(
        **context.names("reduced_oxygen"),
        hazard="reduced_oxygen",
        bound="max",
        source=source,
        figure=figure,
        read=figure.read_at(context.unit),
        group=row.food,
        basis=basis,
        note=f"{label} Keep the sealed pack at {shown} or colder. Use it or throw it away within "
        f"{days} of packing.{chilled}",
        if_missed=step.step.if_missed,
        when=UNTIL_MOVED if row.store_at is not None else "",
    )


def _moved(
    context: StepContext,
    facts: WithoutAir,
    row: ReducedOxygenRow,
    inputs: tuple[tuple[str, str], ...],
) -> KeepingLimit:
    """How the pack is kept once it is taken out of the colder place, and for how long."""
    step, source = context.step, context.source(row)
    assert row.at is not None and row.store_at is not None
    assert row.days is not None and row.then_days is not None
    figure = figure_of(row.store_at, row.store_printed, "max", context.accuracy)
    shown = both(figure.value, figure.shown_c, figure.shown_f)
    colder = figure_of(row.at, row.printed, "max", context.accuracy)
    left = both(colder.value, colder.shown_c, colder.shown_f)
    days, most = counted(row.then_days, "day"), counted(row.days, "day")
    rule = f"{row.food}: {shown} or colder for {days} at most, and {most} from packing at most"
    return KeepingLimit(
        **context.names("reduced_oxygen_moved"),
        hazard="reduced_oxygen",
        bound="max",
        source=source,
        figure=figure,
        read=figure.read_at(context.unit),
        group=row.food,
        basis=Basis((*inputs, ("Probe", f"reads to ±{context.accuracy}")), rule, source.words),
        when=ONCE_MOVED,
        note=f"Out of the place at {left}? Write that day on its label. Keep the sealed pack at "
        f"{shown} or colder. Use it or throw it away within {days}. The day you take it out "
        f"counts. Never later than {most} after packing.",
        if_missed=step.step.if_missed,
    )
