"""The site's last folder, of which a build takes what would be written as it is already: a second
name for the same file, or a copy where the disk can't give it one.

A file is taken only while the disk says of it what it said when that build ended
(``files.looked_at``), and nothing that is taken is written again: what another part of the build
writes at the same place isn't taken.
"""

from __future__ import annotations

import json
import os
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from generator.files.looked_at import Mark, mark_of
from generator.framing.saving import Digests
from generator.site.owned import lay_file
from generator.site.reloading import Reloading
from generator.site.served import Laid, Served, templates_of


@dataclass(frozen=True)
class Left:
    """What a build left: its pages, as they were laid out, by their source; what its other files
    were made of, by their address; and the hashes of all. ``files`` are what the disk says of them
    in ``folder``."""

    pages: Mapping[str, Laid] = field(default_factory=dict)
    made: Mapping[str, object] = field(default_factory=dict)
    digests: Digests = field(default_factory=dict)
    folder: Path = Path()
    files: Mapping[str, Mark] = field(default_factory=dict)

    @property
    def written(self) -> bytes:
        """Its bytes; without what the disk says."""
        stamps: dict[tuple[object, ...], int] = {}
        rows = {
            uri: [one.key, stamps.setdefault((one.marks, one.stamps), len(stamps))]
            for uri, one in self.pages.items()
        }
        found = {"pages": rows, "stamps": list(stamps), "made": self.made, "digests": self.digests}
        return json.dumps(found, separators=(",", ":")).encode()

    @classmethod
    def read(cls, data: bytes) -> Left:
        """One from its bytes. Raises ValueError for others."""
        try:
            found = json.loads(data)
            stamps = [(tuple(marks), tuple(put_in)) for marks, put_in in found["stamps"]]
            pages = {uri: Laid(key, *stamps[n]) for uri, (key, n) in found["pages"].items()}
            digests = {name: (sha, load) for name, (sha, load) in found["digests"].items()}
            return cls(pages, dict(found["made"]), digests)
        except (TypeError, AttributeError, KeyError, IndexError) as error:
            raise ValueError(str(error)) from None


class Linked(Served):
    """A new folder, and the last one, ``before``."""

    def __init__(self, before: Left) -> None:
        super().__init__(Reloading())
        self.before, self.pages = before, dict(before.pages)
        self.taken: dict[str, Mark] = {}
        """The files taken, by their address, and what the disk said of them."""
        self.verified: set[str] = set()
        """Those of them that are pages of ours: looked through when they were laid out."""
        self._files = dict(before.made)
        self._others: frozenset[str] = frozenset()
        self._names: frozenset[str] = frozenset()
        self._builders: Any = ()
        self._site = Path()

    @property
    def left(self) -> Left:
        """What this build leaves."""
        return Left(self.laid, self._now, self.digests)

    @property
    def known(self) -> Digests:
        """The hashes of the files taken."""
        digests = self.before.digests
        return {name: digests[name] for name in self.taken if name in digests}

    def emptied(self, files: Any, config: Any) -> None:
        """The builder's folder is new and empty."""
        self._site, self._names = Path(config.site_dir), templates_of(config)
        self._builders = files
        self._sparing(files)

    def _copy(self, files: Any, dirty: bool, *, inclusion: Callable[[Any], bool]) -> None:
        self._others = self._not_taken()
        super()._copy(files, dirty, inclusion=inclusion)

    def _not_taken(self) -> frozenset[str]:
        """What is written over: the builder's own, and what has one place with another file."""
        places = Counter(file.dest_uri for file in self._builders)
        return self._names | {name for name, count in places.items() if count > 1}

    def ready(self, page: Any) -> bool:
        """Whether a page of ours lies in the last folder as it would be laid out now; then it is
        in the new one, too. The page that says how large the saved copy is isn't."""
        if page.is_homepage or not self._take(page.file.dest_uri):
            return False
        self.verified.add(page.file.dest_uri)
        return True

    def leave(self, pages: Iterable[Any]) -> None:
        self._others = self._not_taken()
        self._left = frozenset(page.file.src_uri for page in pages)

    def _is_there(self, file: Any) -> bool:
        return super()._is_there(file) and self._take(file.dest_uri)

    def _take(self, name: str) -> bool:
        """Give a file of the last folder a second name in the new one. Returns whether it could."""
        mark, place = self.before.files.get(name), self._site / name
        if mark is None or name in self._others:
            return False
        source = self.before.folder / name
        try:
            if mark_of(source.lstat()) != mark or os.path.lexists(place):
                return False
            lay_file(source, place)
            found = mark_of(place.lstat())
            if found[1:3] != mark[1:3]:  # written over just now
                place.unlink()
                return False
        except OSError:
            return False
        self.taken[name] = found
        return True
