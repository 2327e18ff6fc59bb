"""A critical limit in the words and figures of its box."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from generator.measures.basis import Basis
from generator.measures.rounding import to_side
from generator.measures.temperature import SIGN, Degree, Temperature
from generator.measures.words import NARROW, duration, listed, plain
from generator.reference.rows import HazardWords
from generator.resolve.joined import House
from generator.rules.basics.context import both, hold_words
from generator.rules.basics.in_words import limit_words
from generator.rules.basics.limit import STRICT_SIDE, Acidity, Figure, Limit
from generator.rules.basics.missed import missed_words

LABELS = {"guidance": "Guidance", "ours": "Our working rule"}
"""What stands before a figure that is no code's."""
ADVISED = ", advised"
"""Behind the time of a stage that is no limit."""
BEFORE_PACKED = "before it is packed"
"""Behind the figure a cooling goes on to, in no set time."""


@dataclass(frozen=True)
class Chip:
    """A limit at a glance: its figure, and the words behind it."""

    figure: str
    words: str


@dataclass(frozen=True)
class FigureView:
    """One large figure: the number, its unit, the words behind it; ``other`` are number and unit in
    the other temperature scale, empty for a time."""

    number: str
    unit: str
    words: str
    other: tuple[str, str] = ("", "")

    @property
    def chip(self) -> Chip:
        return Chip(f"{self.number}{NARROW}{self.unit}".strip(), self.words)


@dataclass(frozen=True)
class LimitView:
    """What a limit box shows, top to bottom; ``basis`` are the rows of the fold below it.

    ``hold_s`` is the hold in whole seconds, for a timer, ``stand`` and ``stand_s`` the time to stand; ``start_other`` is ``start`` in the other
    temperature scale, as ``missed_other`` of ``if_missed``. ``house`` says how a house limit stands to the code; ``code`` is the code's own
    figure all the same."""

    id: str
    covered: bool
    hazard: str
    head: str
    figures: tuple[FigureView, ...]
    start: str
    hold: str
    hold_rest: str
    check: str
    if_missed: str
    code: str
    code_rest: str
    document: str
    clause: str
    note: str
    why: str
    basis: tuple[tuple[str, str], ...]
    chips: tuple[Chip, ...]
    target: str
    dose: str = ""
    words: str = ""
    label: str = "Code"
    house: str = ""
    house_rest: str = ""
    hold_s: int = 0
    stand: str = ""
    stand_s: int = 0
    start_other: str = ""
    stricter: bool = True
    missed_other: str = ""


def at_a_glance(view: LimitView) -> tuple[Chip, ...]:
    """A limit's figures as chips where its box doesn't stand by: a hold is told with its figure, and
    whose the figure is where it isn't the code's."""
    more = f" for {view.hold}" if view.hold else ""
    more += f", then {view.stand} covered" if view.stand else ""
    if view.house:
        more += ", house limit" if view.stricter else ", looser than the code"
    return (
        tuple(Chip(chip.figure, f"{chip.words}{more}") for chip in view.chips)
        if more
        else view.chips
    )


def limit_view(house: House, limit: Limit) -> LimitView:
    """The view of a limit in the kitchen's unit."""
    words = house.library.hazards.get(limit.hazard)
    head = words.head if words else limit.hazard.replace("_", " ")
    if not limit.covered:
        return LimitView(
            limit.id,
            False,
            limit.hazard,
            head,
            (),
            "",
            "",
            "",
            "",
            "",
            "",
            "",
            "",
            "",
            limit.note,
            "",
            (),
            (Chip("", "not covered"),),
            "",
        )
    if limit.is_dose:
        return _additive(house, limit, head, words)
    if limit.ph is not None:
        return _acidity(house, limit, limit.ph, head, words)
    if limit.words:
        return _in_words(house, limit, head, words)
    own = house.kitchen.temperature
    other = other_scale(own)
    figures = tuple(
        figure
        if limit.within_s is not None
        else replace(figure, other=(second.number, second.unit))
        for figure, second in zip(
            _figures(limit, own, own), _figures(limit, other, own), strict=True
        )
    )
    start = _start(limit, own)
    if limit.hazard == "reduced_oxygen":
        head = f"{head}: {'seal' if limit.bound == 'min' else 'keep'}"
    if limit.within_s is not None:
        head = f"{head.split(':')[0]}: no longer than"
    if limit.measured in ("air", "surface"):
        head = f"{head.split(':')[0]}: the {limit.measured} must read"
    hold, rest = _hold(limit) if limit.stored is None else ("", _stored(limit, limit.stored, own))
    law = limit.law or limit
    code, code_rest = _code(law)
    source = law.source
    missed = missed_words(house, limit, words, own)
    missed_other = missed_words(house, limit, words, other)
    asked = listed(tuple(f.number for f in figures))
    return LimitView(
        limit.id,
        True,
        limit.hazard,
        head,
        figures,
        start,
        hold,
        rest,
        _check(limit, words.check if words else ""),
        missed,
        code,
        code_rest,
        source.document,
        source.clause,
        limit.note,
        f"Why {asked}{NARROW}{figures[0].unit}?",
        basis_rows(limit.basis),
        tuple(f.chip for f in figures),
        limit.target,
        label=_label(law),
        house=limit.house.words if limit.house else "",
        house_rest=limit.house.told.removeprefix(limit.house.words) if limit.house else "",
        hold_s=int(to_side(limit.hold_s or Fraction(0), "up")) if hold else 0,
        stand=duration(limit.stand_s) if limit.stand_s is not None else "",
        stand_s=int(to_side(limit.stand_s or Fraction(0), "up")),
        start_other=_start(limit, other) if start else "",
        stricter=limit.house is None or limit.house.standing == "stricter",
        missed_other=missed_other if missed_other != missed else "",
    )


def _label(limit: Limit) -> str:
    """What stands before the source's own figure: an authority's guidance is never called code."""
    return LABELS.get(limit.source.standing, "Code")


def _in_words(house: House, limit: Limit, head: str, words: HazardWords | None) -> LimitView:
    """A rule that sets no figure: its words where the figure would stand."""
    source = limit.source
    return LimitView(
        limit.id,
        True,
        limit.hazard,
        head.split(":")[0],
        (),
        "",
        "",
        "",
        _check(limit, ""),
        missed_words(house, limit, words, house.kitchen.temperature),
        "",
        "",
        source.document,
        source.clause,
        limit.note,
        "Why no figure?",
        basis_rows(limit.basis),
        (Chip("", "no figure in the law"),),
        limit.target,
        words=limit.words,
        label=_label(limit),
    )


def _additive(house: House, limit: Limit, head: str, words: HazardWords | None) -> LimitView:
    """A dose by law: what is dosed, and what is the most, or of an accelerator the least."""
    bound = limit.most_ppm if limit.most_ppm is not None else limit.least_ppm
    assert bound is not None and limit.ppm is not None
    capped = limit.most_ppm is not None
    figure = FigureView(plain(bound), "ppm", "never more" if capped else "or more")
    least = (
        f" At least {plain(limit.least_ppm)}{NARROW}ppm."
        if capped and limit.least_ppm is not None
        else ""
    )
    if not capped:
        head = f"{head.split(':')[0]}: {limit.substance}"
    return LimitView(
        limit.id,
        True,
        limit.hazard,
        head,
        (figure,),
        "",
        "",
        "",
        words.check if words else "",
        missed_words(house, limit, words, house.kitchen.temperature),
        f"{plain(bound)}{NARROW}ppm",
        f" of {limit.substance} on the meat block",
        limit.source.document,
        "",
        "",
        f"Why {plain(limit.ppm, 2)}{NARROW}ppm?",
        basis_rows(limit.basis),
        (Chip(f"{plain(bound)}{NARROW}ppm", "at most" if capped else "at least"),),
        "",
        f"{plain(limit.ppm, 2)}{NARROW}ppm by this formula.{least}",
    )


def _acidity(
    house: House, limit: Limit, ph: Acidity, head: str, words: HazardWords | None
) -> LimitView:
    """A pH: what the meter must read, with the law's own figure beneath."""
    figure = FigureView(
        plain(ph.read), "pH", "or less on the meter" if not ph.read_below else "or more is too much"
    )
    return LimitView(
        limit.id,
        True,
        limit.hazard,
        head,
        (figure,),
        "",
        "",
        "",
        _check(limit, words.check if words else ""),
        missed_words(house, limit, words, house.kitchen.temperature),
        ph.law_words(),
        "",
        limit.source.document,
        limit.source.clause,
        limit.note,
        f"Why {ph.read_words()}?",
        basis_rows(limit.basis),
        (figure.chip,),
        "",
    )


def basis_rows(basis: Basis) -> tuple[tuple[str, str], ...]:
    """The rows of a basis in reading order: what went in first, the rule, the rest, the source."""
    rows = [(name, words) for name, words in basis.inputs]
    if basis.rule:
        rows.insert(1 if rows else 0, ("Rule", basis.rule))
    if basis.source:
        rows.append(("Source", basis.source))
    return tuple(rows)


def _sentence(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else text + "."


def _check(limit: Limit, general: str) -> str:
    """How the limit is monitored: where the process says to probe, and when to read."""
    if not limit.probe:
        return general
    place = limit.probe[0].lower() + limit.probe[1:]
    if not limit.stages:
        return f"Probe {_sentence(place)} Write the reading and the time."
    at = listed(
        tuple(
            duration(stage.within_s) + (" after that" if stage.after_stage else "")
            for stage in limit.stages
        )
    )
    write = "Write both readings." if len(limit.stages) == 2 else "Write the reading."
    return f"Probe {_sentence(place)} Read it at {at}. {write}"


def other_scale(unit: Degree) -> Degree:
    """The temperature scale that isn't ``unit``."""
    return "degF" if unit == "degC" else "degC"


def _read(limit: Limit, figure: Figure, unit: Degree, own: Degree) -> Fraction:
    """What the page asks for at ``figure``, in either scale; ``own`` is the kitchen's, which the
    limit's ``read`` is in. In the other it is rounded to the strict side, and never laxer than the
    law on the probe."""
    law = figure.read_at(unit)
    if limit.read is not None and unit == own:
        return limit.read
    if limit.read is None or limit.read == figure.read_at(own):
        return law
    stricter = max if limit.bound == "min" else min
    return stricter(law, Temperature.of(limit.read, own).rounded(unit, STRICT_SIDE[limit.bound]))


def _figures(limit: Limit, unit: Degree, own: Degree) -> tuple[FigureView, ...]:
    sign = SIGN[unit]
    if limit.stages:
        found = []
        for stage in limit.stages:
            figure = stage.figure.read_at(unit)
            if stage is limit.stages[-1] and limit.finish is None:
                figure = min(figure, _read(limit, stage.figure, unit, own))
            words = f"within {duration(stage.within_s)}"
            if stage.after_stage:
                words += " of that"
            found.append(
                FigureView(plain(figure), sign, words + (ADVISED if stage.advised else ""))
            )
        if limit.finish is not None:
            figure = min(limit.finish.read_at(unit), _read(limit, limit.finish, unit, own))
            found.append(FigureView(plain(figure), sign, BEFORE_PACKED))
        return tuple(found)
    if limit.within_s is not None:
        number, _, time_unit = duration(limit.within_s, days=False).rpartition(
            NARROW
        )  # 1 h 30 | min
        return (FigureView(number, time_unit, limit.within_words),)
    assert limit.figure is not None
    words = "or hotter" if limit.bound == "min" else "or colder"
    if limit.measured == "surface":
        words = f"{words}, on its surface"
    if limit.when:
        words = f"{words}, {limit.when}"
    return (FigureView(plain(_read(limit, limit.figure, unit, own)), sign, words),)


def clock_words(limit: Limit, unit: Degree) -> str:
    """The reading at which a cooling clock starts: "59 °C"; empty where none is set."""
    if limit.clock is None:
        return ""
    return f"{plain(limit.clock.read_at(unit))}{NARROW}{SIGN[unit]}"


def _start(limit: Limit, unit: Degree) -> str:
    clock = clock_words(limit, unit)
    if limit.reach is not None:
        cold = f"{plain(limit.reach.start.read_at(unit))}{NARROW}{SIGN[unit]}"
        within = duration(limit.reach.within_s)
        return f"From {cold} on the probe, be there within {within} ({limit.reach.source.clause})."
    if limit.hazard == "time_control" and limit.figure is not None:
        side = "hotter" if limit.bound == "min" else "colder"
        words = f"Starts at {plain(limit.figure.read_at(unit))}{NARROW}{SIGN[unit]} or {side} on the probe"
        if limit.stay is not None:
            words += (
                f", and never above {plain(limit.stay.read_at(unit))}{NARROW}{SIGN[unit]} meanwhile"
            )
        return f"{words}."
    if clock:
        begin = ""
        if limit.begin_s is not None:
            begin = f"Begin chilling within {duration(limit.begin_s)} after cooking. "
        return f"{begin}The clock starts when the probe falls to {clock}."
    return f"The clock starts when {limit.since}." if limit.stages else ""


def _hold(limit: Limit) -> tuple[str, str]:
    if limit.hold_s is None:
        return "", ""
    if limit.hold_s == 0:
        return "", "One reading is enough."
    return duration(to_side(limit.hold_s, "up")), (
        "without falling below" if limit.bound == "min" else "without rising above"
    )


def _stored(limit: Limit, kept: Figure, own: Degree) -> str:
    """How it is kept once it is frozen solid, in both scales."""
    assert limit.hold_s is not None
    reads = Temperature.of(kept.read_at(own), own)
    other = f"{plain(kept.read_at(other_scale(own)))}{NARROW}{SIGN[other_scale(own)]}"
    time = duration(to_side(limit.hold_s, "up"))
    return f"Until it is frozen solid; then stored at {reads} ({other}) or colder for {time}."


def _code(limit: Limit) -> tuple[str, str]:
    """The code's own figure in its own unit (bold), and the rest of the line."""
    figure = limit.figure
    if figure is None:
        return ("", limit.words) if limit.words else (limit_words(limit), "")
    if limit.stages:
        parts = []
        for number, stage in enumerate(limit.stages):
            shown = both(stage.figure.value, stage.figure.shown_c, stage.figure.shown_f)
            last = " in all" if number and number == len(limit.stages) - 1 else ""
            if stage.after_stage:
                last = " more"
            if stage.advised:
                last = ADVISED
            parts.append(f"to {shown} in {duration(stage.within_s)}{last}")
        if limit.finish is not None:
            end = limit.finish
            parts.append(f"to {both(end.value, end.shown_c, end.shown_f)} {BEFORE_PACKED}")
        if limit.clock is not None:
            clock = limit.clock
            return both(clock.value, clock.shown_c, clock.shown_f), " " + ", ".join(parts)
        return "", ", ".join(parts)
    own = figure.value.in_unit(figure.value.unit)
    text = both(figure.value, figure.shown_c, figure.shown_f)
    first = f"{plain(own)}{NARROW}{SIGN[figure.value.unit]}"
    rest = text.removeprefix(first)
    if limit.stored is not None:
        kept = limit.stored
        rest += f" until solid, then {both(kept.value, kept.shown_c, kept.shown_f)}"
    rest += hold_words(limit.row_hold_s)
    if limit.row_stand_s is not None:
        rest += f", then {duration(limit.row_stand_s)} covered"
    if limit.within_s is not None:
        rest += f", {duration(limit.within_s, days=False)} at most"
    if limit.stay is not None:
        rest += f", never above {both(limit.stay.value, limit.stay.shown_c, limit.stay.shown_f)}"
    return first, rest
