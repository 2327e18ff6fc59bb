"""What can hurt at a step: what is hot, sharp or turning there. By the food's state, the
temperature, the machine and the effects; never by a verb's name. What isn't stated counts as the
worse."""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass
from fractions import Fraction

from generator.measures.rounding import total
from generator.measures.temperature import Temperature
from generator.records.effects import HEATS, AtHand
from generator.resolve.joined import JoinedStep
from generator.rules.basics.product import RAW_STATES, Component, Product
from generator.sheet.walked import Walk, WalkedStep

SCALDS = Temperature.of(50, "°C")
"""From here on it counts as hot: ours, on the careful side of what is published of scalds."""
_OVER_WATER = Temperature.of(110, "°C")
"""Water in an open pan never gets this hot: what does is fat or sugar."""
_BOILS = Temperature.of(100, "°C")
HEATING = frozenset(
    {
        "kettle",
        "pot",
        "bath",
        "oven",
        "fryer",
        "griddle",
        "microwave",
        "hot-holding",
        "pressure-cooker",
        "retort",
    }
)
"""Machines that heat what is in them."""
_WET = frozenset({"kettle", "bath", "pressure-cooker", "retort"})
_PRESSURE = frozenset({"pressure-cooker", "retort"})
_OPEN_PAN = frozenset({"pot", "griddle", "kettle"})
OTHER = "other"
"""A machine that doesn't say what it does: it counts as one that isn't named, and moves."""
BLADES = frozenset({"slicer", "grinder", "cutter", "blender"})
"""Machines whose blades do the cutting: no knife is at hand."""
_DEEP = Fraction(1, 4)
"""The share of fat, or of fat and sugar, from which what is hot counts as deep fat."""
_MELTED = Fraction(1, 2)
"""The same where nothing is cooked by it: onions softened in butter."""
_FRIED_IN = Fraction(1, 10)
"""The same in what was hot oil a step before: food was added to it."""
_CONFIT = Fraction(1, 3)
"""The same in an oven, where a cake may hold a quarter."""
_POURS = Fraction(1, 3)
"""The share of liquid from which food counts as liquid."""
_STOOD, _STOOD_LIQUID = 3600, 4 * 3600
"""Seconds out of the heat after which food, and liquid, no longer burns: ours."""
_KNIFE = re.compile(
    r"\b(cleaver|grater|grated?|mandolin|mandoline|peeler|scissors|shears|band ?saw|"
    r"cut|cuts|carved?|chop|chopped|dice|diced|debone|halve|halved|knife|knives|mince|minced|quarter|quartered|score|"
    r"scored|shredded|sliced|trim|trimmed|julienne)\b",
    re.IGNORECASE,
)
_NAMED = {
    kind: re.compile(rf"\b(?:{words})\b", re.IGNORECASE)
    for kind, words in {
        "slicer": "slicers?|slicing machine|gravity feed",
        "grinder": "grinders?|mincers?|mincing machine",
        "cutter": "bowl cutter|bowl chopper|food processor",
        "blender": "blenders?|liquidi[sz]er",
        "mixer": "mixer|dough hook|mixing machine",
        "stuffer": "(?:sausage )?stuffer|sausage filler",
        "pressure-cooker": "pressure[- ]?cook(?:er|ed)?|autoclave",
    }.items()
}
"""Words that name a machine, used or not."""
_STICK = re.compile(
    r"\b(?:stick|hand|hand[- ]held|immersion)[- ]?(?:blender|mixer)\b|\bblending stick\b",
    re.IGNORECASE,
)
"""A blender put into the pot: nothing closes over what it blends."""
_BY_HAND = re.compile(
    r"\b(by hand|knife|knives|cleaver|mortar|pestle|fork|board|masher|ricer|mandolin(e)?)\b",
    re.IGNORECASE,
)
"""Words that name the tool of a step that names no machine."""
_STEAMS = re.compile(r"\bsteam(?:s|ed|ing|er|ers)?\b", re.IGNORECASE)
"""Names of a verb or a machine by which food cooks in steam: it burns like the water it comes
of."""
_CHOPS = re.compile(r"\bchop(?:s|ped|ping)?\b", re.IGNORECASE)
"""Names of a verb by which a knife or a cutter does the work: no grinder chops."""
_EMULSION = re.compile(r"\b(?:emulsi|mayonnaise|ganache|mount)", re.IGNORECASE)
"""Names of a verb by which fat and water are made one."""
_DEGREES = re.compile(
    r"(\d{2,3}(?:[.,]\d+)?)\s*(?:°|º|deg(?:rees?)?\.?)\s*(c|f)(?:elsius|ahrenheit)?\b",
    re.IGNORECASE,
)
_HOT = re.compile(
    r"\b(heat (?:up|it|the|some|over)|boil(?:s|ing|ed)?|simmer(?:s|ing|ed)?|fry|frying|"
    r"sear(?:s|ing)?|sizzl(?:es?|ing)|"
    r"hot (?:pan|oil|fat|lard|butter|ghee|water|tray|stock|syrup))\b",
    re.IGNORECASE,
)
_OIL = re.compile(
    r"\b(hot (?:oil|fat|lard|ghee)|deep[- ]?(?:fat|fry|frying|fries|fried|fryer)|"
    r"heat (?:up )?(?:the |some |plenty of )?(?:oil|fat|lard|ghee))\b",
    re.IGNORECASE,
)
"""Words by which something hot, or hot oil, is at a step. They, too, only add."""
_NEEDLE = re.compile(r"\b(needles?|injector|larding|skewers?)\b", re.IGNORECASE)
"""Words of a step, or of what is prepared for it, by which a knife is at hand. They only add to
what the effects say."""


@dataclass(frozen=True)
class _Warm:
    """How the food comes to a step: hot, cooked in liquid, baked through, in hot oil."""

    hot: bool = False
    wet: bool = False
    baked: bool = False
    oil: bool = False


def at_hand(walk: Walk) -> dict[int, frozenset[AtHand]]:
    """What is at hand at each step, by its number."""
    found: dict[int, frozenset[AtHand]] = {}
    left: dict[int, _Warm] = {}
    prepared = {ln.joined.part for ln in walk.lines if _KNIFE.search(ln.joined.line.prepare or "")}
    for walked in walk.steps:
        warm = _together([left[come.number] for come in walked.step.comes])
        left[walked.step.number] = warm
        if "cleans" in walked.step.effects:
            found[walked.step.number] = frozenset(_of_cleaning(walked))
            continue
        warm = _entering(warm, walked)
        sharp = _sharp(walked, warm, bool(prepared & set(walked.step.parts)))
        heat = _heat(walked, warm)
        found[walked.step.number] = frozenset(heat | sharp)
        warm = _Warm(warm.hot, warm.wet, warm.baked, "hot-oil" in heat)
        left[walked.step.number] = _leaving(warm, walked)
    return found


def _together(streams: list[_Warm]) -> _Warm:
    """How food comes to a step where streams of it meet: as warm as any of them."""
    if len(streams) == 1:
        return streams[0]
    return _Warm(
        any(one.hot for one in streams),
        any(one.wet for one in streams),
        any(one.baked for one in streams),
        any(one.oil for one in streams),
    )


def machines(step: JoinedStep) -> frozenset[str]:
    """The kinds of machine a step may be done on: the one it uses, those its words name, and, where
    it uses none and names no tool of the hand, those the trade does such work on."""
    machine, named = step.machine, _named(step)
    if machine is None:
        return named if named or _BY_HAND.search(_text(step)) else _done_on(step)
    known = named | {machine.kind}
    return known if machine.kind != OTHER or named else known | _done_on(step)


def _named(step: JoinedStep) -> frozenset[str]:
    """The kinds of machine that the words of a step, or the name of its machine, say."""
    text = _text(step) if step.machine is None else f"{_text(step)} {step.machine.name}"
    return _named_in(text)


@functools.lru_cache(4096)
def _named_in(text: str) -> frozenset[str]:
    """The kinds of machine a text says: each step is asked several times."""
    return frozenset(kind for kind, word in _NAMED.items() if word.search(text))


def machines_at(walked: WalkedStep) -> frozenset[str]:
    """The same, with the food at hand: what pours, with no raw meat or fish in it, goes through no
    grinder that nobody names."""
    kinds = machines(walked.step)
    said = "grinder" in _named(walked.step) or _kind(walked) == "grinder"
    liquid = pours(walked.before) and not walked.before.raw_animals
    smooth = liquid or _emulsifies(walked)
    return kinds - {"grinder"} if smooth and not said else kinds


def _done_on(step: JoinedStep) -> frozenset[str]:
    """The kinds of machine that the trade does such work on."""
    casing = step.vessel is not None and step.vessel.shape == "casing"
    unsaid = {
        "comminutes": {"grinder", "cutter", "blender"},
        "slices": {"slicer"},
        "packs-without-air": {"packer"},
        "fills": {"stuffer"} if casing else set(),
    }
    if _chops(step):
        unsaid["comminutes"] = {"cutter"}
    return frozenset(kind for effect in unsaid for kind in unsaid[effect] if effect in step.effects)


def _chops(step: JoinedStep) -> bool:
    """Whether it is chopped by the name of its verb, and by no machine that is named."""
    return step.machine is None and _CHOPS.search(step.verb) is not None


def _emulsifies(walked: WalkedStep) -> bool:
    """Whether a step makes an emulsion, by the name of its verb, with nothing raw in pieces in it:
    a ganache or a dressing is stirred and blended, and nobody cuts it."""
    if not _EMULSION.search(walked.step.verb):
        return False
    raw = (c for c in walked.before.components if c.state in RAW_STATES and not c.cooked)
    return not any(c.form not in ("liquid", "dry") and not c.boils for c in raw)


def _steams(step: JoinedStep) -> bool:
    """Whether food cooks in steam, by the name of its verb or of its machine."""
    names = step.verb if step.machine is None else f"{step.verb} {step.machine.name}"
    return "cooks" in step.effects and _STEAMS.search(names) is not None


def _text(step: JoinedStep) -> str:
    """The step's own words."""
    return " ".join((*step.step.how, step.step.until, step.step.note))


def _hottest(step: JoinedStep) -> Temperature | None:
    """The hottest that a step says it, or its food, is brought to: by its keys or in its words."""
    target = step.target.warmest if step.target is not None else None
    said = _degrees_in(_text(step))
    at = step.step.at.warmest if step.step.at is not None else None
    known = [t for t in (at, target, *said) if t is not None]
    return max(known, key=lambda t: t.celsius, default=None)


@functools.lru_cache(4096)
def _degrees_in(text: str) -> tuple[Temperature, ...]:
    """The temperatures that a text says."""
    return tuple(
        Temperature.of(Fraction(figure.replace(",", ".")), "°C" if unit in "cC" else "°F")
        for figure, unit in _DEGREES.findall(text)
    )


def _of_cleaning(walked: WalkedStep) -> set[AtHand]:
    """A machine that heats may be hot while it is cleaned, and a fryer full."""
    kind, found = _kind(walked), _said(walked)
    if kind in HEATING:
        found.add("hot")
        found.add("hot-oil" if kind == "fryer" else "hot-oven" if kind == "oven" else "hot-food")
    if kind in _PRESSURE:
        found.add("pressure")
    return found


def _said(walked: WalkedStep) -> set[AtHand]:
    """What the step's own words name as sharp."""
    return set(_sharp_in(" ".join((*walked.step.step.how, walked.step.step.note))))


@functools.lru_cache(4096)
def _sharp_in(text: str) -> tuple[AtHand, ...]:
    """What a text names as sharp; of what a step says `until`, it is the food's."""
    knife: tuple[AtHand, ...] = ("knife",) if _KNIFE.search(text) else ()
    return (*knife, "needles") if _NEEDLE.search(text) else knife


def _kind(walked: WalkedStep) -> str:
    """The machine's kind; nothing where that isn't said, or says nothing of what it does."""
    machine = walked.step.machine
    return machine.kind if machine is not None and machine.kind != OTHER else ""


def _stated_cool(walked: WalkedStep) -> bool:
    """Whether what heats it is stated to be too cool to burn, or it is in a cold place."""
    at = walked.step.step.at
    return walked.step.cold is not None or (at is not None and at.warmest < SCALDS)


def _heated(walked: WalkedStep) -> bool:
    """Whether something hot is at the step that isn't the food alone."""
    step = walked.step
    target = step.target.warmest if step.target is not None else None
    at = step.step.at.warmest if step.step.at is not None else None
    if any(t is not None and t >= SCALDS for t in (at, target)):
        return True
    if _stated_cool(walked):
        return False
    if not step.effects.isdisjoint(_HEATS_OR_HOLDS) or _kind(walked) in HEATING:
        return True
    hottest = _hottest(step)
    return (hottest is not None and hottest >= SCALDS) or _says_hot(_text(step))


_HEATS_OR_HOLDS = HEATS | {"holds-hot"}


@functools.lru_cache(4096)
def _says_hot(text: str) -> bool:
    return _HOT.search(text) is not None


def _entering(warm: _Warm, walked: WalkedStep) -> _Warm:
    """How the food is at a step, its parts taken in."""
    step, kind = walked.step, _kind(walked)
    taken = [c for c in walked.before.components if c.part in step.parts]
    heated = _heated(walked)
    hot = warm.hot or heated or any(c.comes == "hot" for c in taken)
    wet = warm.wet or (heated and _in_liquid(step, kind))
    bakes = "bakes" in step.effects and kind not in _WET | {"pot", "fryer", "griddle"}
    baked = (warm.baked and not taken and not (heated and wet)) or (heated and bakes)
    return _Warm(hot, wet and not baked, baked, warm.oil and not wet)


def _in_liquid(step: JoinedStep, kind: str) -> bool:
    """Whether food is in a liquid, or in steam, at a step, once that is hot."""
    wet = "in-water" in step.effects or kind in _WET or _steams(step)
    return wet or (kind == "pot" and "cooks" in step.effects)


def _leaving(warm: _Warm, walked: WalkedStep) -> _Warm:
    """How the food is once a step is done: cold, or was until it no longer burns, or as it
    was."""
    stay = walked.stay
    cold = stay.during in ("frozen", "cooling", "thawing")
    # minutes in the cold, or a time that isn't said, promise nothing of the food and leave it hot
    step = walked.step
    long = step.cold is not None if stay.seconds is None else stay.seconds >= _STOOD
    promised = step.target is not None or long
    cold = cold or (stay.during == "cold" and not walked.after.hot and promised)
    liquid = warm.wet or pours(walked.before)
    enough = _STOOD_LIQUID if liquid else _STOOD
    stood = stay.during in ("between", "by time", "by plan") and (stay.seconds or 0) >= enough
    return _Warm() if cold or (stood and not _heated(walked)) else warm


def _share(product: Product, of: tuple[Component, ...]) -> Fraction:
    mass = total(c.grams for c in product.components) if of else Fraction(0)
    return total(c.grams for c in of) / mass if mass else Fraction(0)


def pours(product: Product) -> bool:
    """Whether it is liquid for sure: worked out once, and kept beside the product."""
    kept: dict[str, bool] = product.__dict__
    if _KEPT not in kept:
        kept[_KEPT] = _pours(product)
    return kept[_KEPT]


_KEPT = "_pours"


def _pours(product: Product) -> bool:
    liquid = tuple(c for c in product.components if c.form == "liquid" and c.boils != "fat")
    return _share(product, liquid) >= _POURS


def _may_pour(product: Product) -> bool:
    """Whether it may be liquid: a form that isn't stated may be."""
    maybe = tuple(
        c
        for c in product.components
        if c.boils != "fat"
        and (c.form == "liquid" or (c.form is None and c.species in (None, "none")))
    )
    return _share(product, maybe) >= _POURS


def _heat(walked: WalkedStep, warm: _Warm) -> set[AtHand]:
    kind, step = _kind(walked), walked.step
    found: set[AtHand] = set()
    if kind == "fryer":
        found.add("hot-oil")
    if machines(step) & _PRESSURE:
        found.add("pressure")
    if warm.hot:
        found |= _burns(walked, warm)
        if _blends(step) and (warm.wet or _may_pour(walked.before)):
            found.add("hot-blending")
    if found or warm.hot:
        if not found & {"hot-oil", "hot-fat", "hot-liquid", "hot-oven"}:
            found.add("hot-food")
        found.add("hot")
    if walked.stay.during == "cooling" or (warm.hot and step.cold is not None):
        found.add("chilling")
        if warm.hot:
            found.add("chilling-hot")
    return found


def _blends(step: JoinedStep) -> bool:
    """Whether it may be blended in a closed jug."""
    blends = "blender" in machines(step) or (step.machine is None and "comminutes" in step.effects)
    return blends and not _in_the_pot(step)


def _in_the_pot(step: JoinedStep) -> bool:
    """Whether it is surely blended in an open pot: by the name of its machine, or, where it names
    none that blends, by its words, which name no other blender."""
    if step.machine is not None and step.machine.kind == "blender":
        return _STICK.search(step.machine.name) is not None
    text = _text(step)
    return _STICK.search(text) is not None and not _NAMED["blender"].search(_STICK.sub("", text))


def _burns(walked: WalkedStep, warm: _Warm) -> set[AtHand]:
    """Which hot things: fat, liquid, the oven."""
    kind, step, product = _kind(walked), walked.step, walked.before
    heated, found = _heated(walked), set[AtHand]()
    wet = warm.wet or ((heated or not warm.baked) and _may_pour(product))
    dry_heat = heated and bool(step.effects & (HEATS | {"cooks"})) and kind not in _WET
    if heated and (kind == "oven" or (not kind and "bakes" in step.effects)):
        found.add("hot-oven")
    if not warm.baked:
        found |= _fat(walked, warm, dry_heat)
    surely = (warm.wet and kind != "fryer") or pours(product)
    if not warm.baked and (surely or (wet and not found)):
        found.add("hot-liquid")
    return found


def _says_nothing(step: JoinedStep, kind: str) -> bool:
    """Whether nothing says what a step heats in."""
    said = step.step.at is not None or "in-water" in step.effects or _steams(step)
    return not kind and not said


def _fat(walked: WalkedStep, warm: _Warm, dry_heat: bool) -> set[AtHand]:
    """Hot fat: deep, or a little in a pan. No machine named, and too hot for water: deep fat."""
    kind, step, product = _kind(walked), walked.step, walked.before
    fat = tuple(c for c in product.components if c.boils == "fat")
    if _deep(walked, warm, dry_heat, fat):
        return {"hot-oil"}
    unknown = _says_nothing(step, kind)
    if kind == "griddle" or (unknown and "cooks" in step.effects and dry_heat):
        return {"hot-fat"}
    pan = kind in _OPEN_PAN or (not kind and not _steams(step))
    hot = dry_heat or _heated(walked)
    return {"hot-fat"} if fat and pan and hot and not pours(product) else set()


def _deep(walked: WalkedStep, warm: _Warm, dry_heat: bool, fat: tuple[Component, ...]) -> bool:
    """Whether there is deep hot fat or sugar: by its share, by what the step says, by a heat that
    water doesn't come to in an open pan, or still from the step before."""
    kind, step, product = _kind(walked), walked.step, walked.before
    boils = tuple(c for c in product.components if c.boils)
    in_oven = kind in ("oven", "microwave", "hot-holding")
    cooks = bool(step.effects & {"cooks", "part-cooks"})
    least = _CONFIT if in_oven else _DEEP if cooks else _MELTED
    watery = _stays_watery(walked, boils)
    if _share(product, (boils, fat)[in_oven | watery]) >= least:
        return True
    if in_oven or kind in _WET or ("bakes" in step.effects and kind != "pot"):
        return False
    if _OIL.search(_text(step)):
        return True
    if warm.oil and not pours(product) and _share(product, fat) >= _FRIED_IN:
        return True
    return _over_water(step, kind) and (dry_heat or _share(product, boils) >= _FRIED_IN)


def _over_water(step: JoinedStep, kind: str) -> bool:
    """Whether an open pan gets hotter than water does."""
    hottest = _hottest(step)
    return hottest is not None and hottest >= _OVER_WATER and kind in ("", "pot")


def _stays_watery(walked: WalkedStep, boils: tuple[Component, ...]) -> bool:
    """Whether sugar is surely dissolved in water: less than half is sugar or fat, and the food is
    brought to a temperature at which water doesn't boil. Then it is no hotter than its water."""
    target, hottest = walked.step.target, _hottest(walked.step)
    below = hottest is not None and hottest < _BOILS
    return target is not None and below and _share(walked.before, boils) < _MELTED


def _sharp(walked: WalkedStep, warm: _Warm, prepared: bool) -> set[AtHand]:
    kind, found = _kind(walked), _said(walked)
    if walked.step.effects & {"injects", "tenderises"}:
        found.add("needles")
    if (kind not in BLADES and _cuts_by_hand(walked, warm)) or prepared:
        found.add("knife")
    return found


def _cuts_by_hand(walked: WalkedStep, warm: _Warm) -> bool:
    """Whether a knife does the work of a step: it cuts, or parts what is in pieces, or makes it
    small on no machine that is named."""
    step, liquid = walked.step, warm.wet or pours(walked.before)
    if step.effects & {"cuts", "slices"}:
        return True
    if step.effects & {"takes-off", "divides"} and not liquid and step.vessel is None:
        return True
    smooth = liquid or _emulsifies(walked)
    return "comminutes" in step.effects and not (_kind(walked) or smooth)
