"""What a formula says it makes, held against itself: said once, and of a line it has."""

from __future__ import annotations

import difflib
from collections.abc import Iterator

from generator.measures.words import listed, plain
from generator.records.formula import Formula, Line, Makes
from generator.resolve.names import Names

_ONE_OF = (
    ("fill_weight", "fill_volume", "piece"),
    ("portion", "portion_volume", "portions", "slice"),
    ("piece", "portion", "portion_volume", "slice"),
)
"""Keys that say the same thing, so that only one of each group may be there."""
_LIGHTEST, _HEAVIEST = 10, 2000
"""Grams a litre of food weighs at least and at most."""
_BARE = ("each", "ea", "piece", "pieces")


def worded(formula: Formula) -> Formula:
    """The formula with what its pieces are called, where it is made in pieces and doesn't say so:
    24 legs are 24 legs, and each is a portion."""
    makes = formula.makes
    if makes is None or makes.piece is None:
        return formula
    lines = _lines_of(formula, makes.piece)
    word = lines[0].amount.unit if lines and lines[0].amount.kind == "count" else "each"
    unit = "piece" if word in _BARE else word.removesuffix("s")
    if makes.to_a_fill > 1:
        each = makes.portions in (None, makes.to_a_fill) and not makes.portion_unit
        own = {"portion_unit": unit, "portion_units": ""} if each else {}
        return formula.model_copy(update={"makes": makes.model_copy(update=own)})
    said = {} if makes.states("unit") else {"unit": unit, "units": ""}
    if not makes.portion_unit and makes.portions in (None, 1):
        said |= {"portion_unit": said.get("unit", makes.unit), "portion_units": makes.units}
    return formula.model_copy(update={"makes": makes.model_copy(update=said)})


def check_makes(names: Names, ident: str, formula: Formula) -> bool:
    """What is said twice under `makes`, means nothing there, or names a line the formula lacks.
    Whether nothing is wrong with it: if something is, its words for sizes aren't known either."""
    before = len(names.findings)
    makes = formula.makes
    if makes is None:
        return True
    for group in _ONE_OF:
        stated = [key for key in group if getattr(makes, key) is not None]
        if len(stated) > 1:
            names.error(
                "makes-twice",
                makes.key_place(stated[1]),
                f"`makes` says {listed([f'`{key}`' for key in stated])}. One of them is enough.",
                "Keep the one the crew works by, and delete the other.",
                ident,
            )
            return False
    for key, words, help in _idle(makes, _measured_elsewhere(names, ident, formula)):
        names.error("makes-idle", makes.key_place(key), words, help, ident)
    _litre(names, ident, makes)
    _idle_pieces(names, ident, makes)
    if makes.piece is not None:
        _piece(names, ident, formula, makes, makes.piece)
    return len(names.findings) == before


def _measured_elsewhere(names: Names, ident: str, formula: Formula) -> bool:
    """Whether another formula takes so many litres or cups of it, or may: it is a by-product."""
    return formula.by_product is not None or ident in names.by_volume


def _idle(makes: Makes, measured: bool) -> Iterator[tuple[str, str, str]]:
    """Keys that nothing follows from: which, what is wrong, what to do. ``measured``: another
    formula takes it by volume."""
    volumes = measured or makes.fill_volume is not None or makes.portion_volume is not None
    if makes.overrun is not None and not volumes and makes.vessel is None:
        yield (
            "overrun",
            "`overrun` changes volumes, and nothing here is filled by volume or into a vessel.",
            "Write `fill_volume` or `vessel`, or delete it.",
        )
    if makes.litre is not None and not volumes and makes.vessel is None:
        yield (
            "litre",
            "`litre` turns volumes into weights, and nothing here is filled by volume or into a "
            "vessel.",
            "Write `fill_volume` or `vessel`, or delete it.",
        )


def _idle_pieces(names: Names, ident: str, makes: Makes) -> None:
    """A number of pieces to a fill, and no word which piece."""
    if makes.pieces is not None and makes.piece is None:
        names.error(
            "makes-idle",
            makes.key_place("pieces"),
            "`pieces` counts a `piece`, and none is named.",
            "Name the counted line, as in `piece: duck-leg`, or delete it.",
            ident,
        )


def _litre(names: Names, ident: str, makes: Makes) -> None:
    """A litre that weighs what no food weighs."""
    litre = makes.litre
    if litre is None or _LIGHTEST <= litre.value <= _HEAVIEST:
        return
    side = "heavier" if litre.value > _HEAVIEST else "lighter"
    names.error(
        "litre-implausible",
        makes.place("litre"),
        f"A litre that weighs {litre.text} is {side} than any food "
        f"({plain(litre.value / 1000, 3)} g/ml).",
        "Weigh one litre of the mix, before air is in it.",
        ident,
    )


def _lines_of(formula: Formula, item: str) -> list[Line]:
    return [items[item] for items in formula.parts.values() if item in items]


def _piece(names: Names, ident: str, formula: Formula, makes: Makes, piece: str) -> None:
    """The pieces a formula is made in are one line of it, counted, and whole."""
    lines = _lines_of(formula, piece)
    place = makes.place("piece")
    if not lines:
        known = sorted({item for items in formula.parts.values() for item in items})
        near = difflib.get_close_matches(piece, known, n=1, cutoff=0.55)
        hint = f"Did you mean `{near[0]}`?" if near else f"Its lines: {', '.join(known)}."
        names.error("piece-unknown", place, f"This formula has no line `{piece}`.", hint, ident)
        return
    amount = lines[0].amount
    if len(lines) > 1:
        words, help = (
            f"`{piece}` is in {len(lines)} parts. Which of them is counted?",
            "Put all of it in one part.",
        )
    elif amount.kind != "count":
        words, help = (
            f"`{piece}` is given as {amount.text}, not as a count.",
            "Count it there, as in 24 each, with what one weighs under the ingredient's `weighs`.",
        )
    elif amount.value.denominator != 1:
        words, help = (f"`{piece}`: {amount.text} is not a whole number.", "Write whole pieces.")
    else:
        return
    names.error("piece-not-counted", place, words, help, ident)
