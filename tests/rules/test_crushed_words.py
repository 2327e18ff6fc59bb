"""Words of a step that open plant food as a knife does, by one list for all rules."""

from __future__ import annotations

import pytest

from generator.rules.basics.crushing import crushes


@pytest.mark.parametrize(
    "words",
    [
        "Juice",
        "press",
        "squeeze them out",
        "squeezed",
        "crushed with salt",
        "crush it",
        "mash well",
        "mashing",
        "pulp the tomatoes",
        "liquidise",
        "liquidized",
        "purée until smooth",
        "pureed",
        "grind to a paste",
        "press it through a sieve",
        "blend them",
    ],
)
def test_it_opens_the_food(words: str) -> None:
    assert crushes(("Stir", words))


@pytest.mark.parametrize(
    "words",
    [
        "Express",
        "press down lightly",
        "grind black pepper over it",
        "grind in some fresh nutmeg",
        "a juicy roast",
        "in its juice",
        "compulsory rest",
        "under pressure",
    ],
)
def test_it_leaves_it_whole(words: str) -> None:
    assert not crushes((words,))
