"""The examples the guide shows of amounts, times, temperatures and commands; each is tried by a
test."""

from __future__ import annotations

FORMS = (
    "250 g",
    "2.4 kg",
    "2,5 kg",
    "12 oz",
    "2 lb 6 oz",
    "240 ml",
    "1.5 l",
    "4 fl oz",
    "1 1/2 cup",
    "½ tsp",
    "1½ cups",
    "3 Tbsp",
    "1 cup packed",
    "2 qt",
    "3 each",
    "1 dozen",
    "1 dozen large",
    "6 cloves",
    "2 large",
    "1 stick",
    "1.7 %",
    "12.5% of meat",
    "9 % of the whole pickle",
    "9 % of the rest of the pickle",
    "0.5 % of base",
)
"""Amounts of a formula's line that are read."""

ASKED = (
    "1,500 kg",
    "1.500 kg",
    "1.000,5 g",
    "1 T",
    "1 t",
    "1 c",
    "2 #",
    "1.7",
    "-2 kg",
    "0 g",
    "a handful",
    "6 oz 2 lb",
    "1 kg 200",
    "250 g chopped",
)
"""Amounts that are asked about or refused."""

TIMES_AND_TEMPERATURES: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "temperature": (
        ("74 °C", "165 °F", "74C", "165 F", "-18 °C", "62.5 °C", "180 degC"),
        ("74", "hot", "-300 °C"),
    ),
    "difference": (("1 °C", "2 °F", "±0.5 °C"), ("1", "-1 °C")),
    "time": (
        ("45 min", "1 h 30 min", "17 s", "1 1/2 h", "4 days", "2 weeks"),
        ("90", "1:30", "overnight", "a while"),
    ),
    "target": (
        (
            "core 75 °C",
            "core 68 °C for 2 min",
            "to 4 °C",
            "below 4 °C",
            "at 60 °C",
            "from the formula",
        ),
        ("75 °C", "core 75", "core 68 °C for 2", "done"),
    ),
}
"""By kind: texts that are read, and texts that are asked about or refused."""

COMMANDS: dict[str, tuple[str, ...]] = {
    "check": (
        "check --strict",
        "check --format json",
        "check --format github --as-of 2026-11-25 --project .",
        "check --format sarif",
        "check --no-cache",
    ),
    "build": ("build --strict --out public", "build --no-offline", "build --no-cache"),
    "serve": ("serve --host 0.0.0.0 --port 8080", "serve --no-cache"),
    "batch": (
        "batch lamb-braise --fills 3",
        "batch lamb-braise --portions 40",
        "batch lamb-braise --base 3kg",
        "batch lamb-braise --total 5kg",
        "batch lamb-braise --yield 4kg --format json",
        "batch lamb-braise --on-hand lamb-shoulder=6kg --on-hand prunes=700g",
        "batch lamb-braise --composition",
        "batch sluice-loaf --fills 24 --bakers",
    ),
    "data": ("data lamb-braise --fills 2",),
    "limits": (
        "limits lamb-braise",
        "limits yoghurt",
        'limits lamb-braise --if "braise: core 65 °C for 1 min"',
    ),
    "review": (
        "review chill-log.csv --formula lamb-braise --step chill",
        "review chill-log.csv --formula lamb-braise --step chill --plot chill.svg --out chill.txt",
        "review chill-log.csv --formula lamb-braise --step chill --dates day-first",
    ),
    "binder": (
        "binder hearth --out hearth.pdf --paper letter",
        "binder --out binders.pdf --register",
        "binder hearth --changed-since HEAD --out changed.pdf",
        "binder --merge-register theirs.yaml",
        "binder lamb-braise --portions 40 --made 2026-11-25 --batch-no 2 --start 14:10 --copies 2 "
        "--out batch.pdf",
        "binder hearth --sheet 3 --out sheet.pdf",
        "binder lamb-braise --folded --out folded.pdf",
        "binder hearth --with conversions --duplex --out hearth.pdf",
        "binder first-week --out week.pdf",
    ),
    "labels": (
        "labels lamb-braise --made 2026-11-24 --packs 12 --lot 261124-2 --start 4 --out "
        "labels.pdf --geometry "
        "'across=3 down=7 width=63mm height=39mm left=10.5mm top=12mm'",
        "labels barley-soup --made 2026-11-25 --parts-dated brown-turkey-stock=2026-11-24 "
        "--out soup.pdf",
        "labels barley-soup --made 2026-11-24 --parts-dated brown-turkey-stock=2026-11-24 "
        "--frozen 2026-11-24 --thawed 2026-11-25 --out soup.pdf",
        "labels chuck-in-bags --made 2026-11-12 --moved 2026-11-25 --out bags.pdf",
        "labels chuck-in-bags --made 2026-11-12 --still-colder --out bags.pdf",
        "labels green-dressing --made 2026-11-25 --opened 2026-11-24 --maker-use-by 2026-12-01 "
        "--out dressing.pdf",
        "labels lamb-braise --made 2026-11-24 --statement --out lamb.pdf --geometry "
        "'across=2 down=4 width=95mm height=65mm left=9mm top=17mm'",
        "labels green-dressing --made 2026-11-25 --opened 2026-11-24 --no-maker-date --out "
        "dressing.pdf",
    ),
    "statement": ("statement lamb-braise", "statement barley-soup --format json"),
    "changes": ("changes --since HEAD", "changes --since 2026-11-25 --format json"),
    "dough": (
        "dough sluice-loaf --flour 22 --room 24 --preferment 23 --preferment 21 --tap 14",
        "dough sluice-loaf --flour 28 --room 30 --preferment 27 --preferment 26 --tap 18 "
        "--fills 24",
        "dough sluice-loaf --flour 22 --room 24 --preferment 23 --preferment 21 --dough 26 "
        "--water 22",
        "dough sluice-loaf --flour 22 --room 24 --preferment 23 --preferment 21 --friction 14",
    ),
    "design": (
        "design pickle --meat pork-shoulder=6kg --pump 12% --salt 2% --sugar 0.4% --cure pink-cure "
        "--nitrite 150ppm --drips 1% --loses 9% --spare 10% --station meat-room",
        "design pickle --meat 'belly: fat 40 %=5kg' --pump 10% --salt 1.8% --cure pink-cure "
        "--as bacon-pumped --accelerator 'erythorbate: erythorbate 100 %' --erythorbate 550ppm "
        "--loss juice",
        "design brine --food shallot=3kg --liquid 3kg --salt 2% --sugar 5% --acid 1% "
        "--vinegar 'cider-vinegar: acid 5 %' --salt-from salt-fine --sugar-from sugar "
        "--water-from water",
        "design cure --meat pork-shoulder=4kg --meat pork-back-fat=1kg --salt 1.7% "
        "--cure pink-cure --nitrite 150ppm --as comminuted",
        "design mix --fat 14% --msnf 10% --sugar 15% --total 20kg "
        "--from 'cream: fat 32 %, serum 9 %' --from 'milk: fat 3.5 %, serum 9 %' "
        "--from 'condensed-skim: msnf 28 %, sugar 40 %' --from sugar "
        "--with 'stabiliser: solids 100 %=0.5%'",
        "design mix --fat 10% --solids 38% --from milk-fresh --from cream-heavy-whipping "
        "--from sugar --format json",
        "design blend --fat 25% --from pork-shoulder --from pork-back-fat --total 10kg",
        "design blend --fat 25% --have pork-shoulder=10kg --add pork-back-fat",
    ),
    "reformulate": (
        "reformulate weir-sausage --on-hand pork-shoulder=3kg --on-hand beef-chuck=2kg",
        "reformulate weir-sausage --on-hand pork-shoulder=3kg --total 5kg --format json",
        "reformulate weir-sausage --on-hand pork-shoulder=3kg --on-hand beef-chuck=2kg "
        "--write weir-thursday",
    ),
    "order": (
        "order first-week",
        "order first-week --format json",
        "order first-week --format csv",
    ),
    "record": (
        "record batch.json lots.csv",
        "record batch.json --dry-run --format json",
        'record batch.yaml --corrects "The lot of the onions was misread."',
        "record early.yaml --earlier-revision",
        "record batch.json --lot 261124-2",
    ),
    "trace": (
        "trace T-4471",
        'trace L-118 --item turkey-thigh --from "Lower Mill Farm" --format json',
    ),
    "convert": (
        "convert -- 1 1/2 cup ml",
        "convert -- 165 degF degC",
        "convert -- 375 F",
        "convert -- 3/4 cup chopped onion",
        "convert -- 1 imperial pint ml",
        "convert --difference -- 2 degF degC",
        "convert --of salt -- 1 tsp g",
    ),
    "predict": (
        "predict barley-soup --step chill --in walk-in --vessel soup-tub --depth 50mm",
        "predict barley-soup --in walk-in --portions 40",
        "predict lamb-braise --step chill --fit chill-log.csv",
        "predict lamb-braise --step chill --fit chill-log.csv --keep",
        'predict --body "brick: 325 mm x 176 mm x 60 mm" --composition '
        '"water 68 %, protein 8 %, fat 6 %, carbohydrate 14 %, fibre 1.5 %, ash 2.5 %" '
        '--faces "top: still-air at 3 °C; rest: stirred-water at 0 °C" --start "60 °C" '
        '--target "21 °C" --target "5 °C"',
        'predict --body "slab: 25 mm" --composition "water 80 %, protein 18 %, fat 1 %, ash 1 %" '
        '--freezes-at "-1 °C" --faces "still-water at 18 °C" --start "-18 °C" --target "0 °C"',
        'predict --body "sphere: diameter 50 mm" --properties '
        '"k=0.627 W/(m K), alpha=0.151 mm2/s" --faces "1200 W/(m2 K) at 95 °C" --start "5 °C" '
        '--target "70 °C" --time "30 min" --exact --format csv',
    ),
    "explain": ("explain target-below-limit",),
    "new": ("new my-kitchen",),
    "add": (
        'add ingredient "Beef cheek"',
        'add process "Slow braise"',
        'add formula "Braised cheek"',
    ),
    "import": (
        'import soup.csv --name "Leek soup" --item Item --amount Amount',
        'import soup.csv --name "Leek soup" --item A --amount B --rows 2-9',
        "import soups.xlsx --tab Pea --name Soup --item Item --amount Amount --unit Unit "
        "--part Part",
    ),
    "upgrade": ("upgrade --dry-run", "upgrade"),
    "fmt": ("fmt", "fmt --dry-run standards/formulas/lamb-braise.yaml"),
    "schema": ("schema --out schemas", "schema --out schemas --project ."),
    "export": ("export tree",),
}
"""By command: what the commands page shows, run by a test in the guide's own kitchen (`serve` is
not), or in the demo's where a formula of it is named."""

OF_THE_DEMO = (
    "barley-soup",
    "green-dressing",
    "chuck-in-bags",
    "sluice-loaf",
    "weir-sausage",
    "first-week",
    "T-4471",
    "L-118",
    "design",
)
"""Formulas and plans of the demo, and commands whose foods are its own."""
