"""Steps joined with their verbs, machines, vessels and targets; every part taken in once."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import lru_cache

from generator.files.finding import clipped
from generator.measures.words import listed
from generator.records.effects import settled
from generator.records.equipment import Cold, Machine, Vessel
from generator.records.fields import as_id
from generator.records.formula import Formula
from generator.records.process import Process, Step, StepChange, Target
from generator.reference.rows import Verb
from generator.resolve.joined import JoinedStep
from generator.resolve.names import Names
from generator.resolve.streams import Flow
from generator.resolve.yields import check_direction, yield_of

AS_THE_FORMULA_SAYS = "as the formula says"


def join_steps(
    names: Names, ident: str, formula: Formula, process: Process, vessel: Vessel | None
) -> tuple[JoinedStep, ...] | None:
    """The steps of a formula, its process's or its own, joined; ``vessel`` is the one the formula
    names."""
    about = formula.whose_steps(ident)
    found: list[JoinedStep] = []
    taken: dict[str, int] = {}
    ids = process.step_ids()
    steps = _changed(names, ident, formula, process)
    flow = Flow(names, ident, formula, steps, about)
    held = None if any(step.vessel for step in steps) else vessel
    for number, (step, step_id) in enumerate(zip(steps, ids, strict=True), 1):
        if ids.index(step_id) != number - 1:
            names.error(
                "step-twice",
                step.place("do"),
                f"The step `{step_id}` comes twice.",
                "Give the later one an `id` of its own.",
                about,
            )
        _take_in(names, formula, step, number, taken, about)
        joined = _step(names, ident, formula, number, step, step_id, (vessel, held))
        comes = flow.come_to(number, step, "cleans" in joined.effects)
        found.append(replace(joined, comes=comes) if comes else joined)
        held = joined.vessel
        _check_keys(names, step, joined.effects, about)
        _check_standing(names, joined, about)
        _check_humidity(names, joined, about)
        check_direction(names, ident, formula, joined)
    flow.end()
    _check_parts(names, ident, formula, process, taken)
    if all(step.do in names.library.verbs or step.says_what_it_does for step in steps):
        _check_named_steps(names, ident, formula, ids)
    return tuple(found)


def _changed(names: Names, ident: str, formula: Formula, process: Process) -> tuple[Step, ...]:
    """The steps as the formula changes them; what it says twice is reported."""
    if formula.changes and formula.process is None:
        names.error(
            "said-twice",
            formula.key_place("changes"),
            "These steps are the formula's own. There is nothing shared to change.",
            "Write it at the step.",
            ident,
        )
    for step_id, change in formula.changes.items():
        twice = [("times", formula.times, change.time), *_yields_of(formula, change)]
        for key, given, said in twice:
            if said is not None and step_id in given:
                names.error(
                    "said-twice",
                    formula.key_place("changes", step_id),
                    f"`{step_id}` is under `changes` and under `{key}` with the same thing.",
                    "Keep one of the two.",
                    ident,
                )
    return tuple(
        step.changed_by(formula.changes[step_id]) if step_id in formula.changes else step
        for step, step_id in zip(process.steps, process.step_ids(), strict=True)
    )


def _yields_of(
    formula: Formula, change: StepChange
) -> Iterator[tuple[str, Mapping[str, object], object]]:
    """What a change says of a yield, beside the tests of one."""
    yield "yield_tests", formula.yield_tests, change.loses
    yield "yield_tests", formula.yield_tests, change.gains


def _take_in(
    names: Names, formula: Formula, step: Step, number: int, taken: dict[str, int], about: str
) -> None:
    """The parts one step takes in weren't taken in before. ``taken``: each part with the number of
    the step that takes it in."""
    for key, part in (*(("add", p) for p in step.add), *(("work_on", p) for p in step.work_on)):
        if part not in formula.parts:
            continue  # an output of an earlier step, or nothing known: the streams say it
        if part in taken:
            names.error(
                "part-taken-twice",
                step.place(key),
                f"`{part}` is added at step {taken[part]} and again at step {number}.",
                "Add a part only once. Or split it in the formula.",
                about,
            )
        taken.setdefault(part, number)


def _check_parts(
    names: Names, ident: str, formula: Formula, process: Process, taken: dict[str, int]
) -> None:
    """Every part of the formula is taken in, and every part the process needs is there."""
    if not taken and len(formula.parts) > 1:
        names.error(
            "part-not-taken",
            formula.key_place("parts"),
            f"No step of {process.name} adds a part.",
            f"Write `add` at the step where each goes in. The parts: {', '.join(formula.parts)}.",
            ident,
        )
        return
    for part in formula.parts:
        if part not in taken:
            names.error(
                "part-not-taken",
                formula.key_place("parts"),
                f"No step of {process.name} adds the part `{part}`.",
                "Add it to a step's `add`, or choose another process."
                if formula.process
                else "Add it to a step's `add` or `work_on`.",
                ident,
            )
    for part in process.parts:
        if part not in formula.parts and part not in taken:
            names.error(
                "part-missing",
                formula.key_place("parts"),
                f"{process.name} needs a part called `{part}`.",
                "Add the part.",
                ident,
            )


def _check_named_steps(names: Names, ident: str, formula: Formula, ids: tuple[str, ...]) -> None:
    """The steps a formula gives a target, a time, a change or a yield test are steps of its
    process."""
    named: tuple[tuple[str, Mapping[str, object]], ...] = (
        ("targets", formula.targets),
        ("times", formula.times),
        ("changes", formula.changes),
        ("yield_tests", formula.yield_tests),
    )
    for key, given in named:
        for step_id in given:
            if step_id not in ids:
                free = [i for i in ids if i not in given]
                place = formula.key_place(key, step_id)
                names.unknown("step-unknown", "step", step_id, place, free or ids, ident)


_OF_FOOD = (
    *("add", "work_on", "gives", "leaves", "in", "vessel", "target"),
    *("loses", "gains", "pump", "pick_up", "ends", "probe"),
)


def _check_keys(names: Names, step: Step, effects: frozenset[str], about: str) -> None:
    """Cleaning takes in no food, only cleaning comes round `every` so often, only freezing is
    `solid`, only slacking `stays_frozen`."""
    if step.solid and "freezes" not in effects:
        names.error(
            "solid-without-freezing",
            step.key_place("solid"),
            "Only a step that freezes may have `solid`.",
            "Write it at the step that freezes, as in `do: freeze`.",
            about,
        )
    if step.stays_frozen and "slacks" not in effects:
        names.error(
            "stays-frozen-without-slacking",
            step.key_place("stays_frozen"),
            "Only a step that slacks may have `stays_frozen`.",
            "Write it at the step that slacks, as in `do: slack`.",
            about,
        )
    if "cleans" not in effects:
        if step.every is not None:
            names.error(
                "every-without-cleaning",
                step.key_place("every"),
                "Only a cleaning step may have `every`.",
                "Write `do: clean` as its own step, with the machine under `with`.",
                about,
            )
        return
    for key in _OF_FOOD:
        if getattr(step, "in_" if key == "in" else key):
            names.error(
                "cleaning-with-food",
                step.key_place(key),
                f"A cleaning step can't have `{key}`: no food is in it.",
                "Make it its own step.",
                about,
            )


_IN_AIR = frozenset(
    {
        *("waits", "raises", "ferments", "dries", "ages", "smokes", "cooks", "bakes", "reheats"),
        *("holds-hot", "displays", "stores", "thaws", "cools", "sprouts"),
    }
)


def _check_humidity(names: Names, step: JoinedStep, about: str) -> None:
    """Only food that lies, hangs or bakes in air has the air's humidity."""
    bath = step.machine is not None and step.machine.kind in ("bath", "fryer", "kettle", "pot")
    wet = bath or "in-water" in step.effects or bool(step.effects & {"soaks", "brines"})
    if step.step.humidity is None or (step.effects & _IN_AIR and not wet):
        return
    names.error(
        "humidity-without-air",
        step.step.key_place("humidity"),
        f"{step.verb}: `humidity` is of air, and the food is in none that matters here.",
        "Write it at the step where the food lies, hangs or bakes, as in `do: dry`.",
        about,
    )


_LONGEST_STANDING = 3600
"""Seconds: of what stands for longer than its heat takes to even out, no rule counts the time. A
working rule of ours."""


def _check_standing(names: Names, step: JoinedStep, about: str) -> None:
    """Only what a microwave oven heated has to stand, and not for hours: any other rest is a step
    of its own, whose time counts."""
    standing, place = step.step.standing_time, step.step.key_place("standing_time")
    if standing is None:
        return
    if step.machine is None or step.machine.kind != "microwave":
        names.error(
            "stands-without-microwave",
            place,
            f"{step.verb}: `standing_time` is for a microwave oven. `with` names none.",
            "Write a step `do: rest` with `time`, or name the microwave oven under `with`.",
            about,
        )
    elif standing.longest > _LONGEST_STANDING:
        names.error(
            "stands-too-long",
            place,
            f"{step.verb}: heat evens out in minutes, not in {standing}.",
            "Write the time after that as a step of its own, `do: rest` with `time`. It counts as "
            "time out of the heat.",
            about,
        )


def _step(
    names: Names,
    ident: str,
    formula: Formula,
    number: int,
    step: Step,
    step_id: str,
    vessels: tuple[Vessel | None, Vessel | None],
) -> JoinedStep:
    """One step joined. ``vessels``: the formula's, and the one the food is in so far."""
    about = formula.whose_steps(ident)
    verb = names.library.verbs.get(step.do)
    unknown = verb is None and not step.says_what_it_does
    if unknown:
        _verb_unknown(names, step, about)
    effects = settled(frozenset(step.does) | frozenset(verb.does if verb else ()))
    machine = names.equipment(step.with_, step.place("with"), Machine, "machine", about)
    cold = names.equipment(
        step.in_, step.place("in"), Cold, "refrigerator, chiller or freezer", about
    )
    own = _vessel(names, step, effects, vessels, about)
    parts = tuple(part for part in (*step.work_on, *step.add) if part in formula.parts)
    target: Target | None = formula.targets.get(step_id, step.target)
    if target is not None and target.kind == "from-formula":
        if unknown:
            return JoinedStep(
                number, step_id, step, step.do, effects, parts, machine, cold, own, None
            )
        _no_target(names, ident, formula, step_id)
        target = None
    if step_id in formula.times:
        step = step.model_copy(update={"time": formula.times[step_id]})
    name = verb.name if verb else step.do.replace("-", " ").capitalize()
    yields = yield_of(formula, step, step_id)
    return JoinedStep(
        number, step_id, step, name, effects, parts, machine, cold, own, target, yields=yields
    )


def _vessel(
    names: Names,
    step: Step,
    effects: frozenset[str],
    vessels: tuple[Vessel | None, Vessel | None],
    about: str,
) -> Vessel | None:
    """The vessel the food is in at a step: the step's own, the formula's where the step fills it,
    else the one it was in."""
    if step.vessel and step.vessel.lower() != AS_THE_FORMULA_SAYS:
        return names.equipment(step.vessel, step.place("vessel"), Vessel, "vessel", about)
    filling = bool(step.vessel) or "fills" in effects
    return vessels[0] if filling else vessels[1]


def _no_target(names: Names, ident: str, formula: Formula, step_id: str) -> None:
    names.error(
        "target-missing",
        formula.key_place("process" if formula.process else "steps"),
        f"The step `{step_id}` takes its target from the formula, but there is none.",
        f"Add `{step_id}` under `targets`, with what the chef wants, as in core 75 °C or to 4 °C.",
        ident,
    )


def _verb_unknown(names: Names, step: Step, about: str) -> None:
    """A verb nobody knows. A near one is reported, never written: a `stew` is near `store`, and who
    took the offer would lose the cooking limit."""
    near = near_verbs(step.do, names.library.verbs)
    hint = f"Did you mean {listed([f'`{v}`' for v in near], 'or')}? " if near else ""
    names.error(
        "verb-unknown",
        step.place("do"),
        f"There is no verb called `{clipped(step.do)}`.",
        f"{hint}To use your own, say what it does to the food: write `does` below it, as in `does: "
        "cooks` or `does: handles`. The guide lists all verbs, and what each does, under Steps.",
        about,
    )


MOST_NEAR = 3


def near_verbs(typed: str, verbs: Mapping[str, Verb]) -> list[str]:
    """The verbs nearest to a word, at most three: with the same words in another order, by
    another name, then by spelling."""
    words = sorted(typed.split("-"))  # hot-hold for hold-hot
    turned = [v for v in verbs if len(words) > 1 and sorted(v.split("-")) == words]
    if turned:
        return turned
    names = ((i, n) for i, v in verbs.items() for n in (i, v.name, v.done, *v.other_names))
    return list(_near(typed, tuple(names)))


@lru_cache(256)
def _near(typed: str, names: tuple[tuple[str, str], ...]) -> tuple[str, ...]:
    """The same by name and by spelling; a word missed a thousand times is looked for once."""
    called: dict[str, str] = {}
    for ident, name in names:
        called.setdefault(as_id(name), ident)
    exact = [ident for ident, name in names if as_id(name) == typed]
    if len(exact) > 1:
        return tuple(exact)[:MOST_NEAR]  # a word of several verbs: none that is only spelt alike
    alike = difflib.get_close_matches(typed, [c for c in called if c], n=8, cutoff=0.55)
    return tuple(dict.fromkeys([*exact, *(called[c] for c in alike)]))[:MOST_NEAR]
