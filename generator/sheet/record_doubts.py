"""What a batch's record says that its formula doesn't: an item that isn't in it, a weight far from
the sheet, a last day that can't be, more used of a batch than it made. The record is kept; this is
said of it.

A batch of an earlier revision isn't held to the lines and weights of today's.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from fractions import Fraction

from generator.files.finding import Finding, Place, Refused, Severity
from generator.intake.standards import RECORD, Standards
from generator.measures.kilos import kilos
from generator.measures.words import counted, date, listed, plain
from generator.records.equipment import Thermometer, thermometer_named
from generator.records.ingredient import Allergen
from generator.records.made import MadeBatch, same_lot
from generator.records.size import Size, read_size
from generator.resolve.formulas import size_in_own_words
from generator.resolve.joined import House
from generator.resolve.made import History, JoinedBatch
from generator.rules.cures.dosing import MILLION
from generator.sheet.cure_doubts import Bounds, bounds_by_what_was_weighed, of_the_law
from generator.sheet.dosed import nitrite_in
from generator.sheet.lot_doubts import lots_nearly_alike
from generator.sheet.measured_sizes import as_weight
from generator.sheet.outputs import factor_of
from generator.sheet.part_doubts import late_parts
from generator.sheet.recall import last_day_of
from generator.sheet.sheet import Sheet
from generator.sheet.time_doubts import short_boils
from generator.sheet.walked import Walk
from generator.sheet.weighing import WeighedLine

SLACK = Fraction(102, 100)
"""Two scales don't agree to a gram: so much more than was made may have been weighed."""
CURE_SLACK = Fraction(110, 100)
EARLIER = "record-earlier-revision"
FAR = Fraction(2)
"""How many times too much, or too little, is said of what is no cure."""
_CHECK = "Was it misread? Record it again with --corrects. "
_WEIGH = "Write its `size`, or weigh all of the base. Record it again with --corrects."
_LOOK = f"{_CHECK}Was it so? Write it under `deviations`."
_HOLD = f"Hold the batch. {_CHECK}Was it so? Throw it away, and write it under `deviations`."
_LABEL = f"Hold every pack until its label says so. {_CHECK}Was it so? Write it under `deviations`."


@dataclass(frozen=True)
class Kitchen:
    """What is computed of a kitchen, as far as its records are held to it."""

    house: House
    standards: Standards
    sheets: dict[str, Sheet]
    walks: dict[str, Walk]
    history: History


def record_doubts(kitchen: Kitchen) -> Iterator[Finding]:
    """A warning or a note for each thing in a record that can hardly be so."""
    for batch in kitchen.history.batches.values():
        yield from _of_the_day(kitchen, batch)
        yield from _of_its_probes(kitchen, batch)
        walk = kitchen.walks.get(batch.record.formula)
        if walk is not None and walk.formula.formula.revision == batch.record.revision:
            yield from _Weighed(kitchen, walk, batch).doubts()
    yield from late_parts(kitchen)
    yield from short_boils(kitchen)
    yield from _used_up(kitchen.history)
    yield from _of_earlier_revisions(kitchen)
    yield from lots_nearly_alike(kitchen.history)


def doubts_about(kitchen: Kitchen, ident: str) -> tuple[Finding, ...]:
    """The doubts about one record, by its id; those of danger first."""
    about = f"{RECORD}{ident}"
    found = [f for f in record_doubts(kitchen) if about in f.about]
    return tuple(
        sorted(found, key=lambda f: (not f.message.startswith("DANGER"), f.severity == "note"))
    )


def _said(
    ident: str, code: str, words: str, place: Place, help: str, grave: Severity = "warning"
) -> Finding:
    return Finding(code, grave, words, place, help, about=frozenset({f"{RECORD}{ident}"}))


def _of_its_probes(kitchen: Kitchen, batch: JoinedBatch) -> Iterator[Finding]:
    """Readings of a thermometer that failed its next check, by the days of its checks: one finding
    a failed check. A step for which the record says what was done is answered."""
    record = batch.record
    doubted: dict[tuple[str, int], list[int]] = {}
    for number, (ident, which) in _doubted_readings(kitchen, record):
        doubted.setdefault((ident, which), []).append(number)
    for (ident, which), numbers in doubted.items():
        item = kitchen.standards.equipment[ident]
        assert isinstance(item, Thermometer)
        failed = item.failed_checks[which]
        right = f"right on {date(failed.right_on)}" if failed.right_on else "never checked before"
        steps = list(dict.fromkeys(record.readings[n].step for n in numbers))
        words = (
            f"{counted(len(numbers), 'reading')} at {listed(steps)} may be off by {failed.off_by}: "
            f"{item.name} failed its check on {date(failed.date)}, {right}."
        )
        place = record.place("readings", numbers[0], "value")
        help = (
            f"Hold what is left of it. Take {failed.off_by} off a hot reading, add it to a cold "
            "one: does it still pass? If not, throw it away. Write what was done under "
            "`deviations` of the step; record it again with --corrects."
        )
        yield _said(batch.id, "record-probe", words, place, help)


def _doubted_readings(kitchen: Kitchen, record: MadeBatch) -> Iterator[tuple[int, tuple[str, int]]]:
    """The number of each reading that a failed check puts in doubt, with the id of its thermometer
    and the number of that check."""
    failing = {
        ident: item.failed_checks
        for ident, item in kitchen.standards.equipment.items()
        if isinstance(item, Thermometer) and item.failed_checks
    }
    if not failing:
        return
    equipment, own = kitchen.standards.equipment, kitchen.house.kitchen.probe
    answered = {one.step for one in record.deviations}
    for number, reading in enumerate(record.readings):
        ident = thermometer_named(reading.probe, equipment, own) or ""
        for which, failed in enumerate(failing.get(ident, ())):
            if reading.step not in answered and failed.covers(reading.at[0] or record.day):
                yield number, (ident, which)


def _of_earlier_revisions(kitchen: Kitchen) -> Iterator[Finding]:
    """A note for each formula with records of another revision than the one that is here: they
    aren't held to its lines and limits, so nothing clears them. It is at the newest of them."""
    found: dict[str, list[JoinedBatch]] = {}
    for batch in kitchen.history.batches.values():
        walk = kitchen.walks.get(batch.record.formula)
        if walk is not None and batch.record.revision < walk.formula.formula.revision:
            found.setdefault(batch.record.formula, []).append(batch)
    for ident, batches in found.items():
        many, last = len(batches), batches[-1]
        words = (
            f"{counted(many, 'record')} of {ident} {'is' if many == 1 else 'are'} of an earlier "
            f"revision than {kitchen.walks[ident].formula.formula.revision}: not held to its lines "
            "and limits."
        )
        help = "Look at the sheet of that revision: `record` holds a new one to it, from git."
        yield _said(last.id, EARLIER, words, last.record.place("revision"), help, "note")


def _of_the_day(kitchen: Kitchen, batch: JoinedBatch) -> Iterator[Finding]:
    """A last day before the batch was made, or after the last that the date mark allows."""
    record = batch.record
    if record.use_by is None:
        return
    place = record.place("use_by")
    if record.use_by < record.day:
        words = f"Its last day, {date(record.use_by)}, is before the day it was made, "
        yield _said(batch.id, "record-use-by", f"{words}{date(record.day)}.", place, _CHECK.strip())
        return
    bare = replace(batch, record=record.model_copy(update={"use_by": None}))
    try:
        found = last_day_of(kitchen, bare)
        if found.day is None:
            return
        last = found.day
        if found.frozen_until is not None:  # the days go on once it is thawed
            last = found.frozen_until + (found.day - record.day)
    except OverflowError:  # past the last day there is
        return
    if record.use_by <= found.day:
        return
    words = f"Its labels say {date(record.use_by)}. By the standard its last day is "
    help = f"Put the right day on every pack that is left. {_CHECK.strip()}"
    if record.use_by <= last:
        words += f"{date(found.day)}, unless it was frozen in between."
        yield _said(batch.id, "record-use-by", words, place, help, "note")
    else:
        yield _said(batch.id, "record-use-by", f"{words}{date(last)}.", place, help)


def _used_up(history: History) -> Iterator[Finding]:
    """More of a batch used, by all records together, than it made; said where the line is
    crossed."""
    uses: dict[str, list[tuple[JoinedBatch, int, Fraction]]] = {}
    for batch in history.batches.values():
        for number, part in enumerate(batch.made_of):
            if len(part.batches) == 1 and part.used.weight is not None:
                of = history.batches[part.batches[0]]
                if of.record.formula == part.used.item:  # a by-product isn't in what it made
                    uses.setdefault(of.id, []).append((batch, number, part.used.weight.value))
    for ident, lines in uses.items():
        record = history.batches[ident].record
        total = sum((grams for _, _, grams in lines), Fraction(0))
        if record.made is None or total <= record.made.value * SLACK:
            continue
        batch, number = _crossing(lines, record.made.value * SLACK)
        words = (
            f"{kilos(total)} of {record.formula} {record.lot} were used, "
            f"{kilos(record.made.value)} were made."
        )
        about = frozenset(
            {f"{RECORD}{b.id}" for b in (history.batches[ident], *(u[0] for u in lines))}
        )
        place = batch.record.place("used", number, "weight")
        help = f"A lot, a weight or what was made is wrong: `trace` follows them. {_CHECK.strip()}"
        yield Finding("record-used-up", "warning", words, place, help, about=about)


def _crossing(
    lines: list[tuple[JoinedBatch, int, Fraction]], most: Fraction
) -> tuple[JoinedBatch, int]:
    """The record, and the number of its line, with which the grams used come above ``most``."""
    so_far = Fraction(0)
    for batch, number, grams in lines:
        so_far += grams
        if so_far > most:
            return batch, number
    raise AssertionError("they come above it")


class _Weighed:
    """The lines of a record held to the formula's."""

    def __init__(self, kitchen: Kitchen, walk: Walk, batch: JoinedBatch) -> None:
        self.kitchen, self.walk, self.batch = kitchen, walk, batch
        self.record: MadeBatch = batch.record
        self.lines: dict[str, list[WeighedLine]] = {}
        for line in walk.lines:
            self.lines.setdefault(line.joined.item, []).append(line)
        self.written = {
            item: sum((ln.grams for ln in ls), Fraction(0)) for item, ls in self.lines.items()
        }
        self.known: dict[str, Fraction] = {}
        """The grams weighed of each item, as far as they are written."""
        self.first: dict[str, int] = {}
        """The number of an item's first line with a weight, or of its first at all."""
        self.partly: set[str] = set()
        """Items with a line that has no weight."""
        for number, used in enumerate(self.record.used):
            if used.weight is None:
                self.partly.add(used.item)
                self.first.setdefault(used.item, number)
                continue
            if used.item not in self.known:
                self.first[used.item] = number
            self.known[used.item] = self.known.get(used.item, Fraction(0)) + used.weight.value

    def doubts(self) -> Iterator[Finding]:
        """All that is to be said of the lines."""
        known = self.kitchen.standards
        may_be = {other.item for ln in self.walk.lines for other in ln.joined.may_be}
        for item in self.first:
            if item in self.lines:
                yield from self._of_a_line(item)
            elif item == self.record.formula:
                continue  # what was left of an earlier batch, worked in again
            elif item in known.ingredients or item in known.formulas:
                yield from self._not_in_it(item, item in may_be)

        yield from self._more_than_went_in()

    def _more_than_went_in(self) -> Iterator[Finding]:
        """More made, or more at a step, or larger portions and fills in all, than was weighed in:
        only water that a step takes up by its formula makes more of it. What has no weight counts
        as by the sheet."""
        found = self._went_in()
        if found is None:
            return
        went_in, by_sheet = found
        highs = [step.yields.high for step in self.walk.formula.steps if step.yields is not None]
        most = went_in * math.prod((max(high, Fraction(1)) for high in highs), start=Fraction(1))
        beside = ", what has no weight as by the sheet" if by_sheet else ""
        beside += f", {kilos(most)} with all it takes up" if most > went_in else ""
        for grams, what, place in self._came_out():
            if grams > most * SLACK:
                words = f"{kilos(grams)} {what}: {kilos(went_in)} was weighed in{beside}."
                help = f"{_CHECK}Was more put in? Write it under `used`."
                yield _said(self.batch.id, "record-made-more", words, place, help)

    def _went_in(self) -> tuple[Fraction, bool] | None:
        """All that went in, in grams, and whether some of it has no weight and counts as the sheet
        has it for the batch's size; None where nothing says how large the batch is."""
        missing = [item for item, grams in self.written.items() if grams and self._unweighed(item)]
        strange = any(not self.written.get(item) for item in self.partly)
        if strange:
            return None
        total = sum((g for item, g in self.known.items() if item not in missing), Fraction(0))
        if not missing:
            return (total, False) if total else None
        factor = self._factor()
        if not factor:
            return None
        for item in missing:
            total += max(self.known.get(item, Fraction(0)), self.written[item] * factor)
        return total, True

    def _factor(self) -> Fraction:
        """How large the batch is at most, as a factor: by its size; where nothing says that, by the
        item of which most was weighed beside the sheet; 0 where none was."""
        size = self._size()
        if size:
            return size
        written = ((self.known[item], self.written.get(item)) for item in self.known)
        return max((grams / of for grams, of in written if of), default=Fraction(0))

    def _unweighed(self, item: str) -> bool:
        return item not in self.known or item in self.partly

    def _came_out(self) -> Iterator[tuple[Fraction, str, Place]]:
        """What a record says there was of the food: in grams, in words, and where it says so."""
        record = self.record
        if record.made is not None:
            beside = self._by_products()
            what = "made, with what came out beside it" if beside else "made"
            yield record.made.value + beside, what, record.place("made")
        for number, one in enumerate(record.weights):
            for key, weight in (("before", one.before), ("after", one.after)):
                what = f"{key} `{one.step}`"
                yield weight.value, what, record.place("weights", number, key)
        counted_g = self._counted()
        if counted_g is not None:
            yield counted_g, f"in {record.size}", record.place("size")

    def _by_products(self) -> Fraction:
        """What records say that came out beside this batch: by-products with its own number."""
        formulas = self.kitchen.standards.formulas
        return sum(
            (
                other.record.made.value
                for other in self.kitchen.history.batches.values()
                if other.record.made is not None
                and same_lot(other.record.lot) == same_lot(self.record.lot)
                and (of := formulas.get(other.record.formula)) is not None
                and of.by_product is not None
                and of.by_product.formula == self.record.formula
            ),
            Fraction(0),
        )

    def _counted(self) -> Fraction | None:
        """What the fills or portions of the batch's size weigh, in grams; None where it isn't a
        count, or they have no weight."""
        size = self._read_size()
        figures = self.walk.figures
        if size is None or size.kind not in ("fills", "portions"):
            return None
        each = figures.fill if size.kind == "fills" else figures.portion
        return each * size.value if each is not None else None

    def _read_size(self) -> Size | None:
        """The batch's size as its record says it; None where it is in words of its own."""
        try:
            size = read_size(self.record.size, self.kitchen.house.units)
            return as_weight(self.walk, size_in_own_words(self.walk.formula.formula.makes, size))
        except Refused:
            return None

    def _place(self, item: str, key: str) -> Place:
        return self.record.place("used", self.first[item], key)

    def _not_in_it(self, item: str, instead: bool) -> Iterator[Finding]:
        """An item that isn't in the formula: a cure, an allergen its label doesn't name, or
        another, unless it may go in ``instead`` of a line."""
        place = self._place(item, "item")
        name = self.walk.formula.formula.name
        cured = self._strange_cure(item)
        if cured:
            words = f"DANGER: not in {name}: {item}, a cure.{cured}"
            yield _said(self.batch.id, "record-cure", words.rstrip(), place, _HOLD)
        declared = {a for c in self.walk.end.components for a in c.allergens}
        brought = sorted({str(a) for a in self._allergens(item) if a not in declared})
        if brought:
            words = (
                f"DANGER: not in {name}: {item}, which brings {listed(brought)}. "
                "The label doesn't say so."
            )
            yield _said(self.batch.id, "record-allergen", words, place, _LABEL)
        elif not cured and not instead:
            words = f"Not in {name}: {item}."
            yield _said(self.batch.id, "record-not-in-formula", words, place, _LOOK, "note")

    def _allergens(self, item: str) -> set[Allergen]:
        facts = self.kitchen.standards.ingredients.get(item)
        if facts is not None:
            return set(facts.allergens)
        walk = self.kitchen.walks.get(item)
        return {a for c in walk.end.components for a in c.allergens} if walk is not None else set()

    def _strange_cure(self, item: str) -> str:
        """What to say of a cure's strength in the batch, a blank where it can't be said; empty for
        what is none."""
        facts = self.kitchen.standards.ingredients.get(item)
        if facts is None:
            walk = self.kitchen.walks.get(item)
            cures = walk is not None and any(c.cures for c in walk.end.components)
            return " " * cures
        if not (facts.nitrite or facts.nitrate):
            return ""
        base = self._base(item)
        if not base or not facts.nitrite or item not in self.known:
            return " "
        ppm = self.known[item] * facts.nitrite / base[0] * MILLION
        return f" It makes {plain(ppm, 0)} ppm of nitrite."

    def _base(self, cure: str) -> tuple[Fraction, Fraction] | None:
        """The base without the ``cure`` in grams as weighed, and as the formula writes it; None
        where a line of it has no weight."""
        items = {item for _, item in self.walk.formula.base if item in self.lines} - {cure}
        if not items or not items <= self.known.keys() - self.partly:
            return None
        weighed = sum((self.known[item] for item in items), Fraction(0))
        return weighed, sum((self.written[item] for item in items), Fraction(0))

    def _size(self) -> Fraction | None:
        """The factor of the batch, by its size or by what was weighed; None where neither says."""
        size = self._read_size()  # in words of its own: the weights may say it
        if size is not None:
            with suppress(Refused):
                return factor_of(self.walk, size.kind, size.value)
        needed = {item for item, grams in self.written.items() if grams}
        if not needed or not needed <= self.known.keys() - self.partly:
            return None
        return statistics.median([self.known[item] / self.written[item] for item in needed])

    def _of_a_line(self, item: str) -> Iterator[Finding]:
        """A cure above its dose; else a weight far from the sheet."""
        if item not in self.known:
            return
        cures = [ln for ln in self.lines[item] if self._is_cure(ln)]
        if cures and (over := self._too_much_cure(item, cures[0])):
            yield over
        else:
            yield from self._far(item)

    def _far(self, item: str) -> Iterator[Finding]:
        """A weight more than twice, or less than half, of the sheet's."""
        factor = self._size()
        if not factor or not self.written[item] or self._as_needed(item):
            return
        sheet, weighed = self.written[item] * factor, self.known[item]
        if weighed > sheet * FAR or (item not in self.partly and weighed * FAR < sheet):
            how = "more than twice" if weighed > sheet else "less than half"
            words = f"{kilos(weighed)} of {item}: {how} the {kilos(sheet)} for this batch."
            yield _said(
                self.batch.id, "record-weight-far", words, self._place(item, "weight"), _LOOK
            )

    def _as_needed(self, item: str) -> bool:
        return any(ln.joined.line.amount.kind == "as-needed" for ln in self.lines[item])

    def _is_cure(self, line: WeighedLine) -> bool:
        facts = line.joined.ingredient
        return bool(
            nitrite_in(self.walk, line) or (facts is not None and (facts.nitrite or facts.nitrate))
        )

    def _bounds(self) -> Bounds | None:
        """How large the batch can be by what it weighs beside its cures."""
        cures = {i for i, lines in self.lines.items() if any(map(self._is_cure, lines))}
        weighed = {item: g for item, g in self.known.items() if item not in self.partly}
        return bounds_by_what_was_weighed(self.walk, self.record, weighed, self.written, cures)

    def _dose_unknown(self, item: str, bounds: Bounds | None) -> Finding | None:
        """The note on a cure whose dose nobody can say; None where the least that the record speaks
        for takes as much."""
        if bounds and self.known[item] <= self.written[item] * bounds.least * CURE_SLACK:
            return None
        words = f"{kilos(self.known[item])} of {item}: nobody can say if that is its dose. "
        words += "The record says neither the size nor all weights of the base."
        place = self._place(item, "weight")
        return _said(self.batch.id, "record-cure", words, place, _WEIGH, "note")

    def _too_much_cure(self, item: str, line: WeighedLine) -> Finding | None:
        """The finding on a cure above what the formula doses for the base that was weighed, or for
        the batch's size."""
        base = self._base(item)
        factor = base[0] / base[1] if base is not None and base[1] else self._size()
        place, weighed, of = self._place(item, "weight"), self.known[item], "this batch"
        if not factor:
            bounds = self._bounds()
            if bounds is None or weighed <= self.written[item] * bounds.most * CURE_SLACK:
                return self._dose_unknown(item, bounds)
            factor, of = bounds.most, bounds.words
        dosed = self.written[item] * factor
        if weighed <= dosed * CURE_SLACK:
            return None
        words = f"DANGER: {kilos(weighed)} of {item}. The formula doses {kilos(dosed)} for {of}."
        said, above = of_the_law(self.walk, line, weighed / factor - self.written[item])
        help = _HOLD if above else f"Hold the batch. {_LOOK}"
        return _said(self.batch.id, "record-cure", f"{words}{said}", place, help)
