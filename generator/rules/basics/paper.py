"""What the law in force asks for before food is cured, smoked, soured, fermented or dried to keep
it: a variance where the Food Code is adopted; in England a plan of the business's own."""

from __future__ import annotations

from generator.reference.row_kinds import WordsRow
from generator.resolve.joined import House
from generator.rules.basics.context import cited

OWN_PLAN = "HACCP plan"
"""What Regulation (EC) No 852/2004, Article 5, asks of every business that makes food."""


def variance_row(house: House) -> WordsRow | None:
    """The row that asks for a variance (Food Code 3-502.11); None where the law knows none."""
    row = house.pack.row_for(WordsRow, "keeping", "smoking")
    return row[1] if row is not None else None


def paper(house: House) -> str:
    """What is to be on file, in words: "variance" or "HACCP plan"."""
    return "variance" if variance_row(house) is not None else OWN_PLAN


def asks_for_it(house: House, clause: str = "") -> str:
    """Document and clause that ask for it; ``clause`` is the Food Code's own, where it is narrower
    than the row's."""
    row = variance_row(house)
    if row is None:
        return house.library.source_title("eu-852-2004-article-5")
    return cited(house, row, clause)
