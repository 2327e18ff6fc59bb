"""The search's index of a large manual in parts, of which a phone loads what its words need.

The first file is small: which part has which words, what every score needs of the whole, and the
stations. A part of words holds, for each word and field, the entries with it and how long the field
is there; a part of rows what is shown of some entries. ``static/parts.js`` puts them together to
answers that are those of the whole index: ``tests/browser/test_search_in_parts.py`` asks both.

Texts are cut into words as the engine does it (MiniSearch 7.2.0): at what Unicode calls a space or
a punctuation mark, then without accents, in small letters.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import re
import unicodedata
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import groupby

FIELDS = ("title", "also", "kind", "words", "refs")
"""The fields of an entry that the search looks into, in the order of ``find.js``."""
FOLDER = "assets/find"
MOST_WHOLE = 20_000
"""How many bytes the index has at most as one file, gzipped: more is in parts."""
_WORDS_LEAST, _WORDS_MOST = 12_000, 96
_ROWS_LEAST, _ROWS_MOST = 24, 256
_STAMP = 8
_MAYBE = re.compile(r"[\W_]")
"""What may part words."""

Row = Sequence[object]
"""An entry as ``find.js`` reads it: title, kind, address, other names, words, references, weight;
without empty ends."""
Postings = dict[str, dict[int, list[tuple[int, int, int]]]]
"""By word and field: the entry, how long its field is, how often the word is in it."""


def is_small(index: str) -> bool:
    """Is an index, as a script, small enough to be one file?"""
    return len(gzip.compress(index.encode(), 6, mtime=0)) <= MOST_WHOLE


def split(text: str) -> list[str]:
    """The words of a text as the engine cuts it, empty ones at its ends included."""
    words = _MAYBE.sub(lambda found: _parts_words(found[0]), text).split(" ")
    return [w for i, w in enumerate(words) if w or i in (0, len(words) - 1)]


@lru_cache(4096)
def _parts_words(sign: str) -> str:
    """A blank for a sign that parts words; any other sign itself."""
    return " " if sign in "\n\r" or unicodedata.category(sign)[0] in "ZP" else sign


@lru_cache(65_536)
def plain(word: str) -> str:
    """A word without accents and apostrophes, in small letters."""
    signs = unicodedata.normalize("NFD", word)
    return "".join(s for s in signs if not "\u0300" <= s <= "\u036f" and s not in "’'").lower()


@lru_cache(16_384)
def _counted(text: str) -> tuple[int, tuple[tuple[str, int], ...]]:
    """How long a field is as the engine counts, and how often each word is in it."""
    words = split(text)
    counts = Counter(word for word in map(plain, words) if word)
    return len(set(words)), tuple(counts.items())


@dataclass
class _Index:
    """What the engine would hold of all entries."""

    postings: Postings = field(default_factory=dict)
    average: list[float] = field(default_factory=lambda: [0.0] * len(FIELDS))

    def add(self, number: int, texts: Sequence[str | None]) -> None:
        """Entry ``number`` with its fields' texts; None where it has no such field."""
        for at, text in enumerate(texts):
            if text is None:
                continue
            size, counts = _counted(text)
            self.average[at] = (self.average[at] * number + size) / (number + 1)
            for word, times in counts:
                self.postings.setdefault(word, {}).setdefault(at, []).append((number, size, times))


def in_parts(rows: Sequence[Row]) -> tuple[object, dict[str, str]]:
    """The first file's record and the other parts as scripts, by address."""
    index = _Index()
    for number, row in enumerate(rows):
        index.add(number, _texts(rows, row))
    files: dict[str, str] = {}
    names = _names(rows)
    words = sorted(index.postings, key=_order)
    parts = [
        [some[0], _put(files, f"w{at}", [[_packed(index, w) for w in some], _called(names, some)])]
        for at, some in enumerate(_slices(words, index))
    ]
    size = max(_ROWS_LEAST, -(-len(rows) // _ROWS_MOST))
    chunks = [rows[at : at + size] for at in range(0, len(rows), size)]
    by_address = _opened(rows, len(chunks))
    shown = [
        _put(files, f"r{at}", [[_shown(rows, row) for row in some], by_address[at]])
        for at, some in enumerate(chunks)
    ]
    first = {
        "count": len(rows),
        "average": index.average,
        "ranks": list(_ranks(rows)),
        "words": parts,
        "size": size,
        "rows": shown,
        "spelled": _put(files, "spelled", " ".join(words)),
        "stations": [list(row[:3]) for row in rows if row[1] == "Station"],
    }
    return first, files


def _texts(rows: Sequence[Row], row: Row) -> list[str | None]:
    """The texts of an entry's fields; those it refers to lead to it by their names."""
    refs = _numbers(row)
    named = " ".join(f"{rows[n][0]} {rows[n][3] if len(rows[n]) > 3 else ''}" for n in refs)
    also, words = (str(row[at]) if len(row) > at else None for at in (3, 4))
    return [str(row[0]), also, str(row[1]), words, named]


def _numbers(row: Row) -> list[int]:
    found = row[5] if len(row) > 5 else []
    return found if isinstance(found, list) else []


def _order(word: str) -> bytes:
    """The order in which a script compares texts."""
    return word.encode("utf-16-be")


def _packed(index: _Index, word: str) -> list[object]:
    """A word with its entries: by field a flat list of how much further the entry is, how long its
    field, and, behind a length below zero, how often the word is in it."""
    packed: list[object] = [word]
    for at, entries in sorted(index.postings[word].items()):
        flat: list[int] = []
        last = 0
        for number, size, times in entries:
            flat += [number - last, size] if times == 1 else [number - last, -size, times]
            last = number
        packed += [at, flat]
    return packed


def _slices(words: Sequence[str], index: _Index) -> Iterator[list[str]]:
    """The words in their order, so many a part that parts are about as long."""
    sizes = [sum(6 * len(e) for e in index.postings[w].values()) + len(w) + 9 for w in words]
    most = max(_WORDS_LEAST, sum(sizes) // _WORDS_MOST)
    some: list[str] = []
    length = 0
    for word, size in zip(words, sizes, strict=True):
        if some and length + size > most:
            yield some
            some, length = [], 0
        some.append(word)
        length += size
    if some:
        yield some


def _names(rows: Sequence[Row]) -> dict[str, dict[str, list[int]]]:
    """By its first word: each whole name, and the entries called so."""
    found: dict[str, dict[str, list[int]]] = {}
    for number, row in enumerate(rows):
        name = plain(str(row[0]))
        first = next((w for w in map(plain, split(str(row[0]))) if w), "")
        found.setdefault(first, {}).setdefault(name, []).append(number)
    return found


def _called(names: dict[str, dict[str, list[int]]], words: Sequence[str]) -> dict[str, list[int]]:
    """The whole names that begin with one of ``words``."""
    return {name: numbers for w in words for name, numbers in names.get(w, {}).items()}


def _ranks(rows: Sequence[Row]) -> Iterator[list[object]]:
    """How many entries in a row are of which kind, by its first letter, and of which weight."""
    for (kind, weight), some in groupby(rows, lambda row: (str(row[1])[:1], _weight(row))):
        yield [len(list(some)), kind, weight]


def _weight(row: Row) -> object:
    return row[6] if len(row) > 6 else 1


def _shown(rows: Sequence[Row], row: Row) -> list[object]:
    """What is shown of an entry: its title, kind and address; a step says of which formula."""
    if row[1] != "Step":
        return list(row[:3])
    formula = rows[_numbers(row)[0]]
    return [row[0], row[1], f"{formula[2]}{row[2]}", formula[0]]


def _opened(rows: Sequence[Row], parts: int) -> list[dict[str, list[object]]]:
    """What was opened on a phone is found by its address: title and kind of each formula, in a
    part that follows from the address."""
    found: list[dict[str, list[object]]] = [{} for _ in range(parts)]
    for row in rows:
        if str(row[1]).startswith(("Formula", "Not computed")):
            found[sum(map(ord, str(row[2]))) % parts][str(row[2])] = list(row[:2])
    return found


def _put(files: dict[str, str], name: str, value: object) -> str:
    """Add a part, named by its content: a page never meets a part of another index. Its stamp."""
    text = script(f"ksPart.{name}", value)
    stamp = hashlib.sha256(text.encode()).hexdigest()[:_STAMP]
    files[f"{FOLDER}/{name}.{stamp}.js"] = text
    return stamp


def script(name: str, value: object) -> str:
    """A value as a script that says what ``name`` is."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    return f"{name}={text.replace('<', chr(92) + 'u003c')}\n"
