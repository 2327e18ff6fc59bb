"""Which streams come to each step: what the step before gave, named outputs, what was left behind.

A stream is what a step gives until the next step takes it. Every one is taken once: by the step
that goes on with it, or by its name under ``work_on`` or ``add``.
"""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from generator.files.finding import Place, clipped
from generator.measures.words import listed, plain
from generator.records.formula import Formula
from generator.records.process import Left, Step
from generator.resolve.joined import Comes
from generator.resolve.names import Names


@dataclass
class _Output:
    """A named output: the step that gives it, where its name is, who took it; ``left`` says that it
    stayed behind there, and ``then`` what becomes of that."""

    number: int
    place: Place
    left: bool = False
    then: str = "used-again"
    taken_at: int = 0


@dataclass
class Flow:
    """The streams of a formula's steps as they are followed, step by step. ``about`` is the record
    the steps are written in."""

    names: Names
    ident: str
    formula: Formula
    steps: Sequence[Step]
    about: str
    outputs: dict[str, _Output] = field(default_factory=dict)
    _under_way: int = 0
    _called: str = ""
    _last: int = 0

    def come_to(self, number: int, step: Step, cleans: bool) -> tuple[Comes, ...]:
        """What comes to a step from earlier ones; then what it gives is under way. Cleaning leaves
        what has a name where it is."""
        if cleans:
            return self._past_cleaning(number)
        found: list[Comes] = []
        if step.work_on:
            self._check_waiting(number, step)
            found += self._named(number, step, "work_on")
        elif self._under_way:
            found.append(Comes(self._under_way, self._called))
            if self._called:
                self.outputs[self._called].taken_at = number
        found += self._named(number, step, "add")
        self._give(number, step)
        return tuple(found)

    def end(self) -> None:
        """Every output was taken, and the last step has no name for what is finished. What else
        comes out beside a by-product goes its own way."""
        if self.formula.by_product is not None:
            return
        if self._called and not self.outputs[self._called].taken_at:
            self.names.error(
                "output-at-the-end",
                self.outputs[self._called].place,
                f"`{clipped(self._called)}` is the name of what the last step gives. No step is "
                "left to take it.",
                "Delete `gives` here.",
                self.about,
            )
            self.outputs.pop(self._called)
        for name, output in self.outputs.items():
            if not output.taken_at and output.then == "used-again":
                self._not_taken(name, output)

    def _not_taken(self, name: str, output: _Output) -> None:
        fix = f"Take it at a later step: `work_on: {name}` or `add: {name}`."
        if output.left:
            fix += " Or write `then: thrown-away`, or `then: kept`."
        self.names.error(
            "output-not-taken",
            output.place,
            f"No later step takes `{clipped(name)}`, which step {output.number} "
            f"{'leaves' if output.left else 'gives'}.",
            fix,
            self.about,
        )

    def _past_cleaning(self, number: int) -> tuple[Comes, ...]:
        if not self._under_way or self._called:
            return ()
        come = (Comes(self._under_way),)
        self._under_way = number
        return come

    def _check_waiting(self, number: int, step: Step) -> None:
        """What was under way has a name to be found by, once a step works on something else."""
        if not self._under_way or self._called:
            return
        before = self.steps[self._last - 1]
        self.names.error(
            "stream-unnamed",
            step.key_place("work_on"),
            f"Step {number} works on {_listed(step.work_on)} alone. What step {self._last} gave "
            "has no name, so no later step can take it.",
            f"Write `gives: {before.do}-done` at step {self._last}, or a better name. Take it "
            "later under `work_on` or `add`.",
            self.about,
        )

    def _named(self, number: int, step: Step, key: str) -> list[Comes]:
        """The outputs among the names of a key; parts are looked at elsewhere."""
        found: list[Comes] = []
        for name in step.work_on if key == "work_on" else step.add:
            if name in self.formula.parts:
                continue
            come = self._take(number, step, key, name)
            if come is not None:
                found.append(come)
        return found

    def _take(self, number: int, step: Step, key: str, name: str) -> Comes | None:
        output = self.outputs.get(name)
        if output is None:
            self._unknown(number, step, key, name)
            return None
        wrong = self._taken_wrongly(number, name, output)
        if wrong is not None:
            self.names.error(wrong[0], step.key_place(key), wrong[1], wrong[2], self.about)
            return None
        output.taken_at = number
        return Comes(output.number, name, output.left)

    def _taken_wrongly(
        self, number: int, name: str, output: _Output
    ) -> tuple[str, str, str] | None:
        if output.taken_at == number:
            return self._taken_at_once(number, name)
        if output.taken_at:
            waiting = self._waiting(output.taken_at)
            work_on = f"work_on: {waiting[0]}" if len(waiting) == 1 else "work_on"
            return (
                "output-taken-twice",
                f"`{name}` is taken at step {output.taken_at} and again at step {number}.",
                f"Take it once. Does step {output.taken_at} work on something else? Write "
                f"`{work_on}` there. For both, part it at step {output.number}: `leaves: {{second: "
                "{share: 50 %, then: used-again}}`, and take `second` here.",
            )
        if output.then != "used-again":
            return (
                "left-not-used-again",
                f"Step {number} takes `{name}`. By step {output.number} it is "
                f"{output.then.replace('-', ' ')}.",
                f"Write `then: used-again` at step {output.number}, or don't take it.",
            )
        return None

    def _taken_at_once(self, number: int, name: str) -> tuple[str, str, str]:
        """A step takes one output twice: it goes on with it by itself and puts it to that too. What
        else waits is what it is put to."""
        words = f"Step {number} takes `{name}` twice."
        waiting = self._waiting(number)
        if self.steps[number - 1].work_on or not waiting:
            return "output-taken-twice", words, f"Name `{name}` once at step {number}."
        for one in waiting:
            self.outputs[one].taken_at = number
        meant = waiting[0] if len(waiting) == 1 else f"[{', '.join(waiting)}]"
        return (
            "output-taken-twice",
            f"{words} Without `work_on` it goes on with it: the step before gave it.",
            f"Is it put to {_listed(waiting)}? Write `work_on: {meant}` beside `add`.",
        )

    def _waiting(self, number: int) -> list[str]:
        """What earlier steps gave by name and no step has taken."""
        return [
            name
            for name, output in self.outputs.items()
            if output.number < number and not (output.taken_at or output.left)
        ]

    def _unknown(self, number: int, step: Step, key: str, name: str) -> None:
        """A name that is no part, and no output yet."""
        later = [
            n
            for n, other in enumerate(self.steps, 1)
            if n >= number and (other.gives == name or name in other.leaves)
        ]
        if later:
            self.names.error(
                "output-too-early",
                step.key_place(key),
                f"Step {number} takes `{name}`. Step {later[0]} gives it later.",
                "Take it after the step that gives it.",
                self.about,
            )
            return
        known = [*self.formula.parts, *self.outputs]
        near = difflib.get_close_matches(name, sorted(known), n=1, cutoff=0.55)
        hint = f"Did you mean `{near[0]}`?" if near else f"Its parts: {', '.join(known)}."
        what = "works on" if key == "work_on" else "adds"
        self.names.error(
            "part-unknown",
            step.key_place(key) if _own(self.formula, step) else self.formula.key_place("parts"),
            f"{_whose(self.names, self.formula)} {what} a part called `{clipped(name)}` at step "
            f"{number}. This formula has none.",
            hint,
            self.ident,
        )

    def _give(self, number: int, step: Step) -> None:
        """What a step gives is under way; what it leaves behind can be taken by its name."""
        self._under_way = self._last = number
        self._called = ""
        if step.gives is not None and self._name(number, step.gives, step.key_place("gives")):
            self._called = step.gives
        for name, left in step.leaves.items():
            place = step.key_place("leaves", name)
            if self._name(number, name, place):
                self.outputs[name].left = True
                self.outputs[name].then = left.then
        _check_left(self, number, step)

    def _name(self, number: int, name: str, place: Place) -> bool:
        """Give an output its name; False where that is another's."""
        other = self.outputs.get(name)
        if name not in self.formula.parts and other is None:
            self.outputs[name] = _Output(number, place)
            return True
        whose = f"step {other.number}'s" if other is not None else "a part's"
        self.names.error(
            "output-named-twice",
            place,
            f"`{clipped(name)}` is {whose} name already.",
            "Give it a name of its own.",
            self.about,
        )
        return False


def _check_left(flow: Flow, number: int, step: Step) -> None:
    """What is left behind says how much it is, of what there is."""
    for name, left in step.leaves.items():
        _check_share(flow, step, name, left)
        if left.of is not None and left.of not in flow.formula.parts:
            flow.names.error(
                "left-of-unknown",
                left.place("of"),
                f"`{name}` is a share of `{clipped(left.of)}`. This formula has no such part.",
                f"Its parts: {', '.join(flow.formula.parts)}.",
                flow.about,
            )
    for of, total in _totals(step).items():
        if total > 1 or (total == 1 and not of):
            whole = f"all of `{of}`" if of else "all that came to it"
            flow.names.error(
                "left-over-all",
                step.key_place("leaves"),
                f"Step {number} leaves {plain(total * 100)} % behind: {whole}"
                f"{' and more' if total > 1 else ''}.",
                "Check the shares. Something must go on.",
                flow.about,
            )


def _totals(step: Step) -> dict[str, Fraction]:
    """How much of all, and of each part that is named, stays behind in all."""
    found: dict[str, Fraction] = {}
    for left in step.leaves.values():
        found[left.of or ""] = found.get(left.of or "", Fraction(0)) + (left.share or 0)
    of_all = found.get("", Fraction(0))
    return {of: total + (of_all if of else 0) for of, total in found.items()}


def _check_share(flow: Flow, step: Step, name: str, left: Left) -> None:
    takes_up = step.pump is not None or step.pick_up is not None
    if left.share is not None or (takes_up and left.of is None):
        return
    flow.names.error(
        "left-share-missing",
        left.place(),
        f"`{name}` stays behind: how much of it?",
        f"Write its share, as in `{name}: {{share: 40 %, then: {left.then}}}`. Only where the meat "
        "takes up its share of a pickle (`pump`, `pick_up`) it is the rest.",
        flow.about,
    )


def _own(formula: Formula, step: Step) -> bool:
    """Whether the formula says a step itself: of one it shares, its parts are what is wrong."""
    return formula.process is None or step.place().file == formula.place().file


def _whose(names: Names, formula: Formula) -> str:
    process = names.standards.processes.get(formula.process or "")
    return process.name if process is not None else formula.name


def _listed(ids: Sequence[str]) -> str:
    return listed([f"`{clipped(i)}`" for i in ids])
