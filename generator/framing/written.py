"""Pages and pictures written by hand: what of them may be published, and how."""

from __future__ import annotations

from html import unescape
from pathlib import Path

from generator.files.finding import Refused, visible
from generator.pages.escape import escape
from generator.resolve.pictures import MOST_BYTES, cleaned, is_picture


def leads_out(path: Path, roots: tuple[Path, ...]) -> bool:
    """Whether a file lies outside all of ``roots`` once every link to it is followed: nothing from
    elsewhere on the machine is published. A link that leads nowhere leads out."""
    try:
        real = path.resolve(strict=True)
    except (OSError, RuntimeError):
        return True
    return not any(real.is_relative_to(root.resolve()) for root in roots)


def title_of(typed: object) -> str:
    """A page's title, from its front matter, its heading or its file's name, as text that stays
    text."""
    return str(escape(unescape(str(typed))))


def published(path: Path, name: str) -> bytes | None:
    """A picture as it is published, without what a camera wrote into it; None for another file.

    Raises Refused for a picture that isn't what its name says, or is too large; ``name`` is how it
    is called there.
    """
    if not is_picture(name):
        return None
    try:
        with path.open("rb") as file:
            return cleaned(file.read(MOST_BYTES + 1), name)
    except OSError as error:
        raise Refused(
            "picture-refused", f"The picture {visible(name)} can't be read: {error.strerror}."
        ) from None
