"""A course of temperature as a picture: SVG of its own, to be put into a document."""

from __future__ import annotations

from collections.abc import Sequence

from generator.measures.temperature import Degree
from generator.views.curve_view import Corner, Moment, drawing_of, svg_of

_CAPTION = "{} over time at the slowest point: likely, from … to. A prediction, not a limit."


def curve_svg(course: Sequence[Moment], corners: Sequence[Corner], unit: Degree) -> str:
    """The picture of a course: moments in s and °C, what has to be reached by when in °C and s;
    degrees are drawn in a unit. It carries its caption."""
    return svg_of(drawing_of(course, corners, unit), _CAPTION.format(unit))
