"""A verb agrees with the food it is said of: "Eggs are raw", "Asparagus is raw"."""

from __future__ import annotations

import re

import pytest
from conftest import ROOT

from generator.measures.words import is_plural, with_verb

ONE = """Egg; Chicken thigh; Asparagus; Couscous; Hummus; Watercress; Lemongrass; Leg of lamb; Fillet of sole, skinless; Sea bass; Swiss; Molasses; Beef jus; Haggis; Gravlax; Octopus; Citrus mix;
Breast of duck (2 pieces); Egg in shells; Sauce with capers; Rice; Goat's milk; Salt; Ground beef - frozen packs; Cassis; Sole from farms; Demi-glace; Hibiscus; Chicken and barley soup; Salt and pepper; Pan drippings sauce; Jus"""
MANY = """Eggs; Eggs, large; Chicken thighs, boneless; Anchovies in oil; Oats; Lentils; Capers; Cuts of beef; Joints of pork; Brussels sprouts; Rice & peas; Bones (beef); Potatoes; Leaves;
Bay leaves; Prawns - peeled; Kidneys; Frites; Greens; Meatballs; Dumplings with broth; Chips; Tomatoes; Chillis; Peas"""


def apart(text: str) -> list[str]:
    return [" ".join(name.split()) for name in text.split(";")]


def test_names_are_counted_by_their_head() -> None:
    assert [name for name in apart(ONE) if is_plural(name)] == []
    assert [name for name in apart(MANY) if not is_plural(name)] == []


@pytest.mark.parametrize(
    ("verb", "one", "many"),
    [("is", "is", "are"), ("is not", "isn't", "aren't"), ("has", "has", "have")],
)
def test_a_verb_agrees(verb: str, one: str, many: str) -> None:
    assert with_verb("Egg, large", verb) == f"Egg, large {one}"
    assert with_verb("Eggs, large", verb) == f"Eggs, large {many}"
    assert with_verb(["Milk", "cream"], verb) == f"Milk and cream {many}"


_SAID = re.compile(
    r"\{(?:facts|formula|ingredient|sheet|c|line|food|part|subject)\.name\}"
    r" (?:is|isn't|has|needs|keeps|was|goes|comes|says|lies)\b"
)


def test_no_sentence_puts_a_verb_behind_a_food_by_hand() -> None:
    """Whoever writes a new sentence of a food takes `with_verb`."""
    found = [
        f"{path.relative_to(ROOT)}: {match[0]}"
        for path in sorted((ROOT / "generator").rglob("*.py"))
        if path.name not in ("importing.py", "law.py")  # sheets of a file, codes of law
        for match in _SAID.finditer(path.read_text("utf-8"))
    ]
    assert found == []
