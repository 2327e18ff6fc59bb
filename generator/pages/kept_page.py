"""The key a formula's page is kept under: all that its page says, beside its own sheet."""

from __future__ import annotations

from generator.pages.tags import many_processes
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.sheet.statement import shared_equipment
from generator.views.variant_view import variants_of


def key_of_page(manual: Manual, sheet: Sheet, made_at: dict[str, str]) -> str:
    """The key of a formula's page, empty where it can't be told: beside its own sheet, what it has
    a way to, its variants and its base, and what others bring to the equipment it shares."""
    variants = _variants(manual, sheet)
    if variants is None:
        return ""
    shared = shared_equipment(manual.walks, manual.stated.brought, sheet.id)
    stopped = [one.name for one in manual.stopped.values()]
    many = ["many processes"] if many_processes(manual) else []
    about = [*_linked(manual, sheet, made_at), *variants, repr(shared), repr(stopped), *many]
    return manual.keeping.key_of(sheet, "page", *about)


def _linked(manual: Manual, sheet: Sheet, made_at: dict[str, str]) -> list[str]:
    """What is made ahead for it, at any level, and has a page."""
    found: dict[str, None] = {}
    waiting = list(sheet.formula.sub_formulas)
    while waiting:
        ident = waiting.pop()
        if ident not in found and ident in manual.walks:
            found[ident] = None
            waiting += manual.walks[ident].formula.sub_formulas
    return sorted(ident for ident in found if ident in made_at)


def _variants(manual: Manual, sheet: Sheet) -> list[str] | None:
    """What a page holds of its formula's variants and base, as keys; None where one has none."""
    near = variants_of(manual, sheet.id)
    base = manual.sheets.get(sheet.formula.formula.variant_of or "")
    keys = [manual.keeping.key_of(one) for one in (*near, *([base] if base else []))]
    return keys if all(keys) else None
