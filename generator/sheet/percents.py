"""Percentages in grams: what each is of, and all of them worked out together.

A bare percentage is of the base. Any other names a part, a line (an ingredient or a made-ahead
formula) or ``formula``, which is every line. Of what holds the line itself there are two: ``the
whole pickle``, with the line in it, and ``the rest of the pickle``, without it; the name alone is
asked about. With ``T`` for what a percentage ``p`` is of, a line weighs ``p T``; of the rest it is
``p (T − line)``. Each ``T`` is the sum of its lines, so all are solved at once, exactly.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from generator.files.finding import Refused
from generator.measures.words import listed, plain, with_verb
from generator.resolve.joined import JoinedFormula, JoinedLine

Key = tuple[str, str]
"""A line by its part and its item."""
FORMULA = "formula"
"""The name of every line together, where no part is called so."""
_WHOLE = ("whole-", "all-of-")
_REST = ("rest-of-", "others-in-", "others-of-", "other-")


@dataclass(frozen=True)
class Of:
    """What a line is a percentage of: its lines, in words; ``rest``: the line itself left out."""

    lines: frozenset[Key]
    words: str
    rest: bool = False


@dataclass(frozen=True)
class Worked:
    """A percentage worked out: the line's grams, and the grams of what it is of."""

    grams: Fraction
    of: Fraction


def key_of(line: JoinedLine) -> Key:
    return line.part, line.item


def what_of(formula: JoinedFormula, line: JoinedLine) -> Of:
    """What a line in percent is a percentage of. Raises Refused for what isn't in the formula, and
    for what holds the line itself where it isn't said whether with it or without."""
    name = line.line.amount.of
    if not name:
        words = ", ".join(base.replace("-", " ") for base in formula.formula.base)
        return Of(formula.base, words)
    found = named_lines(formula, name)
    if found is not None:
        if key_of(line) in found:
            raise _itself(line, name, len(found) == 1)
        return Of(found, name.replace("-", " "))
    for rest, heads in ((False, _WHOLE), (True, _REST)):
        for head in heads:
            lines = named_lines(formula, _bare(name, head)) if name.startswith(head) else None
            if lines is not None:
                return _said(line, lines, _bare(name, head), rest)
    raise _nothing(formula, line, name)


def _bare(name: str, head: str) -> str:
    return name.removeprefix(head).removeprefix("the-")


def named_lines(formula: JoinedFormula, name: str) -> frozenset[Key] | None:
    """The lines a name means: a part's, an item's wherever it is, all, or those of several names
    with "and" between them; None for no name here."""
    found = _called(formula, name)
    if found or "-and-" not in name:
        return found or None
    each = [named_lines(formula, _bare(one, "")) for one in name.split("-and-")]
    return None if None in each else frozenset().union(*(one for one in each if one))


def _called(formula: JoinedFormula, name: str) -> frozenset[Key]:
    """The lines of the part called so, else of the item, else all for the formula's own name."""
    keys = [key_of(line) for line in formula.lines]
    by_part = frozenset(key for key in keys if key[0] == name)
    by_item = frozenset(key for key in keys if key[1] == name)
    return by_part or by_item or frozenset(keys if name == FORMULA else ())


def _said(line: JoinedLine, lines: frozenset[Key], name: str, rest: bool) -> Of:
    """What is meant by the whole or the rest of a name. Raises Refused where nothing is left."""
    key, words = key_of(line), name.replace("-", " ")
    if not rest:
        return Of(lines, f"whole {words}")
    if lines == {key}:
        raise Refused(
            "percent-of-what",
            f"{line.name}: there is nothing else in `{name}`.",
            "Name a part that has other lines, or write a weight.",
        )
    return Of(lines, f"rest of the {words}" if key in lines else words, key in lines)


def _itself(line: JoinedLine, name: str, alone: bool) -> Refused:
    if alone:
        words = f"{line.name}: a percentage of itself has nothing to be of."
        return Refused("percent-of-what", words, "Name its part, another line, or a weight.")
    words, figure = name.replace("-", " "), line.line.amount.text.partition("%")[0].strip()
    return Refused(
        "percent-of-itself",
        f"{with_verb(line.name, 'is')} in `{name}` itself: of the whole of it, or of the rest?",
        f"Of the whole counts this line too. Of the rest counts only the other lines of {words}.",
        [f"{figure} % of the whole {words}", f"{figure} % of the rest of the {words}"],
    )


def _nothing(formula: JoinedFormula, line: JoinedLine, name: str) -> Refused:
    parts = listed(list(dict.fromkeys(f"`{ln.part}`" for ln in formula.lines)), "or")
    if name in ("whole", "rest", "others", "other"):
        own = line.part.replace("-", " ")
        figure = line.line.amount.text.partition("%")[0].strip()
        said = f"the whole {own}" if name == "whole" else f"the rest of the {own}"
        every = "the whole formula" if name == "whole" else "the rest of the formula"
        return Refused(
            "percent-of-what",
            f"{line.name}: `{name}` of what?",
            "Name the part, or the formula.",
            [f"{figure} % of {said}", f"{figure} % of {every}"],
        )
    return Refused(
        "percent-of-what",
        f"{line.name}: `{name}` is not a part or a line of this formula.",
        f"A percentage alone is of the base. Any other names a part ({parts}), an ingredient or a "
        "made-ahead formula in it.",
    )


def worked_out(
    percents: Mapping[Key, tuple[Fraction, Of]],
    weighed: Mapping[Key, Fraction],
    fixed: Mapping[frozenset[Key], Fraction],
) -> tuple[dict[Key, Worked], dict[Key, str]]:
    """Every percentage in grams, and for those that have none, why in words.

    ``percents`` holds the share and what it is of, ``weighed`` the grams of the other lines;
    ``fixed`` the grams of groups of lines that are known without their lines (a base in percent).
    """
    totals, stuck = _totals(percents, weighed, fixed)
    found: dict[Key, Worked] = {}
    problems: dict[Key, str] = {}
    for key, (share, of) in percents.items():
        total = totals.get(of.lines)
        if total is None or total <= 0:
            problems[key] = _why(percents, of, weighed, of.lines in stuck or total != 0)
            continue
        grams = total * _factor(share, of)
        found[key] = Worked(grams, total - grams if of.rest else total)
    return found, problems


def _factor(share: Fraction, of: Of) -> Fraction:
    """A line as a share of all the lines it is a percentage of."""
    return share / (1 + share) if of.rest else share


def _why(
    percents: Mapping[Key, tuple[Fraction, Of]],
    of: Of,
    weighed: Mapping[Key, Fraction],
    too_much: bool,
) -> str:
    """Why what a percentage is of has no weight."""
    inside = [share for key, (share, other) in percents.items() if key in of.lines and other == of]
    total = sum(inside, Fraction(0)) * 100
    if too_much and total >= 100 and not of.rest:
        return f"{plain(total, 3)} % of the {of.words} leaves nothing for its other lines"
    if too_much:
        return "these percentages are of one another, and leave nothing for what is weighed"
    return f"nothing in the {of.words} is weighed"


_Row = dict[frozenset[Key], Fraction]


def _totals(
    percents: Mapping[Key, tuple[Fraction, Of]],
    weighed: Mapping[Key, Fraction],
    fixed: Mapping[frozenset[Key], Fraction],
) -> tuple[dict[frozenset[Key], Fraction], set[frozenset[Key]]]:
    """The grams of each group of lines that a percentage is of, and the groups that have none:
    T = what is weighed in it + Σ share × T of its percentages, solved by elimination."""
    groups = list(dict.fromkeys(of.lines for _, of in percents.values()))
    rows: dict[frozenset[Key], tuple[_Row, Fraction]] = {}
    for group in groups:
        if group in fixed:
            rows[group] = ({group: Fraction(1)}, fixed[group])
            continue
        row: _Row = {group: Fraction(1)}
        for key in group & percents.keys():
            share, of = percents[key]
            row[of.lines] = row.get(of.lines, Fraction(0)) - _factor(share, of)
        rows[group] = (row, sum((weighed[k] for k in group & weighed.keys()), Fraction(0)))
    return _eliminated(groups, rows)


def _eliminated(
    groups: Iterable[frozenset[Key]], rows: dict[frozenset[Key], tuple[_Row, Fraction]]
) -> tuple[dict[frozenset[Key], Fraction], set[frozenset[Key]]]:
    """The solution of rows of coefficients, each with its constant; a group whose row falls away
    has none."""
    stuck: set[frozenset[Key]] = set()
    for group in groups:
        row, constant = rows[group]
        lead = row.get(group, Fraction(0))
        if lead <= 0:  # shares of 100 % and more: no weights above zero fit
            stuck.add(group)
            continue
        rows[group] = {g: c / lead for g, c in row.items() if c}, constant / lead
        for other, theirs in rows.items():
            if other != group and theirs[0].get(group):
                rows[other] = _without(group, theirs, rows[group])
    known = (g for g in rows if g not in stuck and rows[g][0].keys() == {g})
    return {group: rows[group][1] for group in known}, stuck


def _without(
    group: frozenset[Key], one: tuple[_Row, Fraction], lead: tuple[_Row, Fraction]
) -> tuple[_Row, Fraction]:
    """A row with a group taken out of it by that group's own."""
    times = one[0][group]
    row = dict(one[0])
    for other, coefficient in lead[0].items():
        row[other] = row.get(other, Fraction(0)) - times * coefficient
    return {g: c for g, c in row.items() if c}, one[1] - times * lead[1]
