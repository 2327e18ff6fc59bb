"""Cautions attached to steps and pages by what is in the food, what is done, and with what."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from fractions import Fraction

from generator.files.finding import Finding
from generator.records.effects import HEATS, AtHand
from generator.reference.cautions import RANK, Caution, When
from generator.reference.row_kinds import TimeRow
from generator.resolve.joined import House, JoinedStep
from generator.rules.basics.context import cited
from generator.rules.basics.product import RAW_STATES, Component, Product
from generator.rules.basics.said import any_of
from generator.sheet.at_hand import at_hand, machines_at
from generator.sheet.caution_asked import asked_about
from generator.sheet.notices import Notice as Notice
from generator.sheet.notices import Notices as Notices
from generator.sheet.raw_plant_states import RAW_PLANTS
from generator.sheet.walk import Walk, WalkedStep
from generator.sheet.weighing import WeighedLine

_FINE = Fraction(1, 10)


def shared_machines(walks: Iterable[Walk]) -> frozenset[str]:
    """The machines that take raw animal food in one formula and ready-to-eat food in another
    step."""
    raw: set[str] = set()
    ready: set[str] = set()
    for walk in walks:
        for walked in walk.steps:
            name = walked.step.step.with_
            if name is None or "cleans" in walked.step.effects:
                continue
            if walked.before.raw_animals:
                raw.add(name)
            if walked.before.ready_to_eat:
                ready.add(name)
    return frozenset(raw & ready)


TOUCHED = frozenset(
    {"mixer", "grinder", "cutter", "blender", "stuffer", "slicer", "packer", "other"}
)
"""Machines that food touches and that don't heat it."""


def _unknown(house: House, walk: Walk) -> tuple[Finding, ...]:
    """The errors of cautions switched off that there are none of."""
    formula = walk.formula
    return tuple(
        Finding(
            "caution-unknown",
            "error",
            f"There is no caution `{ident}` to switch off.",
            formula.formula.key_place("cautions_off", ident),
            _other_ids(ident, house),
            about=frozenset({formula.id}),
        )
        for ident in formula.formula.cautions_off
        if ident not in house.library.cautions
    )


def _not_cleaned(house: House, walk: Walk, shared: frozenset[str]) -> tuple[Finding, ...]:
    """Food that is eaten as it is, on a machine raw food has been on, with no cleaning step
    between.

    Food Code 4-602.11(A)(2). Within one process it is an error; where another formula takes the
    machine for raw food it is a warning, for the days may differ.
    """
    found: list[Finding] = []
    row = house.pack.row_for(TimeRow, "raw-then-ready", "clean")
    source = cited(house, row[1]) if row else ""
    last: dict[str, str] = {}
    for walked in walk.steps:
        step, name = walked.step, walked.step.step.with_
        if name is None or step.machine is None or step.machine.kind not in TOUCHED:
            continue
        if "cleans" in step.effects:
            last[name] = "clean"
            continue
        if not walked.before.ready_to_eat:
            last[name] = "raw" if walked.before.raw_animals else last.get(name, "")
            continue
        onward = walk.formula.since(step.number)
        heated = any(s.effects & {"cooks", "reheats"} for s in onward)
        before, last[name] = last.get(name, ""), "ready"
        if heated or before in ("clean", "ready") or (before != "raw" and name not in shared):
            continue
        other = "before it" if before == "raw" else "in another formula"
        found.append(
            Finding(
                "not-cleaned-between",
                "error" if before == "raw" else "warning",
                f"{step.verb}: {step.machine.name} takes raw food {other}; clean and sanitise "
                "it before food that is ready to eat.",
                step.step.place("with"),
                f"Add a step before this one, as in `- {{do: clean, with: {name}}}`.",
                (),
                source,
                frozenset({walk.formula.id}),
            )
        )
    return tuple(found)


@dataclass(frozen=True)
class _Beside:
    """What is at a step beside its food: what can hurt, the kinds of machine it may be done on, and
    whether its own takes raw food in one formula and ready-to-eat food in another."""

    at_hand: frozenset[AtHand]
    machines: frozenset[str]
    shared: bool


def _beside(walk: Walk, shared: frozenset[str]) -> dict[int, _Beside]:
    """What is beside the food at each step, by its number: worked out once for all cautions."""
    near = at_hand(walk)
    return {
        s.step.number: _Beside(near[s.step.number], machines_at(s), s.step.step.with_ in shared)
        for s in walk.steps
    }


def _anywhere(
    walk: Walk, beside: Mapping[int, _Beside]
) -> tuple[frozenset[str], frozenset[str], frozenset[str]]:
    """The effects, what is at hand, and the kinds of machine, of all steps together."""
    return (
        frozenset(effect for s in walk.steps for effect in s.step.effects),
        frozenset(what for one in beside.values() for what in one.at_hand),
        frozenset(kind for one in beside.values() for kind in one.machines),
    )


def _may_be(
    when: When, effects: frozenset[str], at_hand: frozenset[str], machines: frozenset[str]
) -> bool:
    """Whether a caution may be raised at some step: most ask for what no step of a formula has."""
    return not (
        (when.does and effects.isdisjoint(when.does))
        or (when.at_hand and at_hand.isdisjoint(when.at_hand))
        or (when.machine and machines.isdisjoint(when.machine))
    )


_NOTHING = Product()


def _hits(
    house: House, walk: Walk, shared: frozenset[str]
) -> Iterator[tuple[str, Caution, list[WalkedStep]]]:
    """Each caution with the steps that raise it."""
    beside = _beside(walk, shared)
    anywhere = _anywhere(walk, beside)
    for ident, caution in house.library.cautions.items():
        when = caution.when
        steps = walk.steps if _may_be(when, *anywhere) else ()
        yield (
            ident,
            caution,
            [s for s in steps if _raised(when, house, walk, s, beside[s.step.number])],
        )


def _shown(
    walk: Walk, hit: WalkedStep, caution: Caution, notice: Notice
) -> tuple[Notice, list[Finding]]:
    """A notice as it is at a step, and what is wrong there: the step's words may contradict it."""
    said = _contradiction_in(caution, hit)
    if not said:
        return notice, []
    shown = replace(notice, words=f"{ASK_FIRST} {notice.words}", whole=True)
    return shown, [_problem(walk, hit, caution, said)]


def notices_for(house: House, walk: Walk, shared: frozenset[str]) -> Notices:
    """Every caution the formula raises. ``shared`` comes from :func:`shared_machines`.

    A caution is switched off only by a written reason in the formula, and the reason is shown.
    """
    off = walk.formula.formula.cautions_off
    by_step: dict[int, list[Notice]] = {}
    page: list[Notice] = []
    before: list[Notice] = []
    silent: set[str] = set()
    problems: list[Finding] = []
    for ident, caution, hits in _hits(house, walk, shared):
        if not hits:
            silent.add(ident)
        if not hits or ident in off:
            continue
        notice = _notice(house, ident, caution)
        problems += asked_about(walk, ident, caution)
        if caution.stands == "page":
            page.append(notice)
            continue
        if caution.stands == "before":
            before.append(notice)
            notice = replace(notice, whole=False)
        for hit in hits if caution.each or caution.stands == "before" else hits[:1]:
            shown, found = _shown(walk, hit, caution, notice)
            by_step.setdefault(hit.step.number, []).append(shown)
            problems += found
            notice = notice.again
    findings = (
        _not_cleaned(house, walk, shared)
        + _off(house, walk, silent)
        + tuple(problems)
        + _unknown(house, walk)
    )
    reasons = tuple(
        (house.library.cautions[i].name, why)
        for i, why in off.items()
        if i in house.library.cautions
    )
    ranked = {number: _ranked(found) for number, found in by_step.items()}
    return Notices(ranked, _ranked(page), reasons, findings, _ranked(before))


ASK_FIRST = "The words of this step disagree. Ask the chef before you start."
"""Stands in front of a caution that the step under it contradicts, till the step or the caution is
put right."""


def _contradiction_in(caution: Caution, walked: WalkedStep) -> str:
    """The word of the step's own text that contradicts a caution; "" if there is none."""
    step = walked.step.step
    text = " ".join((*step.how, step.until, step.note)).casefold()
    return next((w for w in caution.against if _says(text, w.casefold())), "")


_FORBIDS = re.compile(r"\b(?:never|don['’]t|do not|not|no|avoid|without)\s+(?:[\w’'-]+\s+){0,3}$")
"""What comes before a phrase and forbids it: "never open it while under pressure"."""


_WITH_A_TOOL = re.compile(r"\b(?:stir|whisk|beat|crank)(?:s|red|ed|ing)?\s+(?:[\w’'-]+\s+){0,4}$")
"""What is done "by hand" with a spoon or a whisk in it, and not by a machine."""


def _says(text: str, phrase: str) -> bool:
    """Whether a text has a phrase that it doesn't forbid in the same breath."""
    for hit in re.finditer(rf"\b{re.escape(phrase)}\b", text):
        before = text[: hit.start()]
        tool = phrase == "by hand" and _WITH_A_TOOL.search(before)
        if not tool and not _FORBIDS.search(before):
            return True
    return False


def _problem(walk: Walk, walked: WalkedStep, caution: Caution, said: str) -> Finding:
    return Finding(
        "step-against-caution",
        "warning",
        f"{walked.step.verb}: the step says `{said}`, but its caution “{caution.name}” disagrees.",
        walked.step.step.place("do"),
        "Change the step's words, or switch the caution off with a reason in the formula.",
        about=frozenset({walk.formula.id}),
    )


LEAST_REASON = 10
"""Letters a reason has at least: "no" and "n/a" are none."""


def _off(house: House, walk: Walk, silent: set[str]) -> tuple[Finding, ...]:
    """Cautions switched off without a reason worth the name, or that nothing raises anyway."""
    formula = walk.formula.formula
    found: list[Finding] = []
    for ident, why in formula.cautions_off.items():
        caution = house.library.cautions.get(ident)
        if caution is None:
            continue
        if sum(letter.isalpha() for letter in why) < LEAST_REASON:
            found.append(
                Finding(
                    "caution-reason-short",
                    "error",
                    f"{formula.name}: `{why}` is not a reason to switch off “{caution.name}”.",
                    formula.place("cautions_off", ident),
                    "Write in a sentence why it doesn't apply here. The page shows your sentence.",
                    about=frozenset({walk.formula.id}),
                )
            )
        if ident in silent:
            found.append(
                Finding(
                    "caution-not-raised",
                    "warning",
                    f"{formula.name}: “{caution.name}” isn't needed here, so there is nothing to "
                    f"switch off.",
                    formula.key_place("cautions_off", ident),
                    "Take the line out.",
                    about=frozenset({walk.formula.id}),
                )
            )
    return tuple(found)


def _other_ids(ident: str, house: House) -> str:
    near = get_close_matches(ident, house.library.cautions, 1)
    meant = f"Did you mean `{near[0]}`? " if near else ""
    return f"{meant}The guide's page on cautions lists their ids."


def _ranked(notices: list[Notice]) -> tuple[Notice, ...]:
    return tuple(sorted(notices, key=lambda n: (RANK.index(n.severity), n.id)))


def _notice(house: House, ident: str, caution: Caution) -> Notice:
    source = house.library.source_title(caution.source)
    if caution.clause:
        source = f"{source}, {caution.clause}"
    return Notice(ident, caution.severity, caution.name, caution.words, source)


def _raised(
    when: When,
    house: House,
    walk: Walk,
    walked: WalkedStep,
    beside: _Beside,
) -> bool:
    step = walked.step
    product = _NOTHING if "cleans" in step.effects else walked.before  # the food is not there
    return (
        _of_step(when, walked, beside)
        and (not when.at_hand or not beside.at_hand.isdisjoint(when.at_hand))
        and _of_food(when, house, product)
        and (not (when.function or when.scales) or _of_lines(when, house, walk, step, product))
        and _of_formula(when, walk, product)
        and (not when.state or any(_state(word, product, walk, step) for word in when.state))
    )


def _of_step(when: When, walked: WalkedStep, beside: _Beside) -> bool:
    step = walked.step
    if when.does and not _does(when, step):
        return False
    if when.machine and beside.machines.isdisjoint(when.machine):
        return False
    place = step.cold.kind if step.cold is not None else ""
    if (when.in_ and place not in when.in_) or place in when.not_in:
        return False
    if when.shared_machine and not beside.shared:
        return False
    if when.casing and not _may_be_cased(step):
        return False
    return when.deeper_than is None or _depth(step) > when.deeper_than.value


def _may_be_cased(step: JoinedStep) -> bool:
    """Whether food may be in a casing once a step is done: it fills one, or doesn't say what it
    fills. What is only shaped, with no vessel, is filled into nothing."""
    if step.vessel is not None:
        return step.vessel.shape == "casing"
    return not ("joins" in step.effects and "stuffs" not in step.effects)


def _does(when: When, step: JoinedStep) -> bool:
    """Whether a step does one of the effects. One that only cools counts where it doesn't say in
    what: else the depth of that is looked at instead."""
    does = step.effects.intersection(when.does)
    return bool(does) and (does != {"cools"} or step.vessel is None)


def _depth(step: JoinedStep) -> Fraction:
    """How deep the food is in the step's vessel, in mm: its depth, or a casing's diameter."""
    if step.vessel is None:
        return Fraction(0)
    inside = step.vessel.inside
    measure = inside.diameter if step.vessel.shape == "casing" else inside.depth
    return measure.value if measure is not None else Fraction(0)


def _of_food(when: When, house: House, product: Product) -> bool:
    raw = product.raw_animals
    if when.species and not any(c.species in when.species for c in raw):
        return False
    if when.organ and not any(c.organ in when.organ for c in raw):
        return False
    if when.allergens and not any(c.allergens for c in product.components):
        return False
    if (
        when.cured is not None
        and any(c.function == "cure" for c in product.components) != when.cured
    ):
        return False
    if not when.raw:
        return True
    definitions = house.pack.definitions
    classes = {definitions[c.species].group_as for c in raw if c.species in definitions}
    if any(c.species is None for c in raw):
        classes.add("poultry")  # not stated counts as the strictest
    return bool(classes & set(when.raw))


def _of_lines(when: When, house: House, walk: Walk, step: JoinedStep, product: Product) -> bool:
    lines = [ln for ln in walk.lines if ln.joined.part in step.parts]
    if when.function and not _functions(lines, step, product) & set(when.function):
        return False
    if when.scales is None:
        return True
    return bool(lines) and any(scale.division.value <= _FINE for _, scale in house.scales)


def _functions(lines: list[WeighedLine], step: JoinedStep, product: Product) -> set[object]:
    """What ingredients do in the food of a step: those of its lines, and a cure from a cure mix or
    a pickle made ahead."""
    functions: set[object] = {ln.joined.ingredient.function for ln in lines if ln.joined.ingredient}
    cure = any(c.cures and c.part in step.parts for c in product.components)
    return functions | {"cure"} if cure else functions


def _of_formula(when: When, walk: Walk, product: Product) -> bool:
    return _of_end(when, walk) and _of_names(when, walk, product)


def _of_names(when: When, walk: Walk, product: Product) -> bool:
    """Whether a name of what is in it, and one of the formula's own, has a word that is asked."""
    formula = walk.formula.formula
    if when.named and not _has_word(when.named, (c.name for c in product.components)):
        return False
    return not when.called or _has_word(when.called, (formula.name, *formula.other_names))


def _has_word(words: tuple[str, ...], names: Iterable[str]) -> bool:
    return any(map(any_of(words).search, names))


def _of_end(when: When, walk: Walk) -> bool:
    if not when.end:
        return True
    states = {
        "raw-animal": bool(walk.end.raw_animals),
        "ready-to-eat": walk.end.ready_to_eat,
        "undercooked": walk.undercooked,
    }
    return any(states[word] for word in when.end)


def _state(word: str, product: Product, walk: Walk, step: JoinedStep) -> bool:
    if word == "raw":
        return bool(product.raw_animals)
    if word == "comminuted":
        return any(c.form == "comminuted" for c in product.raw_animals)
    if word == "ready-to-eat":
        return product.ready_to_eat
    if word == "finished":
        return _finished(product, walk, step)
    if word in RAW_PLANTS:
        return RAW_PLANTS[word](product, walk)
    if word == "open":
        return not any(c.no_air for c in product.components)
    return bool(getattr(product, word))


def _finished(product: Product, walk: Walk, step: JoinedStep) -> bool:
    """Whether it is eaten as it is: ready, or served raw by its own word, and not heated again."""
    later = walk.formula.since(step.number)
    heated = any(s.effects & (HEATS - {"heats"}) for s in later)
    ready = product.ready_to_eat or walk.undercooked
    return ready and not heated and any(map(_eaten, product.components))


def _eaten(component: Component) -> bool:
    """Whether a component is more than a seasoning out of a jar: what hands touch here somebody
    eats."""
    raw = component.state in RAW_STATES and component.form != "dry"
    of_animal = component.species != "none"
    return raw or component.tcs or component.heated or component.cooked or of_animal
