"""The theme's templates: compiled once for all builds of a process, listed without what no site
takes."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from types import CodeType
from typing import Any

import jinja2
from jinja2.bccache import Bucket

_MOST = 500
"""Templates kept compiled; a site has a few dozen, and one more each time one is changed."""


class _Compiled(jinja2.BytecodeCache):
    """Templates compiled, by their texts and by what the environment adds to the language."""

    def __init__(self) -> None:
        self.kept: dict[tuple[object, ...], CodeType | None] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        bucket.code = self.kept.get(_key(bucket))

    def dump_bytecode(self, bucket: Bucket) -> None:
        if len(self.kept) >= _MOST:
            self.kept.clear()
        self.kept[_key(bucket)] = bucket.code


def _key(bucket: Bucket) -> tuple[object, ...]:
    return bucket.key, bucket.checksum, *sorted(bucket.environment.extensions)


_COMPILED = _Compiled()


class _Visible(jinja2.FileSystemLoader):
    """Lists no hidden folder: MkDocs leaves them out, and the theme has 14,000 icons in one. A
    template in one is found by its name as ever."""

    def list_templates(self) -> list[str]:
        return sorted({name for folder in self.searchpath for name in _visible(folder)})


def _visible(folder: str) -> Iterator[str]:
    for where, folders, names in os.walk(folder):
        folders[:] = [name for name in folders if not name.startswith(".")]
        yield from ((Path(where) / name).relative_to(folder).as_posix() for name in names)


def quickened(theme: Any) -> None:
    """Have MkDocs's ``theme`` give an environment that keeps its templates compiled from build to
    build (``serve`` builds at every change) and lists them quickly."""
    make = theme.get_env

    def get_env() -> jinja2.Environment:
        env: jinja2.Environment = make()
        env.loader = _Visible(theme.dirs)
        env.bytecode_cache = _COMPILED
        return env

    theme.get_env = get_env
