"""Food closed in a jar, a can or a bag and heated in it, so that it keeps out of the cold.

Food Code 3-201.12: food in a hermetically sealed container comes from a food processing plant that
is regulated as such. Boiling doesn't kill the spores of botulism, and they grow where no air is; no
pack held here has a process for it. Which formula cans is read from its steps, and from words in
it: a working rule of this manual. A water activity or a pH that keeps the food keeps it in a closed
jar as well, and has rules of its own.
"""

from __future__ import annotations

import re

from generator.files.finding import Finding
from generator.measures.words import with_verb
from generator.records.kept import NotTcs
from generator.reference.row_kinds import AcidityRow, ReceiveRow
from generator.resolve.joined import JoinedStep
from generator.rules.basics.context import EndContext, EndOutcome, cited
from generator.rules.basics.without_cold import baked_dry, full_of_sugar
from generator.rules.store.souring import ACIDIFY, dry_by_document

SEALED = "sealed"
"""What the row of food that comes in a sealed container applies to."""
_CLOSES = frozenset({"packs", "packs-without-air"})
_OPENS = frozenset({"cuts", "comminutes", "slices", "divides", "takes-off", "dries", "bakes"})
"""What is done to food that has left its jar again."""
_DONE = re.compile(
    r"\b(?:canning|canners?|retort(?:s|ed|ing)?|autoclaved?|hermetically|pressure[- ]cans?|"
    r"pressure[- ]canned|process (?:the )?(?:jars|bottles|cans)|"
    r"boil the (?:closed |filled )?(?:jars|bottles|cans)|"
    r"seal(?:ed)? (?:the )?(?:jars|bottles|cans)|"
    r"(?:lids?|jars?|caps?) (?:pop|ping|pull down|seal)s?|hot[- ]fill(?:s|ed|ing)?)\b",
    re.IGNORECASE,
)
"""Work that a step or a machine says in words."""
_CALLED = re.compile(r"\b(?:canned|canning|home[- ]canned|jarred|retorted|sterilised)\b", re.I)
"""What the formula's own name or its reason says of the food; of a part it may be bought so."""


def canned_here(context: EndContext) -> EndOutcome:
    """An error where food that would need the cold is kept out of it by being canned here."""
    formula = context.formula.formula
    stated = formula.not_tcs
    if stated is None or not _would_need_it(context) or _kept_otherwise(context, stated):
        return EndOutcome()
    how = _canned_by(context, stated)
    if not how:
        return EndOutcome()
    row = context.house.pack.row_for(ReceiveRow, SEALED)
    law = row[1].words if row is not None else "The rules here have no figure for it."
    finding = Finding(
        "canned-here",
        "error",
        f"{with_verb(formula.name, 'is')} canned here to keep it out of the cold: {how}. {law}",
        formula.key_place("not_tcs"),
        "Delete `not_tcs`, chill the food and keep it cold or frozen. Is it so dry that nothing "
        "grows? Write the figure: `not_tcs: {reason: …, document: …, water_activity: …}`."
        + _by_acid(context),
        source=cited(context.house, row[1]) if row is not None else "",
        about=frozenset({context.formula.id}),
    )
    return EndOutcome((), (finding,))


def _would_need_it(context: EndContext) -> bool:
    return context.product.tcs or bool(context.product.raw_animals)


def _kept_otherwise(context: EndContext, stated: NotTcs) -> bool:
    """Whether an acid, sugar or dryness keeps it: that is asked for elsewhere."""
    if any("acidifies" in step.effects for step in context.formula.steps):
        return True
    if full_of_sugar(context.product) or baked_dry(context):
        return True
    if not context.house.pack.rows_of(AcidityRow):  # a law without tables: the paper's own figure
        return bool(stated.document) and stated.water_activity is not None
    return dry_by_document(context)


def _by_acid(context: EndContext) -> str:
    return f" {ACIDIFY}" if context.house.pack.row_for(AcidityRow, "keeping") is not None else ""


def _canned_by(context: EndContext, stated: NotTcs) -> str:
    """What shows that it is canned, in words; empty if nothing does."""
    closed = False
    for step in context.formula.steps:
        if said := _said_at(step):
            return f"step {step.number}, {step.verb.lower()}, says “{said}”"
        if step.effects & _OPENS:
            closed = False
        if closed and _heats_closed(step):
            return f"step {step.number}, {step.verb.lower()}, heats it in its closed pack"
        closed = closed or _closes(step)
    for text in (context.formula.formula.name, stated.reason):
        if found := _CALLED.search(text):
            return f"it says “{found[0]}”"
    return ""


def _said_at(step: JoinedStep) -> str:
    """The word of a step, its machine or its vessel that says so."""
    vessel = step.vessel.name if step.vessel is not None else ""
    machine = step.machine.name if step.machine is not None else ""
    for text in (*step.step.how, step.step.until or "", machine, vessel, step.step.do):
        if found := _DONE.search(text.replace("-", " ") if text == step.step.do else text):
            return found[0]
    return ""


def _closes(step: JoinedStep) -> bool:
    """Whether the food is in its pack, or in a vessel it is filled into, from a step on."""
    vessel = step.vessel if "fills" in step.effects else None
    return bool(step.effects & _CLOSES) or (vessel is not None and vessel.shape != "casing")


def _heats_closed(step: JoinedStep) -> bool:
    """Whether a step cooks what is in a pack round it: in boiling water, or under pressure."""
    under_pressure = step.machine is not None and step.machine.under_pressure
    return "cooks" in step.effects and ("in-water" in step.effects or under_pressure)
