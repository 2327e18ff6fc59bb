"""What the search finds: names, other names, ingredients, allergens, steps and limits, terms.

A figure is found by its limit alone, with the words that belong to it. A formula names its
ingredients, tags and process by their place in the list, a step its formula, so that a word is in
it once.
"""

from __future__ import annotations

import json
import re
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from html import unescape

from generator.framing.sharding import in_parts, is_small, script
from generator.indexes.tagging import tagged, tags_of
from generator.indexes.uses import cautions_raised
from generator.pages.page import Heading, Page
from generator.pages.tags import tag_anchor
from generator.sheet.inputs import program_hash
from generator.sheet.keeping import Keeping
from generator.sheet.manual import Broken, Manual
from generator.sheet.sheet import Sheet
from generator.views.routine_view import routine_steps
from generator.views.uris import (
    CAUTIONS,
    EQUIPMENT_INDEX,
    FIND,
    GLOSSARY,
    TAGS,
    address,
    formula_uri,
    ingredient_uri,
    plan_uri,
    process_uri,
    station_uri,
)

INDEX = "assets/index.js"
"""Where the search's index is, or the first file of it."""
_HEADING = re.compile(r'<h([1-3])\b[^>]*\bid="([^"]+)"[^>]*>(.*?)</h\1>', re.DOTALL)
_LEFT_OUT = re.compile(r"<(pre|style|script)\b.*?</\1>|<[^>]+>|&para;|¶", re.DOTALL)
_WORD = re.compile(r"[^\W\d_]{3,}")
# Words of no help: they are in nearly every sentence.
_COMMON = frozenset(
    [
        "about",
        "after",
        "all",
        "also",
        "and",
        "any",
        "are",
        "because",
        "been",
        "before",
        "but",
        "can",
        "each",
        "for",
        "from",
        "has",
        "have",
        "her",
        "here",
        "his",
        "how",
        "its",
        "may",
        "more",
        "most",
        "must",
        "not",
        "off",
        "once",
        "one",
        "only",
        "other",
        "our",
        "out",
        "over",
        "own",
        "same",
        "she",
        "should",
        "such",
        "than",
        "that",
        "the",
        "their",
        "them",
        "then",
        "there",
        "these",
        "they",
        "this",
        "those",
        "through",
        "too",
        "two",
        "under",
        "until",
        "what",
        "when",
        "where",
        "which",
        "who",
        "will",
        "with",
        "without",
        "you",
        "your",
    ]
)


# Short words of a question, which lead nowhere either.
_ASKED = frozenset(
    ("a", "an", "at", "do", "does", "i", "in", "is", "it", "long", "my", "of", "on", "to", "we")
)


@dataclass
class Entry:
    """One hit: its name, what it is, where it lies, other names, words that lead to it, the
    numbers of the entries whose words lead to it as well, and its weight: below 1 it comes
    later."""

    title: str
    kind: str
    at: str
    also: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    refs: list[int] = field(default_factory=list)
    weight: float = 1

    def row(self) -> list[object]:
        """As the page reads it, without empty ends."""
        row: list[object] = [
            self.title,
            self.kind,
            self.at,
            ", ".join(self.also),
            " ".join(self.words),
            self.refs,
            self.weight if self.weight != 1 else 0,
        ]
        while len(row) > 3 and not row[-1]:
            row.pop()
        return row


def search_rows(
    manual: Manual | Broken | None, pages: Iterable[Page], written: Iterable[Entry]
) -> list[list[object]]:
    """Every entry as a row, those of pages ``written`` by hand last."""
    return [entry.row() for entry in [*_entries(manual, pages), *written]]


def search_scripts(
    manual: Manual | Broken | None,
    pages: Iterable[Page],
    written: Iterable[Entry],
    keeping: Keeping | None = None,
) -> dict[str, str]:
    """The index as scripts by address, one of them ``assets/index.js``: a page opened from a file
    may load one, but not fetch data. That of a large manual is in parts (:mod:`sharding`). An index
    of the same entries is made once with
    ``keeping``."""
    rows = search_rows(manual, pages, written)
    whole, parts = _as_scripts(rows, keeping or Keeping())
    said = script("ksSaid", [_said(manual), sorted(_COMMON | _ASKED)])
    return {INDEX: whole + said, **parts}


def _as_scripts(rows: list[list[object]], keeping: Keeping) -> tuple[str, dict[str, str]]:
    """The index of some entries as its first script, and the others by address."""
    whole = script("ksIndex", rows)

    def made() -> tuple[str, dict[str, str]]:
        if is_small(whole):
            return whole, {}
        first, parts = in_parts(rows)
        return script("ksIndex", first), parts

    def read(data: bytes) -> tuple[str, dict[str, str]]:
        first, parts = json.loads(data)
        return first, dict(parts)

    about = ("index", program_hash(), zlib.ZLIB_RUNTIME_VERSION, whole)
    return keeping.made_of(about, made, lambda found: json.dumps(found).encode(), read)


def _said(manual: Manual | Broken | None) -> list[tuple[str, str]]:
    """What a cook types and the manual's words for it, the longest first."""
    if not isinstance(manual, Manual):
        return []
    searched = manual.library.glossary.searched.values()
    said = [(typed.lower(), " ".join(entry.finds)) for entry in searched for typed in entry.typed]
    return sorted(said, key=lambda pair: (-len(pair[0]), pair))


def written_entries(at: str, title: str, html: str, weight: float = 1) -> list[Entry]:
    """A page written by hand: an entry for itself and one for each heading on it, all of one
    ``weight``."""
    found = [Entry(_text(title), "Page", at, weight=weight)]
    known: set[str] = set()
    heads = list(_HEADING.finditer(html))
    for number, head in enumerate([None, *heads]):
        start = head.end() if head else 0
        end = heads[number].start() if number < len(heads) else len(html)
        entry = found[0]
        if head and head[1] != "1":
            kind = f"Page · {found[0].title}"
            entry = Entry(_text(head[3]), kind, f"{at}#{head[2]}", weight=weight)
            found.append(entry)
        words = dict.fromkeys(w.lower() for w in _WORD.findall(_text(html[start:end])))
        fresh = [w for w in words if w not in _COMMON and w not in known]
        known.update(fresh)  # a word leads to where a page says it first
        entry.words += tuple(fresh)
    return found


def _text(html: str) -> str:
    return " ".join(unescape(_LEFT_OUT.sub(" ", html)).split())


class _Numbered:
    """Entries in their order; those others refer to are found again by a key."""

    def __init__(self) -> None:
        self.found: list[Entry] = []
        self.number: dict[object, int] = {}

    def add(self, key: object, entry: Entry) -> None:
        """The next entry, under a key."""
        self.number[key] = len(self.found)
        self.found.append(entry)


def _entries(manual: Manual | Broken | None, pages: Iterable[Page]) -> list[Entry]:
    pages = [page for page in pages if page.uri != FIND and not page.part]
    if not isinstance(manual, Manual):
        return [Entry(page.title, "Page", address(page.uri)) for page in pages]
    entries = _Numbered()
    _add_records(entries, manual)
    _add_tags(entries, manual)
    _add_formulas(entries, manual)
    _add_steps(entries, manual, pages)
    found = entries.found
    found += _plans(manual)
    for ident, station in manual.house.stations.items():
        found.append(Entry(station.name, "Station", address(station_uri(ident))))
    found += _shared(manual)
    known = {entry.at for entry in found}
    found += [
        Entry(page.title, "Page", address(page.uri))
        for page in pages
        if address(page.uri) not in known
    ]
    return found


def _add_records(entries: _Numbered, manual: Manual) -> None:
    """The ingredients with their other names and allergens, and the processes."""
    for ident, item in manual.standards.ingredients.items():
        also = (*item.other_names, *_other_names(manual, item.name))
        contains = tuple(dict.fromkeys(w for a in item.allergens for w in _WORD.findall(str(a))))
        at = address(ingredient_uri(ident))
        entries.add(("item", ident), Entry(item.name, "Ingredient", at, also, contains))
    for ident, process in manual.standards.processes.items():
        at = address(process_uri(ident))
        entries.add(("process", ident), Entry(process.name, "Process", at))
    _add_routines(entries, manual)


def _add_routines(entries: _Numbered, manual: Manual) -> None:
    """The process specs that stand alone, found by what they check, read and say."""
    for routine in manual.routines.values():
        steps = routine_steps(manual, routine)
        said = [*(s.name for s in steps), *(r.name for s in steps for r in s.readings)]
        said += [line for s in steps for line in s.how]
        words = dict.fromkeys(w for text in said for w in _WORD.findall(text.lower()))
        at = address(process_uri(routine.id))
        key = ("process", routine.id)
        entries.add(key, Entry(routine.routine.name, "Process", at, (), tuple(words)))


def _add_tags(entries: _Numbered, manual: Manual) -> None:
    """The tags that have no page of their own."""
    for tag in tagged(manual):
        if tag.group not in ("station", "process"):
            entries.add(tag, Entry(tag.word, "Tag", f"{address(TAGS)}#{tag_anchor(tag)}"))


def _add_formulas(entries: _Numbered, manual: Manual) -> None:
    """The formulas, with what they are made of, and those that couldn't be computed."""
    for ident, sheet in manual.sheets.items():
        entries.add(("formula", ident), _formula(sheet, entries.number))
    for sheet in manual.sheets.values():  # what is made ahead may be later
        refs = entries.found[entries.number["formula", sheet.id]].refs
        made = [entries.number.get(("formula", sub)) for sub in sheet.formula.sub_formulas]
        refs += [number for number in made if number is not None]
    for stopped in manual.stopped.values():
        at = address(formula_uri(stopped.station, stopped.id))
        entries.found.append(Entry(stopped.name, "Not computed", at))


def _add_steps(entries: _Numbered, manual: Manual, pages: Iterable[Page]) -> None:
    """Each formula's steps and its end, with their limits as its page shows them."""
    at = {address(page.uri): page.headings for page in pages}
    for ident, sheet in manual.sheets.items():
        number = entries.number["formula", ident]
        hazards = {
            f"step-{s.step.number}": {lm.hazard for lm in s.limits} for s in sheet.walk.steps
        }
        hazards["store"] = {limit.hazard for limit in sheet.walk.store}
        for heading in at[entries.found[number].at]:
            if heading.id in hazards:
                entries.found.append(_step(heading, hazards[heading.id], number))


def _plans(manual: Manual) -> Iterator[Entry]:
    """The plans, found by what is served."""
    for ident, plan in manual.plans.items():
        names = [manual.standards.names.get(one, one) for one in plan.formulas]
        words = dict.fromkeys(w for name in names for w in _WORD.findall(name.lower()))
        yield Entry(plan.plan.name, "Plan", address(plan_uri(ident)), (), tuple(words))


def _step(heading: Heading, hazards: Iterable[str], formula: int) -> Entry:
    """One step: its verb and its limits; found by the other scale's and the code's figures."""
    chips = dict.fromkeys(f"{chip.figure} {chip.words}".strip() for chip in heading.chips)
    limits = ", ".join(chips)
    title = f"{heading.title}: {limits}" if limits else heading.title
    words = tuple(sorted(hazard.replace("_", " ") for hazard in hazards))
    return Entry(title, "Step", f"#{heading.id}", heading.also, words, [formula])


def _formula(sheet: Sheet, number: dict[object, int]) -> Entry:
    formula = sheet.formula
    words: dict[str, None] = {}
    for line in formula.lines:
        words.update(dict.fromkeys(_WORD.findall(line.part.lower())))
        words.update(dict.fromkeys(_WORD.findall(line.line.prepare.lower())))
    for step in formula.steps:
        words.update(dict.fromkeys(_WORD.findall(step.id.lower())))
    keys: list[object] = [("item", line.item) for line in formula.lines if line.formula is None]
    if formula.formula.process is not None:
        keys.append(("process", formula.formula.process))
    keys += tags_of(sheet)
    refs = list(dict.fromkeys(number[key] for key in keys if key in number))
    at = address(formula_uri(formula.formula.home, sheet.id))
    kind = f"Formula · {sheet.stations}"
    return Entry(sheet.name, kind, at, _called(sheet), tuple(words), refs)


def _called(sheet: Sheet) -> tuple[str, ...]:
    """What else a formula is called: by its card's name, too, where its own doesn't hold it."""
    formula = sheet.formula.formula
    card = formula.ending.card_name if formula.ending is not None else ""
    return formula.other_names if card in sheet.name else (*formula.other_names, card)


def _other_names(manual: Manual, name: str) -> Iterator[str]:
    """What else the food is called, as the glossary knows it: coriander leaf → cilantro."""
    mine = set(_WORD.findall(name.lower()))
    for other in manual.library.glossary.other_names.values():
        names = (other.name, *other.also)
        if any(_words(n) <= {*mine, *(w.rstrip("s") for w in mine)} for n in names):
            yield from (n for n in names if not _words(n) <= mine)


def _words(name: str) -> set[str]:
    return set(_WORD.findall(name.lower()))


def _shared(manual: Manual) -> Iterator[Entry]:
    """Terms, other names, equipment and cautions: each where it is on its page."""
    for ident, term in manual.library.glossary.terms.items():
        yield Entry(term.term, "Term", f"{address(GLOSSARY)}#{ident}", term.also)
    for other in manual.library.glossary.other_names.values():
        yield Entry(other.name, "Other names", f"{address(GLOSSARY)}#other-names", other.also)
    for raised in cautions_raised(manual):
        if raised.notice is not None:
            kind = f"Caution · {raised.notice.severity.upper()}"
            yield Entry(raised.name, kind, f"{address(CAUTIONS)}#{raised.id}")
    for ident, piece in manual.standards.equipment.items():
        yield Entry(piece.name, "Equipment", f"{address(EQUIPMENT_INDEX)}#{ident}")
