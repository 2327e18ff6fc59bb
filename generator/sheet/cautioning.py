"""Cautions attached to steps and pages by what is in the food, what is done, and with what."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import cached_property, lru_cache

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


@dataclass(frozen=True)
class _Beside:
    """What is beside the food at each step of a walk, by the step's number, and at all of them
    together: each worked out once for all cautions, where one asks for it."""

    walk: Walk
    shared: frozenset[str]

    @cached_property
    def at(self) -> dict[int, Beside]:
        near = at_hand(self.walk)
        return {
            s.step.number: Beside(
                near[s.step.number], machines_at(s), s.step.step.with_ in self.shared
            )
            for s in self.walk.steps
        }

    @cached_property
    def effects(self) -> frozenset[str]:
        return frozenset(effect for s in self.walk.steps for effect in s.step.effects)

    @cached_property
    def at_hand(self) -> frozenset[str]:
        return frozenset(what for one in self.at.values() for what in one.at_hand)

    @cached_property
    def machines(self) -> frozenset[str]:
        return frozenset(kind for one in self.at.values() for kind in one.machines)

    def may_raise(self, when: When) -> bool:
        """Whether a caution may be raised at some step: most ask for what no step of a formula
        has."""
        return not (
            (when.does and self.effects.isdisjoint(when.does))
            or (when.at_hand and self.at_hand.isdisjoint(when.at_hand))
            or (when.machine and self.machines.isdisjoint(when.machine))
        )


def _hits(
    house: House, walk: Walk, shared: frozenset[str], cautions: Mapping[str, Caution]
) -> Iterator[tuple[str, Caution, list[WalkedStep]]]:
    """Each of some cautions with the steps that raise it."""
    if not cautions:
        return
    beside = _Beside(walk, shared)
    spots = [Spot(house, walk, s, lambda number: beside.at[number]) for s in walk.steps]
    for ident, caution in cautions.items():
        when = caution.when
        yield (
            ident,
            caution,
            raised_at(house, caution, spots) if beside.may_raise(when) else [],
        )


def _shown(hit: WalkedStep, caution: Caution, notice: Notice) -> Notice:
    """A notice as it is at a step: the step's words may contradict it."""
    if not _contradiction_in(caution, hit):
        return notice
    return replace(notice, words=f"{ASK_FIRST} {notice.words}", whole=True)


def _at(caution: Caution, hits: list[WalkedStep]) -> list[WalkedStep]:
    """The steps a caution is put to, of those that raise it."""
    if caution.stands == "page":
        return []
    return hits if caution.each or caution.stands == "before" else [_first(caution, hits)]


def _first(caution: Caution, hits: list[WalkedStep]) -> WalkedStep:
    """The step a caution is put to that is said once: the first that raises it; of food that is
    poisonous until it boils, the first that heats it."""
    if not set(caution.when.state) & UNTIL_IT_BOILS:
        return hits[0]
    return next((hit for hit in hits if hit.step.effects & HEATS), hits[0])


@dataclass(frozen=True)
class Raised:
    """The cautions that a formula raises; ``shared`` comes from :func:`shared_machines`. Its
    notices are worked out when they are first asked for: what is wrong with them is known with a
    few of them looked at."""

    house: House
    walk: Walk
    shared: frozenset[str]

    @cached_property
    def notices(self) -> Notices:
        """All of them as they are shown."""
        return notices_for(self.house, self.walk, self.shared)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What is wrong with those switched off, and what the formula says against others."""
        return _findings_of(self.house, self.walk, self.shared)


def notices_for(house: House, walk: Walk, shared: frozenset[str]) -> Notices:
    """Every caution the formula raises. ``shared`` comes from :func:`shared_machines`.

    A caution is switched off only by a written reason in the formula, and the reason is shown.
    """
    off, known = walk.formula.formula.cautions_off, house.library.cautions
    by_step: dict[int, list[Notice]] = {}
    page: list[Notice] = []
    before: list[Notice] = []
    for ident, caution, hits in _hits(house, walk, shared, known):
        if not hits or ident in off:
            continue
        notice = _notice(house, ident, caution)
        if caution.stands == "page":
            page.append(notice)
        elif caution.stands == "before":
            before.append(notice)
            notice = replace(notice, whole=False)
        for hit in _at(caution, hits):
            by_step.setdefault(hit.step.number, []).append(_shown(hit, caution, notice))
            notice = notice.again
    reasons = tuple((known[i].name, why) for i, why in off.items() if i in known)
    ranked = {number: _ranked(found) for number, found in by_step.items()}
    return Notices(ranked, _ranked(page), reasons, _ranked(before))


def _doubted(house: House, walk: Walk) -> dict[str, Caution]:
    """The cautions of which there may be something to say: those asked about, those switched off,
    and those that the words of a step may contradict."""
    off = walk.formula.formula.cautions_off
    text = "\n".join(map(_text_of, walk.steps))
    return {
        ident: caution
        for ident, caution in house.library.cautions.items()
        if caution.asked or ident in off or any(w in text for w in _folded(caution.against))
    }


def _findings_of(house: House, walk: Walk, shared: frozenset[str]) -> tuple[Finding, ...]:
    off = walk.formula.formula.cautions_off
    silent: set[str] = set()
    problems: list[Finding] = []
    for ident, caution, hits in _hits(house, walk, shared, _doubted(house, walk)):
        if not hits:
            silent.add(ident)
        if not hits or ident in off:
            continue
        problems += asked_about(walk, ident, caution)
        said = ((hit, _contradiction_in(caution, hit)) for hit in _at(caution, hits))
        problems += [_problem(walk, hit, caution, word) for hit, word in said if word]
    return (
        *_not_cleaned(house, walk, shared),
        *_off(house, walk, silent),
        *problems,
        *_unknown(house, walk),
    )


ASK_FIRST = "The words of this step disagree. Ask the chef before you start."
"""Stands in front of a caution that the step under it contradicts, till the step or the caution is
put right."""


def _contradiction_in(caution: Caution, walked: WalkedStep) -> str:
    """The word of the step's own text that contradicts a caution; "" if there is none."""
    text = _text_of(walked)
    pairs = zip(caution.against, _folded(caution.against), strict=True)
    return next((word for word, folded in pairs if _says(text, folded)), "")


def _text_of(walked: WalkedStep) -> str:
    step = walked.step.step
    return " ".join((*step.how, step.until, step.note)).casefold()


@lru_cache(256)
def _folded(words: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(word.casefold() for word in words)


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
