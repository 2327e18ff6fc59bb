"""Cards with endings: what each is parted into, and findings said once for what endings share."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from generator.files.finding import Finding, Place
from generator.measures.words import listed


@dataclass(frozen=True)
class EndingAt:
    """One ending of a card: its id there, the name of its formula, where its key is, and the last
    line that is its own."""

    id: str
    name: str
    place: Place
    last: int

    def holds(self, place: Place) -> bool:
        """Whether a place of the card's file is within what the ending says."""
        return self.place.line <= place.line <= self.last


@dataclass(frozen=True)
class Card:
    """A card with endings: its id, its name, its file, and its endings by their formulas' ids."""

    id: str
    name: str
    file: str
    endings: Mapping[str, EndingAt]


def once_a_card(findings: Iterable[Finding], cards: Mapping[str, Card]) -> list[Finding]:
    """The findings, those of what the endings of a card share once each; one about some of the
    endings, of which its place doesn't say which, names them."""
    found = list(findings)
    for card in cards.values():
        found = _once(found, card)
    return found


def _once(findings: list[Finding], card: Card) -> list[Finding]:
    """The findings with those that only differ in the ending they name as one, at the place of the
    first."""
    kept: list[Finding] = []
    at: dict[Finding, int] = {}
    for finding in findings:
        if not finding.about & card.endings.keys():
            kept.append(finding)
            continue
        plain = _of_the_card(finding, card)
        alike = replace(plain, about=frozenset(), help="")  # which may list an ending's own steps
        if alike not in at:
            at[alike] = len(kept)
            kept.append(finding)
            continue
        first = kept[at[alike]]
        words = first.message if first.message == finding.message else plain.message
        kept[at[alike]] = replace(first, message=words, about=first.about | finding.about)
    return [_which(f, card) for f in kept]


def _of_the_card(finding: Finding, card: Card) -> Finding:
    """A finding with the card's name in place of its ending's."""
    message = finding.message
    for ident, ending in card.endings.items():
        if ident in finding.about:
            message = message.replace(ending.name, card.name).replace(f"`{ident}`", f"`{card.id}`")
    return replace(finding, message=message)


def _which(finding: Finding, card: Card) -> Finding:
    """A finding that says of which endings it is, where its place and its words don't."""
    ours = [one for ident, one in card.endings.items() if ident in finding.about]
    there = finding.place.file == card.file and card.id not in finding.about
    if not there or not ours or len(ours) == len(card.endings):
        return finding
    if any(one.holds(finding.place) or one.name in finding.message for one in ours):
        return finding
    which = listed([f"`{one.id}`" for one in ours])
    noun = "Ending" if len(ours) == 1 else "Endings"
    return replace(finding, message=f"{noun} {which}: {finding.message}")
