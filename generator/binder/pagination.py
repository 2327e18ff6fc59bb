"""Sheets onto pages: blocks by their heights, tables that go on, logs as long as their page.

Every height is one the templates measured (``measuring.typ``), in points. A block is a record with
its ``height``, or with the ``heights`` of its rows, the first that of its column heads.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import accumulate

from generator.binder.sheets import Record
from generator.files.finding import Refused

Blocks = list[Record]

_HEADLESS = frozenset({"steps"})
"""Tables without a row of heads."""
_LOOSE = frozenset({"weigh", "steps", "changes", "list"})
"""Tables that go on wherever a page is full."""
_SPLITS = _LOOSE | {"table", "matrix"}
"""Those that go on, under their heads again, where no page holds them."""
_FEW = frozenset({"steps", "changes"})
"""Those of which one row may be alone on a page; of others three."""
_LEAST_ROWS = 3
_FULL = 2 / 3
"""How full a page is that a sheet breaks on before it must."""


@dataclass(frozen=True)
class Frame:
    """What the templates have that pages are filled by, in points: the height of a page's body,
    the gap below a block, the least and the most there may be, that below a caution, a line of a
    log, the row that names a scale, the most a row gets beyond what its words need."""

    body: float
    rhythm: float
    close: float
    wide: float
    kept: float
    log_row: float
    group: float
    roomy: float

    def closer(self) -> Frame:
        """With the blocks as close as they may be."""
        return replace(self, rhythm=self.close)


@dataclass(frozen=True)
class Room:
    """The room for blocks in points, on a sheet's first page and on its others."""

    first: float
    other: float


@dataclass
class _Page:
    """A page while it is filled."""

    room: float
    blocks: Blocks = field(default_factory=list)
    used: float = 0.0


def too_tall(name: str) -> Refused:
    """What is longer than a page, by its sheet's id."""
    return Refused(
        "block-too-tall",
        f"A part of this sheet is longer than a page: {name}.",
        "Write its words shorter, or divide the step.",
    )


@dataclass(frozen=True)
class Packer:
    """Packs the blocks of the sheet called ``name``. Raises Refused for a block no page holds."""

    frame: Frame
    name: str
    room: Room

    def pages(self, blocks: Blocks) -> list[Blocks]:
        """The blocks of each page. Where one page doesn't hold all, the sheet breaks before the
        cook step if that takes no more pages and leaves none but the last less than two thirds
        full; else wherever a page is full."""
        pages = _Packing(self, turned=False).all_of(blocks)
        turned = _Packing(self, turned=True).all_of(blocks)
        full = all(self._fill(i, page) >= _FULL for i, page in enumerate(turned[:-1]))
        chosen = turned if full and len(turned) <= len(pages) else pages
        return [page.blocks for page in chosen]

    def _fill(self, index: int, page: _Page) -> float:
        """How full a page is, its head included."""
        room = self.room.other if index else self.room.first
        return (self.frame.body - room + page.used) / self.frame.body


class _Packing:
    """One way through the blocks; ``turned`` begins a page where the phase changes."""

    def __init__(self, packer: Packer, turned: bool) -> None:
        self.by = packer
        self.turned = turned
        self.pages: list[_Page] = []
        self.page = _Page(packer.room.first)

    def all_of(self, blocks: Blocks) -> list[_Page]:
        for run in _runs(blocks):
            self._place(run)
        self.pages.append(self.page)
        return self.pages

    def _next_page(self) -> None:
        self.pages.append(self.page)
        self.page = _Page(self.by.room.other)

    def _gap(self, block: Record) -> float:
        return gap(block, self.by.frame)

    def _height(self, blocks: Blocks) -> float:
        """With the gap below each."""
        return sum(tall(b) + self._gap(b) for b in blocks)

    def _place(self, run: Blocks) -> None:
        """Blocks held together: onto this page, onto the next, or their table goes on over it."""
        last = run[-1]
        whole = self._height(run) - self._gap(last)
        goes_on = last["form"] in _LOOSE or whole > self.by.room.other
        over = self.page.used + whole > self.page.room
        if self.page.blocks and (self._turns(last) or (over and not goes_on)):
            self._next_page()
        if self.page.used + whole <= self.page.room:
            self._add(run, whole)
        elif last["form"] in _SPLITS:
            self._go_on(run[:-1], last)
        else:
            if self.page.blocks:
                self._next_page()
            if whole > self.page.room:
                raise too_tall(self.by.name)
            self._add(run, whole)

    def _turns(self, block: Record) -> bool:
        before: int = self.page.blocks[-1].get("phase", 0) if self.page.blocks else 0
        return self.turned and bool(block.get("phase", 0) != before)

    def _add(self, run: Blocks, whole: float) -> None:
        self.page.blocks += run
        self.page.used += whole + self._gap(run[-1])

    def _go_on(self, lead: Blocks, table: Record) -> None:
        """A table over the ends of pages, ``lead`` above its first row."""
        rest: Record | None = table
        above = self._height(lead)
        while rest is not None:
            count, least = self._rows_that_fit(rest, above)
            if self.page.blocks and count < least:
                self._next_page()
                continue
            if count == 0:
                raise too_tall(self.by.name)
            taken = part(rest, 0, count, self.by.frame)
            self.page.blocks += [*lead, taken]
            self.page.used += above + tall(taken) + self.by.frame.rhythm
            lead, above = [], 0.0
            rows = len(rest["rows"])
            rest = part(rest, count, rows, self.by.frame) if count < rows else None
            if rest is not None:
                self._next_page()

    def _rows_that_fit(self, table: Record, above: float) -> tuple[int, int]:
        """How many rows go on this page, none if not one does, and how few are too few."""
        rows = len(table["rows"])
        least = min(rows, 1 if table["form"] in _FEW else _LEAST_ROWS)
        heads = 0 if table["form"] in _HEADLESS else 1
        sums = list(accumulate(table["heights"]))
        for count in range(rows, 0, -1):
            fits = self.page.used + above + sums[heads + count - 1] <= self.page.room
            if fits and (count == rows or count == 1 or _ends(table, count)):
                return count, least
        return 0, least


def _runs(blocks: Blocks) -> list[Blocks]:
    """Blocks with those they are kept to."""
    runs: list[Blocks] = []
    for block in blocks:
        if runs and runs[-1][-1].get("keep", False):
            runs[-1].append(block)
        else:
            runs.append([block])
    return runs


def _ends(table: Record, count: int) -> bool:
    """Whether a table may end behind so many rows: not between a heading or a danger and its
    line."""
    return table["form"] != "weigh" or bool(table["rows"][count - 1]["row"] == "line")


def tall(block: Record) -> float:
    """A block's height in points."""
    return float(sum(block["heights"])) if "heights" in block else float(block["height"])


def part(table: Record, start: int, stop: int, frame: Frame) -> Record:
    """The rows ``start`` to ``stop`` of a table; the part and the scale of its first row are with
    it again."""
    heads = 0 if table["form"] in _HEADLESS else 1
    rows = list(table["rows"][start:stop])
    heights = [*table["heights"][:heads], *table["heights"][heads + start : heads + stop]]
    if table["form"] == "weigh" and start > 0 and rows[0]["row"] == "line":
        _said_again(table["rows"][:start], rows, heights, frame)
    return {**table, "rows": rows, "heights": heights}


def _said_again(above: Blocks, rows: Blocks, heights: list[float], frame: Frame) -> None:
    """Give the first of a weigh list's ``rows`` the part and the scale those ``above`` are of."""
    first = rows[0]
    named = [row["part"] for row in above if row["row"] == "line" and row["part"]]
    if not first["part"] and named:
        heights[1] = first["again"]
        rows[0] = {**first, "part": named[-1]}
    scales = [row for row in above if row["row"] == "group"]
    if scales and first["under"] and first["under"] == scales[-1]["scale"]:
        rows.insert(0, scales[-1])
        heights.insert(1, frame.group)


def fitted(blocks: Blocks, room: float, frame: Frame) -> Blocks:
    """Blocks with each log as long as its page has room for: with fewer entries than its least
    beside what is above it, it gets a page of its own."""
    beside = sum(tall(b) + frame.rhythm for b in blocks if b["form"] != "log")
    return [_fitted(b, room, beside, frame) if b["form"] == "log" else b for b in blocks]


def _fitted(log: Record, room: float, above: float, frame: Frame) -> Record:
    """A log's height without an entry becomes that with as many as fit."""
    entry = len(log["lines"]) * frame.log_row
    least = log["height"] + log["least"] * entry
    beside = above if above + least <= room else 0.0
    more = int((room - beside - least) // entry)
    count = max(min(log["count"], log["least"] + more), min(log["least"], 3))
    return {**log, "count": count, "height": log["height"] + count * entry}


def gap(block: Record, frame: Frame) -> float:
    """What is below a block: next to nothing between a caution and the step it is about."""
    close = block["form"] == "notice" and block.get("keep", False)
    return frame.kept if close else frame.rhythm


def gaps(blocks: Blocks, room: float, frame: Frame) -> list[float]:
    """What is below each block of a page with so much room: more than the least where all of them
    can have as much more, for the eye; between a caution and its step nothing more."""
    least = [gap(b, frame) for b in blocks]
    loose = [i for i, b in enumerate(blocks[:-1]) if least[i] == frame.rhythm and not b.get("keep")]
    left = room - sum(map(tall, blocks)) - sum(least)
    more = min(frame.wide - frame.rhythm, left / len(loose)) if loose else 0.0
    return [one + max(more, 0.0) if i in loose else one for i, one in enumerate(least)]


def roomy(blocks: Blocks, below: Sequence[float], room: float, frame: Frame) -> Blocks:
    """Blocks whose rows share what their page leaves free, up to ``frame.roomy`` each: words clear
    of the lines, more to write in. Heads and the rows that name a scale stay as they are."""
    rows = {i: list(_grown(b)) for i, b in enumerate(blocks) if b["form"] in _LOOSE}
    count = sum(map(len, rows.values()))
    left = room - sum(map(tall, blocks)) - sum(below)
    if not count or left <= 0:
        return blocks
    more = min(frame.roomy, left / count)
    found = list(blocks)
    for i, places in rows.items():
        heights = list(blocks[i]["heights"])
        for place in places:
            heights[place] += more
        found[i] = {**blocks[i], "heights": heights}
    return found


def _grown(table: Record) -> Iterator[int]:
    """Which of a table's heights are those of rows that may be higher."""
    heads = 0 if table["form"] in _HEADLESS else 1
    for at, row in enumerate(table["rows"]):
        if table["form"] != "weigh" or row["row"] == "line":
            yield heads + at


# ---- what is left out where that takes a page less


def without_label(block: Record) -> Record:
    """A release with no place for a copy of the label, which then goes on the back."""
    if block["form"] != "release" or block["label"] is None:
        return block
    return {**block, "label": None, "rows": block["back"]}


def without_drawing(block: Record) -> Record:
    """How a step likely goes, in words alone."""
    if block["form"] != "curve" or block["svg"] is None:
        return block
    return {**block, "svg": None}


def shorter(blocks: Blocks) -> Iterator[Blocks]:
    """What a sheet may leave out to take a page less, the least first: the place for a label's
    copy; the drawings of how a step likely goes, then their words too, since they are no limit and
    on the formula's page."""
    back = [without_label(b) for b in blocks]
    told = [without_drawing(b) for b in blocks]
    both = [without_drawing(b) for b in back]
    certain = [b for b in blocks if b["form"] != "curve"]
    for less in (back, told, both, certain, [without_label(b) for b in certain]):
        if less != blocks:
            yield less


# ---- folded paper

COOK = 1
"""The phase of what is cooked and chilled."""


def halves(blocks: Blocks) -> tuple[Blocks, Blocks]:
    """What is weighed and prepared, what is cooked and chilled."""
    weighed = [b for b in blocks if b.get("phase", 0) < COOK]
    return weighed, [b for b in blocks if b.get("phase", 0) >= COOK]


def spreads(left: Sequence[Record], right: Sequence[Record]) -> list[list[Record]]:
    """Pages side by side, weighing left, cooking right. Where one half has more pages, weighing
    goes on on the left of the next sheet of paper, cooking on both its halves; a sheet of one half
    takes both, too."""
    if not right:
        return [list(left[at : at + 2]) for at in range(0, len(left), 2)]
    both = min(len(left), len(right))
    found = [[left[i], right[i]] for i in range(both)]
    found += [[one] for one in left[both:]]
    return found + [list(right[at : at + 2]) for at in range(both, len(right), 2)]
