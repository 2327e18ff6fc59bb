"""The pages in other languages: the messages of each, and which words of a manual are the kitchen's
own."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import Any, NamedTuple, get_args

from generator.records.fields import Id, IdList, Told, WordList, Words
from generator.records.kitchen import HOME
from generator.records.named import Approver, Paper, Said
from generator.records.record import Record
from generator.reference.catalogue import Catalogue, read_catalogues
from generator.sheet.manual import Broken, Manual

_TEXTS = tuple(get_args(kind)[1] for kind in (Words, Told, Paper, Approver, Said))
_WORD_LIST, _ID, _IDS = (get_args(kind)[1] for kind in (WordList, Id, IdList))
_SPACES = re.compile(r"\s+")
_LONGEST = 120
NAMES = "assets/names.js"
"""The file of the kitchen's own words. Its address has no stamp, which every page would hold."""


def own_words(manual: Manual) -> set[str]:
    """The kitchen's own words: names and free texts of its records, what its parts are called,
    ids; and the titles of documents, which keep their language."""
    found: set[str] = set()
    standards = manual.standards
    found.update(_words(standards.stations), _words(standards.equipment))
    found.update(_words(standards.ingredients), _words(standards.processes))
    found.update(_words(standards.routines))
    found.update(_of_formulas(manual), _words(standards.kitchen), _words(standards.plans))
    shelves = {Path(item.place().file).stem for item in standards.ingredients.values()}
    found.update(shelf.replace("-", " ") for shelf in shelves)
    library = manual.library
    for source in library.sources.values():
        found.update((source.title, source.named))
    for pack in library.packs.values():
        found.update((pack.facts.document, pack.facts.name))
        for row in pack.rows.values():
            found.update((row.clause, getattr(row, "document", "")))
        found.update(text for gap in pack.facts.not_covered for text in (gap.what, gap.why))
    found.update(food.name for food in library.foodstuffs.values())
    plain = {_SPACES.sub(" ", text).strip() for text in found if text}
    return plain | {text.rstrip(".") for text in plain}


def _of_formulas(manual: Manual) -> Iterator[str]:
    """The words of formulas: thousands, most of them as they were at the last build."""
    for ident, formula in manual.standards.formulas.items():
        yield from _of_id(ident)
        made = partial(_sorted_words, formula)
        sheet = manual.sheets.get(ident)
        yield from manual.keeping.part(sheet, "words", made) if sheet is not None else made()


def _sorted_words(record: Record) -> list[str]:
    return sorted(set(_words(record)))


def _words(value: Any) -> Iterator[str]:
    """The free texts of a record and of whatever is in it; names that are keys, too."""
    if isinstance(value, Record):
        for name, kinds in _fields_of(type(value)):
            yield from _of_field(getattr(value, name), kinds)
    elif isinstance(value, Mapping):
        for key, held in value.items():
            yield from _of_id(key)
            yield from (held,) if isinstance(held, str) else _words(held)
    elif isinstance(value, tuple | list):
        for held in value:
            yield from _words(held)


class _Kinds(NamedTuple):
    """Whether a field is a list of words or of ids, or, where it holds a text, an id or words."""

    word_list: bool
    ids: bool
    ident: bool
    words: bool


@cache
def _fields_of(model: type[Record]) -> tuple[tuple[str, _Kinds], ...]:
    """The fields of a record, asked of thousands of records, with what they hold."""
    return tuple(
        (
            name,
            _Kinds(
                _WORD_LIST in info.metadata,
                _IDS in info.metadata,
                _ID in info.metadata,
                any(kind in info.metadata for kind in _TEXTS),
            ),
        )
        for name, info in model.model_fields.items()
    )


def _of_field(held: Any, kinds: _Kinds) -> Iterator[str]:
    """The texts of a record's field; ``kinds`` say whether it holds free texts or ids."""
    if kinds.word_list:
        yield from (one for one in held if isinstance(one, str))
    elif kinds.ids:
        for ident in held:
            yield from _of_id(ident)
    elif not isinstance(held, str):
        if isinstance(held, Record | Mapping | tuple | list):  # nothing else holds words
            yield from _words(held)
    elif kinds.ident:
        yield from _of_id(held)
    elif kinds.words:
        yield held


def _of_id(ident: Any) -> Iterator[str]:
    """An id, and the name it makes: cold-dice → cold dice."""
    if isinstance(ident, str):
        yield from (ident, ident.replace("-", " "))


@dataclass(frozen=True)
class Tongue:
    """A language the pages can be read in: its code, what it calls itself, and the file with its
    words, which the kitchen's own language has none of."""

    code: str
    name: str
    file: str = ""
    script: str = ""


def tongues(manual: Manual | Broken | None) -> tuple[Tongue, ...]:
    """The kitchen's language and those there are words for; none where nothing was computed. Raises
    Refused for words that can't be read."""
    if not isinstance(manual, Manual):
        return ()
    others = [
        Tongue(
            code,
            found.name,
            f"assets/words-{code}.js",
            _script(found, manual.standards.told.get(code, {})),
        )
        for code, found in read_catalogues(manual.library.folder).items()
    ]
    return (Tongue(HOME, "English"), *others) if others else ()


def names_script(manual: Manual, site: str) -> str:
    """The kitchen's own words that may stand within a message, of a site called ``site``: names, in
    no language's file, which every edit would make another one; not sentences."""
    own = {site, *site.split(" · "), *own_words(manual)}
    names = {text.lower() for text in own if len(text) <= _LONGEST and not text.endswith(".")}
    return _said("ksNames", sorted(names))


def _script(found: Catalogue, given: Mapping[str, str]) -> str:
    """The messages of a language. ``given`` are the kitchen's own translations."""
    own = {text.lower().rstrip("."): words.rstrip(".") for text, words in given.items()}
    own |= {text.lower(): words for text, words in given.items()}
    value = {
        "messages": found.all,
        "own": own,
        "joins": found.joins,
        "same": sorted(found.same),
    }
    return _said("ksWords", value)


def _said(name: str, value: object) -> str:
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
    return f"{name}={text.replace('<', chr(92) + 'u003c')}\n"
