"""Join records by id. Unknown, missing, unused and circular names become findings."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from graphlib import CycleError, TopologicalSorter

from generator.finding import Finding, Place
from generator.intake.reading import EVERYTHING
from generator.intake.standards import Standards
from generator.joined import House, JoinedFormula, JoinedLine, JoinedStep
from generator.records.equipment import Cold, Machine, Scale, Thermometer, Vessel
from generator.records.formula import Formula, Size
from generator.records.process import Process, Step, Target
from generator.reference.library import Library
from generator.reference.packs import Pack

AS_THE_FORMULA_SAYS = "as the formula says"


@dataclass(frozen=True)
class Joined:
    """The kitchen joined: formulas in the order they can be computed (sub-formulas first)."""

    house: House | None
    formulas: dict[str, JoinedFormula]
    findings: tuple[Finding, ...]


def join(standards: Standards, library: Library) -> Joined:
    """Join everything that was read. Never raises on bad names."""
    return _Join(standards, library).run()


class _Join:
    """One pass over the records, gathering findings."""

    def __init__(self, standards: Standards, library: Library) -> None:
        self.standards = standards
        self.library = library
        self.findings: list[Finding] = []
        self.used: set[str] = set()

    def run(self) -> Joined:
        house = self.house()
        self.shared_facts()
        joined: dict[str, JoinedFormula] = {}
        for ident, formula in self.standards.formulas.items():
            one = self.formula(ident, formula)
            if one is not None:
                joined[ident] = one
        order = self.order(joined)
        self.unused()
        return Joined(house, {ident: joined[ident] for ident in order}, tuple(self.findings))

    # -- words ---------------------------------------------------------------------------------

    def error(
        self,
        code: str,
        place: Place,
        message: str,
        help: str,
        about: str,
        write: Iterable[str] = (),
    ) -> None:
        self.findings.append(
            Finding(code, "error", message, place, help, tuple(write), about=frozenset({about}))
        )

    def unknown(
        self, code: str, what: str, name: str, place: Place, known: Iterable[str], about: str
    ) -> None:
        """An id that names nothing. Silent while its record is only unreadable."""
        prefix = {"station": "station:", "process": "process:", "machine": "equipment:"}.get(
            what, ""
        )
        if prefix + name in self.standards.broken or name in self.standards.broken:
            return
        if self.standards.partial and what != "process" and what != "station":
            return
        near = difflib.get_close_matches(name.lower(), sorted(known), n=1, cutoff=0.55)
        hint = (
            f"Did you mean `{near[0]}`?"
            if near
            else "Known: " + ", ".join(sorted(known)[:12]) + "."
        )
        mended = [place.text.replace(name, near[0]).strip()] if near and name in place.text else []
        self.error(code, place, f"There is no {what} called `{name}`.", hint, about, mended)

    # -- the house -----------------------------------------------------------------------------

    def house(self) -> House | None:
        kitchen = self.standards.kitchen
        if kitchen is None:
            return None
        pack = self.pack()
        probe = self.standards.equipment.get(kitchen.probe)
        if not isinstance(probe, Thermometer):
            known = [i for i, e in self.standards.equipment.items() if isinstance(e, Thermometer)]
            self.unknown(
                "probe-unknown",
                "thermometer",
                kitchen.probe,
                kitchen.place("probe"),
                known,
                EVERYTHING,
            )
            return None
        for station in kitchen.stations:
            if station not in self.standards.stations:
                self.unknown(
                    "station-unknown", "station", station, kitchen.place("stations"),
                    self.standards.stations, EVERYTHING,
                )  # fmt: skip
        if kitchen.temperature not in probe.reads:
            self.error(
                "probe-scale", kitchen.place("temperature"),
                f"{probe.name} doesn't read {'°C' if kitchen.temperature == 'degC' else '°F'}.",
                "Choose a scale the probe reads.", EVERYTHING,
            )  # fmt: skip
        if pack is None:
            return None
        scales = tuple((i, e) for i, e in self.standards.equipment.items() if isinstance(e, Scale))
        ordered = [s for s in kitchen.stations if s in self.standards.stations]
        ordered += [s for s in self.standards.stations if s not in ordered]
        stations = {s: self.standards.stations[s] for s in ordered}
        return House(kitchen, self.standards.units, self.library, pack, probe, scales, stations)

    def pack(self) -> Pack | None:
        kitchen = self.standards.kitchen
        assert kitchen is not None
        code = kitchen.code
        of_model = [p for p in self.library.packs.values() if p.facts.model == code.model]
        if not of_model:
            models = {p.facts.model for p in self.library.packs.values()}
            self.unknown(
                "code-unknown", "rule pack", code.model, code.place("model"), models, EVERYTHING
            )
            return None
        exact = [p for p in of_model if p.facts.edition == code.edition]
        if exact:
            return exact[0]
        held = ", ".join(sorted(p.facts.edition for p in of_model))
        self.findings.append(
            Finding(
                "edition-not-held", "warning" if len(of_model) == 1 else "error",
                f"No pack of edition {code.edition} is held; the limits shown are of {held}.",
                code.place("edition"), "Ask your authority which edition binds, and enter it.",
                about=frozenset({EVERYTHING}),
            )
        )  # fmt: skip
        return of_model[0] if len(of_model) == 1 else None

    def shared_facts(self) -> None:
        """Facts that only make sense against the reference data."""
        for ident, ingredient in self.standards.ingredients.items():
            species = ingredient.species
            known = {"none"} | {s for p in self.library.packs.values() for s in p.definitions}
            if species is not None and species not in known:
                self.unknown(
                    "species-unknown", "species", species, ingredient.place("species"), known, ident
                )
            if species is None:
                self.findings.append(
                    Finding(
                        "fact-not-stated", "warning",
                        f"{ingredient.name}: no species is stated, so it counts as the strictest, poultry.",
                        ingredient.place(), "Write `species: none`, or the animal it comes from.",
                        about=frozenset({ident}),
                    )
                )  # fmt: skip
            if ingredient.foodstuff and ingredient.foodstuff not in self.library.foodstuffs:
                self.unknown(
                    "foodstuff-unknown", "foodstuff", ingredient.foodstuff,
                    ingredient.place("foodstuff"), self.library.foodstuffs, ident,
                )  # fmt: skip
            if ingredient.weighs and not ingredient.source:
                self.findings.append(
                    Finding(
                        "source-missing", "warning", f"{ingredient.name}: where do its unit weights come from?",
                        ingredient.place("weighs"), "Add `source`: a table, a label, or weighed here on a date.",
                        about=frozenset({ident}),
                    )
                )  # fmt: skip
            self.allergens(ident)

    def allergens(self, ident: str) -> None:
        ingredient = self.standards.ingredients[ident]
        words = {w.name: w for one in self.library.allergens.values() for w in one.words.values()}
        for allergen in ingredient.allergens:
            if allergen.word not in words:
                self.unknown(
                    "allergen-unknown",
                    "allergen",
                    allergen.word,
                    ingredient.place("allergens"),
                    words,
                    ident,
                )
            elif words[allergen.word].kind_named and not allergen.kind:
                self.error(
                    "allergen-kind", ingredient.place("allergens"),
                    f"{ingredient.name}: which {allergen.word}?",
                    "The kind is named in brackets.", ident, [f"allergens: [{allergen.word} (almond)]"
                    if "nut" in allergen.word else f"allergens: [{allergen.word} (cod)]"],
                )  # fmt: skip

    # -- formulas ------------------------------------------------------------------------------

    def formula(self, ident: str, formula: Formula) -> JoinedFormula | None:
        before = len(self.findings)
        station = self.standards.stations.get(formula.station)
        if station is None:
            self.unknown(
                "station-unknown", "station", formula.station, formula.place("station"),
                self.standards.stations, ident,
            )  # fmt: skip
        process = self.standards.processes.get(formula.process)
        if process is None:
            self.unknown(
                "process-unknown", "process", formula.process, formula.place("process"),
                self.standards.processes, ident,
            )  # fmt: skip
        lines = self.lines(ident, formula)
        base = self.base(ident, formula)
        vessel = self.vessel(ident, formula)
        sizes = self.sizes(ident, formula)
        uses = {ident, f"station:{formula.station}", f"process:{formula.process}", EVERYTHING}
        uses |= {line.item for line in lines}
        self.used |= uses
        if process is None or station is None:
            return None
        steps = self.steps(ident, formula, process, vessel)
        for step in process.steps:
            uses |= {f"equipment:{name}" for name in (step.using, step.in_, step.vessel) if name}
        if formula.makes and formula.makes.vessel:
            uses.add(f"equipment:{formula.makes.vessel}")
        self.used |= uses
        broken = uses & self.standards.broken
        failed = any(f.is_error for f in self.findings[before:])
        if broken or failed or None in (steps, base):
            return None
        assert steps is not None and base is not None
        return JoinedFormula(
            ident, formula, station, process, tuple(lines), steps, base, sizes, vessel,
            frozenset(uses), self.standards.formula_files[ident],
        )  # fmt: skip

    def lines(self, ident: str, formula: Formula) -> list[JoinedLine]:
        found: list[JoinedLine] = []
        known = set(self.standards.ingredients) | set(self.standards.formulas)
        for part, items in formula.parts.items():
            for item, line in items.items():
                ingredient = self.standards.ingredients.get(item)
                if ingredient is not None:
                    found.append(JoinedLine(part, item, line, ingredient.name, ingredient))
                elif item in self.standards.formulas:
                    name = self.standards.formulas[item].name
                    found.append(JoinedLine(part, item, line, name, None, item))
                else:
                    place = replace(line.place("amount"), length=len(item))
                    place = replace(place, column=max(place.text.find(item), 0) + 1)
                    self.unknown("item-unknown", "ingredient or formula", item, place, known, ident)
        return found

    def base(self, ident: str, formula: Formula) -> frozenset[tuple[str, str]] | None:
        chosen: set[tuple[str, str]] = set()
        for name in formula.base:
            if name in formula.parts:
                chosen |= {(name, item) for item in formula.parts[name]}
                continue
            hits = {(part, name) for part, items in formula.parts.items() if name in items}
            if not hits:
                known = {*formula.parts, *(i for items in formula.parts.values() for i in items)}
                near = difflib.get_close_matches(name, sorted(known), n=1, cutoff=0.55)
                self.error(
                    "base-unknown", formula.place("base"), f"The base `{name}` is no part of this formula.",
                    f"Did you mean `{near[0]}`?" if near else "Name a part, or ingredients.", ident,
                )  # fmt: skip
                return None
            chosen |= hits
        return frozenset(chosen)

    def vessel(self, ident: str, formula: Formula) -> Vessel | None:
        makes = formula.makes
        if makes is None or makes.vessel is None:
            return None
        vessel = self.standards.equipment.get(makes.vessel)
        if isinstance(vessel, Vessel):
            return vessel
        known = [i for i, e in self.standards.equipment.items() if isinstance(e, Vessel)]
        self.unknown("vessel-unknown", "vessel", makes.vessel, makes.place("vessel"), known, ident)
        return None

    def sizes(self, ident: str, formula: Formula) -> tuple[Size, ...]:
        """Batch sizes with the formula's own words for fills and portions understood."""
        makes = formula.makes
        fills = {"fill", "fills"} | ({makes.one, makes.plural} if makes and makes.fill else set())
        portions = {"portion", "portions"} | (
            {makes.serving, makes.servings or makes.serving + "s"}
            if makes and makes.serving
            else set()
        )
        sizes: list[Size] = []
        for size in formula.batches:
            if size.kind == "fills" and size.text in portions:
                size = replace(size, kind="portions")
            if size.kind == "fills" and size.text not in fills:
                words = sorted((fills | portions) - {""})
                self.error(
                    "size-unreadable", formula.place("batches"),
                    f"This formula makes no {size.text}.", f"Known: {', '.join(words)}.", ident,
                )  # fmt: skip
                continue
            if size.kind == "fills" and (makes is None or makes.fill is None):
                self.error(
                    "fill-missing", formula.place("batches"), "A size in fills needs the weight of one fill.",
                    "Say under `makes` what one fill weighs.", ident, ["makes: {fill: 620 g}"],
                )  # fmt: skip
                continue
            sizes.append(size)
        return tuple(sizes)

    # -- steps ---------------------------------------------------------------------------------

    def steps(
        self, ident: str, formula: Formula, process: Process, vessel: Vessel | None
    ) -> tuple[JoinedStep, ...] | None:
        about = f"process:{formula.process}"
        found: list[JoinedStep] = []
        taken: dict[str, int] = {}
        ids = process.step_ids()
        for number, (step, step_id) in enumerate(zip(process.steps, ids, strict=True), 1):
            if ids.index(step_id) != number - 1:
                self.error(
                    "step-twice", step.place("do"), f"The step `{step_id}` comes twice.",
                    "Give the later one an `id` of its own.", about,
                )  # fmt: skip
            for part in step.take:
                if part not in formula.parts:
                    self.unknown(
                        "part-unknown",
                        "part",
                        part,
                        formula.key_place("parts"),
                        formula.parts,
                        ident,
                    )
                elif part in taken:
                    self.error(
                        "part-taken-twice", step.place("take"),
                        f"`{part}` is taken in at step {taken[part]} and again at step {number}.",
                        "A part is taken in once; split it in the formula.", about,
                    )  # fmt: skip
                taken.setdefault(part, number)
            found.append(self.step(ident, formula, number, step, step_id, vessel))
        for part in formula.parts:
            if part not in taken:
                self.error(
                    "part-not-taken", formula.key_place("parts"),
                    f"No step of {process.name} takes in the part `{part}`.",
                    "Add it to a step's `take`, or choose another process.", ident,
                )  # fmt: skip
        for part in process.needs:
            if part not in formula.parts and part not in taken:
                self.error(
                    "part-missing", formula.key_place("parts"), f"{process.name} needs a part called `{part}`.",
                    "Add the part.", ident,
                )  # fmt: skip
        for step_id in (*formula.targets, *formula.times):
            if step_id not in ids:
                place = formula.place("targets" if step_id in formula.targets else "times")
                self.unknown("step-unknown", "step", step_id, place, ids, ident)
        return tuple(found)

    def step(
        self,
        ident: str,
        formula: Formula,
        number: int,
        step: Step,
        step_id: str,
        vessel: Vessel | None,
    ) -> JoinedStep:
        about = f"process:{formula.process}"
        verb = self.library.verbs.get(step.do)
        if verb is None and not step.does:
            self.unknown(
                "verb-unknown", "verb", step.do, step.place("do"), self.library.verbs, about
            )
        effects = frozenset(step.does) | frozenset(verb.does if verb else ())
        machine = self.equipment(step.using, step.place("using"), Machine, "machine", about)
        cold = self.equipment(
            step.in_, step.place("in"), Cold, "refrigerator, chiller or freezer", about
        )
        own = vessel
        if step.vessel and step.vessel.lower() != AS_THE_FORMULA_SAYS:
            own = self.equipment(step.vessel, step.place("vessel"), Vessel, "vessel", about)
        target: Target | None = formula.targets.get(step_id, step.target)
        if target is not None and target.kind == "from-formula":
            self.error(
                "target-missing", formula.key_place("process"),
                f"The step `{step_id}` takes its target from the formula, and there is none.",
                "Add it under `targets`.", ident, [f"targets: {{{step_id}: core 75 °C}}"],
            )  # fmt: skip
            target = None
        if step_id in formula.times:
            step = step.model_copy(update={"time": formula.times[step_id]})
        name = verb.name if verb else step.do.replace("-", " ").capitalize()
        return JoinedStep(
            number, step_id, step, name, effects, step.take, machine, cold, own, target
        )

    def equipment(self, name: str | None, place: Place, kind: type, what: str, about: str):  # type: ignore[no-untyped-def]
        if name is None:
            return None
        found = self.standards.equipment.get(name)
        if isinstance(found, kind):
            return found
        known = [i for i, e in self.standards.equipment.items() if isinstance(e, kind)]
        self.unknown("equipment-unknown", what, name, place, known, about)
        return None

    # -- order and leftovers -------------------------------------------------------------------

    def order(self, joined: dict[str, JoinedFormula]) -> list[str]:
        graph = {ident: set(one.sub_formulas) & set(joined) for ident, one in joined.items()}
        while True:
            try:
                order = list(TopologicalSorter(graph).static_order())
                break
            except CycleError as error:
                ring = [str(name) for name in error.args[1]]
                names = " → ".join(self.standards.formulas[i].name for i in ring)
                for ident in dict.fromkeys(ring):
                    self.error(
                        "formula-in-circle", self.standards.formulas[ident].key_place("parts"),
                        f"These formulas contain each other: {names}.",
                        "One of them has to be made of ingredients.", ident,
                    )  # fmt: skip
                    graph.pop(ident, None)
                graph = {k: v - set(ring) for k, v in graph.items()}
        good: list[str] = []
        for ident in order:
            if ident in joined and all(s in good for s in joined[ident].sub_formulas):
                good.append(ident)
        return good

    def unused(self) -> None:
        for ident, ingredient in self.standards.ingredients.items():
            if ident not in self.used:
                self.findings.append(
                    Finding(
                        "not-used",
                        "note",
                        f"{ingredient.name} is in no formula.",
                        ingredient.place(),
                    )
                )
