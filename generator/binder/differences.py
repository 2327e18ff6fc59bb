"""What differs between two printings of a sheet: the words and figures on it, name by name."""

from __future__ import annotations

from dataclasses import dataclass

from generator.binder.sheets import Record, Words, content_of

NOTHING = "none"


@dataclass(frozen=True)
class Difference:
    """One thing on a sheet: its name, and its words on the old and the new one; empty: not on
    it."""

    name: str
    old: str
    new: str


def told(words: Words | None) -> str:
    """Words of a record as plain text."""
    if words is None or isinstance(words, str):
        return words or ""
    return "".join(w if isinstance(w, str) else w["b"] for w in words)


def differences(old: Record, new: Record) -> tuple[Difference, ...]:
    """What differs, in the order of the new sheet, what is gone last. Two sheets whose content
    differs always have one."""
    before, after = _laid_out(old), _laid_out(new)
    found = [Difference(n, before.get(n, ""), w) for n, w in after.items() if before.get(n) != w]
    found += [Difference(n, w, "") for n, w in before.items() if n not in after]
    if not found and content_of(old) != content_of(new):
        found.append(Difference("Layout", "", "set anew; words and figures are the same"))
    return tuple(found)


def narrowed(old: str, new: str) -> tuple[str, str]:
    """The words of two texts that differ, with the unit behind a figure: "9.58 kg", "9.57 kg"."""
    before, after = old.split(" "), new.split(" ")
    start = 0
    while start < min(len(before), len(after)) and before[start] == after[start]:
        start += 1
    end = 0
    least = min(len(before), len(after)) - start
    while end < least and before[-1 - end] == after[-1 - end]:
        end += 1
    if end and any(words[-1 - end][-1:].isdigit() for words in (before, after) if len(words) > end):
        end -= 1

    def part(words: list[str]) -> str:
        return " ".join(words[start : len(words) - end]).rstrip(".,;·")

    return part(before), part(after)


class _Names(dict[str, str]):
    """Words by name; a name that comes twice is counted."""

    def put(self, name: str, words: str) -> None:
        key, count = name, 2
        while key in self:
            key, count = f"{name}, {count}", count + 1
        self[key] = words.replace("\u00a0", " ")  # a thin space parts thousands: it stays


def _laid_out(sheet: Record) -> _Names:
    names, control = _Names(), sheet["control"]
    for name, key in (
        ("Status", "status"),
        ("Effective", "effective"),
        ("Approved by", "approved"),
        ("Review due", "review"),
    ):
        names.put(name, control[key])
    names.put("Revision", control["revision"])
    names.put("Title", ", ".join([sheet["title"], *sheet["subtitle"]]))
    names.put("Station", sheet["station"])
    if sheet["band"] is not None:
        names.put("Band", sheet["band"]["words"])
    if sheet["strip"] is not None:
        names.put("Allergens", sheet["strip"]["left"])
        names.put("Batch", sheet["strip"]["right"])
    for key, words in sheet.get("cover", {}).items():
        names.put(f"Cover, {key}", "; ".join(words) if isinstance(words, list) else str(words))
    weighed = 0
    for block in sheet["blocks"]:
        weighed += block["form"] == "weigh"
        _BLOCKS.get(block["form"], _any)(block, names, weighed)
    return names


def _weigh(block: Record, names: _Names, table: int) -> None:
    if table > 1 and any(row["name"] in names for row in block["rows"]):
        return  # the same lines again, for the next two loads
    for row in block["rows"]:
        names.put(row["name"], f"{row['whole']}{row['decimals']} {row['unit']}")
        for what in ("more", "scale", "lot"):
            if row[what]:
                names.put(f"{row['name']}, {_WHAT[what]}", row[what])


_WHAT = {"more": "how", "scale": "scale", "lot": "asks for"}


def _head(block: Record, names: _Names, table: int) -> None:
    names.put("Section", block["words"])
    right = block.get("right")
    if isinstance(right, list) and isinstance(right[-1], dict):
        figure = right[-1]  # "Each line twice; one load is", and its weight in bold
        lead = told(right[:-1]).replace("\u00a0", " ").strip()
        note, _, name = lead.rpartition("; ")
        name = name.removesuffix(" is").capitalize()
        if note:
            names.put(f"{block['words']}, note", note)
        if name not in names:
            names.put(name, figure["b"])
    elif right:
        names.put(f"{block['words']}, note", told(right))


def _steps(block: Record, names: _Names, table: int) -> None:
    for row in block["rows"]:
        names.put(f"Step {row['number']}", told(row["words"]))
        names.put(f"Step {row['number']}, to write", ", ".join(row["boxes"]))


def _limit(block: Record, names: _Names, table: int) -> None:
    where = f"Step {block['number']}" if block["number"] else told(block["words"]).split(" ·")[0]
    names.put(where, told(block["words"]))
    if block["how"]:
        names.put(f"{where}, how", block["how"])
    shape = block["shape"]
    if shape == "one":
        figure = block["figure"]
        hold = block["hold"]
        held = f" {hold['before']} {hold['figure']} {hold['after']}" if hold else ""
        names.put(
            f"{where}, limit", f"{figure['number']} {figure['unit']} {told(figure['words'])}{held}"
        )
    elif shape == "stages":
        for stage in block["stages"]:
            names.put(
                f"{where}, limit, {told(stage['words']).lower()}",
                f"{stage['number']} {stage['unit']}",
            )
    else:
        names.put(f"{where}, limit", block["lead"])
    for name, key in (
        ("check", "check"),
        ("if missed", "missed"),
        ("note", "note"),
        ("start", "start"),
    ):
        if block.get(key):
            names.put(f"{where}, {name}", told(block[key]).removeprefix("If missed: "))
    if block["small"]:
        names.put(f"{where}, code", " ".join(block["small"]))


def _table(block: Record, names: _Names, table: int) -> None:
    heads = [column["head"] for column in block["columns"][1:]]
    for row in block["rows"]:
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
            names.put(f"{first}, {head.lower()}", f"{words} {more}")
    if under or not filled:
        names.put(first, under or first)


def _cell(cell: Words | Record) -> tuple[str, str]:
    """The words of a table's cell, and those under them."""
    if isinstance(cell, dict):
        return told(cell["words"]), cell.get("under", "")
    return told(cell), ""


def _matrix(block: Record, names: _Names, table: int) -> None:
    for row in block["rows"]:
        names.put(row["name"], row["words"])
        for head, cell in zip(block["heads"], row["cells"], strict=True):
            names.put(f"{row['name']}, {head.lower()}", cell)


def _list(block: Record, names: _Names, table: int) -> None:
    for row in block["rows"]:
        flags = ", ".join(f["words"] for f in row.get("flags", ()))
        words = f"revision {row['revision']}, effective {row['effective']}, {row['approved']}"
        names.put(
            f"{row['no']} {row['title']}, {row['id']}", ", ".join(w for w in (words, flags) if w)
        )


def _yields(block: Record, names: _Names, table: int) -> None:
    for cell in block["cells"]:
        names.put(cell["name"], cell["figure"])


def _notice(block: Record, names: _Names, table: int) -> None:
    names.put("Caution", f"{block['severity'].upper()}: {told(block['words'])}")


def _fields(block: Record, names: _Names, table: int) -> None:
    names.put("To write", ", ".join(f["label"] for f in block["fields"]))


def _log(block: Record, names: _Names, table: int) -> None:
    names.put("Limit for", told(block["start"]))
    for figure in block["figures"]:
        words = f"{figure['number']} {figure['unit']} {told(figure['after'])}"
        names.put(f"Limit, {told(figure['words']).lower()}", words)
    names.put("Code", " ".join(block["small"]))
    for line in block["how"]:
        name, sign, rest = told(line).partition(":")
        names.put(name if sign else "How", rest.strip() or name)
    _fields(block, names, table)
    columns = [", ".join([*c["heads"], *c.get("fixed", ())]) for c in block["columns"]]
    names.put("Columns", "; ".join(columns))
    names.put("Example", "; ".join(", ".join(row.values()) for row in block["example"]))


def _beside(block: Record, names: _Names, table: int) -> None:
    for text in block["texts"]:
        words = told(text)
        name, sign, rest = words.partition(":")
        names.put(name if sign and len(name) < 30 else "Text", rest.strip() or words)


def _any(block: Record, names: _Names, table: int) -> None:
    if "words" in block:
        names.put("Text", told(block["words"]))


_BLOCKS = {
    "weigh": _weigh,
    "head": _head,
    "steps": _steps,
    "limit": _limit,
    "table": _table,
    "matrix": _matrix,
    "list": _list,
    "yields": _yields,
    "notice": _notice,
    "fields": _fields,
    "log": _log,
    "beside": _beside,
}
