"""QR codes as vector pictures: one path of dark modules, with the quiet zone of four round it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache, partial

import segno

from generator.binder.qr_mask import best_masked, bits_of, lines_of

QUIET = 4
_DARK = re.compile("1+")
_VERSIONS = (5, 6, 7)
"""At level M version 5 holds 84 bytes, 6 106, 7 122: in 22 mm their modules are 0.49, 0.45 and
0.42 mm, and none may be below 0.4 (ISO/IEC 18004 sets capacities and the quiet zone)."""


class TooLong(ValueError):
    """The address is longer than a code of readable size holds."""


@lru_cache(maxsize=1024)
def qr_svg(address: str, versions: tuple[int, ...] = _VERSIONS) -> str:
    """The code of an address as SVG, byte mode, error correction M, the smallest of ``versions``
    that holds it. Raises TooLong."""
    for version in versions:
        try:
            code = bits_of(_made(address, version, 0))
        except segno.DataOverflowError:
            continue
        return _drawn(best_masked(code, version, partial(_empty, version)), 17 + 4 * version)
    raise TooLong(f"{address}: {len(address.encode())} bytes are too many for the QR code")


def _made(address: str, version: int, mask: int) -> Sequence[Sequence[int]]:
    """The modules of a code. Raises segno.DataOverflowError."""
    code = segno.make(
        address, error="m", version=version, mode="byte", mask=mask, boost_error=False, micro=False
    )
    return code.matrix


@lru_cache(maxsize=32)
def _empty(version: int, mask: int) -> int:
    """A code that says nothing."""
    return bits_of(_made("", version, mask))


def side_of(svg: str, module: float) -> float:
    """How large a code is, in the unit of ``module``, with its modules so large."""
    found = re.search(r'viewBox="0 0 (\d+) ', svg)
    assert found is not None
    return int(found[1]) * module


def _drawn(code: int, size: int) -> str:
    """Runs of dark modules, row by row, as one path."""
    side = size + 2 * QUIET
    path = [
        f"M{run.start() + QUIET} {y}h{len(run[0])}v1h{-len(run[0])}z"
        for y, line in enumerate(lines_of(code, size), QUIET)
        for run in _DARK.finditer(line)
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side}">'
        f'<path fill="#000000" d="{"".join(path)}"/></svg>'
    )
