"""What a formula's page says of its variants and of its base."""

from __future__ import annotations

from dataclasses import dataclass

from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.facts import ABSENT
from generator.views.uris import (
    Link,
    link,
)
from generator.views.variant_view import difference, variants_of


@dataclass(frozen=True)
class VariantView:
    """What a formula is a variant of, with the way to its page, and what differs: its weights at
    one size, then its figures, old → new."""

    base: Link
    at: str
    lines: tuple[tuple[str, str], ...]
    figures: tuple[tuple[str, str], ...]


def variant_view(
    manual: Manual, sheet: Sheet, uri: str, made_at: dict[str, str]
) -> VariantView | None:
    """What differs from the formula it is a variant of; None for one that is none, or whose base
    isn't computed."""
    base = manual.sheets.get(sheet.formula.formula.variant_of or "")
    if base is None:
        return None
    found = difference(base, sheet, manual.made)
    lines, figures = (
        tuple((c.name, f"{c.old or ABSENT} → {c.new or ABSENT}") for c in changes)
        for changes in (found.lines, found.figures)
    )
    return VariantView(Link(base.name, link(uri, made_at[base.id])), found.at, lines, figures)


def variant_links(manual: Manual, sheet: Sheet, uri: str, made_at: dict[str, str]) -> list[Link]:
    """The ways to the variants of a formula, the newest first."""
    found = variants_of(manual, sheet.id)
    return [Link(one.name, link(uri, made_at[one.id])) for one in found]
