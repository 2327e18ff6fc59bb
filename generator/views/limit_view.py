"""A critical limit in the words and figures of its box."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import assert_never

from generator.measures.basis import Basis
from generator.measures.marks import Mark, Weights, decimal_mark, weights_in_force
from generator.measures.rounding import to_side
from generator.measures.temperature import Degree, Temperature
from generator.measures.words import NARROW, duration, duration_figure, listed, plain
from generator.resolve.joined import House
from generator.rules.basics.limit import (
    STRICT_SIDE,
    AcidityLimit,
    CoolingLimit,
    DoseLimit,
    Figure,
    HeatingLimit,
    InWords,
    KeepingLimit,
    Lasts,
    Limit,
    NotCovered,
    Probed,
    Reach,
    ShareLimit,
    TimeLimit,
    most_time,
)
from generator.rules.basics.missed import missed_words
from generator.views.code_line import ADVISED, BEFORE_PACKED, code_line
from generator.views.limit_shape import LABELS as LABELS
from generator.views.limit_shape import Chip as Chip
from generator.views.limit_shape import FigureView as FigureView
from generator.views.limit_shape import LimitView as LimitView

_Head = tuple[str, str]


def at_a_glance(view: LimitView) -> tuple[Chip, ...]:
    """A limit's figures as chips where its box isn't beside them: a hold is with its figure,
    and whose the figure is where it isn't the code's."""
    more = f" for {view.hold}" if view.hold else ""
    more += f", then {view.stand} covered" if view.stand else ""
    if view.house:
        more += ", house limit" if view.stricter else ", looser than the code"
    return (
        tuple(replace(chip, words=f"{chip.words}{more}") for chip in view.chips)
        if more
        else view.chips
    )


_MOST = 20_000
_VIEWS: dict[tuple[int, int, Mark, Weights], tuple[House, Limit, LimitView]] = {}
"""The views made last, with what they are of: a limit is on its page, in lists, in logs."""


def limit_view(house: House, limit: Limit) -> LimitView:
    """The view of a limit in the kitchen's unit; made once for each way to write figures."""
    key = id(house), id(limit), decimal_mark(), weights_in_force()
    held = _VIEWS.get(key)  # holds both, so that nothing else has their ids meanwhile
    if held is None:
        if len(_VIEWS) >= _MOST:
            _VIEWS.clear()
        held = _VIEWS[key] = (house, limit, _view(house, limit))
    return held[2]


def _view(house: House, limit: Limit) -> LimitView:
    words = house.library.hazards.get(limit.hazard)
    head = words.headed if words else (limit.hazard.replace("_", " "), "")
    match limit:
        case NotCovered():
            return _not_covered(limit, head)
        case DoseLimit():
            return _additive(house, limit, head)
        case ShareLimit():
            return _share(house, limit, head)
        case AcidityLimit():
            return _acidity(house, limit, head)
        case InWords():
            return _in_words(house, limit, head)
        case HeatingLimit() | KeepingLimit() | CoolingLimit() | TimeLimit():
            return _measured(house, limit, head)
        case _:
            assert_never(limit)


def _not_covered(limit: NotCovered, head: _Head) -> LimitView:
    """A step the pack holds no row for: no figure, and why."""
    return LimitView(
        id=limit.id,
        covered=False,
        hazard=limit.hazard,
        done=head[0],
        asks=head[1],
        note=limit.why,
        chips=(Chip("", "not covered"),),
    )


def _measured(house: House, limit: Probed | TimeLimit, head: _Head) -> LimitView:
    """A temperature, a course of cooling, or a most time, with the law's own figures beneath."""
    words = house.library.hazards.get(limit.hazard)
    own = house.kitchen.temperature
    other = other_scale(own)
    figures = _in_both(limit, own, other)
    start = _start(limit, own)
    hold, rest = _hold(limit, own)
    stand = _stand(limit)
    law = limit.law or limit
    code, code_rest = code_line(law)
    missed = missed_words(house, limit, words, own)
    missed_other = missed_words(house, limit, words, other)
    asked = listed(tuple(f.number for f in figures))
    house_words, house_rest = _house_words(limit)
    return LimitView(
        id=limit.id,
        covered=True,
        hazard=limit.hazard,
        done=head[0],
        asks=_asks(limit, head[1]),
        figures=figures,
        start=start,
        hold=hold,
        hold_rest=rest,
        check=_check(limit, words.check if words else ""),
        if_missed=missed,
        code=code,
        code_rest=code_rest,
        document=law.source.document,
        clause=law.source.clause,
        note=limit.note,
        why=f"Why {asked}{NARROW}{figures[0].unit}?",
        basis=basis_rows(limit.basis),
        chips=tuple(f.chip for f in figures),
        target="" if isinstance(limit, TimeLimit) else limit.target,
        label=source_label(law),
        house=house_words,
        house_rest=house_rest,
        hold_s=_seconds(limit) if hold else 0,
        stand=duration(stand) if stand else "",
        stand_s=int(to_side(stand, "up")),
        start_other=_start(limit, other) if start else "",
        stricter=limit.house is None or limit.house.standing == "stricter",
        missed_other=missed_other if missed_other != missed else "",
        start_alone=_clock_alone(limit),
    )


def _in_both(limit: Probed | TimeLimit, own: Degree, other: Degree) -> tuple[FigureView, ...]:
    """A limit's figures in the kitchen's scale, each temperature in the other scale beside it."""
    figures = figures_in(limit, own, own)
    if most_time(limit) is not None:
        return figures
    return tuple(
        replace(figure, other=(second.number, second.unit))
        for figure, second in zip(figures, figures_in(limit, other, own), strict=True)
    )


def _house_words(limit: Probed | TimeLimit) -> tuple[str, str]:
    """How a house limit is to the code, and what else is named it; empty without one."""
    if limit.house is None:
        return "", ""
    return limit.house.words, limit.house.compared.removeprefix(limit.house.words)


def _stand(limit: Probed | TimeLimit) -> Fraction:
    """The seconds it is left to stand after its hold; none for most."""
    stand = limit.stand if isinstance(limit, HeatingLimit) else None
    return stand.asked_s if stand is not None else Fraction(0)


def _asks(limit: Probed | TimeLimit, asks: str) -> str:
    """What its box asks for: "probe must read", "no longer than"."""
    if limit.hazard == "reduced_oxygen":
        asks = "seal" if limit.bound == "min" else "keep"
    if most_time(limit) is not None:
        asks = "no longer than"
    if not isinstance(limit, TimeLimit) and limit.measured in ("air", "surface"):
        asks = f"the {limit.measured} must read"
    return asks


def _seconds(limit: Probed | TimeLimit) -> int:
    """The hold in whole seconds, rounded up."""
    held = limit.hold_s if isinstance(limit, HeatingLimit | KeepingLimit) else None
    return int(to_side(held or Fraction(0), "up"))


def source_label(limit: Limit) -> str:
    """What is before the source's own figure: an authority's guidance is never called code."""
    return LABELS.get(limit.source.standing, "Code")


def _in_words(house: House, limit: InWords, head: _Head) -> LimitView:
    """A rule that sets no figure: its words where the figure would be."""
    words = house.library.hazards.get(limit.hazard)
    source = limit.source
    return LimitView(
        id=limit.id,
        covered=True,
        hazard=limit.hazard,
        done=head[0],
        asks="",
        check=_check(limit, ""),
        if_missed=missed_words(house, limit, words, house.kitchen.temperature),
        document=source.document,
        clause=source.clause,
        note=limit.note,
        why="Why no figure?",
        basis=basis_rows(limit.basis),
        chips=(Chip("", "no figure in the law"),),
        target=limit.target,
        words=limit.words,
        label=source_label(limit),
    )


def _additive(house: House, limit: DoseLimit, head: _Head) -> LimitView:
    """A dose by law: what is dosed, and what is the most, or of an accelerator the least."""
    words = house.library.hazards.get(limit.hazard)
    bound, capped = limit.law_ppm, limit.most_ppm is not None
    figure = FigureView(
        plain(bound), "ppm", f"of {limit.substance}" if capped else "or more", bound
    )
    least = (
        f" At least {plain(limit.least_ppm)}{NARROW}ppm."
        if capped and limit.least_ppm is not None
        else ""
    )
    return LimitView(
        id=limit.id,
        covered=True,
        hazard=limit.hazard,
        done=head[0],
        asks=head[1] if capped else limit.substance,
        figures=(figure,),
        check=words.check if words else "",
        if_missed=missed_words(house, limit, words, house.kitchen.temperature),
        code=f"{plain(bound)}{NARROW}ppm",
        code_rest=f" of {limit.substance} on the meat block",
        document=limit.source.document,
        why=f"Why {plain(limit.ppm, 2)}{NARROW}ppm?",
        basis=basis_rows(limit.basis),
        chips=(Chip(f"{plain(bound)}{NARROW}ppm", "at most" if capped else "at least"),),
        dose=f"{plain(limit.ppm, 2)}{NARROW}ppm by this formula.{least}",
    )


def _share(house: House, limit: ShareLimit, head: _Head) -> LimitView:
    """A bound on what it is made of, and what it comes to by this formula."""
    words = house.library.hazards.get(limit.hazard)
    side = "at most" if limit.bound == "max" else "at least"
    found = f"{limit.words}{NARROW}%"
    bound = f"{plain(limit.percent)}{NARROW}%"
    return LimitView(
        id=limit.id,
        covered=True,
        hazard=limit.hazard,
        done=head[0],
        asks=side,
        figures=(FigureView(plain(limit.percent), "%", limit.of, limit.percent),),
        check=words.check if words else "",
        if_missed=missed_words(house, limit, words, house.kitchen.temperature),
        code=bound,
        code_rest=f" {limit.of}",
        document=limit.source.clause,
        why=f"Why {found}?",
        basis=basis_rows(limit.basis),
        chips=(Chip(bound, f"{side} {limit.of}"),),
        note=f"{found} by this formula.",
        label=source_label(limit),
    )


def _acidity(house: House, limit: AcidityLimit, head: _Head) -> LimitView:
    """A pH: what the meter must read, with the law's own figure beneath."""
    words = house.library.hazards.get(limit.hazard)
    ph = limit.ph
    side = "or less on the meter" if not ph.read_below else "or more is too much"
    figure = FigureView(plain(ph.read), "pH", side, ph.read)
    return LimitView(
        id=limit.id,
        covered=True,
        hazard=limit.hazard,
        done=head[0],
        asks=head[1],
        figures=(figure,),
        check=_check(limit, words.check if words else ""),
        if_missed=missed_words(house, limit, words, house.kitchen.temperature),
        code=ph.law_words(),
        document=limit.source.document,
        clause=limit.source.clause,
        note=limit.note,
        why=f"Why {ph.read_words()}?",
        basis=basis_rows(limit.basis),
        chips=(figure.chip,),
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
    if not isinstance(limit, CoolingLimit):
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
    return "°F" if unit == "°C" else "°C"


def asked_at(limit: Probed, figure: Figure, unit: Degree, own: Degree) -> Fraction:
    """What the page asks for at ``figure``, in either scale; ``own`` is the kitchen's, which the
    limit's ``read`` is in. In the other it is rounded to the strict side, and never laxer than the
    law on the probe."""
    law = figure.read_at(unit)
    if unit == own:
        return limit.read
    if limit.read == figure.read_at(own):
        return law
    stricter = max if limit.bound == "min" else min
    return stricter(law, Temperature.of(limit.read, own).rounded(unit, STRICT_SIDE[limit.bound]))


def figures_in(limit: Probed | TimeLimit, unit: Degree, own: Degree) -> tuple[FigureView, ...]:
    """The large figures of a box in ``unit``: a time goes before the temperature it is spent at."""
    match limit:
        case CoolingLimit():
            return _stages(limit, unit, own)
        case TimeLimit(lasts=lasts) | KeepingLimit(lasts=Lasts() as lasts):
            number, time_unit = duration_figure(lasts.most_s, days=False)
            return (FigureView(number, time_unit, lasts.words, lasts.most_s),)
        case HeatingLimit() | KeepingLimit():
            reads = asked_at(limit, limit.figure, unit, own)
            side = "or hotter" if limit.bound == "min" else "or colder"
            return (FigureView(plain(reads), unit, side, reads, _where_and_when(limit)),)
        case _:
            assert_never(limit)


def _where_and_when(limit: HeatingLimit | KeepingLimit) -> str:
    """What is behind "or colder"."""
    words = ", on its surface" if limit.measured == "surface" else ""
    if isinstance(limit, KeepingLimit) and limit.when:
        words = f"{words}, {limit.when}"
    return words


def _stages(limit: CoolingLimit, unit: Degree, own: Degree) -> tuple[FigureView, ...]:
    found = []
    for stage in limit.stages:
        figure = stage.figure.read_at(unit)
        if stage is limit.stages[-1] and limit.finish is None:
            figure = min(figure, asked_at(limit, stage.figure, unit, own))
        words = f"within {duration(stage.within_s)}"
        if stage.after_stage:
            words += " of that"
        words += ADVISED if stage.advised else ""
        found.append(FigureView(plain(figure), unit, words, figure))
    if limit.finish is not None:
        figure = min(limit.finish.read_at(unit), asked_at(limit, limit.finish, unit, own))
        found.append(FigureView(plain(figure), unit, BEFORE_PACKED, figure))
    return tuple(found)


def clock_words(limit: CoolingLimit, unit: Degree) -> str:
    """The reading at which a cooling clock starts: "59 °C"; empty where none is set."""
    return NARROW.join(clock_figure(limit, unit)) if limit.clock is not None else ""


def clock_figure(limit: CoolingLimit, unit: Degree) -> tuple[str, str]:
    """That reading's number and unit; both empty where none is set."""
    if limit.clock is None:
        return "", ""
    return plain(limit.clock.read_at(unit)), unit


def _on_the_probe(figure: Figure, unit: Degree) -> str:
    return f"{plain(figure.read_at(unit))}{NARROW}{unit}"


def _start(limit: Probed | TimeLimit, unit: Degree) -> str:
    """When what is timed begins, as a sentence; empty where nothing is, or nobody says."""
    match limit:
        case HeatingLimit(reach=Reach() as reach):
            cold, within = _on_the_probe(reach.start, unit), duration(reach.within_s)
            return f"From {cold} on the probe, be there within {within} ({reach.source.clause})."
        case KeepingLimit(hazard="time_control"):
            side = "hotter" if limit.bound == "min" else "colder"
            words = f"Starts at {_on_the_probe(limit.figure, unit)} or {side} on the probe"
            stay = limit.lasts.never_above if limit.lasts is not None else None
            if stay is not None:
                words += f". Never above {_on_the_probe(stay, unit)} while the time runs"
            return f"{words}."
        case CoolingLimit(clock=None):
            return f"The clock starts when {limit.since}."
        case CoolingLimit():
            begin = ""
            if limit.begin_s is not None:
                begin = f"Begin chilling within {duration(limit.begin_s)} after cooking. "
            clock = clock_words(limit, unit)
            return f"{begin}The clock starts when the probe falls to {clock}."
        case HeatingLimit() | KeepingLimit() | TimeLimit():
            return ""
        case _:
            assert_never(limit)


def _clock_alone(limit: Probed | TimeLimit) -> bool:
    """Whether all there is to say of the start is the reading that starts the clock."""
    return isinstance(limit, CoolingLimit) and limit.clock is not None and limit.begin_s is None


def _hold(limit: Probed | TimeLimit, own: Degree) -> tuple[str, str]:
    """How long the temperature is held, and the words behind that."""
    if not isinstance(limit, HeatingLimit | KeepingLimit) or limit.hold is None:
        return "", ""
    time = duration(to_side(limit.hold.asked_s, "up"))
    if isinstance(limit, KeepingLimit) and limit.stored is not None:
        return "", _stored(limit.stored, own, time)
    if limit.hold.asked_s == 0:
        return "", "One reading is enough."
    return time, "without falling below" if limit.bound == "min" else "without rising above"


def _stored(kept: Figure, own: Degree, time: str) -> str:
    """How it is kept once it is frozen solid, in both scales."""
    reads = Temperature.of(kept.read_at(own), own)
    other = _on_the_probe(kept, other_scale(own))
    return f"Until it is frozen solid. Then store it at {reads} ({other}) or colder for {time}."
