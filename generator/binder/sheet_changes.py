"""A sheet of paper laid out as facts, so that two printings of it can be compared: its words and
figures, name by name."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Any

from generator.binder.sheets import Record, Words, content_of
from generator.measures.words import breakable
from generator.views import facts
from generator.views.facts import Change, Group, NamedFacts

Place = tuple[int | None, int | None]
"""A block and its row; without a block the sheet's head."""
_STRIP = 0
"""The row of the head that lists the allergens."""


def plain_words(words: Words | None) -> str:
    """Words of a record as plain text."""
    if words is None or isinstance(words, str):
        return words or ""
    return "".join(w if isinstance(w, str) else w["b"] for w in words)


def sheet_changes(old: Record, new: Record) -> tuple[Change, ...]:
    """What differs, in the order of the new sheet, what is gone last. Two sheets whose content
    differs always have one."""
    found = facts.fact_changes(_laid_out(old), _laid_out(new))
    if not found and content_of(old) != content_of(new):
        return (Change("paper", "", "Layout", "", "new layout; words and figures are the same"),)
    return found


class _Names(NamedFacts):
    """What is on one sheet, by name, and where: in which block and, of a table, in which row."""

    def __init__(self) -> None:
        super().__init__()
        self.block: int | None = None
        self.row: int | None = None
        self.places: dict[tuple[Group, str, str], Place] = {}

    def say(self, name: str, words: str, group: Group = "paper") -> None:
        """Note that ``name`` reads ``words`` on this sheet."""
        self.places[self.put(group, name, words)] = (self.block, self.row)

    def has(self, name: str) -> bool:
        """Whether the sheet says ``name`` already."""
        return ("paper", "", name) in self

    def each(self, rows: Sequence[Any]) -> Iterator[Any]:
        """The rows of the block at hand: what is said while one is looked at is in it."""
        for self.row, row in enumerate(rows):
            yield row
        self.row = None


def _laid_out(sheet: Record) -> _Names:
    names, control = _Names(), sheet["control"]
    for name, key in (
        ("Status", "status"),
        ("Effective", "effective"),
        ("Approved by", "approved"),
        ("Review due", "review"),
    ):
        names.say(name, control[key])
    names.say("Revision", control["revision"])
    names.say("Title", ", ".join([sheet["title"], *sheet["subtitle"]]))
    names.say("Station", sheet["station"])
    if sheet["band"] is not None:
        names.say("Band", sheet["band"]["words"])
    if sheet["strip"] is not None:
        names.row = _STRIP
        names.say("Allergens", sheet["strip"]["left"], "allergens")
        names.say("Batch", sheet["strip"]["right"])
        names.row = None
    for key, words in sheet.get("cover", {}).items():
        names.say(f"Cover, {key}", "; ".join(words) if isinstance(words, list) else str(words))
    weighed = 0
    for names.block, block in enumerate(sheet["blocks"]):
        weighed += block["form"] == "weigh"
        _BLOCKS.get(block["form"], _any)(block, names, weighed)
    return names


def marked(old: Record, new: Record) -> Record:
    """The new sheet with a bar in the margin beside what reads otherwise than on the old one: the
    row of a table, else the block, else the line of its allergens."""
    before, after = _laid_out(old), _laid_out(new)
    places = {after.places[key] for key, words in after.items() if before.get(key) != words}
    blocks = [_barred(block, number, places) for number, block in enumerate(new["blocks"])]
    strip = new["strip"]
    if strip is not None and (None, _STRIP) in places:
        strip = {**strip, "bar": True}
    return {**new, "blocks": blocks, "strip": strip}


def listed_with_bars(cover: Record, keys: Collection[str]) -> Record:
    """A cover with a bar beside each sheet of ``keys`` in its list."""
    rows = {
        (number, place)
        for number, block in enumerate(cover["blocks"])
        if block["form"] == "list"
        for place, row in enumerate(block["rows"])
        if row["key"] in keys
    }
    return {**cover, "blocks": [_barred(b, n, rows) for n, b in enumerate(cover["blocks"])]}


def _barred(block: Record, number: int, places: Collection[Place]) -> Record:
    rows = {row for at, row in places if at == number and row is not None}
    if (number, None) in places and block["form"] not in _IN_ROWS:
        return {**block, "bar": True}
    if not rows:
        return block
    return {**block, "rows": [_row(r) if i in rows else r for i, r in enumerate(block["rows"])]}


def _row(row: Any) -> Any:
    """A row with its bar; of a table of words the first cell has it."""
    if isinstance(row, dict):
        return {**row, "bar": True}
    first = row[0] if isinstance(row[0], dict) else {"words": row[0]}
    return [{**first, "bar": True}, *row[1:]]


_IN_ROWS = ("weigh", "steps", "table", "matrix", "list")


def _weigh(block: Record, names: _Names, table: int) -> None:
    lines = [row for row in block["rows"] if row["row"] == "line"]
    if table > 1 and any(names.has(_of_size(row["name"], block, 0)) for row in lines):
        return  # the same lines again, for the next two loads
    names.say("Weigh list", ", ".join(filter(None, (block["lead"], *block["actual"]))))
    for number, size in enumerate(block["sizes"], 1):
        names.say(f"Size {number}", size["size"])
        names.say(f"In all, {size['size']}", size["total"])
    for row in names.each(block["rows"]):
        if row["row"] == "line":
            _weigh_line(row, block, names)
        elif row["row"] == "group":
            names.say("On the scale", row["scale"])
        else:
            names.say("Caution", f"{row['severity'].upper()}: {row['words']}")
            names.say("Caution, to write", ", ".join(row["boxes"]))


def _weigh_line(row: Record, block: Record, names: _Names) -> None:
    """A line: its figure in each size, how far a reading may be off, and what is said of it."""
    for number, cell in enumerate(row["cells"]):
        name = _of_size(row["name"], block, number)
        names.say(name, f"{cell['whole']}{cell['decimals']} {cell['unit']}")
        for what in ("tolerance", "note"):
            if cell[what]:
                names.say(f"{name}, {what}", cell[what])
    for what in ("more", "part", "lot", "under"):
        if row[what]:
            names.say(f"{row['name']}, {_WHAT[what]}", row[what])


def _of_size(name: str, block: Record, number: int) -> str:
    """A line's name, with the size where there are several."""
    several = len(block["sizes"]) > 1
    return f"{name}, {block['sizes'][number]['size']}" if several else name


_WHAT = {"more": "how", "part": "part", "lot": "asks for", "under": "scale"}


def _head(block: Record, names: _Names, table: int) -> None:
    names.say("Section", block["words"])
    right = block.get("right")
    if isinstance(right, list) and isinstance(right[-1], dict):
        figure = right[-1]  # "Each line twice; one load is", and its weight in bold
        lead = breakable(plain_words(right[:-1])).strip()
        note, _, name = lead.rpartition("; ")
        name = name.removesuffix(" is").capitalize()
        if note:
            names.say(f"{block['words']}, note", note)
        if not names.has(name):
            names.say(name, figure["b"])
    elif right:
        names.say(f"{block['words']}, note", plain_words(right))


def _steps(block: Record, names: _Names, table: int) -> None:
    for row in names.each(block["rows"]):
        names.say(f"Step {row['number']}", plain_words(row["words"]))
        names.say(f"Step {row['number']}, to write", ", ".join(row["boxes"]))


def _limit(block: Record, names: _Names, table: int) -> None:
    where = (
        f"Step {block['number']}" if block["number"] else plain_words(block["words"]).split(" ·")[0]
    )
    names.say(where, plain_words(block["words"]))
    if block["how"]:
        names.say(f"{where}, how", block["how"])
    if block["target"]:
        names.say(f"{where}, target", block["target"], "limits")
    _limit_figures(block, names, where)
    for name, key in (
        ("check", "check"),
        ("if missed", "missed"),
        ("note", "note"),
        ("start", "start"),
        ("where to write", "write"),
    ):
        if block.get(key):
            names.say(f"{where}, {name}", plain_words(block[key]).removeprefix("If missed: "))
    for name, words in zip(("limit on this probe", "code"), block["small"], strict=False):
        words = words.removeprefix(f"Target {block['target']}.").strip()
        if words:
            names.say(f"{where}, {name}", words, "limits")


def _limit_figures(block: Record, names: _Names, where: str) -> None:
    """What the limit asks: one figure, its stages, or words."""
    shape = block["shape"]
    if shape == "one":
        figure = block["figure"]
        hold = block["hold"]
        held = f" {hold['before']} {hold['figure']} {hold['after']}" if hold else ""
        words = f"{figure['number']} {figure['unit']} {plain_words(figure['words'])}{held}"
        name = "must read" if block["target"] else "limit"
        names.say(f"{where}, {name}", words, "limits")
    elif shape == "stages":
        for stage in block["stages"]:
            name = f"{where}, limit, {plain_words(stage['words']).lower()}"
            names.say(name, f"{stage['number']} {stage['unit']}", "limits")
    else:
        names.say(f"{where}, limit", block["lead"], "limits")


def _table(block: Record, names: _Names, table: int) -> None:
    heads = [column["head"] for column in block["columns"][1:]]
    for row in names.each(block["rows"]):
        _table_row(heads, [_cell(c) for c in row], names)


def _table_row(heads: list[str], cells: list[tuple[str, str]], names: _Names) -> None:
    """A row by its first cell: the others under their ``heads``. One to be written in is left
    out."""
    (first, under), *rest = cells
    filled = any(words for words, _ in rest)
    if not first and not filled:
        return
    for head, (words, more) in zip(heads, rest, strict=True):
        if words or more:
            names.say(f"{first}, {head.lower()}", f"{words} {more}")
    if under or not filled:
        names.say(first, under or first)


def _cell(cell: Words | Record) -> tuple[str, str]:
    """The words of a table's cell, and those under them."""
    if isinstance(cell, dict):
        return plain_words(cell["words"]), cell.get("under", "")
    return plain_words(cell), ""


def _matrix(block: Record, names: _Names, table: int) -> None:
    for row in names.each(block["rows"]):
        names.say(row["name"], row["words"])
        for head, cell in zip(block["heads"], row["cells"], strict=True):
            names.say(f"{row['name']}, {head.lower()}", cell, "allergens")


def _list(block: Record, names: _Names, table: int) -> None:
    for row in names.each(block["rows"]):
        flags = ", ".join(f["words"] for f in row.get("flags", ()))
        words = (
            f"revision {row['revision']}, hash {row['print']}, effective {row['effective']}, "
            f"{row['approved']}"
        )
        names.say(
            f"{row['no']} {row['title']}, {row['id']}", ", ".join(w for w in (words, flags) if w)
        )


def _yields(block: Record, names: _Names, table: int) -> None:
    several = len(block["rows"]) > 1
    for row in block["rows"]:
        if several or row["size"] != "Expected":
            names.say("Yields of", row["size"])
        for name, cell in zip(block["names"], row["cells"], strict=True):
            names.say(f"{row['size']}, {name.lower()}" if several else name, cell)


def _release(block: Record, names: _Names, table: int) -> None:
    """The end of a batch sheet: yields beside it, and what is written there."""
    if block["yields"] is not None:
        _yields(block["yields"], names, table)
    boxes = [box for rows in (block["rows"], block["back"]) for row in rows for box in row]
    words = [box["label"] for box in boxes]
    if block["label"] is not None:
        words.append(block["label"]["words"])
    names.say("At the end, to write", ", ".join(dict.fromkeys(words)))


def _strip(block: Record, names: _Names, table: int) -> None:
    names.say("Before the work", block["words"])
    for text in block["texts"]:
        words = f"{text['severity'].upper()}: {plain_words(text['words'])}"
        names.say("Caution", f"{words} {text['where']}".strip())


def _notice(block: Record, names: _Names, table: int) -> None:
    names.say("Caution", f"{block['severity'].upper()}: {plain_words(block['words'])}")


def _fields(block: Record, names: _Names, table: int) -> None:
    said = (f"{f['label']} {f.get('value', '')}".strip() for f in block["fields"])
    names.say("To write", ", ".join(said))


def _log(block: Record, names: _Names, table: int) -> None:
    names.say("Limit for", plain_words(block["start"]))
    names.say("Foods", plain_words(block["foods"]).removeprefix("For: "))
    for figure in block["figures"]:
        words = f"{figure['number']} {figure['unit']} {plain_words(figure['after'])}"
        names.say(f"Limit, {plain_words(figure['words']).lower()}", words, "limits")
    names.say("Code", " ".join(block["small"]), "limits")
    for line in block["how"]:
        name, sign, rest = plain_words(line).partition(":")
        names.say(name if sign else "How", rest.strip() or name)
    _fields(block, names, table)
    columns = [", ".join([*c["heads"], *c.get("fixed", ())]) for c in block["columns"]]
    names.say("Columns", "; ".join(columns))
    names.say("Example", "; ".join(", ".join(row.values()) for row in block["example"]))


def _beside(block: Record, names: _Names, table: int) -> None:
    for text in block["texts"]:
        words = plain_words(text)
        name, sign, rest = words.partition(":")
        names.say(name if sign and len(name) < 30 else "Text", rest.strip() or words)


def _any(block: Record, names: _Names, table: int) -> None:
    if "words" in block:
        names.say("Text", plain_words(block["words"]))


_BLOCKS = {
    "weigh": _weigh,
    "head": _head,
    "steps": _steps,
    "limit": _limit,
    "table": _table,
    "matrix": _matrix,
    "list": _list,
    "yields": _yields,
    "release": _release,
    "strip": _strip,
    "notice": _notice,
    "fields": _fields,
    "log": _log,
    "beside": _beside,
}
