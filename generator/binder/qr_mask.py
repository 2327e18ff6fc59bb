"""Which of the eight masks a QR code takes: the one with the lowest penalty (ISO/IEC 18004:2015,
7.8.2 and 7.8.3), with a square of modules as the bits of one number.

The library weighs masks module by module, which took three quarters of the time of a binder's
records.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import lru_cache

_MASKS: tuple[Callable[[int, int], int], ...] = (
    lambda i, j: (i + j) % 2,
    lambda i, j: i % 2,
    lambda i, j: j % 3,
    lambda i, j: (i + j) % 3,
    lambda i, j: (i // 2 + j // 3) % 2,
    lambda i, j: (i * j) % 2 + (i * j) % 3,
    lambda i, j: ((i * j) % 2 + (i * j) % 3) % 2,
    lambda i, j: ((i + j) % 2 + (i * j) % 3) % 2,
)
"""By number: a data module in row i, column j is turned where this is 0 (7.8.2, table 10)."""
_CENTRES = {4: (6, 26), 5: (6, 30), 6: (6, 34), 7: (6, 22, 38)}
"""Where the alignment patterns are centred, by version (annex E)."""
_FINDER = "1011101"


def bits_of(rows: Iterable[Iterable[object]]) -> int:
    """A square of modules as one number: row after row, the first module its highest bit, 1 is
    dark."""
    return int("".join("1" if m else "0" for row in rows for m in row), 2)


def lines_of(bits: int, size: int) -> list[str]:
    """The rows of a square of ``size`` modules a side, as 0 and 1."""
    text = format(bits, f"0{size * size}b")
    return [text[at : at + size] for at in range(0, size * size, size)]


def best_masked(code: int, version: int, format_of: Callable[[int], int]) -> int:
    """A code of version 4 to 7 that was made with mask 0, with the first of the masks that have the
    lowest penalty. Weighed are the modules before format and version are written in;
    ``format_of`` gives any code of this version made with a mask of that number."""
    _, reserved = _regions(version)
    turned = _turned(version)
    plain = (code & ~reserved) ^ turned[0]
    size = 17 + 4 * version
    scores = [penalty(plain ^ turns, size) for turns in turned]
    mask = scores.index(min(scores))
    return plain ^ turned[mask] | format_of(mask) & reserved if mask else code


@lru_cache(maxsize=8)
def _regions(version: int) -> tuple[int, int]:
    """Where data are, and what is reserved for format and version (6.3, 7.9, 7.10)."""
    size = 17 + 4 * version
    free = [[True] * size for _ in range(size)]
    reserved = [[False] * size for _ in range(size)]

    def take(top: int, left: int, high: int, wide: int, told: bool = False) -> None:
        for i in range(top, top + high):
            free[i][left : left + wide] = [False] * wide
            if told:
                reserved[i][left : left + wide] = [True] * wide

    for top, left in ((0, 0), (0, size - 8), (size - 8, 0)):
        take(top, left, 8, 8)
    take(6, 0, 1, size)
    take(0, 6, size, 1)
    centres = _CENTRES[version]
    first, last = centres[0], centres[-1]
    for x in centres:
        for y in centres:
            if (x, y) not in ((first, first), (first, last), (last, first)):
                take(x - 2, y - 2, 5, 5)
    around = [(8, 0, 1, 6), (8, 7, 1, 2), (8, size - 8, 1, 8)]
    around += [(0, 8, 6, 1), (7, 8, 1, 1), (size - 8, 8, 8, 1)]
    if version >= 7:
        around += [(0, size - 11, 6, 3), (size - 11, 0, 3, 6)]
    for area in around:
        take(*area, told=True)
    return bits_of(free), bits_of(reserved)


@lru_cache(maxsize=8)
def _turned(version: int) -> tuple[int, ...]:
    """What each mask turns."""
    free, _ = _regions(version)
    sides = range(17 + 4 * version)
    return tuple(bits_of([mask(i, j) == 0 for j in sides] for i in sides) & free for mask in _MASKS)


def penalty(bits: int, size: int) -> int:
    """The penalty of a code with ``size`` modules a side (7.8.3.1, table 11)."""
    lines = lines_of(bits, size)
    columns = ["".join(column) for column in zip(*lines, strict=True)]
    across = int("".join(columns), 2)
    runs = _of_runs(bits, size) + _of_runs(across, size)
    finders = sum(_of_finders(line, size) for line in (*lines, *columns) if _FINDER in line)
    dark = bits.bit_count() * 100 / size**2
    return runs + _of_squares(bits, size) + finders + 10 * int(abs(dark - 50) / 5)


@lru_cache(maxsize=8)
def _inner(size: int) -> int:
    """Every module but the first of its row."""
    return int(("0" + "1" * (size - 1)) * size, 2)


def _of_runs(bits: int, size: int) -> int:
    """Runs of five modules or more of one colour: three, and one for each above five."""
    same = ~(bits ^ (bits >> 1)) & _inner(size)
    found = same & (same >> 1)
    found &= found >> 2
    return found.bit_count() + 2 * (found & ~(found << 1)).bit_count()


def _of_squares(bits: int, size: int) -> int:
    """Three for each two by two modules of one colour."""
    apart = bits ^ (bits >> size)
    other = apart | (apart >> 1) | (bits ^ (bits >> 1))
    below_the_first = _inner(size) & ((1 << size * (size - 1)) - 1)
    return 3 * (~other & below_the_first).bit_count()


def _of_finders(line: str, size: int) -> int:
    """Forty for each pattern of a finder with four light modules before or behind it; what is
    outside the code is light."""
    count = 0
    at = line.find(_FINDER)
    while at != -1:
        end = at + len(_FINDER)
        around = (line[max(at - 4, 0) : at], line[end : end + 4])
        if at in (0, size - len(_FINDER)) or any("1" not in beside for beside in around):
            count += 40
        else:
            end = at + 4
        at = line.find(_FINDER, end)
    return count
