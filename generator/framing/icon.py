"""The manual's sign on a phone's screen: a limit box, drawn as rectangles, as SVG and as PNG.

Nothing is drawn near the edge: a phone may cut the sign to a circle (W3C Web Application Manifest,
"Icon masks": what matters lies within a circle of 40 % of the width).
"""

from __future__ import annotations

import struct
import zlib
from functools import cache

_ACCENT, _PAPER = (0x0B, 0x4F, 0x5E), (0xFB, 0xFA, 0xF6)
# Left, top, right, bottom in 32nds of the width, each over the one before: the box, its inside, and
# in it a figure's two lines.
_SHAPES = (
    ((0, 0, 32, 32), _ACCENT),
    ((8, 8, 24, 24), _PAPER),
    ((9, 12, 23, 23), _ACCENT),
    ((11, 14, 21, 18), _PAPER),
    ((11, 20, 17, 21), _PAPER),
)


def svg() -> str:
    """The sign for any size."""
    shapes = "".join(
        f'<path fill="#{r:02x}{g:02x}{b:02x}" d="M{x} {y}H{right}V{bottom}H{x}z"/>'
        for (x, y, right, bottom), (r, g, b) in _SHAPES
    )
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32">{shapes}</svg>\n'


@cache
def png(size: int) -> bytes:
    """The sign as a PNG (ISO/IEC 15948) of ``size`` × ``size`` pixels, a multiple of 32."""
    scale = size // 32
    rows: list[bytes] = []
    for y in range(32):
        row = bytearray()
        for x in range(32):
            colour = next(
                c
                for (left, top, right, bottom), c in reversed(_SHAPES)
                if left <= x < right and top <= y < bottom
            )
            row += bytes(colour) * scale
        rows += [b"\0" + bytes(row)] * scale
    head = struct.pack(">IIBBBBB", size, size, 8, 2, 0, 0, 0)
    parts = ((b"IHDR", head), (b"IDAT", zlib.compress(b"".join(rows), 9)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        for name, data in parts
    )
