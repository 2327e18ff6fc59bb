"""How high what a sheet is made of is: the templates are asked once for each different block."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from generator.binder.pagination import Frame, Room, without_drawing, without_label
from generator.binder.sheets import Record

Ask = Callable[[Sequence[Record]], list[Any]]
"""Questions to ``measuring.typ``, and an answer to each in their order."""

_HEAD = ("kind", "title", "subtitle", "station", "number", "band", "strip")


def _key(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, sort_keys=True)


@dataclass(frozen=True)
class Measures:
    """What the templates measured, by what was asked."""

    frame: Frame
    line: float
    """How long a head's second line may be, in points."""
    again_line: float
    """How long it may be beside boxes."""
    field: float
    """How high a row of boxes is."""
    answers: dict[str, Any]
    widths: dict[str, float]
    """Of the words that were asked for, as a line of a subtitle."""

    def sized(self, block: Record) -> Record:
        """A block with its height or its rows' heights, and what its drawing needs to know of
        them. A log's height is that without an entry."""
        found = dict(self.answers[_key(_block(block))])
        parts = found.pop("rows", None)
        if parts is not None:
            found["rows"] = [{**r, **p} for r, p in zip(block["rows"], parts, strict=True)]
        return {**block, **found}

    def room(self, sheet: Record) -> Room:
        """The room for blocks on a sheet's first page and on its others, in points."""
        return Room(self._under(sheet, True), self._under(sheet, False))

    def _under(self, sheet: Record, first: bool) -> float:
        boxes = self.field + self.frame.rhythm if first and sheet["fields"] else 0.0
        head: float = self.answers[_key(_head(sheet, first))]
        return self.frame.body - head - boxes

    def covers(self, sheet: Record, blocks: Sequence[Record], again: bool) -> tuple[str, bool]:
        """What a page covers, as its subtitle says it: by name where the line holds that, else
        from first to last; and whether the kind of sheet is left out of the line for it, as it may
        be in a head with boxes (``again``)."""
        named = list(dict.fromkeys(w for b in blocks for w in b.get("covers", ())))
        tries = [", ".join(named)]
        if len(named) > 1:
            tries.append(f"{named[0]} to {named[-1]}")
        line = self.again_line if again else self.line
        for kindless in (False, True) if again else (False,):
            before = self._width(_before(sheet["subtitle"][kindless:]))
            for words in tries:
                if before + self._sum(words) <= line:
                    return words, kindless
        return "", False

    def _sum(self, words: str) -> float:
        pieces = words.split(" ")
        return sum(map(self._width, pieces)) + self._width(" ") * (len(pieces) - 1)

    def _width(self, words: str) -> float:
        return self.widths[words] if words else 0.0


def measured(sheets: Sequence[Record], ask: Ask) -> Measures:
    """What the templates say of all that ``sheets`` are made of."""
    asked = {_key(one): one for one in ({"what": "frame"}, *_questions(sheets))}
    answers = dict(zip(asked, ask(list(asked.values())), strict=True))
    known = answers[_key({"what": "frame"})]
    line, again, field = (known.pop(k) for k in ("line", "again_line", "field"))
    widths = {one["words"]: float(answers[key]) for key, one in asked.items() if "words" in one}
    return Measures(Frame(**known), line, again, field, answers, widths)


def _questions(sheets: Sequence[Record]) -> Iterator[Record]:
    yield _line(" ")
    for sheet in sheets:
        yield _head(sheet, True)
        yield _head(sheet, False)
        for block in sheet["blocks"]:
            short = without_label(block)
            for one in (block, short, without_drawing(block)):
                yield _block(one)
            for words in _named(block):
                yield _line(words)
        if sheet["kind"] == "batch":
            yield _line(_before(sheet["subtitle"]))
            yield _line(_before(sheet["subtitle"][1:]))


def _block(block: Record) -> Record:
    """A block as it is measured: what changed in it, and where it may break, takes no room."""
    return {"what": "block", "block": {k: v for k, v in block.items() if k not in _NO_ROOM}}


_NO_ROOM = frozenset({"bar", "keep", "phase", "covers", "back"})


def _head(sheet: Record, first: bool) -> Record:
    """A sheet's head on its first page, or on its others, which have boxes of their own where it
    has two rows of them."""
    again = sheet["fields"][-1]["fields"] if not first and len(sheet["fields"]) > 1 else None
    one = {k: sheet[k] for k in _HEAD}
    one["control"] = {"revision": sheet["control"]["revision"]}
    if sheet["kind"] == "cover":
        one["cover"] = sheet["cover"]
    return {"what": "head", "sheet": one, "boxes": again}


def _before(subtitle: Sequence[str]) -> str:
    """What is before the names in a head's second line."""
    return "".join(f"{words} · " for words in subtitle)


def _line(words: str) -> Record:
    return {"what": "line", "words": words}


def _named(block: Record) -> Iterator[str]:
    """The words a page's subtitle may be made of."""
    for name in block.get("covers", ()):
        for word in name.split(" "):
            yield word
            yield f"{word},"
        yield "to"
