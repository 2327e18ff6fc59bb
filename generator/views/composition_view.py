"""What a food is made of, in words: a figure where it is known to the digits shown, else from …
to …, with what leaves it open and where each figure comes from."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from generator.composition.contents import REPORTED
from generator.measures.between import Between
from generator.measures.kilos import kilos
from generator.measures.marks import as_written
from generator.measures.rounding import to_side
from generator.measures.words import NARROW, listed, plain
from generator.records.composition import CONSTITUENTS, Shares
from generator.resolve.joined import House
from generator.sheet.composed import SODIUM, Made

_PLACES = {"salt": 3, "acid": 2, "alcohol": 2}
"""The most decimals of a percentage: a salt of 1.288 % isn't one of 1.2 %. One for the others."""
_ANYTHING = Fraction(99, 100)
MOST_NAMES = 4
RULE = (
    "What goes in, less what is lost, of the finished weight. Heat and air take water. Work in a "
    "machine takes the mixture. What drips, is fried, soaked or poured off isn't known. "
    "Carbohydrate counts its fibre. Sodium counts as 2.5 times as much salt. What nothing states "
    "lies between nothing and what the rest leaves room for. A laboratory's analysis goes first."
)


@dataclass(frozen=True)
class Part:
    """A constituent: its name, its share of the weight, and the share in words; ``stated`` if
    anything in the food states it."""

    key: str
    name: str
    share: Between
    words: str
    stated: bool
    open_by: tuple[str, ...]


def label_of(name: str) -> str:
    """A constituent by its key as people read it."""
    return name.replace("_", " ").capitalize()


def percent_words(share: Between, places: int) -> str:
    """A share in percent, with as many decimals, at most ``places``, as both its bounds agree on;
    else from … to … with one."""
    percent = share.times(Fraction(100))
    for digits in range(places, 0, -1):
        words = percent.words(digits)
        if " to " not in words:
            return f"{words}{NARROW}%"
    return f"{percent.words(1)}{NARROW}%"


def parts_of(made: Made) -> tuple[Part, ...]:
    """Every constituent of a finished formula, in the order of a table."""
    balance = made.balance
    found: list[Part] = []
    for key in REPORTED:
        share = balance.share(key)
        stated = key in balance.stated or key == "solids"
        words = percent_words(share, _PLACES.get(key, 1))
        if not stated and not share.known:
            words = f"not known: nothing in it states it (at most {_at_most(share)})"
        elif share.low == 0 and share.high >= _ANYTHING:
            words = "not known"
        found.append(Part(key, label_of(key), share, words, stated, balance.left_open_by(key)))
    return tuple(found)


def _at_most(share: Between) -> str:
    """The most of it, rounded up: a bound that is rounded down is none."""
    most = to_side(share.high * 100, "up", Fraction(1, 10))
    return f"{plain(most, 1)}{NARROW}%"


def composition_rows(house: House, made: Made) -> tuple[tuple[str, str], ...]:
    """What is said of a finished formula's composition, in reading order."""
    parts = parts_of(made)
    rows = [(part.name, part.words) for part in parts]
    left = _left_open(parts)
    if left:
        rows.append(("Left open by", left))
    if made.balance.dry_g:
        words = f"{kilos(made.balance.dry_g)} more is lost as water than there is water in it"
        rows.append(("Check", f"{words}. Look at `loses` in its process."))
    rows.append(("Rule", as_written(RULE)))
    rows += [("Source", words) for words in _sources(made.sources)]
    rows.append(("Salt of sodium", house.library.source_title(SODIUM)))
    return tuple(rows)


def _left_open(parts: tuple[Part, ...]) -> str:
    """The names that leave a shown range open, the most first."""
    names: dict[str, None] = {}
    for part in parts:
        if part.stated and " to " in part.words:
            names.update(dict.fromkeys(part.open_by[:MOST_NAMES]))
    return listed(list(names))


def _sources(sources: tuple[tuple[str, str], ...]) -> list[str]:
    """Where the figures come from: each source with what it is the source of; last, what has
    none."""
    by_source: dict[str, list[str]] = {}
    for name, source in sources:
        title, _, number = source.partition(", food ")
        by_source.setdefault(title, []).append(f"{name} ({number})" if number else name)
    missing = by_source.pop("", [])
    found = [f"{title}: {'; '.join(names)}" for title, names in by_source.items()]
    if missing:
        verb = "has" if len(missing) == 1 else "have"
        found.append(f"{listed(missing)} {verb} none: write `composition`, or name a `foodstuff`")
    return found


def shares_rows(shares: Shares) -> list[tuple[str, str]]:
    """What a table or a label states of an ingredient, as it does."""
    found: list[tuple[str, str]] = []
    for name in CONSTITUENTS:
        share = shares.stated(name)
        if share is None:
            continue
        label = label_of(name)
        if name == "acid" and shares.acid is not None:
            kinds = [
                k for k in type(shares.acid).model_fields if getattr(shares.acid, k) is not None
            ]
            label = f"Acid ({', '.join(kinds)})"
        found.append((label, f"{share.times(Fraction(100)).words(6)}{NARROW}%"))
    return found
