"""What an ingredient's own name says: whole names are known, parts of other names never are.

Both lists are written from the trade, not from `shared/known-names.yaml`.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import ROOT, compute, edit

from generator.files.finding import Finding
from generator.reference.library import read_reference

ALL = "ingredients/all.yaml"
PLAIN = """Ginger beer; Ginger ale; Root beer; Cream of tartar; Coconut cream; Coconut milk; Cocoa butter; Butter beans; Butternut squash; Butterhead lettuce;
Butter lettuce; Eggplant; Nutmeg, ground; Oyster mushroom; King oyster mushrooms; Buckwheat; Buckwheat flour; Milk thistle;
Beefsteak tomato; Beef tomato; Horseradish; Crab apple; Fish mint; Lamb's lettuce; Chicken of the woods;
Hen of the woods; Duck sauce; Goat weed; Turkey rhubarb; Turkey tail; Shea butter; Apple butter; Vegan butter;
Plant-based cream; Dairy-free milk; Egg replacer; Egg-free mayonnaise; Vegan mayonnaise; Mock duck; Vegetarian sausage;
Vegan bacon bits; Imitation bacon bits; Plant-based mince; Veggie burger; Meat substitute; Cheese alternative, coconut;
Buttercup squash; Rice milk; Rice cream; Hemp milk; Cream soda; Cream sherry; Cream-style corn; Creamed corn;
Milkweed; Butterfly pea flower; Butterscotch flavouring; Butter flavour; Milk flavouring; Almond-free marzipan-style paste;
Almond flavouring; Almond extract; Pigweed; Sheep sorrel; Oxtongue weed; Oxeye daisy; Cowpeas; Cowslip; Cow parsnip;
Goosefoot; Goose berries; Gooseberries; Chickpeas; Chickweed; Henbit; Cockscomb flower; Pigeon peas;
Partridge berries; Pheasant berry; Rabbit tobacco; Deer tongue lettuce; Elk clover; Bear garlic; Elephant garlic powder;
Dragon fruit; Fish pepper; Salmonberries; Trout lily; Cod pepper; Skate-leaf fern; Lobster mushroom; Shrimp plant leaf;
Mussel plum; Clam shell chestnuts; Oyster leaf; Oyster plant (salsify); Sea lettuce flakes, dried; Egg fruit (canistel); Egg tomatoes, dried;
Hazelwood smoke; Chestnut mushrooms; Chestnuts; Coconut; Coconut oil; Water chestnuts; Pine needle tea; Wheatgrass powder;
Gluten-free flour; Gluten-free oat substitute; Wheat-free bread mix; Soy-free spread; Nut-free granola; Nut-free, sesame-free dukkah;
Bread fruit; Breadfruit flour; Rye-free crispbread; Barley-free coffee blend; Cauliflower rice; Celtic salt; Sugar snap peas;
Honey melon tea; Melon seeds; Tomato powder; Tomato ketchup; Garlic powder; Garlic salt; Garlic granules; Spinach powder;
Butter, shea; Milk, rice; Cream, coconut; Butter (vegan); Cheese, vegan; Beef, plant-based; Chicken-style pieces, vegan;
Chicken salt, vegan; Ham-flavoured crisps, vegan; Bacon salt seasoning; Crab boil seasoning; Fish pepper sauce; Steak seasoning;
Poultry seasoning; Pork pie hat radish; Egg wash, vegan; Sausage seasoning; Meat tenderiser, papain; Butter powder, vegan; Beet sugar;
Fat hen; Cattail shoots; Catmint; Dog rose hips; Foxglove tea; Horse chestnut honey; Horse beans; Bull's blood beet; Ox heart cabbage seed"""
HONEST: dict[str, str] = {
    "Peanut butter": "peanuts",
    "Butter, peanut": "peanuts",
    "Almond milk": "tree nuts (almond)",
    "Cashew cream": "tree nuts (cashew)",
    "Soy milk": "soybeans",
    "Soya cream, single": "soybeans",
    "Oat milk": "none",
    "Milk, oat": "none",
    "Rye flour": "none",
    "Pearl barley": "none",
    "Mustard greens": "none",
    "Celery": "none",
    "Peanut oil, refined": "none",
    "Soybean oil, refined": "none",
    "Lard, rendered": "none",
    "Duck fat": "none",
    "Beef dripping": "none",
}
"""Names whose honest statement isn't none, or is none by the American list alone."""


def facts(
    name: str, species: str = "none", state: str = "raw", allergens: str = "none", tcs: str = "no"
) -> str:
    """An ingredient on one line, by its name."""
    ident = "".join(f"{ord(c):x}" for c in name)[:50]
    return (
        f'x{ident}: {{name: "{name}", species: {species}, state: {state}, '
        f"allergens: [{allergens}], tcs: {tcs}}}\n"
    )


def found(kitchen: Path, lines: list[str]) -> list[Finding]:
    """The findings of a kitchen with more ingredients, but those nobody uses."""
    for start in range(
        0, len(lines), 5
    ):  # of more than twenty alike in a file the rest are counted
        path = kitchen / "standards" / "ingredients" / f"more-{start}.yaml"
        path.write_text("".join(lines[start : start + 5]), "utf-8")
    return [f for f in compute(kitchen).findings if f.code != "not-used"]


def test_parts_of_other_names_are_never_known(kitchen: Path) -> None:
    names = [" ".join(name.split()) for name in PLAIN.split(";")]
    assert len(set(names)) >= 100
    lines = [facts(name) for name in names]
    lines += [facts(n, "none", "ready-to-eat", a) for n, a in HONEST.items()]
    assert [f.message for f in found(kitchen, lines)] == []


TRUE = {
    "allergens": """Butter; Unsalted butter; Cultured butter, salted; Brown butter; Ghee; Double cream; Heavy cream; Cream, whipping;
Crème fraîche; Sour cream; Whole milk; Milk, skimmed; Goat's milk; Buttermilk; Skimmed milk powder; Condensed milk; Evaporated milk; Whey;
Yoghurt; Greek yogurt, plain; Skyr; Labneh; Kefir; Mascarpone; Ricotta; Mozzarella, fresh; Burrata; Feta; Halloumi; Paneer; Parmigiano Reggiano;
Pecorino Romano; Gruyère; Cheddar, grated; Blue cheese; Gorgonzola; Cream cheese; Quark; Fromage blanc; White chocolate; Dulce de leche;
Almonds; Flaked almonds; Almonds, blanched; Almond flour; Marzipan; Frangipane; Hazelnuts, roasted; Gianduja; Walnut halves; Pecans; Pistachio paste;
Cashew nuts; Macadamia nuts; Brazil nuts; Peanuts, salted; Peanut butter; Tahini; Sesame seeds; Black sesame; Sesame oil; Soy sauce; Shoyu; Tofu; Miso; Tempeh; Edamame;
Bread flour; Strong white flour; Plain flour; Whole wheat flour; Semolina; Couscous; Bulgur; Panko; Seitan; Puff pastry; Spelt flour; Mayonnaise; Egg noodles; Meringue powder;
Fish sauce; Anchovy paste; Bonito flakes; Shrimp paste; Vital wheat gluten; Breadcrumbs, dry;
Wonton wrappers, 3.5 in; Gyoza skins, frozen; Ramen noodles, fresh; Udon; Israeli couscous; Nuruk; Hoisin sauce; Ponzu; Phyllo; Ladyfingers; Brioche buns, sliced; Béchamel; Roux; Hollandaise; Croissants; Flour tortillas;
Gianduja; Hazelnut milk; Macadamia milk; Pistachio cream; Greek-style yoghurt; Fat-free milk; Lactose-free milk; Gluten-free fish fingers; Nut-free milk chocolate; Vegetarian parmesan; Vegan seitan; Imitation crab; Crab sticks;
Bouillabaisse; Goma dare; Everything bagel seasoning; Macarons; Cookies; Burro chiarificato; Egg-free pasta; Free-range egg wash""",
    "species": """Eggs; Egg yolk; Egg whites; Duck eggs; Quail eggs; Liquid whole egg; Turkey thigh, boneless; Chicken breast; Poussin; Duck legs; Magret; Foie gras;
Goose breast; Guinea fowl; Quail; Pheasant; Beef chuck; Minced beef; Oxtail; Brisket; Ribeye; Veal shank; Pork belly; Pork shoulder, bone in; Bacon; Ham; Pancetta; Prosciutto; Guanciale;
'Nduja; Jamón ibérico; Lardo; Salami; Chorizo; Bresaola; Lamb neck; Rabbit legs; Venison loin; Salmon fillet; Smoked salmon; Gravlax; Cod loin; Haddock; Sea bass; Tuna; Mackerel; Anchovies; Eel;
Bottarga; Prawns; Tiger prawns; Langoustines; Lobster; Crab meat; Gambas; Oysters; Mussels; Scallops; Squid; Octopus; Calamari""",
}


@pytest.mark.parametrize("key", TRUE)
def test_a_true_name_finds_a_wrong_none(kitchen: Path, key: str) -> None:
    names = [" ".join(n.split()) for n in TRUE[key].split(";")]
    lines = [facts(n, "none", "ready-to-eat", tcs="yes") for n in names]
    reported = [
        f
        for f in found(kitchen, lines)
        if f.code == "fact-contradicted" and f"`{key}: none`" in f.message
    ]
    missed = [n for n in names if not any(f.message.startswith(f"{n}: ") for f in reported)]
    assert missed == []


LIKELY: dict[str, str] = {
    "Soba": "wheat",
    "Dark soy sauce": "wheat",
    "Hoisin": "wheat or sesame",
    "Caesar dressing, creamy": "fish, eggs or milk",
    "Vegan pesto": "tree nuts",
    "Mole negro": "tree nuts, peanuts or sesame",
    "Thai red curry paste": "crustacean shellfish or fish",
    "Napa cabbage kimchi": "fish or crustacean shellfish",
    "Furikake": "fish, sesame, soybeans or wheat",
    "Ranch dressing": "milk or eggs",
    "Chicken thighs, breaded": "wheat",
    "Devon clotted cream": "milk",
    "Hokkaido ramen noodles": "wheat or eggs",
    "Saffron aioli": "eggs",
    "Almond crust": "tree nuts (almond)",
    "Salmon glaze": "fish (salmon)",
    "Salsa with peanuts": "peanuts",
    "Olive tapenade": "fish",
    "Sesame buns": "sesame or wheat",
    "Sesame-free dukkah": "tree nuts",
    "Dark chocolate 70 %": "milk",
    "Stock cubes": "wheat",
    "Devil-style brown sauce": "fish",
    "Black vinegar": "wheat",
    "Chinkiang vinegar, aged": "wheat",
    "Hing powder": "wheat",
    "Urad papad": "wheat",
    "Garam masala": "sesame",
    "Tikka paste": "sesame",
    "Tikka masala sauce": "milk",
}
"""What such food holds as a rule, or a name names beside words that aren't known: asked about."""
FRIENDS = """Rice noodles; Noodles, rice; Corn tortillas; Chickpea pasta; Rice paper wrappers; Tortilla chips, corn; Rice cakes; Maple butter; Pumpkin seed butter; Kombu dashi; Rice koji; Mirin; Zhoug; Sake;
Spaghetti squash; Cream of tartar; Cream of coconut; Mustard cress; Char siu glaze; Rub for fish; Fish rub; Salt, no butter; Tapioca flour; Coconut flour; Pasta sauce; Walnut wood; Vegan Caesar dressing; Dairy-free chocolate;
Sunflower lecithin; Coconut yoghurt; Oyster mushrooms, dried; Gluten-free oyster crackers; Buttermilk-free ranch style dust, vegan; Glass noodles; Shirataki noodles; Water kefir; Water kefir grains; Black rice vinegar; Tikka skewers; Vegan chorizo; Dairy-free kulfi, nut-free; Wheat-free hing; Panko-style rice crumb; Chicken-style pieces; Wasabi root"""


def test_what_likely_holds_an_allergen_is_asked_about(kitchen: Path) -> None:
    lines = [facts(name, "none", "ready-to-eat", tcs="yes") for name in LIKELY]
    said = [f for f in found(kitchen, lines) if f.code == "allergen-usual"]
    assert {f.severity for f in said} == {"warning"}
    asked = {f.message.partition(": ")[0]: f.help for f in said}
    assert set(asked) == set(LIKELY)
    for name, held in LIKELY.items():
        assert f"Does it hold {held}?" in asked[name], asked[name]


def test_their_false_friends_hold_nothing(kitchen: Path) -> None:
    names = [" ".join(name.split()) for name in FRIENDS.split(";")]
    lines = [facts(name, "none", "ready-to-eat", tcs="yes") for name in names]
    assert [f.message for f in found(kitchen, lines) if "allergens" in f.message] == []


@pytest.mark.parametrize(
    ("name", "species", "declared", "code"),
    [
        ("Chorizo", "pork", "none", "allergen-usual"),
        ("Chorizo ring, hot", "pork", "none", "allergen-usual"),
        ("Chorizo", "pork", "milk", ""),
        ("Milk-free chorizo", "pork", "none", ""),
        ("Salami", "pork", "none", ""),
        ("Kulfi", "none", "milk", "allergen-usual"),
        ("Kulfi", "none", "none", "fact-contradicted"),
        ("Malai kulfi", "none", "milk, tree nuts (pistachio)", ""),
        ("Milk kefir", "none", "none", "fact-contradicted"),
    ],
)
def test_what_it_holds_and_what_it_may(
    kitchen: Path, name: str, species: str, declared: str, code: str
) -> None:
    line = facts(name, species, "ready-to-eat", declared, "yes")
    codes = {f.code for f in found(kitchen, [line]) if "allergens" in f"{f.message}{f.help}"}
    assert code in codes if code else not codes


def test_black_vinegar_is_an_acid_still() -> None:
    names = read_reference(ROOT / "shared").known_names
    assert names.an_acid(("Black vinegar",)) and names.an_acid(("Chinkiang vinegar",))
    assert not names.an_acid(("Garam masala",))


@pytest.mark.parametrize(
    "answer",
    [
        ", contains_ingredients: [cabbage, chilli, salt]",
        ", confirmed: {allergens: {reason: Made without them, document: Letter of 3 May}}",
    ],
)
def test_a_label_or_a_document_answers(kitchen: Path, answer: str) -> None:
    asked = facts("Kimchi", "none", "ready-to-eat", tcs="yes")
    assert [f.code for f in found(kitchen, [asked])] == ["allergen-usual"]
    answered = asked.replace("}", f"{answer}}}")
    assert found(kitchen, [answered]) == []
    declared = asked.replace("[none]", "[fish (anchovy), crustacean shellfish (shrimp)]")
    assert found(kitchen, [declared]) == []


def test_a_label_that_names_it_is_held_to_it(kitchen: Path) -> None:
    asked = facts("Kimchi", "none", "ready-to-eat", tcs="yes")
    line = asked.replace("}", ", contains_ingredients: [cabbage, fish sauce]}")
    assert [f.code for f in found(kitchen, [line])] == ["fact-contradicted"]


COLD = """Beef chuck; Raw beef; Ground beef; Steak tartare; Pork belly; Lamb shoulder; Chicken thighs; Turkey breast; Duck legs; Salmon; Cod fillet; Prawns; Mussels; Oysters; Egg yolk; Liquid egg white;
Whole milk; Cream; Double cream; Crème fraîche; Yoghurt; Ricotta; Mascarpone; Cream cheese; Cut melon; Diced watermelon; Cantaloupe, sliced; Honeydew melon chunks; Shredded lettuce; Chopped romaine; Iceberg lettuce, shredded;
Spinach, chopped; Sliced tomatoes; Diced tomato; Garlic in oil; Garlic in olive oil; Garlic, peeled, in oil; Garlic confit; Cooked rice; Boiled potatoes; Cooked pasta; Cooked ham; Roast beef"""
WARM = """Canned tuna; Anchovies in oil; Beef jerky; Dried shrimp; Milk powder; Butter, clarified; Ghee; Parmesan; Prosciutto; Salami; Pickled herring; Sun-dried tomatoes; Whole melon; Lettuce; Spinach; Tomatoes; Garlic; Rice; Dried beans;
Salt cod; Bottarga; Egg powder; Canned salmon; Smoked salmon jerky"""


def test_food_that_needs_the_cold_by_its_name(kitchen: Path) -> None:
    cold, warm = ([" ".join(n.split()) for n in text.split(";")] for text in (COLD, WARM))
    reported = [
        f for f in found(kitchen, [facts(n) for n in (*cold, *warm)]) if "`tcs: no`" in f.message
    ]
    about = {f.message.partition(": ")[0] for f in reported}
    assert about == set(cold)


def test_what_keeps_packed_or_sealed_says_so(kitchen: Path) -> None:
    """Mayonnaise a plant packed, milk in its sealed carton: the fact that is missing is named."""
    packed = [
        facts(n).replace("state: raw", "state: ready-to-eat") for n in ("Mayonnaise", "Hummus")
    ]
    sealed = [facts(n).replace("state: raw", "state: pasteurised") for n in ("UHT milk",)]
    reported = [f.message for f in found(kitchen, [*packed, *sealed]) if "`tcs: no`" in f.message]
    assert sum("commercially_packed: yes" in m for m in reported) == 2
    assert sum("sealed: yes" in m for m in reported) == 1
    packed = [line.replace("}", ", commercially_packed: yes}") for line in packed]
    sealed = [line.replace("tcs: no}", "sealed: yes, arrives: ambient}") for line in sealed]
    sealed = [line.replace("allergens: [none]", "allergens: [milk]") for line in sealed]
    assert [f.message for f in found(kitchen, [*packed, *sealed]) if "needs" in f.message] == []


@pytest.mark.parametrize(
    "name",
    ["Nitritpökelsalz", "Sel nitrité de Paris", "Salnitro", "E250 blend", "Our pink curing salt"],
)
def test_a_cure_is_no_salt_in_any_tongue(kitchen: Path, name: str) -> None:
    line = facts(name).replace("state: raw", "state: ready-to-eat, function: salt")
    assert any("it is a cure" in f.message for f in found(kitchen, [line]))
    free = facts(f"{name}, nitrite-free").replace("state: raw", "state: ready-to-eat")
    assert not any("free: its name" in f.message for f in found(kitchen, [free]))


def test_the_law_in_force_says_which_plants_need_the_cold(kitchen: Path) -> None:
    """A code without rows of plant food finds nothing in a cut melon: its own words hold there.
    English law names no food, and holds all in which germs are likely to grow."""
    edit(kitchen, "kitchen.yaml", "us-food-code, edition: 2022", "uk-england, edition: 2013")
    reported = found(kitchen, [facts("Cut melon"), facts("Chicken thighs", "chicken")])
    assert [f.message.partition(":")[0] for f in reported if "`tcs: no`" in f.message] == [
        "Cut melon",
        "Chicken thighs",
    ]


RAW = (
    "Raw milk; Unpasteurised cream; Milk, raw; Raw goat's milk; Sashimi tuna; Salmon, "
    "sushi-grade; Raw oysters; Chicken, raw; Beef tartare; Raw egg yolk; Raw prawns"
)


@pytest.mark.parametrize("state", ["ready-to-eat", "pasteurised"])
def test_raw_by_its_name_is_nothing_else(kitchen: Path, state: str) -> None:
    dairy = ("milk", "cream")  # raw milk has a rule of its own, tests/rules/test_milk.py
    names = [n for n in RAW.split("; ") if not any(word in n.lower() for word in dairy)]
    reported = found(kitchen, [facts(n, state=state, tcs="yes") for n in names])
    about = {f.message.partition(":")[0] for f in reported if f"`state: {state}`" in f.message}
    assert about == set(names)


@pytest.mark.parametrize(
    ("name", "species", "offered"),
    [
        ("Wild boar shoulder", "pork", "wild-game"),
        ("Boar meat, diced", "pork", "wild-game"),
        ("Venison loin", "beef", "wild-game"),
        ("Venison loin, wild", "farmed-venison", "wild-game"),
        ("Wild rabbit legs", "rabbit", "wild-game"),
        ("Wild rabbit legs", "wild-game", None),
        ("Venison loin", "farmed-venison", None),
        ("Venison loin, wild", "wild-game", None),
        ("Hare", "wild-game", None),
        ("Wild duck breast", "duck", None),  # poultry by the definition, whoever shot it
        ("Wild mushrooms", "none", None),
    ],
)
def test_game_is_game_and_wild_is_wild(
    kitchen: Path, name: str, species: str, offered: str | None
) -> None:
    """Farmed game has the row of 145 °F, wild game that of 165 °F: Food Code 3-401.11(A)(1)(b) and
    (3)."""
    reported = found(kitchen, [facts(name, species, tcs="yes")])
    reported = [f for f in reported if f.code == "fact-contradicted"]
    assert len(reported) == (offered is not None)
    assert all(f"species: {offered}," in f.write[0] for f in reported)


@pytest.mark.parametrize(
    ("name", "by", "wrong"),
    [
        ("Wild salmon fillet", "farmed", True),
        ("Salmon fillet, line caught", "farmed", True),
        ("Salmon fillet, farmed", "farmed", False),
        ("Salmon fillet", "farmed", False),
        ("Herring fillet", "roe", True),
        ("Herring roe", "roe", False),
        ("Ikura", "roe", False),
    ],
)
def test_what_frees_fish_of_parasites_fits_its_name(
    kitchen: Path, name: str, by: str, wrong: bool
) -> None:
    """Food Code 3-402.11(B): farmed fish and roe are excepted, for the record says that they are
    that."""
    kind = "herring" if "Herring" in name else "salmon"
    line = f"""x: {{name: "{name}", species: fish, state: raw, form: intact, allergens: [fish ({kind})],
  parasites: {{freed_by: {by}, record: Invoice 7}}}}
"""
    reported = [f for f in found(kitchen, [line]) if f.code == "fact-contradicted"]
    assert [f"`freed_by: {by}`" in f.message for f in reported] == ([True] if wrong else [])


def test_raw_plant_food_nuts_and_ham_are_eaten_raw(kitchen: Path) -> None:
    lines = [facts(n, state="ready-to-eat") for n in ("Raw sugar", "Raw honey", "Raw carrots")]
    lines.append(facts("Raw almonds", state="ready-to-eat", allergens="tree nuts (almond)"))
    lines.append(facts("Raw ham", "pork", "ready-to-eat", tcs="yes"))
    lines.append(facts("Raw milk cheese", state="ready-to-eat", allergens="milk"))
    assert [f.message for f in found(kitchen, lines)] == []


def test_a_dish_named_after_a_food_is_asked_about_its_allergens(kitchen: Path) -> None:
    names = """Pecan pie; Hazelnut praline; Pie, pecan; Hazelnut praline paste; Crab bisque; Crab paste; Custard tart;
Peanut brittle; Pistachio mousse cake; Oyster sauce"""
    lines = [facts(name.strip(), state="ready-to-eat", tcs="yes") for name in names.split(";")]
    asked = {
        (f.place.file, f.place.line)
        for f in found(kitchen, lines)
        if "`allergens: none`" in f.message
    }
    assert len(asked) == len(lines), "\n".join(f.message for f in found(kitchen, lines))


def test_a_dish_named_after_another_food_holds_nothing_by_its_name(kitchen: Path) -> None:
    names = """Crab apple pie; Butter bean dip; Coconut milk soup; Pecan-free pie; Vegan crab paste; Cocoa butter paste;
Butternut soup; Chestnut mushroom soup; Nutmeg sauce; Apple pie; Horseradish sauce; Butter, shea"""
    lines = [facts(name.strip(), state="ready-to-eat", tcs="yes") for name in names.split(";")]
    asked = [f.message for f in found(kitchen, lines) if f.code.startswith("allergen")]
    assert asked == []
