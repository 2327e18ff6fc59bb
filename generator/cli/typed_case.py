"""The words of `predict` as a case: a body, what it is made of, where it is.

Raises Refused for what can't be read, with a way to write it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from generator.cli.quantities import Kind, read_quantity
from generator.files.finding import Refused, clipped
from generator.heat.bodies import Body, Course, brick, cylinder, in_series, slab, sphere
from generator.heat.case import (
    CONDUCTIVITY_OFF,
    DEGREES_OFF,
    FROZEN_OFF,
    H_OFF,
    H_OFF_HEATING,
    Around,
    Case,
    Frozen,
    Made,
    Place,
    Stated,
)
from generator.heat.media import Medium
from generator.heat.properties import CONSTITUENTS, Composition, Impossible
from generator.heat.ranges import Range
from generator.measures.amounts import read_amount
from generator.measures.marks import refuse_point
from generator.measures.temperature import read_temperature
from generator.measures.times import read_time
from generator.measures.units import Units

_BODIES = (
    "brick: 325 mm x 176 mm x 60 mm",
    "slab: 40 mm",
    "cylinder: diameter 81 mm, height 111 mm",
    "cylinder: diameter 68 mm",
    "sphere: diameter 50 mm",
)
_ENTRIES = re.compile(r";\s*|,\s+")
_PERCENT = re.compile(
    r"(?P<first>\d{1,3}(?:[.,]\d{1,4})?)(?:\s*(?:to|–|-)\s*(?P<second>\d{1,3}(?:[.,]\d{1,4})?))?\s*%",
    re.ASCII,
)


def _entries(text: str) -> list[str]:
    return [one.strip() for one in _ENTRIES.split(text) if one.strip()]


# -- the body -------------------------------------------------------------------------------------


def read_body(text: str, units: Units) -> Body:
    """``brick: 325 mm x 176 mm x 60 mm`` (length, width, height), ``slab: 40 mm``, ``cylinder:
    diameter 81 mm, height 111 mm`` (without a height a long one), ``sphere: diameter 50 mm``."""
    kind, _, rest = text.partition(":")
    name = kind.strip().lower()
    if name not in ("brick", "slab", "cylinder", "sphere") or not rest.strip():
        raise Refused(
            "body-unreadable", f"`{clipped(text)}` is not a body.", "Write one of these.", _BODIES
        )
    sizes = _sizes(rest.strip(), units)
    try:
        return _shaped(name, sizes, text)
    except Impossible as problem:
        raise Refused("body-impossible", f"`{clipped(text)}`: {problem}.") from None


def _sizes(text: str, units: Units) -> dict[str, float]:
    """Lengths by their names, m; those without a name by their place."""
    parts = re.split(r"\s*[x×]\s*", text)
    if len(parts) > 1:
        unit = re.sub(r"^[\d.,\s/]+", "", parts[-1]).strip()
        whole = [p if re.search(r"[A-Za-z\"']", p) else f"{p} {unit}" for p in parts]
        return {str(number): _length(one, units) for number, one in enumerate(whole)}
    found: dict[str, float] = {}
    for number, one in enumerate(_entries(text)):
        match = re.fullmatch(r"(?:(thickness|diameter|radius|height|length|width)\s+)?(.+)", one)
        assert match is not None
        found[match[1] or str(number)] = _length(match[2], units)
    return found


def _length(text: str, units: Units) -> float:
    amount = read_amount(text, units, pieces=False)
    if amount.kind != "length":
        raise Refused("body-unreadable", f"`{clipped(text)}` is not a length.", "As in 60 mm.")
    return float(amount.value) / 1000


_ROUND = ("0", "diameter", "radius")


def _shaped(name: str, sizes: Mapping[str, float], text: str) -> Body:
    names = frozenset(sizes)
    found = {"brick": _brick, "slab": _slab}.get(name, _round)(name, names, sizes)
    if found is None:
        wanted = [b for b in _BODIES if b.startswith(name)]
        raise Refused(
            "body-unreadable", f"`{clipped(text)}`: these sizes make no {name}.", "", wanted
        )
    return found


def _brick(name: str, names: frozenset[str], sizes: Mapping[str, float]) -> Body | None:
    for wanted in (("0", "1", "2"), ("length", "width", "height")):
        if names == set(wanted):
            return brick(*(sizes[one] for one in wanted))
    return None


def _slab(name: str, names: frozenset[str], sizes: Mapping[str, float]) -> Body | None:
    return slab(*sizes.values()) if names in ({"0"}, {"thickness"}) else None


def _round(name: str, names: frozenset[str], sizes: Mapping[str, float]) -> Body | None:
    across = [one for one in _ROUND if one in sizes]
    if len(across) != 1:
        return None
    radius = sizes[across[0]] / (1 if across[0] == "radius" else 2)
    rest = names - set(across)
    if name == "sphere":
        return None if rest else sphere(radius)
    height = sizes.get("height", sizes.get("1"))
    return cylinder(radius, height) if rest in (set(), {"height"}, {"1"}) else None


# -- what it is made of ---------------------------------------------------------------------------

_NAMES: dict[str, Kind] = {
    "k": "conductivity",
    "rho": "density",
    "cp": "specific heat",
    "alpha": "diffusivity",
    "latent": "latent",
    "frozen k": "conductivity",
    "frozen cp": "specific heat",
}


def read_properties(text: str) -> Stated:
    """``k=0.45 W/(m K), rho=1070 kg/m3, cp=3.4 kJ/(kg K)``; ``alpha=0.14 mm2/s`` in place of the
    last two. With ``freezes=-1.2 °C, latent=250 kJ/kg, frozen k=…, frozen cp=…`` it can freeze."""
    found: dict[str, Range] = {}
    point: float | None = None
    for one in _entries(text):
        name, equals, value = one.partition("=")
        key = " ".join(name.split()).lower()
        if not equals or (key not in _NAMES and key != "freezes") or key in found:
            raise _property(one)
        if key == "freezes":
            point = float(read_temperature(value).celsius)
            continue
        off = CONDUCTIVITY_OFF if key == "k" else 0.0
        found[key] = read_quantity(value, _NAMES[key], off)
    return Stated(*_thermal(found), _frozen(found, point))


def _property(one: str) -> Refused:
    known = ", ".join([*_NAMES, "freezes"])
    return Refused(
        "property-unknown",
        f"`{clipped(one)}` is no property, or it is there twice.",
        f"Known: {known}.",
        ["k=0.45 W/(m K), rho=1070 kg/m3, cp=3.4 kJ/(kg K)"],
    )


def _thermal(found: Mapping[str, Range]) -> tuple[Range, Range, float]:
    """Conductivity, heat capacity J/(m³ K), density."""
    k = found.get("k")
    rho, cp, alpha = found.get("rho"), found.get("cp"), found.get("alpha")
    density = rho.likely if rho is not None else 1000.0
    if k is None or (alpha is None and (rho is None or cp is None)):
        raise Refused(
            "property-missing",
            "A body needs k, and rho with cp, or alpha.",
            "",
            [
                "k=0.45 W/(m K), rho=1070 kg/m3, cp=3.4 kJ/(kg K)",
                "k=0.45 W/(m K), alpha=0.14 mm2/s",
            ],
        )
    if rho is not None and cp is not None:
        capacity = Range(rho.low * cp.low, rho.likely * cp.likely, rho.high * cp.high)
        _agree(k, capacity, alpha)
        return k, capacity, density
    assert alpha is not None
    return k, Range.exact(k.likely / alpha.likely), density


def _agree(k: Range, capacity: Range, alpha: Range | None) -> None:
    if alpha is not None and abs(k.likely / capacity.likely / alpha.likely - 1) > 0.05:
        raise Refused(
            "property-contradicted",
            "alpha is not k/(rho cp).",
            "Leave one of them out.",
        )


def _frozen(found: Mapping[str, Range], point: float | None) -> Frozen | None:
    names = ("frozen k", "frozen cp", "latent")
    if point is None and not any(name in found for name in names):
        return None
    if point is None or any(name not in found for name in names):
        raise Refused(
            "property-missing",
            "A body that freezes needs freezes, latent, frozen k and frozen cp.",
            "",
            ["freezes=-1.2 °C, latent=250 kJ/kg, frozen k=1.2 W/(m K), frozen cp=1.8 kJ/(kg K)"],
        )
    k, cp, latent = (found[name].likely for name in names)
    return Frozen(k, cp, latent, point)


def read_composition(text: str, freezes_at: str | None) -> Made:
    """``water 68 %, protein 8 %, fat 6 %, carbohydrate 14 %, fibre 1.5 %, ash 2.5 %``; a share may
    be ``60 to 75 %``, and ``air`` is a share of the volume."""
    shares: dict[str, Range] = {}
    air = 0.0
    for one in _entries(text):
        name, _, value = one.partition(" ")
        key, share = name.strip(" =:").lower(), _share(value.strip(" =:"), one)
        if key in shares or (key not in CONSTITUENTS and key != "air"):
            known = ", ".join([*CONSTITUENTS, "air"])
            raise Refused(
                "constituent-unknown",
                f"`{clipped(one)}` is no constituent, or it is there twice.",
                f"Known: {known}.",
            )
        if key == "air":
            air = share.likely
        else:
            shares[key] = share
    point = None if freezes_at is None else Range.off_by(_celsius(freezes_at), 0.2)
    try:
        return Made(Composition(shares, air), point)
    except Impossible as problem:
        raise Refused("composition-impossible", f"The composition: {problem}.") from None


def _share(text: str, one: str) -> Range:
    refuse_point(text)
    match = _PERCENT.fullmatch(text)
    if match is None:
        raise Refused(
            "share-unreadable",
            f"`{clipped(one)}` has no share.",
            "Write the constituent and its share of the weight.",
            ["water 68 %", "water 60 to 75 %"],
        )
    first, second = (
        float(d.replace(",", ".")) / 100
        for d in (match["first"], match["second"] or match["first"])
    )
    if second < first:
        raise Refused("share-unreadable", f"`{clipped(one)}`: the smaller figure comes first.")
    return Range(first, (first + second) / 2, second)


def _celsius(text: str) -> float:
    return float(read_temperature(text).celsius)


# -- where it is ---------------------------------------------------------------------------------


def read_place(text: str, body: Body, media: Mapping[str, Medium], start: float) -> Place:
    """``top: still-air at 3 °C; rest: stirred-water at 0 °C; for 2 h``. What is at a face is a
    medium, a coefficient, or ``insulated``; behind it may be ``through 6 mm of 1.5 W/(m K)``.
    The temperature may go ``20 °C to 92 °C in 15 min``."""
    around: dict[str, Around] = {}
    seconds: float | None = None
    until: float | None = None
    for one in (part.strip() for part in text.split(";")):
        if one.startswith("for "):
            seconds = float(read_time(one[4:]).seconds)
        elif one.startswith("until "):
            until = _celsius(one[6:])
        elif one:
            _add(around, one, body, media, start)
    missing = [face for face in body.faces if face not in around]
    if missing:
        raise Refused(
            "face-missing",
            f"Nothing is said of the {missing[0]}.",
            "Say what is at each face, or at the `rest`.",
            [f"{missing[0]}: still-air at 3 °C", "rest: insulated"],
        )
    if seconds == 0:
        raise Refused("time-zero", "A place for no time at all.", "Leave it out.")
    return Place(around, seconds, until)


def _add(
    around: dict[str, Around], one: str, body: Body, media: Mapping[str, Medium], start: float
) -> None:
    names, _, what = one.rpartition(": ") if ": " in one else ("all", "", one)
    faces = [f for name in re.split(r",\s*|\s+and\s+", names) for f in _faces(name, body, around)]
    found = _around(what.strip(), media, start)
    for face in faces:
        if face in around:
            raise Refused("face-twice", f"The {face} is there twice.")
        around[face] = found


def _faces(name: str, body: Body, around: Mapping[str, Around]) -> list[str]:
    sides = [f for f in body.faces if f not in ("top", "bottom")]
    known_as = {
        "all": list(body.faces),
        "rest": [f for f in body.faces if f not in around],
        "sides": sides,
        **{face: [face] for face in body.faces},
    }
    found = known_as.get(name.strip().lower())
    if found:
        return found
    known = ", ".join([*body.faces, *(["sides"] if sides else []), "all", "rest"])
    raise Refused(
        "face-unknown", f"A {body.name} has no face `{clipped(name)}`.", f"It has: {known}."
    )


def _around(text: str, media: Mapping[str, Medium], start: float) -> Around:
    if text == "insulated":
        return Around(Range.exact(0.0), Course.constant(start), "insulated")
    what, at, course = text.rpartition(" at ")
    if not at:
        raise Refused(
            "medium-temperature-missing",
            f"`{clipped(text)}`: how warm is it?",
            "Write the medium and its temperature.",
            [f"{text} at 3 °C", "still-air at 3 °C", "20 W/(m2 K) at 92 °C", "insulated"],
        )
    followed = _course(course.strip())
    inner, through, walls = what.partition(" through ")
    medium = media.get(inner.strip())
    if medium is not None:
        h, name = medium.h, medium.name
    else:
        off = H_OFF_HEATING if followed.last > start else H_OFF
        h, name = _coefficient(inner.strip(), media, off), ""
    return Around(_behind(h, walls) if through else h, followed, name)


def _coefficient(text: str, media: Mapping[str, Medium], off: float) -> Range:
    if text[:1].isdigit() or text.startswith(("-", "−", ".")):
        return read_quantity(text, "coefficient", off)
    raise Refused(
        "medium-unknown",
        f"`{clipped(text)}` is no medium known here.",
        f"Known: {', '.join(media)}. Or state the coefficient.",
        ["20 W/(m2 K) at 92 °C"],
    )


def _behind(h: Range, walls: str) -> Range:
    """A coefficient behind walls: ``6 mm of 1.5 W/(m K)``, several joined by ``and``."""
    layers: list[tuple[float, float]] = []
    for one in walls.split(" and "):
        match = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*mm of (.+)", one)
        if match is None:
            raise Refused(
                "wall-unreadable",
                f"`{clipped(one)}` is not a wall.",
                "Write its thickness and its conductivity.",
                ["boiling-water through 6 mm of 1.5 W/(m K) at 100 °C"],
            )
        refuse_point(match[1])
        depth = float(match[1].replace(",", ".")) / 1000
        layers.append((depth, read_quantity(match[2], "conductivity").likely))
    return Range(*(in_series(edge, layers) for edge in (h.low, h.likely, h.high)))


def _course(text: str) -> Course:
    match = re.fullmatch(r"(.+?) to (.+?) in (.+)", text)
    if match is None:
        return Course.constant(_celsius(text))
    seconds = float(read_time(match[3]).seconds)
    if seconds == 0:
        raise Refused("time-zero", f"`{clipped(text)}` takes no time.", "Write the end alone.")
    return Course.ramp(_celsius(match[1]), _celsius(match[2]), seconds)


# -- all of it ------------------------------------------------------------------------------------


def read_case(
    units: Units,
    media: Mapping[str, Medium],
    *,
    body: str,
    properties: str | None,
    composition: str | None,
    freezes_at: str | None,
    faces: Sequence[str],
    start: str,
    targets: Sequence[str],
    exact: bool,
) -> Case:
    """The case that the words of a command line ask for. Raises Refused."""
    shape = read_body(body, units)
    stuff = _stuff(properties, composition, freezes_at)
    began = _celsius(start)
    places = [read_place(one, shape, media, began) for one in faces]
    _check_ends(places, faces)
    wanted = tuple(_celsius(t) for t in targets)
    case = Case(shape, stuff, Range.off_by(began, DEGREES_OFF), tuple(places), wanted)
    if isinstance(stuff, Made) and case.freezes:
        case = replace(case, stuff=replace(stuff, off=FROZEN_OFF))
    if isinstance(stuff, Stated) and stuff.frozen is not None and not case.freezes:
        case = replace(case, stuff=replace(stuff, frozen=None))
    return case.exact() if exact else case


def _check_ends(places: Sequence[Place], faces: Sequence[str]) -> None:
    for place in places[:-1]:
        if place.seconds is None and place.until is None:
            raise Refused(
                "place-without-end",
                "How long is it in the first place?",
                "End every place but the last with `for` or `until`.",
                [f"{faces[0]}; for 30 min", f"{faces[0]}; until 75 °C"],
            )


def _stuff(properties: str | None, composition: str | None, freezes: str | None) -> Stated | Made:
    if (properties is None) == (composition is None):
        raise Refused(
            "properties-missing",
            "What is the body made of?",
            "Give --properties or --composition, one of them.",
            [
                "--properties 'k=0.45 W/(m K), rho=1070 kg/m3, cp=3.4 kJ/(kg K)'",
                "--composition 'water 74 %, protein 20 %, fat 5 %, ash 1 %'",
            ],
        )
    if composition is not None:
        return read_composition(composition, freezes)
    assert properties is not None
    if freezes is not None:
        raise Refused(
            "property-unknown",
            "--freezes-at goes with --composition.",
            "Write `freezes=` under --properties.",
        )
    return read_properties(properties)
