"""Raw juice for those at risk, Food Code 3-801.11(A); and raw drinks kept for longer than a date
mark allows.

Food whose acid and water activity aren't known to keep it needs a product assessment (1-201.10,
table B), and the days of a date mark count where there is none (3-501.17).
"""

from __future__ import annotations

from generator.files.finding import Finding
from generator.measures.words import breakable, counted, duration, listed, with_verb
from generator.reference.row_kinds import WordsRow
from generator.rules.basics.context import DAY_S, EndContext, EndOutcome, cited
from generator.rules.cold.drinks import raw_juice, unproven_drink
from generator.rules.store.souring import days_row


def juice_for_the_frail(context: EndContext) -> EndOutcome:
    """An error where raw juice goes to a highly susceptible population: Food Code 3-801.11(A)."""
    row = context.house.pack.row_for(WordsRow, "juice", "susceptible")
    if context.house.kitchen.serves != "highly-susceptible" or row is None:
        return EndOutcome()
    names = raw_juice(context.formula, context.product)
    if not names:
        return EndOutcome()
    finding = Finding(
        "susceptible-raw-juice",
        "error",
        f"{context.formula.formula.name}: nothing pasteurises {listed(list(names))}. Raw juice is "
        "never served to a highly susceptible population, children of 9 and younger at school "
        "with them.",
        context.formula.formula.key_place("name"),
        "Use pasteurised juice (`state: pasteurised`). Or pasteurise it here (`do: pasteurise`), "
        "by the HACCP plan that the code asks for.",
        source=cited(context.house, row[1]),
        about=frozenset({context.formula.id}),
    )
    return EndOutcome((), (finding,))


def drink_kept_long(context: EndContext) -> EndOutcome:
    """A warning where raw juice, or coffee or tea drawn cold, is kept cold for longer than a date
    mark allows, and nothing shows that it keeps so long. What needs the cold has its date mark."""
    formula, keeps = context.formula.formula, context.formula.formula.keeps
    row = days_row(context.house)
    if keeps is None or keeps.cold is None or row is None or row.days is None:
        return EndOutcome()
    raw = unproven_drink(context.house, context.formula, context.product)
    if context.product.tcs or not raw or keeps.cold.seconds <= row.days * DAY_S:
        return EndOutcome()
    most = counted(row.days, "day")
    place = keeps.place("cold")
    finding = Finding(
        "kept-moist",
        "warning",
        f"{with_verb(formula.name, 'is')} kept for {duration(keeps.cold.seconds)}. Nothing kills "
        "what grows in it, and nothing shows that it keeps so long.",
        place,
        f"Keep it for {most} at most. Or name the paper that shows that it keeps: `not_tcs: "
        "{reason: …, document: …}`.",
        (place.text.replace(str(keeps.cold.text), breakable(most)).strip(),),
        cited(context.house, row),
        frozenset({context.formula.id}),
    )
    return EndOutcome((), (finding,))
