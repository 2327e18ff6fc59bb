"""Which cooking group a mixture falls into: the highest of anything raw of an animal in it."""

from __future__ import annotations

from generator.reference.packs import Pack
from generator.rules.basics.product import Component, Product

_WHOLE = ("intact",)
EGG_TO_ORDER = "egg-to-order"


def kinds_of(component: Component, pack: Pack, stuffed: bool) -> frozenset[str]:
    """Every word a pack may name a raw component by under a group's ``takes``.

    ``any``; ``stuffed``; ``not-stated`` for a species not stated or not classed by the pack; else
    its class and species, each alone and with its form: ``meat``, ``meat-intact``,
    ``meat-not-intact``, ``beef``, ``beef-injected``. A form not stated is none of the safe ones: it
    is not intact, and ``comminuted`` as well.
    """
    kinds = {"any"}
    if stuffed:
        kinds.add("stuffed")
    definition = pack.definitions.get(component.species or "")
    if definition is None:
        return frozenset(kinds | {"not-stated"})
    if definition.group_as != "egg":
        form = component.form or "comminuted"
        kinds.add(form)
        for word in (definition.group_as, component.species or ""):
            whole = "intact" if form in _WHOLE else "not-intact"
            kinds |= {word, f"{word}-{form}", f"{word}-{whole}"}
    return frozenset(kinds | {definition.group_as, component.species or ""})


def group_of(component: Component, pack: Pack, stuffed: bool) -> str | None:
    """The highest ranked group that takes a raw component; None where the pack holds no row for it.

    An egg broken to order is one of its own where the pack knows it, else an egg like any other.
    """
    kinds = kinds_of(component, pack, stuffed)
    if component.to_order and any(EGG_TO_ORDER in pack.groups[g].takes for g in pack.ranking):
        kinds = kinds - {"egg"} | {EGG_TO_ORDER}
    taking = [g for g in pack.ranking if kinds & set(pack.groups[g].takes)]
    return taking[-1] if taking else None


def highest(product: Product, pack: Pack) -> tuple[str | None, tuple[Component, ...]] | None:
    """The highest group of anything raw of an animal in the product, and what puts it there.

    None if nothing in it is raw of an animal; the group is None where the pack has none for one of
    the components: what isn't listed isn't allowed by silence.
    """
    raw = product.raw_animals
    if not raw:
        return None
    groups = [(group_of(c, pack, product.stuffed), c) for c in raw]
    outside = tuple(c for g, c in groups if g is None)
    if outside:
        return None, outside
    present = {g for g, _ in groups if g is not None}
    mixed = _of_mixtures(pack, present)
    top = max(present | mixed, key=pack.ranking.index)
    counted = pack.groups[top].when_both if top in mixed else (top,)
    return top, tuple(c for g, c in groups if g in counted)


def _of_mixtures(pack: Pack, present: set[str]) -> set[str]:
    """The groups that food falls into because several are in it together."""
    together = {ident: set(pack.groups[ident].when_both) for ident in pack.ranking}
    return {ident for ident, both in together.items() if both and present >= both}


def what_it_is(component: Component, pack: Pack, stuffed: bool) -> str:
    """What puts a component into its group, in the trade's words: "poultry", "comminuted meat"."""
    if stuffed:
        return "stuffed food"
    definition = pack.definitions.get(component.species or "")
    if definition is None:
        return "food whose animal isn't stated, counted as the strictest"
    kind = {"wild-game": "wild game", "ratite": "ratites"}.get(
        definition.group_as, definition.group_as
    )
    if kind in ("poultry", "wild game", "ratites"):
        return kind
    if component.to_order:
        return "eggs broken to order"
    if kind == "egg":
        return "raw eggs pooled or held"
    if component.form == "intact":
        return kind if kind == "fish" else f"intact {kind}"
    if component.form in ("comminuted", "tenderised", "injected"):
        return f"{component.form} {kind}"
    return f"{kind} not stated to be intact"
