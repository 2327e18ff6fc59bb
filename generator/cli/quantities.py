"""Quantities of heat as they are typed: a figure with its unit, or two figures that hold it.

``0.45 W/(m K)``, ``150 to 300 W/(m2 K)``, ``1.44e-7 m2/s``; in SI units from here on. Units of the
inch-pound system are by their definitions (NIST SP 811, B.8: the international table Btu).
"""

from __future__ import annotations

import math
import re
from typing import Literal

from generator.files.finding import Refused, clipped
from generator.heat.ranges import Range
from generator.measures.marks import as_written, decimal_mark, refuse_point

Kind = Literal["conductivity", "coefficient", "density", "specific heat", "diffusivity", "latent"]

_BTU, _FOOT, _POUND, _DEGREE, _HOUR = 1055.05585262, 0.3048, 0.45359237, 5 / 9, 3600.0
_UNITS: dict[Kind, dict[str, float]] = {
    "conductivity": {
        "w/mk": 1.0,
        "mw/mk": 1e-3,
        "btu/hftf": _BTU / (_HOUR * _FOOT * _DEGREE),
    },
    "coefficient": {
        "w/m2k": 1.0,
        "kw/m2k": 1000.0,
        "btu/hft2f": _BTU / (_HOUR * _FOOT**2 * _DEGREE),
    },
    "density": {"kg/m3": 1.0, "g/cm3": 1000.0, "g/ml": 1000.0, "lb/ft3": _POUND / _FOOT**3},
    "specific heat": {
        "j/kgk": 1.0,
        "kj/kgk": 1000.0,
        "btu/lbf": _BTU / (_POUND * _DEGREE),
    },
    "diffusivity": {"m2/s": 1.0, "mm2/s": 1e-6, "ft2/h": _FOOT**2 / _HOUR},
    "latent": {"j/kg": 1.0, "kj/kg": 1000.0, "btu/lb": _BTU / _POUND},
}
_EXAMPLE: dict[Kind, str] = {
    "conductivity": "0.45 W/(m K)",
    "coefficient": "20 W/(m2 K)",
    "density": "1070 kg/m3",
    "specific heat": "3.4 kJ/(kg K)",
    "diffusivity": "0.14 mm2/s",
    "latent": "250 kJ/kg",
}
PLAUSIBLE: dict[Kind, tuple[float, float]] = {
    "conductivity": (0.005, 500.0),
    "coefficient": (0.1, 200_000.0),
    "density": (1.0, 25_000.0),
    "specific heat": (50.0, 15_000.0),
    "diffusivity": (1e-9, 1e-3),
    "latent": (100.0, 1e6),
}
"""What a body or a medium can have at all, SI: aerogel to copper, still gas to condensing steam."""
_NUMBER = r"\d{1,7}(?:[.,]\d{1,9})?(?:[eE][-−+]?\d{1,2})?"
_TYPED = re.compile(
    rf"(?P<first>{_NUMBER})(?:\s*(?:to|–|-)\s*(?P<second>{_NUMBER}))?\s*(?P<unit>[^\d\s].*)?",
    re.ASCII,
)
_SPELT = str.maketrans({"²": "2", "³": "3", "°": "", "·": "", "*": "", "^": "", "(": "", ")": ""})


def read_quantity(text: str, kind: Kind, off: float = 0.0) -> Range:
    """A quantity in SI units within bounds: the two figures typed, or one and ``off`` of it to both
    sides. Raises Refused for what is no such quantity, isn't above zero, or nothing can have."""
    typed = " ".join(text.split())
    if typed.startswith(("-", "−")):
        raise Refused(
            "quantity-negative", f"`{clipped(typed)}`: a {kind} is above zero.", "Check the sign."
        )
    refuse_point(typed)
    match = _TYPED.fullmatch(typed)
    if match is None or len(typed) > 60:
        raise _unreadable(typed, kind)
    factor = _factor(match["unit"] or "", typed, kind)
    first = _figure(match["first"], typed, kind) * factor
    second = _figure(match["second"], typed, kind) * factor if match["second"] else None
    if second is None:
        return _possible(Range.within(first, off), typed, kind)
    if second < first:
        raise Refused("quantity-order", f"`{clipped(typed)}`: the smaller figure comes first.")
    return _possible(Range(first, math.sqrt(first * second), second), typed, kind)


def _figure(digits: str, typed: str, kind: Kind) -> float:
    if "," in digits and decimal_mark() == "point":
        raise _unreadable(typed, kind)
    return float(digits.replace(",", ".").replace("−", "-"))


def _factor(unit: str, typed: str, kind: Kind) -> float:
    spelt = unit.translate(_SPELT).replace(" ", "").lower()
    spelt = re.sub(r"(?<=[a-z0-9])/(?=[a-z0-9]+$)", "", spelt) if spelt.count("/") > 1 else spelt
    spelt = re.sub(r"c$", "k", spelt) if kind in ("conductivity", "coefficient") else spelt
    spelt = re.sub(r"kgc$", "kgk", spelt)
    factor = _UNITS[kind].get(spelt)
    if factor is None:
        raise _unreadable(typed, kind)
    return factor


def _unreadable(typed: str, kind: Kind) -> Refused:
    return Refused(
        "quantity-unreadable",
        f"`{clipped(typed)}` is not a {kind}.",
        as_written(f"Write a figure and its unit, as in {_EXAMPLE[kind]}."),
    )


def _possible(found: Range, typed: str, kind: Kind) -> Range:
    low, high = PLAUSIBLE[kind]
    if not low <= found.likely <= high:
        raise Refused(
            "quantity-impossible",
            f"`{clipped(typed)}`: no body and no medium has such a {kind}.",
            "Check the figure and its unit.",
        )
    return found
