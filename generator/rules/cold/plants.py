"""Food that needs time and temperature control by what is done to it: plant food cut or mixed with
oil, dried milk and egg made wet."""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from fractions import Fraction

from generator.records.ingredient import Ingredient
from generator.reference.packs import Pack
from generator.reference.row_kinds import WordsRow
from generator.reference.rows import Plant
from generator.resolve.joined import House, JoinedStep
from generator.rules.basics.product import RAW_STATES, Component, Product, changed, words_of
from generator.rules.basics.spirits import in_spirits
from generator.rules.basics.without_cold import is_water

CUTS = frozenset({"cuts", "comminutes", "slices", "divides", "takes-off"})
"""What opens the skin of a plant: what is peeled, pitted or parted is cut as well."""
OTHER = "other"
_IN_ANY_STATE = ("oil", "sprouts")


def plant_of(ident: str, facts: Ingredient, plants: Mapping[str, Plant]) -> str:
    """The kind of plant food an ingredient is, "" if none of those the rules ask about.

    What the ingredient states; else what a word of its names says. Only raw plant food is meant,
    oil, and sprouts: eaten as they come, they are raw seed sprouts still (Food Code 3-801.11(C)).
    """
    if facts.plant is not None:
        return "" if facts.plant == OTHER else facts.plant
    if facts.species != "none":
        return ""
    names = " / ".join((facts.name, *words_of(ident), *facts.other_names)).casefold()
    for kind, plant in plants.items():
        if facts.state not in RAW_STATES and kind not in _IN_ANY_STATE:
            continue
        if _has(names, plant.known_by) and not _has(names, plant.unless):
            return kind
    return ""


def _has(names: str, words: tuple[str, ...]) -> bool:
    return bool(words) and _any_of(words).search(names) is not None


@functools.cache
def _any_of(words: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile(rf"\b(?:{'|'.join(re.escape(word.casefold()) for word in words)})\b")


def needs_as_it_comes(plant: str, pack: Pack) -> bool:
    """Whether raw food of a kind needs temperature control before anything is done to it."""
    return pack.row_for(WordsRow, f"{plant}-raw", "tcs") is not None


_SAYS_SPROUT = re.compile(r"\b(?:sprout|germinat)", re.IGNORECASE)


def seeds_in(product: Product, house: House) -> bool:
    """Whether raw seeds are in it that sprout once they are wet."""
    return any(sprouts_kind(c, house) and not c.cooked for c in product.components)


def sprouts_kind(part: Component, house: House) -> bool:
    """Whether a part is seeds of a kind that sprouts, which has a time of its own."""
    kind = house.library.plants.get(part.plant)
    return kind is not None and kind.sprouts_after is not None


def wets(step: JoinedStep) -> bool:
    """Whether a step makes what is dry wet, though no water is weighed in: it is soaked, or gains
    weight."""
    return "soaks" in step.effects or step.step.gains is not None or says_sprout(step)


_RINSES = re.compile(
    r"\b(?:wash|rins(?:e|ed|es|ing)|moisten|dampen|mist|sprinkle (?:them )?with water)\b",
    re.IGNORECASE,
)
_RINSES_TOOLS = re.compile(
    r"\b(?:hands?|jars?|bowls?|tools?|trays?|boards?|sieves?|surfaces?)\b", re.IGNORECASE
)


def rinses(step: JoinedStep) -> bool:
    """Whether a step makes what is dry moist by water that runs off it, by its verb or in its own
    words: seeds begin to sprout so."""
    return _rinse_in(step.verb, tuple(step.step.how))


@functools.lru_cache(4096)
def _rinse_in(verb: str, how: tuple[str, ...]) -> bool:
    if _RINSES.search(verb):
        return True
    return any(_RINSES.search(ln) and not _RINSES_TOOLS.search(ln) for ln in how)


def says_sprout(step: JoinedStep) -> bool:
    """Whether a step sprouts what is in it: by what it does, or in its own words."""
    words = (step.verb, *step.step.how, step.step.until or "")
    return "sprouts" in step.effects or _sprout_in(words)


@functools.lru_cache(4096)
def _sprout_in(words: tuple[str, ...]) -> bool:
    """Whether some words say that something sprouts: each step is asked by every later one."""
    return any(_SAYS_SPROUT.search(text) for text in words)


def sprouted(product: Product, wet_s: Fraction, house: House) -> Product:
    """The product once its raw seeds have been wet and warm for ``wet_s`` seconds: from the time
    their kind sprouts after, they are sprouts."""
    kinds = house.library.plants
    if not any(c.plant for c in product.components):
        return product
    found = tuple(
        changed(c, plant=kinds[c.plant].becomes, grown="here")
        if not c.cooked and _sprouts(kinds.get(c.plant), wet_s)
        else c
        for c in product.components
    )
    return changed(product, components=found)


def _sprouts(kind: Plant | None, wet_s: Fraction) -> bool:
    return (
        kind is not None and kind.sprouts_after is not None and wet_s >= kind.sprouts_after.seconds
    )


def soured(
    product: Product,
    effects: frozenset[str],
    wet_s: Fraction,
    house: House,
    soaked: bool = False,
    before_s: Fraction = Fraction(0),
) -> Product:
    """The product once moist raw plant food in it ferments: by a step that says so, or salted or
    wet, once it has been warm for ``wet_s`` seconds, longer than food may be out of the cold. Grain
    and nuts count too where they are ``soaked`` as long and no step cooks them later: rice that is
    drunk as horchata. Strong spirits keep what lies in them.

    It needs the cold from then on, cut or whole: what ferments to keep asks for its plan (Food Code
    3-502.11), whatever was done to it before. The time is a working rule of this manual.
    ``before_s`` are the seconds it stood warm at a stretch before the step: they count on.
    """
    long = wet_s > house.library.preparation.most.seconds
    if not long and "ferments" not in effects:
        return product
    sour = bool(product.acidified) or "acidifies" in effects  # it is asked for its pH there
    stands = "ferments" in effects or (
        _salted_or_wet(product, house) and not (sour or in_spirits(product))
    )
    kinds = house.library.plants if soaked and long and not sour else {}
    out_s = min(before_s, house.library.preparation.most.seconds)  # no error was reported for it
    found = tuple(
        needing_cold(c, out_s) if _turns(c, stands, kinds) else c for c in product.components
    )
    return changed(product, components=found)


def needing_cold(part: Component, before_s: Fraction) -> Component:
    """A part that needs the cold from now on: it stood warm for ``before_s`` seconds until now."""
    if part.tcs or not before_s:
        return changed(part, tcs=True)
    return changed(part, tcs=True, comes="between", out_s=max(part.out_s, before_s))


def _turns(part: Component, stands: bool, kinds: Mapping[str, Plant]) -> bool:
    return (stands and _can_sour(part)) or _soaks(part, kinds.get(part.plant))


def _soaks(part: Component, kind: Plant | None) -> bool:
    """Whether it is raw grain, a pulse or a nut, by its kind."""
    raw = part.state in RAW_STATES and not (part.cooked or part.heated)
    return kind is not None and kind.soaks and raw


def without_its_paper(product: Product, step: JoinedStep, house: House) -> Product:
    """The product with what came from a formula made ahead that needs no cold by a document alone
    (``papered``) needing it again, once water is put to it here: the document is of that food as it
    was. Heated plant food needs the cold (Food Code 1-201.10)."""
    if not any(c.papered for c in product.components):
        return product
    theirs = {c.came for c in product.components if c.papered}
    water = any(is_water(house, c) and c.came not in theirs for c in product.components)
    if not (water or wets(step)):
        return product
    found = tuple(
        changed(c, tcs=True, papered=False) if c.papered else c for c in product.components
    )
    return changed(product, components=found)


def _salted_or_wet(product: Product, house: House) -> bool:
    return any(c.function == "salt" or c.salt > 0 or is_water(house, c) for c in product.components)


def _can_sour(part: Component) -> bool:
    """Whether it is moist raw plant food: flour and dry goods, fat, sugar and acid aside."""
    raw = part.state in RAW_STATES and part.species == "none" and not (part.cooked or part.heated)
    moist = part.form != "dry" and not (part.boils or part.dried or part.acid or part.function)
    return raw and moist and not part.flour


def marked(product: Product, effects: frozenset[str], house: House) -> Product:
    """The product with its plant food marked by what a step does to it, and its dried milk, egg,
    meat and fish once they are wet.

    Food Code 1-201.10, "Time/temperature control for safety food": seed sprouts; melon, leafy
    greens and tomato once cut; garlic in oil; food of an animal. A pack without rows for plants
    changes nothing of them.
    """
    pack, kinds_known = house.pack, house.library.plants
    product = _dried_made_wet(product)
    if not any(map(_open_to_marks, product.components)):
        return product
    kinds = {c.plant for c in product.components if not c.cooked}
    fat = "oil" in kinds or any(c.boils == "fat" for c in product.components)
    in_oil = (
        "garlic" in kinds and fat and pack.row_for(WordsRow, "garlic-in-oil", "tcs") is not None
    )
    found = tuple(
        _marked(c, _opened(c, effects, kinds_known), pack, in_oil) for c in product.components
    )
    return changed(product, components=found)


def _dried_made_wet(product: Product) -> Product:
    """The product with its dried milk, egg, meat and fish needing the cold once they are wet."""
    if not any(c.dried for c in product.components) or not product.wet:
        return product
    soaked = tuple(changed(c, tcs=True) if c.dried else c for c in product.components)
    return changed(product, components=soaked)


def why_cold(product: Product, pack: Pack) -> str:
    """Which plant food makes a product need temperature control, with the clause; "" if none
    does."""
    fat = any(c.boils == "fat" for c in product.components)
    for component in product.components:
        if component.cooked or not component.tcs or not component.plant:
            continue
        if component.plant == "garlic" and not fat:
            continue  # it needs it for another reason
        for done in ("raw", "cut", "in-oil" if component.plant == "garlic" else "cut"):
            found = pack.row_for(WordsRow, f"{component.plant}-{done}", "tcs")
            if found is not None:
                return f"{component.name}: {found[1].food} ({found[1].clause})"
    return ""


def _opened(component: Component, effects: frozenset[str], plants: Mapping[str, Plant]) -> bool:
    """Whether a step with such effects opens the skin of a plant food of its kind."""
    kind = plants.get(component.plant)
    return bool(effects & CUTS) or (kind is not None and bool(effects & set(kind.cut_by)))


def _open_to_marks(component: Component) -> bool:
    """Whether it is plant food that may come to need the cold."""
    return bool(component.plant) and not (component.tcs or component.cooked)


def _marked(component: Component, opened: bool, pack: Pack, in_oil: bool) -> Component:
    if not _open_to_marks(component):
        return component
    cut = component.cut or opened
    by_cut = cut and pack.row_for(WordsRow, f"{component.plant}-cut", "tcs") is not None
    by_oil = in_oil and component.plant == "garlic"
    tcs = by_cut or by_oil or needs_as_it_comes(component.plant, pack)
    return changed(component, cut=cut, tcs=tcs)
