"""Many small rows in one test: an item of its own costs a row more than its assertions do.

``@each_row`` takes what ``@pytest.mark.parametrize`` takes. All rows are tried, and each that fails
is named. For rows of a few milliseconds, whose test asks for no fixture made for each test.
"""

from __future__ import annotations

import functools
import inspect
import itertools
from collections.abc import Callable, Iterable
from typing import Any

import pytest

Test = Callable[..., None]
Row = tuple[str, dict[str, Any]]
"""What a row is called, and the arguments it is."""


def each_row(
    names: str | Iterable[str],
    values: Iterable[Any],
    ids: Iterable[str] | Callable[[Any], object] | None = None,
) -> Callable[[Test], Test]:
    """Try a test with each of ``values`` as its arguments ``names``; one above another tries each
    of its rows with each of the other's. Raises what a row raised with the row as a note, or a
    group of them where several fail."""
    called = [n.strip() for n in names.split(",")] if isinstance(names, str) else list(names)
    table = _rows(called, list(values), ids)

    def over(test: Test) -> Test:
        body: Test = getattr(test, "body", test)
        tables: list[list[Row]] = [*getattr(test, "tables", ()), table]

        @functools.wraps(body)
        def every_row(**fixtures: Any) -> None:
            failed: list[BaseException] = []
            tried = 0
            for rows in itertools.product(*tables):
                tried += 1
                try:
                    body(**fixtures, **{k: v for _, row in rows for k, v in row.items()})
                except (Exception, pytest.fail.Exception) as fault:
                    fault.add_note(f"in the row {'; '.join(name for name, _ in rows)}")
                    failed.append(fault)
            if len(failed) == 1:
                raise failed[0]
            if failed:
                raise BaseExceptionGroup(f"{len(failed)} of {tried} rows fail", failed)

        asked = inspect.signature(test)
        left = [p for name, p in asked.parameters.items() if name not in called]
        assert len(left) == len(asked.parameters) - len(called), "no such arguments"
        every_row.__signature__ = asked.replace(parameters=left)  # type: ignore[attr-defined]
        every_row.body, every_row.tables = body, tables  # type: ignore[attr-defined]
        return every_row

    return over


def _rows(names: list[str], values: list[Any], ids: Any) -> list[Row]:
    assert values, "a table without a row tries nothing"
    titles = [*map(ids, values)] if callable(ids) else [*ids] if ids else [None] * len(values)
    found = []
    for title, value in zip(titles, values, strict=True):
        if isinstance(value, type(pytest.param())):
            assert not value.marks, "a row can have no mark of its own"
            title, row = value.id or title, tuple(value.values)
        else:
            row = (value,) if len(names) == 1 else tuple(value)
        name = str(title) if title else ", ".join(f"{part!r:.80}" for part in row)
        found.append((name, dict(zip(names, row, strict=True))))
    return found
