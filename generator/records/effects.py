"""What a step does to the food, in groups that rules ask for, and what is at hand at it; never a
verb's name."""

from __future__ import annotations

from typing import Literal

HEATS = frozenset({"cooks", "part-cooks", "reheats", "heats"})
"""Heat goes into the food."""
WORKS = frozenset(
    {
        "cuts",
        "comminutes",
        "tenderises",
        "injects",
        "pools",
        "stuffs",
        "encloses",
        "fills",
        "divides",
        "slices",
        "takes-off",
        "drains",
        "packs-without-air",
        "packs",
        "labels",
    }
)
"""Hands, a board or a machine are at it: such a step may leave its time out."""
CHANGES = frozenset({"ferments", "dries", "ages", "sprouts"})
"""Left standing so that it changes."""
STANDS = CHANGES | {"soaks", "brines", "raises", "smokes"}
"""It waits while this happens to it."""
WAITS = frozenset({"waits", "stores", "displays"})
"""It waits, whatever for."""
HELD = frozenset({"cools", "holds-hot", "freezes", "thaws", "slacks", "holds-by-time"})
"""A limit of its own says how warm it may be, or for how long."""
KEPT = frozenset(
    {"cools", "freezes", "thaws", "holds-hot", "holds-by-time", "packs-without-air", "reheats"}
)
"""What isn't done with food that goes to the guest at once."""

AtHand = Literal[
    "hot",
    "hot-oil",
    "hot-fat",
    "hot-liquid",
    "hot-oven",
    "hot-food",
    "pressure",
    "hot-blending",
    "chilling",
    "chilling-hot",
    "knife",
    "needles",
]
"""What can hurt at a step: ``hot`` whatever is hot; ``hot-food`` where nothing more exact is known;
``chilling`` that food is brought to cold, ``chilling-hot`` from hot."""


def settled(effects: frozenset[str]) -> frozenset[str]:
    """The effects of a step with those that follow from them.

    Work on the food is handling. What is baked, boiled, or cooked in
    water, is cooked. What soaks, rises or
    ripens waits, and so does what is carried away. A step that does nothing of what the rules know
    waits as well: who leaves out what a verb of the kitchen's own does gains nothing by it.
    """
    found = set(effects)
    if "boils" in effects:
        found.add("in-water")
    if effects & {"bakes", "in-water", "boils"}:
        found.add("cooks")
    if "carries" in effects:
        found.add("waits")
    if effects & WORKS:
        found.add("handles")
    busy = found & (HEATS | WAITS | HELD | {"handles", "cleans", "serves"})
    if effects & STANDS or not busy:
        found.add("waits")
    return frozenset(found)
