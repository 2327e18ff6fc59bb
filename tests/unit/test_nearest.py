"""The nearest weights within bounds: by hand, and against every point of small grids."""

from __future__ import annotations

import itertools
import random
from fractions import Fraction as F

import pytest

from generator.scaling.nearest import (
    Program,
    Row,
    Wish,
    greatest_part,
    nearest,
    on_steps,
    relaxed,
)


def wish(number: int, grams: int) -> Wish:
    return Wish({number: F(1)}, F(grams), F(grams))


def fixed(total: int, count: int, give: int | None = None) -> tuple[Row, Row]:
    """All weights together are one weight."""
    return (
        Row("total<", {n: F(1) for n in range(count)}, F(total)),
        Row("total>", {n: F(-1) for n in range(count)}, F(-total), F(give) if give else None),
    )


def test_what_is_within_its_bounds_stays() -> None:
    program = Program((F(5), F(5)), fixed(5000, 2), (wish(0, 4000), wish(1, 1000)))
    found = nearest(program)
    assert found is not None and found.weights == (4000, 1000) and found.binding == ()
    assert on_steps(program).weights == (4000, 1000)  # type: ignore[union-attr]


def test_a_short_weight_is_made_up_by_the_line_it_changes_least() -> None:
    """3 kg of 4 kg are there. Another 1 kg on a line of 3 kg is a third of it, on one of 1 kg the
    whole: the larger takes it, and the stock binds."""
    program = Program(
        (F(5), F(5), F(5)),
        (*fixed(8000, 3), Row("stock", {0: F(1)}, F(3000))),
        (wish(0, 4000), wish(1, 3000), wish(2, 1000)),
    )
    found = nearest(program)
    assert found is not None and [round(w) for w in found.weights] == [3000, 4000, 1000]
    assert "stock" in found.binding
    exact = on_steps(program)
    assert exact is not None and exact.weights == (3000, 4000, 1000) and exact.proved
    assert program.distance(exact.weights) == F(1, 4) + F(1, 3)


def test_a_third_of_a_gram_is_brought_to_a_step_that_holds() -> None:
    """Fat at most 22 % of 10 and 30 %: two thirds and a third, which no scale shows; the nearest
    step on the side that holds is taken."""
    fat = {0: F(10 - 22), 1: F(30 - 22)}  # at most 0: x/y at least 2/3
    program = Program(
        (F(5), F(5)),
        (Row("fat", fat, F(0)), Row("at most", {0: F(1), 1: F(1)}, F(1000))),
        (wish(0, 100), wish(1, 800)),
    )
    found = on_steps(program)
    assert found is not None and not program.broken(found.weights)
    x, y = found.weights
    assert x % 5 == 0 == y % 5 and F(10 * x + 30 * y, x + y) <= 22


def test_no_weights_at_all() -> None:
    program = Program((F(1),), (*fixed(100, 1), Row("stock", {0: F(1)}, F(60))), (wish(0, 100),))
    assert nearest(program) is None and on_steps(program) is None


def test_the_least_is_relaxed() -> None:
    """10 and 30 % of fat in 100 g, at most 20 g of the leaner: at least 26 g of fat; the bound of
    22 g is passed by 4."""
    rows = (
        *fixed(100, 2),
        Row("fat", {0: F(1, 10), 1: F(3, 10)}, F(22), F(22)),
        Row("stock", {0: F(1)}, F(20)),
    )
    found = relaxed(Program((F(1), F(1)), rows, (wish(0, 50), wish(1, 50))))
    assert found is not None
    weights, over = found
    assert [round(float(w), 6) for w in weights] == [20, 80]
    assert {name: round(float(by), 6) for name, by in over.items()} == {"fat": 4}


def test_of_two_bounds_the_one_is_relaxed_that_gives_less_of_itself() -> None:
    """10 g too many pass either; 10 of 20 is half of it, 10 of 100 a tenth."""
    rows = (
        Row("small", {0: F(1)}, F(20), F(20)),
        Row("large", {0: F(-1), 1: F(1)}, F(70), F(100)),
        Row("least", {1: F(-1)}, F(-100)),
        Row("between", {0: F(1), 1: F(-1)}, F(0)),
    )
    found = relaxed(Program((F(1), F(1)), rows, ()))
    assert found is not None and list(found[1]) == ["large"]


def test_rows_that_cannot_give_stay() -> None:
    rows = (Row("least", {0: F(-1)}, F(-10)), Row("stock", {0: F(1)}, F(5)))
    assert relaxed(Program((F(1),), rows, ())) is None


def test_no_bound_is_relaxed_to_more_than_twice_itself() -> None:
    rows = (Row("bound", {0: F(1)}, F(10), F(10)), Row("least", {0: F(-1)}, F(-25)))
    assert relaxed(Program((F(1),), rows, ())) is None


def test_the_greatest_part_of_a_size() -> None:
    """60 g are there of what a full batch takes 100 g of, beside 20 g that don't grow."""

    def rows(size: F) -> tuple[Row, ...]:
        return (
            Row("size>", {0: F(-1), 1: F(-1)}, -size),
            Row("size<", {0: F(1), 1: F(1)}, size),
            Row("stock", {0: F(1)}, F(60)),
            Row("other", {1: F(1)}, F(20)),
        )

    whole, half = (Program((F(1), F(1)), rows(F(s)), ()) for s in (120, 60))
    assert round(float(greatest_part(whole, half)), 9) == round(80 / 120, 9)


def test_a_search_that_takes_too_long_ends_in_weights_that_hold(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """They are brought to steps from the inside, and nobody says that none is nearer."""
    monkeypatch.setattr("generator.scaling.nearest._counted", lambda program: (None, False))
    program = Program(
        (F(5), F(20)),
        (Row("fat", {0: F(-12), 1: F(8)}, F(0)), Row("most", {0: F(1), 1: F(1)}, F(1000))),
        (wish(0, 100), wish(1, 800)),
    )
    found = on_steps(program)
    assert found is not None and not found.proved and not program.broken(found.weights)
    assert found.weights[0] % 5 == 0 == found.weights[1] % 20
    assert program.distance(found.weights) < 1  # all of the second line less is 1
    tight = Program(program.steps, (*fixed(900, 2), *program.rows), program.wishes)
    assert on_steps(tight) is None


def drawn(seed: int) -> Program:
    """A small program: two or three weights on coarse steps, shares of one constituent bounded,
    what is there of one, a size."""
    rng = random.Random(seed)
    count = rng.choice((2, 3, 3))
    steps = tuple(F(rng.choice((20, 25, 50))) for _ in range(count))
    wished = [rng.randrange(2, 9) * steps[n] for n in range(count)]
    shares = [F(rng.randrange(0, 60), 100) for _ in range(count)]
    total = sum(wished, F(0))
    middle = sum((s * w for s, w in zip(shares, wished, strict=True)), F(0)) / total
    end = F(max(0, round(middle * 100) + rng.randrange(-8, 9)), 100)
    rows = [
        Row("size<", {n: F(1) for n in range(count)}, total + max(steps)),
        Row("size>", {n: F(-1) for n in range(count)}, max(steps) - total),
        Row("stock", {0: F(1)}, F(rng.randrange(1, 400))),
    ]
    sign = rng.choice((1, -1))
    rows.append(Row("share", {n: sign * (shares[n] - end) for n in range(count)}, F(0)))
    return Program(steps, tuple(rows), tuple(wish(n, int(w)) for n, w in enumerate(wished)))


def brute(program: Program) -> tuple[F, tuple[F, ...]] | None:
    """The nearest of all points of the grid; the sum bounds each. Rows are asked in whole numbers:
    a hundred times what they say."""
    most = program.rows[0].most
    ranges = [range(0, int(most) + 1, int(step)) for step in program.steps]
    rows = [
        ([int(row.terms.get(n, F(0)) * 100) for n in range(len(ranges))], int(row.most * 100))
        for row in program.rows
    ]

    def holds(point: tuple[int, ...]) -> bool:
        return all(sum(c * x for c, x in zip(row, point, strict=True)) <= m for row, m in rows)

    points = (tuple(map(F, p)) for p in itertools.product(*ranges) if holds(p))
    return min(((program.distance(p), p) for p in points), default=None)


def agrees(seed: int) -> bool:
    """Whether the solver and the grid say the same of one program; True where there was an
    answer."""
    program = drawn(seed)
    found, best = on_steps(program), brute(program)
    assert (found is None) == (best is None), seed
    if found is None or best is None:
        return False
    assert not program.broken(found.weights), seed
    assert all(w % s == 0 for w, s in zip(found.weights, program.steps, strict=True)), seed
    assert program.distance(found.weights) == best[0], seed
    loose = nearest(program)
    assert loose is not None and float(program.distance(loose.weights)) <= float(best[0]) + 1e-9
    return True


def test_no_point_of_a_grid_is_nearer() -> None:
    answered = [agrees(seed) for seed in range(25)]
    assert 8 < sum(answered) < 25


@pytest.mark.slow
def test_no_point_of_a_thousand_grids_is_nearer() -> None:
    assert sum(agrees(seed) for seed in range(1000, 2000)) > 300
