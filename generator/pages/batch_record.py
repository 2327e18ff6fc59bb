"""What the page carries of a formula so that a browser can work out any batch size of it exactly.

Every figure is a whole number, or a text of numerator and denominator: the script reckons with
them as they are, by the generator's own rules, and never in floats.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from types import MappingProxyType
from typing import Any

from generator.files.finding import Refused
from generator.measures.marks import decimal_sign, weights_in_force
from generator.measures.rounding import decimals_of
from generator.measures.units import Units
from generator.measures.words import plain, plural_of
from generator.records.effects import HEATS
from generator.records.formula import Makes, Size
from generator.resolve.joined import House
from generator.scaling.batch import Figures, factor_for
from generator.scaling.weights import BARE_PIECES, METRIC_VOLUMES, piece_of, to_volume
from generator.sheet.ahead import Ahead, ahead_of
from generator.sheet.dosed import capped_dose
from generator.sheet.lots import lots_of
from generator.sheet.measured_sizes import base_ml, base_pieces
from generator.sheet.one_order import MADE_AHEAD, largest_to_order, more_than_one
from generator.sheet.sheet import Sheet, as_needed, lead_of
from generator.sheet.size_words import is_piece, pieces_words
from generator.sheet.station_scales import scales_for
from generator.sheet.step_loads import follows
from generator.sheet.takes import Takes, handed_at, takes_of, weighed_for
from generator.sheet.waiting import (
    Meeting,
    all_at_once,
    meetings,
    needs_its_time,
    own_stage,
    waiting_at,
)
from generator.sheet.walk import Walk, WalkedStep
from generator.sheet.weighing import WeighedLine, piece_words
from generator.views.yield_view import fill_words

_NONE: Mapping[str, Walk] = MappingProxyType({})
_SAFE = 2**53
"""Beyond it a browser's own numbers are no longer exact, so the figure goes as text."""


def exact(value: Fraction | None) -> int | str | None:
    """A figure as a whole number, or as text of numerator and denominator: 720, "125/3"."""
    if value is None:
        return None
    if value.denominator == 1:
        return int(value) if abs(value) < _SAFE else str(value.numerator)
    return f"{value.numerator}/{value.denominator}"


def batch_record(sheet: Sheet, walks: Mapping[str, Walk] = _NONE) -> dict[str, Any] | None:
    """The record of a formula; None where no size can be made at all. ``walks`` are those of
    what is made ahead.

    A formula with a legal maximum carries ``only`` and nothing to reckon with: a dose is worked
    out and checked by the kitchen's own sizes.
    """
    if not sheet.batches:
        return None
    formula, walk = sheet.formula.formula, sheet.walk
    record: dict[str, Any] = {
        "id": sheet.id,
        "rev": formula.revision,
        "sizes": [_size(size.size) for size in sheet.batches],
    }
    if _has_a_maximum(walk):
        return record | {"only": 1}
    record |= _reckoned(sheet, walks)
    return {key: value for key, value in record.items() if value not in (None, {})}


def _reckoned(sheet: Sheet, walks: Mapping[str, Walk]) -> dict[str, Any]:
    """What any size is worked out from."""
    formula, walk = sheet.formula.formula, sheet.walk
    figures, counted = walk.figures, walk.least or walk.figures
    at = {part: weighed_for(walk, part) for part in formula.parts}
    return {
        "sign": decimal_sign(),
        "us": 1 if weights_in_force() == "us" else None,
        "kinds": _kinds(figures, counted),
        "no": _not_made(figures),
        "order": _to_order(walk),
        **_masses(figures, counted),
        "vessels": _vessels(walk),
        "meets": [_meeting(one) for one in meetings(sheet.house, walk)] or None,
        "ahead": [_ahead(one) for one in ahead_of(walks, walk, Fraction(1))] or None,
        "filling": fill_words(formula.makes, figures.fill) if figures.fill is not None else None,
        "units": _units(sheet.house.units, "mass"),
        **_measured_base(sheet.house.units, walk),
        "scales": _scales(sheet.house, sheet),
        "lines": [_line(sheet.house, walk, line, at[line.joined.part]) for line in walk.lines],
        "steps": _steps(sheet.house, walk, lead_of(walk, at)),
        **(_named(formula.makes) if formula.makes is not None else {}),
        "legs": _piece_words(walk),
    }


def _masses(figures: Figures, counted: Figures) -> dict[str, Any]:
    """The masses and counts at factor 1; ``counted`` are those at the low end of a yield."""
    return {
        "base": exact(figures.base),
        "total": exact(figures.total),
        "filled": exact(figures.filled),
        "finished": exact(figures.finished),
        "yielded": exact(figures.yielded),
        "served": exact(counted.yielded if counted is not figures else None),
        "fill": exact(figures.fill),
        "portion": exact(figures.portion),
        "per": figures.per_fill,
        "pieces": figures.pieces,
        "to": figures.to_a_fill if figures.to_a_fill > 1 else None,
        "light": exact(figures.lightest) or None,
        "heavy": exact(figures.heaviest) or None,
        "beside": exact(counted.beside) or None,
    }


def _named(makes: Makes) -> dict[str, Any]:
    """What one fill and more, one portion and more are called."""
    serving = makes.portion_unit or "portion"
    return {
        "fills": [makes.unit, makes.plural],
        "portions": [serving, makes.portion_units or plural_of(serving)],
    }


def _piece_words(walk: Walk) -> list[str] | None:
    """What one piece and more are called, where several go into one fill."""
    if walk.figures.to_a_fill == 1:
        return None
    return list(piece_words(next(ln for ln in walk.lines if is_piece(walk, ln))))


def _vessels(walk: Walk) -> list[Any] | None:
    """How many vessels there are for the fills, and what they are called."""
    vessel = walk.formula.vessel
    return [vessel.count, vessel.name] if vessel is not None and vessel.count is not None else None


def _meeting(one: Meeting) -> list[Any]:
    """A stream that waits for others: how long, how, and for which steps."""
    return [one.name, one.where, one.how, exact(one.seconds), exact(one.most), list(one.steps)]


def _ahead(one: Ahead) -> list[Any]:
    """How much is made ahead at factor 1, and what a count of it is called."""
    if one.count is None or not one.called[0]:
        return [exact(one.grams)]
    return [exact(one.grams), exact(one.count), *one.called]


def _kinds(figures: Figures, counted: Figures) -> dict[str, Any]:
    """What the formula as written makes of each kind of size; portions counted from a fill are
    whole fills, and are under ``per``. What is counted goes by the low end of a yield."""
    found = {"total": figures.total, "base": figures.base, "yield": figures.yielded}
    if figures.fills is not None:
        found["fills"] = 1 / factor_for("fills", Fraction(1), counted)
    if figures.portion is not None:
        found["portions"] = 1 / factor_for("portions", Fraction(1), counted)
    return {kind: exact(value) for kind, value in found.items()}


def _not_made(figures: Figures) -> dict[str, str]:
    """Why there is no size in fills or portions, in the words of whoever refuses it."""
    words: dict[str, str] = {}
    for kind in ("fills", "portions"):
        try:
            factor_for(kind, Fraction(1), figures)
        except Refused as refused:
            words[kind] = f"{refused.message} {refused.help}"
    return words


def _to_order(walk: Walk) -> list[int | str | None] | None:
    """The factor of one guest's order, and what is said of more; None where any size will do."""
    most = largest_to_order(walk)
    return None if most is None else [exact(most), f"{more_than_one(walk)} {MADE_AHEAD}"]


def _has_a_maximum(walk: Walk) -> bool:
    return capped_dose(walk) is not None or any(
        ln.joined.ingredient is not None and ln.joined.ingredient.function == "cure"
        for ln in walk.lines
    )


def _size(size: Size) -> list[str]:
    """A batch size as it is asked for in an address: kind and amount."""
    if size.kind in ("fills", "portions"):
        return [size.kind, plain(size.value, 0, False)]
    return [size.kind, size.amount]


def _measured_base(units: Units, walk: Walk) -> dict[str, Any]:
    """The millilitres of a base that is measured, and the units it may be asked for in."""
    known = base_pieces(walk)
    pieces = [[word, exact(g)] for one, g in known.items() for word in (one, f"{one}s")]
    ml = base_ml(walk)
    found: dict[str, Any] = {"basePieces": pieces} if pieces else {}
    if ml is not None:
        found |= {"baseMl": exact(ml), "volumes": _units(units, "volume")}
    return found


def _units(units: Units, kind: str) -> list[list[Any]]:
    """Each unit of weight or volume: its grams or millilitres, and how cooks write it."""
    found: list[list[Any]] = []
    for unit in units.by_name.values():
        if unit.kind == kind and not unit.missing:
            names = [alias for alias, name in units.aliases.items() if name == unit.name]
            found.append([exact(unit.factor), *names])
    return found


def _scales(house: House, sheet: Sheet) -> list[list[Any]]:
    """Scales, coarsest first, with what their display shows."""
    scales = sorted(
        scales_for(house, sheet.formula), key=lambda s: (-s.division, -s.accuracy, s.id)
    )
    return [
        [
            s.id,
            s.name,
            exact(s.division),
            exact(s.accuracy),
            exact(s.capacity),
            exact(s.least),
            int(s.here),
            int(s.elsewhere),
            s.unit,
            exact(s.unit_g),
            decimals_of(s.division / s.unit_g),
        ]
        for s in scales
    ]


def _line(house: House, walk: Walk, line: WeighedLine, at: str) -> dict[str, Any]:
    joined, facts = line.joined, line.joined.ingredient
    number = next((s.step.number for s in walk.steps if s.step.id == at), 0)
    grams_only = facts is not None and facts.function in ("cure", "gelling-agent")
    record: dict[str, Any] = {
        "item": joined.item,
        "g": exact(line.grams),
        "ok": exact(line.permitted),
        "trim": exact(facts.trim_share) if facts is not None and facts.trim_share else 0,
        "at": number,
        "in": _taken_in_at(walk, joined.part),
        "asneeded": int(as_needed(line)),
        "made": int(joined.formula is not None),
        "oz": int(not grams_only),
        "pieces": [[w.word, exact(w.grams)] for w in line.unit_weights if w.ml is None],
    }
    if not grams_only:
        record |= _measured(house, walk, line)
    return {key: value for key, value in record.items() if value not in (0, "", [])}


def _taken_in_at(walk: Walk, part: str) -> int:
    """The number of the step that takes a part in."""
    return next(s.step.number for s in walk.steps if part in s.step.parts)


def _measured(house: House, walk: Walk, line: WeighedLine) -> dict[str, Any]:
    """What is beside the weight: ``count`` as grams a piece and its words, ``volume`` as grams
    a millilitre, the millilitres of the unit (0: metric) and its words."""
    amount = line.joined.line.amount
    if is_piece(walk, line):
        one, many = (pieces_words(line, n).split(" ", 1)[1] for n in (1, 2))
        return {"whole": [int(amount.value), one, many]}
    if amount.kind == "count":
        weight = piece_of(amount.unit, line.unit_weights)
        if weight is None:
            return {}
        bare = amount.unit in BARE_PIECES
        return {"count": [exact(weight.grams), *(["", ""] if bare else [weight.word, amount.unit])]}
    if amount.kind == "volume":
        found = to_volume(Fraction(1), line.unit_weights, amount.unit, amount.detail)
        if found is None:
            return {}
        known = house.units.by_name.get(amount.unit)
        household = known is not None and not known.missing and amount.unit not in METRIC_VOLUMES
        factor = known.factor if known is not None and household else Fraction(0)
        return {"volume": [exact(1 / found[0]), exact(factor), amount.unit, amount.detail]}
    return {}


def _steps(house: House, walk: Walk, lead: str) -> list[dict[str, Any]]:
    """The machines' steps with what they take; ``lead`` is the one for which most is weighed."""
    found: list[dict[str, Any]] = []
    lots = lots_of(walk)
    for index, walked in enumerate(walk.steps):
        lot = lots.get(walked.step.number)
        takes = takes_of(walk, walked)
        if takes is not None:
            record = {
                **_taken(takes),
                "no": walked.step.number,
                "id": walked.step.id,
                "g": exact(walked.before.mass),
                "with": takes.ident,
                "lot": [exact(lot.many), lot.one, lot.more] if lot is not None else None,
                "follows": follows(walk, walked, lots),
                "closed": int(lot is not None and lot.closed),
                "lead": int(walked.step.id == lead),
                "hand": _handed(walk, walked),
                **_runs(house, walk, index),
            }
            found.append({k: v for k, v in record.items() if v is not None and v not in (0, "")})
    return found


def _handed(walk: Walk, walked: WalkedStep) -> list[Any] | None:
    """What earlier steps hand the machine, beside what is weighed for it, and which steps."""
    found = handed_at(walk, walked)
    return [exact(found.grams), found.words] if found is not None else None


def _taken(takes: Takes) -> dict[str, Any]:
    """What a machine takes; its places one more than they are, so that none is not left out."""
    room = takes.room
    return {
        "name": takes.name,
        "where": takes.where,
        "most": exact(takes.most),
        "least": exact(takes.least),
        "places": takes.places + 1 if takes.places is not None else None,
        "seats": takes.places_in_all if takes.beside and takes.places is not None else None,
        "ml": exact(room.ml_per_g) if room is not None else None,
        "said": takes.said if takes.said != "it takes" else None,
    }


def _runs(house: House, walk: Walk, index: int) -> dict[str, Any]:
    """How long one run takes, and how the others wait: out of the cold, how long they may."""
    time = walk.steps[index].step.step.time
    waiting = waiting_at(house, walk, index)
    return {
        "s": exact(time.longest) if time is not None else None,
        "soon": exact(time.shortest)
        if time is not None and time.shortest != time.longest
        else None,
        "waits": waiting.how,
        "out": exact(waiting.before),
        "limit": exact(waiting.most),
        "own": exact(own_stage(waiting, time.longest) or None) if time is not None else None,
        "heats": int(bool(walk.steps[index].step.effects & HEATS)),
        "once": int(all_at_once(walk, walk.steps[index].step.number)),
        "asks": int(needs_its_time(walk.steps[index].step.effects)),
    }
