"""What a build of the plugin takes from earlier ones."""

from __future__ import annotations

import datetime
import logging
from pathlib import Path

from generator.binder.control import under_control
from generator.changes.clock import dated
from generator.files.kept import NOTHING, Kept, kept_of
from generator.sheet.keeping import Keeping
from generator.sheet.manual import Broken, Manual, make_manual


class Earlier:
    """The builds before this one. ``kept`` is what a command says; None, it is the project's usual
    place, or nothing for a ``given`` manual."""

    kept: Kept | None = None

    def manual(self, project: Path, day: datetime.date | None, serving: bool) -> Manual | Broken:
        """The manual, computed now with what is kept."""
        if self.kept is None:
            self.kept = kept_of(project, remembers=serving)
        self.kept.turned()
        return under_control(dated(make_manual(project, day, kept=self.kept)))

    def done(self, log: logging.Logger) -> None:
        """The build is written."""
        if self.kept is not None:
            self.kept.tidied()
            if self.kept.words:
                log.info(self.kept.words)


def kept_with(manual: Manual | Broken | None) -> Kept:
    """Where a manual was computed with what is kept; nothing for one that couldn't be."""
    return manual.keeping.kept if isinstance(manual, Manual) else NOTHING


def keeping_of(manual: Manual | Broken | None) -> Keeping:
    """The same, as what is drawn asks for it."""
    return manual.keeping if isinstance(manual, Manual) else Keeping()
