"""Equipment checked against itself and the house: stations, loads, what a vessel can hold."""

from __future__ import annotations

import datetime
from fractions import Fraction

from generator.files.finding import Finding
from generator.intake.reading import EVERYTHING
from generator.measures.amounts import Amount
from generator.measures.temperature import TemperatureDifference
from generator.measures.words import NARROW, date, plain
from generator.records.equipment import Cold, Equipment, Machine, Scale, Thermometer, Vessel
from generator.records.formula import Formula
from generator.resolve.due_checks import overdue_findings
from generator.resolve.names import Names
from generator.resolve.pull_up import check_pull_up
from generator.resolve.scales import check_scale
from generator.resolve.vessels import volume_ml as inside_ml


def check_equipment(names: Names, as_of: datetime.date) -> None:
    """Stations that don't exist, a least above a most, a vessel said to hold more than it can."""
    for ident, item in names.standards.equipment.items():
        about = f"equipment:{ident}"
        _stations(names, item, about)
        if isinstance(item, Scale | Thermometer):
            _last_check(names, ident, item, as_of)
        if isinstance(item, Scale) and check_scale(names, item, about):
            continue  # a least above a most would be the same slip once more
        least, most = _bounds(item)
        if least is not None and most is not None and least.value > most.value:
            names.error(
                "least-above-most",
                item.place("minimum"),
                f"{item.name}: at least {least.text}, and at most {most.text}.",
                "Check `minimum` and `capacity`.",
                about,
            )
        if isinstance(item, Machine):
            _machine(names, item, about)
        if isinstance(item, Vessel) and item.capacity is not None:
            _holds(names, item, item.capacity, about)
        if isinstance(item, Machine | Cold):
            _fitted(names, item, about)
            _heats(names, item, about)
    names.findings += overdue_findings(names.standards, as_of)


CHECK_CODES = frozenset(
    {"check-in-future", "check-beyond-accuracy", "probe-not-for-food", "probe-too-inaccurate"}
)
"""What is wrong with a thermometer or a scale, or with its check: it stops what is to be weighed
and read, and says nothing of what is in a formula."""


_KEEP = " Keep this one under `failed_checks`: then the batches it read are named."


def _last_check(names: Names, ident: str, item: Scale | Thermometer, as_of: datetime.date) -> None:
    """A check whose day has come, and that found it no further off than it is said to be: every
    weight and set-point counts with its accuracy."""
    if isinstance(item, Thermometer):
        _failed_checks(names, ident, item, as_of)
    check = item.last_check
    if check is None:
        return
    kitchen = names.standards.kitchen
    all_rest = kitchen is not None and kitchen.probe == ident
    about = EVERYTHING if all_rest else f"equipment:{ident}"
    if check.date > as_of:
        words = f"{item.name}: the day of its last check has not come."
        names.error("check-in-future", check.place("date"), words, "Check the day.", about)
    if _further_off(item):
        names.error(
            "check-beyond-accuracy",
            check.place("off_by"),
            f"{item.name} was off by more than its accuracy.",
            "Have it adjusted, and enter the new check. Or write an accuracy that covers it."
            f"{_KEEP if isinstance(item, Thermometer) else ''}",
            about,
        )


def _failed_checks(names: Names, ident: str, item: Thermometer, as_of: datetime.date) -> None:
    """Failed checks whose day has come, each after the day on which it was right."""
    for number, failed in enumerate(item.failed_checks):
        if failed.date > as_of:
            words = f"{item.name}: the day of a failed check has not come."
            place = item.place("failed_checks", number, "date")
            names.error("check-in-future", place, words, "Check the day.", f"equipment:{ident}")
        if failed.right_on is not None and failed.right_on > failed.date:
            words = (
                f"{item.name} failed its check on {date(failed.date)}. It can't have been right "
            )
            words += f"on {date(failed.right_on)}, later."
            place = item.place("failed_checks", number, "right_on")
            help = "Write the day of the check before it."
            names.error("check-days", place, words, help, f"equipment:{ident}")


def _further_off(item: Scale | Thermometer) -> bool:
    """Whether the last check found it further off than its accuracy."""
    check = item.last_check
    if isinstance(item, Thermometer):
        off = item.last_check.off_by if item.last_check is not None else None
        return off is not None and off.celsius > item.accuracy.celsius
    mass = check.off_by if check is not None else None
    return isinstance(mass, Amount) and mass.value > item.accuracy.value


def _fitted(names: Names, item: Machine | Cold, about: str) -> None:
    """Each fitted run is of a vessel that exists, on a day that has come; and one a vessel."""
    vessels = [i for i, e in names.standards.equipment.items() if isinstance(e, Vessel)]
    seen: set[str | None] = set()
    for number, run in enumerate(item.fitted):
        place = item.place("fitted", number, "vessel")
        if run.vessel is not None and run.vessel not in vessels:
            names.unknown("vessel-unknown", "vessel", run.vessel, place, vessels, about)
        if run.vessel in seen:
            names.error(
                "fitted-twice",
                item.place("fitted", number),
                f"{item.name}: two fitted runs of {run.vessel or 'food without a vessel'}.",
                "Keep the newer one.",
                about,
            )
        seen.add(run.vessel)


_IN_WATER = ("bath", "pot", "kettle")
_READ_FOR = {
    "power": ("oven", *_IN_WATER, "refrigerator", "blast-chiller"),
    "pull_up": ("refrigerator", "blast-chiller"),
    "water": (*_IN_WATER, "ice-bath"),
    "ice": ("ice-bath",),
    "stirred": (*_IN_WATER, "ice-bath"),
}
"""The kinds of which a prediction reads a key."""


def _heats(names: Names, item: Machine | Cold, about: str) -> None:
    """What it says of its heat can be meant of such a thing, and goes in."""
    for key, kinds in _READ_FOR.items():
        if getattr(item, key, None) is not None and item.kind not in kinds:
            names.error(
                "heat-not-read",
                item.place(key),
                f"{item.name}: its kind is {item.kind}. Nothing reads its `{key}`.",
                f"Leave it out. It is read of these: {', '.join(kinds)}.",
                about,
            )
        elif key == "pull_up" and isinstance(item, Cold):
            check_pull_up(names, item, about)
    if not isinstance(item, Machine) or item.water is None or item.bowl is None:
        return
    if item.water.value > item.bowl.value:
        names.error(
            "water-above-bowl",
            item.place("water"),
            f"{item.name}: {item.water.text} of water, and its bowl is {item.bowl.text}.",
            "Check `water` and `bowl`.",
            about,
        )


def _stations(names: Names, item: Equipment, about: str) -> None:
    """Each station a piece of equipment is at exists."""
    for number, station in enumerate(item.station):
        if station not in names.standards.stations:
            names.unknown(
                "station-unknown",
                "station",
                station,
                item.place("station", number),
                names.standards.stations,
                about,
            )


def _machine(names: Names, item: Machine, about: str) -> None:
    """What a machine says of itself, against its name and its kind."""
    _microwave(names, item, about)
    if item.friction is not None:
        _friction(names, item, item.friction, about)


def _microwave(names: Names, item: Machine, about: str) -> None:
    """A microwave oven says it is one: raw food cooked in it has a limit of its own."""
    if "microwave" in item.name.casefold() and item.kind != "microwave":
        names.error(
            "microwave-unsaid",
            item.place("kind"),
            f"{item.name}: its kind is {item.kind}. Food in a microwave oven has limits of its "
            "own.",
            "Write the kind it is, or another name.",
            about,
            [item.place("kind").fixed("microwave")],
        )


MOST_FRICTION = Fraction(30)
"""°C beyond which a mixer's friction is asked about: published ones go to 20 °C. A working rule of
ours."""


def _friction(names: Names, item: Machine, friction: TemperatureDifference, about: str) -> None:
    """Friction is of a mixer, and can be meant."""
    place = item.place("friction")
    if item.kind != "mixer":
        names.error(
            "friction-without-mixer",
            place,
            f"{item.name} is no mixer. It adds no friction to a dough.",
            "Write it at the mixer that kneads the dough.",
            about,
        )
    elif friction.celsius > MOST_FRICTION:
        words = f"A friction of {friction}. Is that right?"
        help = "Check the figure and its scale."
        of = frozenset({about})
        names.findings.append(
            Finding("temperature-implausible", "warning", words, place, help, about=of)
        )


def _bounds(item: Equipment) -> tuple[Amount | None, Amount | None]:
    if isinstance(item, Scale | Machine | Cold):
        return item.minimum, item.capacity
    return None, None


TIN_OFF = Fraction(1, 10)
"""How far a fill may be from what its tin takes by `tin_room` before it is asked about."""


def check_tin(names: Names, ident: str, formula: Formula, vessel: Vessel | None) -> None:
    """The room each gram of dough has in its tin: there is a tin with inside measures, and the fill
    is about what it takes."""
    dough, makes = formula.dough, formula.makes
    if dough is None or dough.tin_room is None:
        return
    place = dough.place("tin_room")
    inside = volume_ml(vessel) if vessel is not None else None
    if inside is None:
        names.error(
            "tin-missing",
            place,
            "Room in a tin, and no vessel with inside measures.",
            "Name the `vessel` under `makes`, and give its `inside` measures in the equipment.",
            ident,
        )
        return
    takes = inside / dough.tin_room.value
    fill = makes.fill_weight if makes is not None else None
    if fill is not None and abs(fill.value - takes) > takes * TIN_OFF:
        words = (
            f"By its tin a fill is {plain(takes, 0)}{NARROW}g, and `fill_weight` is {fill.text}."
        )
        help = "Check both, and the inside measures of the vessel."
        about = frozenset({ident})
        names.findings.append(Finding("tin-fill-apart", "warning", words, place, help, about=about))


def volume_ml(vessel: Vessel) -> Fraction | None:
    """What a vessel holds below its headspace, in ml; None if a measure isn't given."""
    inside = vessel.inside
    empty = vessel.headspace.value if vessel.headspace else Fraction(0)
    sides = (inside.diameter, inside.length, inside.width, inside.depth)
    diameter, length, width, depth = (s.value if s is not None else None for s in sides)
    if vessel.shape == "casing":
        length = length - empty if length is not None else None
    else:
        depth = depth - empty if depth is not None else None
    return inside_ml(vessel.shape, diameter, length, width, depth)


def _holds(names: Names, vessel: Vessel, holds: Amount, about: str) -> None:
    volume = volume_ml(vessel)
    densest, food = names.library.densest
    if volume is None or not densest or holds.value <= volume * densest:
        return
    litres = f"{plain(volume / 1000, 2)}{NARROW}l"
    most = f"{plain(volume * densest / 1000, 1)}{NARROW}kg"
    names.error(
        "vessel-overfull",
        vessel.place("capacity"),
        f"{vessel.name}: {litres} by its measures. It can't hold {holds.text}.",
        f"Even of the heaviest food known here ({food.lower()}) it holds {most}. Check "
        "`inside` and `capacity`.",
        about,
    )


def check_fill(names: Names, ident: str, formula: Formula, vessel: Vessel | None) -> None:
    """One fill must go into its vessel."""
    makes = formula.makes
    if vessel is None or makes is None or makes.fill_weight is None or vessel.capacity is None:
        return
    if makes.fill_weight.value > vessel.capacity.value:
        names.error(
            "vessel-overfull",
            makes.place("fill_weight"),
            f"A fill of {makes.fill_weight.text} is more than the {vessel.capacity.text} "
            f"{vessel.name} holds.",
            "Choose a smaller fill or another vessel.",
            ident,
        )
