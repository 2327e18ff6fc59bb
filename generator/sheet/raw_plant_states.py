"""States of raw plant food that raise a caution: flour, juice, beans and sprouts."""

from __future__ import annotations

from collections.abc import Callable

from generator.rules.basics.flour import is_raw_flour
from generator.rules.basics.product import RAW_STATES, Component, Product
from generator.rules.cold.drinks import raw_juice
from generator.rules.store.raw_beans import raw_beans, raw_soy
from generator.sheet.walk import Walk


def _juice(product: Product, walk: Walk) -> bool:
    return bool(raw_juice(walk.formula, product)) and bool(raw_juice(walk.formula, walk.end))


def _flour(product: Product, walk: Walk) -> bool:
    return any(map(_raw_flour, product.components))


def _beans(product: Product, walk: Walk) -> bool:
    return bool(raw_beans(product))


def _soy(product: Product, walk: Walk) -> bool:
    return bool(raw_soy(product))


def _sprouts(product: Product, walk: Walk) -> bool:
    """Whether raw sprouts are in it, and no later step heats them."""
    return _raw_sprouts(product) and _raw_sprouts(walk.end)


RAW_PLANTS: dict[str, Callable[[Product, Walk], bool]] = {
    "raw-flour": _flour,
    "raw-juice": _juice,
    "raw-beans": _beans,
    "raw-soy": _soy,
    "raw-sprouts": _sprouts,
}
"""By its word, whether the state is that of the product at a step, with the walk it is of."""


UNTIL_IT_BOILS = frozenset({"raw-beans", "raw-soy"})
"""States that heat ends: what is to be heeded is heeded there."""


def _raw_sprouts(product: Product) -> bool:
    return any(c.plant == "sprouts" and not (c.cooked or c.heated) for c in product.components)


def _raw_flour(component: Component) -> bool:
    """Raw flour: dry, raw, and flour by its name or by the allergen of wheat."""
    if component.state not in RAW_STATES or component.form != "dry" or component.heated:
        return False
    wheat = any(a.word.startswith("wheat") or "gluten" in a.word for a in component.allergens)
    return wheat or is_raw_flour(component)
