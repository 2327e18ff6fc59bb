"""Cautions attached to steps and pages by what is in the food, what is done, and with what."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from difflib import get_close_matches

from generator.files.finding import Finding
from generator.records.effects import HEATS
from generator.reference.cautions import RANK, Caution, When
from generator.reference.row_kinds import TimeRow
from generator.resolve.joined import House
from generator.rules.basics.context import cited
from generator.sheet.at_hand import at_hand, machines_at
from generator.sheet.caution_asked import asked_about
from generator.sheet.caution_spots import Beside, Spot, raised_at
from generator.sheet.notices import Notice as Notice
from generator.sheet.notices import Notices as Notices
from generator.sheet.raw_plant_states import UNTIL_IT_BOILS
from generator.sheet.walk import Walk, WalkedStep


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


def _beside(walk: Walk, shared: frozenset[str]) -> dict[int, Beside]:
    """What is beside the food at each step, by its number: worked out once for all cautions."""
    near = at_hand(walk)
    return {
        s.step.number: Beside(near[s.step.number], machines_at(s), s.step.step.with_ in shared)
        for s in walk.steps
    }


def _anywhere(
    walk: Walk, beside: Mapping[int, Beside]
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


def _hits(
    house: House, walk: Walk, shared: frozenset[str]
) -> Iterator[tuple[str, Caution, list[WalkedStep]]]:
    """Each caution with the steps that raise it."""
    beside = _beside(walk, shared)
    anywhere = _anywhere(walk, beside)
    spots = [Spot(house, walk, s, beside[s.step.number]) for s in walk.steps]
    for ident, caution in house.library.cautions.items():
        when = caution.when
        yield (
            ident,
            caution,
            raised_at(house, caution, spots) if _may_be(when, *anywhere) else [],
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


def _first(caution: Caution, hits: list[WalkedStep]) -> WalkedStep:
    """The step a caution is put to that is said once: the first that raises it; of food that is
    poisonous until it boils, the first that heats it."""
    if not set(caution.when.state) & UNTIL_IT_BOILS:
        return hits[0]
    return next((hit for hit in hits if hit.step.effects & HEATS), hits[0])


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
        for hit in hits if caution.each or caution.stands == "before" else [_first(caution, hits)]:
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
    if phrase not in text:
        return False
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
    """A caution as it is where it is whole: the same in all formulas."""
    return house.once(f"notice {ident}", caution, lambda: _whole_notice(house, ident, caution))


def _whole_notice(house: House, ident: str, caution: Caution) -> Notice:
    source = house.library.source_title(caution.source)
    if caution.clause:
        source = f"{source}, {caution.clause}"
    return Notice(ident, caution.severity, caution.name, caution.words, source)
