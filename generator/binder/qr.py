"""QR codes as vector pictures: one path of dark modules, with the quiet zone of four round it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import cast

from zxingcpp import BarcodeFormat, create_barcode

QUIET = 4
_LEVEL = "M"
_VERSIONS = (5, 6, 7)
"""At this level version 5 holds 84 bytes, 6 106, 7 122: in 22 mm their modules are 0.49, 0.45 and
0.42 mm, and none may be below 0.4 (ISO/IEC 18004 sets capacities and the quiet zone)."""


class TooLong(ValueError):
    """The address is longer than a code of readable size holds."""


@lru_cache(maxsize=1024)
def qr_svg(address: str, versions: tuple[int, ...] = _VERSIONS) -> str:
    """The code of an address as SVG, error correction M, the smallest of ``versions`` that holds
    it. Raises TooLong."""
    for version in versions:
        try:
            code = create_barcode(address, BarcodeFormat.QRCode, ec_level=_LEVEL, version=version)
        except ValueError:  # too long for this version
            continue
        # Its stubs don't say so, but the picture is a buffer: a byte a module, 0 where it is dark.
        picture = memoryview(cast(bytes, code.to_image(scale=1, add_quiet_zones=False)))
        shades = cast(list[list[int]], picture.tolist())
        return _drawn([[shade == 0 for shade in row] for row in shades])
    raise TooLong(f"{address}: {len(address.encode())} bytes are too many for the QR code")


def side_of(svg: str, module: float) -> float:
    """How large a code is, in the unit of ``module``, with its modules so large."""
    found = re.search(r'viewBox="0 0 (\d+) ', svg)
    assert found is not None
    return int(found[1]) * module


def _drawn(matrix: Sequence[Sequence[bool]]) -> str:
    """Runs of dark modules, row by row, as one path."""
    side = len(matrix) + 2 * QUIET
    path: list[str] = []
    for y, row in enumerate(matrix):
        x = 0
        while x < len(row):
            if not row[x]:
                x += 1
                continue
            end = x
            while end < len(row) and row[end]:
                end += 1
            path.append(f"M{x + QUIET} {y + QUIET}h{end - x}v1h{x - end}z")
            x = end
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side}">'
        f'<path fill="#000000" d="{"".join(path)}"/></svg>'
    )
