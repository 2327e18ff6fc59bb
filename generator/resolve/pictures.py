"""Pictures: raster files under the pages folder, nothing else; what a camera wrote into them is
left out."""

from __future__ import annotations

import hashlib
import io
import re
import struct
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from generator.files.finding import Finding, Place, Refused, visible
from generator.intake.standards import Standards

_DOCS_DIR = re.compile(r"^docs_dir:\s*[\"']?([^\"'#\n]+?)[\"']?\s*(?:#.*)?$", re.MULTILINE)
MOST_BYTES = 20_000_000
MOST_PIXELS = 40_000_000
"""Bounds of a picture: a phone's largest fit; a file that would unfold to gigabytes doesn't."""
_FORMATS = {".png": "PNG", ".jpg": "JPEG", ".jpeg": "JPEG", ".webp": "WEBP"}
_REFUSED = frozenset(
    {".gif", ".tif", ".tiff", ".bmp", ".heic", ".heif", ".avif", ".jxl", ".jfif", ".apng"}
)
_SAVED: dict[str, dict[str, Any]] = {
    "PNG": {"compress_level": 9},
    "JPEG": {"quality": 90, "optimize": True, "progressive": True},
    "WEBP": {"quality": 90, "method": 4},
}
_KEPT: dict[tuple[str, str], bytes] = {}
"""Pictures cleaned in this process, by format and content: ``serve`` builds again and again."""
_MOST_KEPT = 200

if TYPE_CHECKING:
    from PIL.Image import Image


def pages_folder(project: Path) -> Path:
    """The folder of hand-written pages: ``docs_dir`` of mkdocs.yml, by default ``docs``."""
    try:
        text = (project / "mkdocs.yml").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return project / "docs"
    match = _DOCS_DIR.search(text)
    return project / (match[1].strip() if match else "docs")


def picture_findings(standards: Standards, folder: Path) -> list[Finding]:
    """What is wrong with the pictures the standards name; ``folder`` is the pages folder."""
    found: list[Finding] = []
    for picture, place, about in _named(standards):
        reason = _wrong(folder, picture)
        if reason:
            meant = _meant(folder, picture)
            write = (place.fixed(meant),) if meant and meant != picture else ()
            found.append(
                Finding(
                    "picture-refused",
                    "error",
                    f"The picture `{picture}` {reason}.",
                    place,
                    "Put a .png, .jpg or .webp file into the pages folder.",
                    write,
                    about=frozenset({about}),
                )
            )
    return found


def _named(standards: Standards) -> Iterator[tuple[str, Place, str]]:
    for ident, formula in standards.formulas.items():
        if formula.picture:
            yield formula.picture, formula.place("picture"), ident
        for step in formula.steps:
            if step.picture:
                yield step.picture, step.place("picture"), ident
    for ident, process in standards.processes.items():
        for step in process.steps:
            if step.picture:
                yield step.picture, step.place("picture"), f"process:{ident}"


def _wrong(folder: Path, picture: str) -> str:
    path = folder / picture
    if not path.is_file():
        return "is not in the pages folder"
    inside = [path, *(p for p in path.parents if folder in p.parents)]
    if any(p.is_symlink() for p in inside):
        return "is a link, not a file"
    try:
        with path.open("rb") as file:
            _opened(file.read(MOST_BYTES + 1), picture)
    except Refused as refused:
        return refused.message.removesuffix(".").rpartition("` ")[2]
    except OSError as error:
        return f"can't be read: {error.strerror}"
    return ""


def _meant(folder: Path, picture: str) -> str:
    """A picture in the pages folder whose name differs in capitals or ending only, or nothing."""
    wanted = Path(picture)
    beside = folder / wanted.parent
    if not beside.is_dir():
        return ""
    for path in sorted(beside.iterdir()):
        if path.is_file() and path.stem.casefold() == wanted.stem.casefold():
            found = path.relative_to(folder).as_posix()
            return found if not _wrong(folder, found) else ""
    return ""


def is_picture(name: str) -> bool:
    """Whether a file's name is a raster picture's, of a kind that is published or of one that
    isn't."""
    return Path(name).suffix.lower() in _FORMATS.keys() | _REFUSED


def cleaned(data: bytes, name: str) -> bytes:
    """A picture decoded and encoded again, upright and with nothing but its dots: no place, camera,
    owner or day (Exif, XMP, IPTC, comments, embedded previews).

    Raises Refused for one that isn't what its name says, is broken, holds several pictures, or is
    over :data:`MOST_BYTES` or :data:`MOST_PIXELS`.
    """
    kind = _FORMATS.get(Path(name).suffix.lower(), "")
    key = (kind, hashlib.sha256(data).hexdigest())
    if key not in _KEPT:
        with _opened(data, name) as picture:
            made = _encoded(picture, kind, name)
        while len(_KEPT) >= _MOST_KEPT:
            del _KEPT[next(iter(_KEPT))]
        _KEPT[key] = made
    return _KEPT[key]


def _refused(name: str, why: str) -> Refused:
    return Refused(
        "picture-refused",
        f"The picture `{visible(name)}` {why}.",
        "Save it again as a .png, .jpg or .webp file.",
    )


def _opened(data: bytes, name: str) -> Image:
    """A picture with its head read and its bounds kept, not decoded yet. Raises Refused."""
    from PIL import Image, UnidentifiedImageError  # only here: most kitchens have no picture

    kind = _FORMATS.get(Path(name).suffix.lower())
    if kind is None:
        raise _refused(name, "is not a .png, .jpg or .webp file")
    if len(data) > MOST_BYTES:
        raise _refused(name, f"is over {MOST_BYTES // 1_000_000} MB")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # bounded below
            picture = Image.open(io.BytesIO(data), formats=[kind])
    except Image.DecompressionBombError:
        raise _refused(name, f"has over {MOST_PIXELS // 1_000_000} million dots") from None
    except UnidentifiedImageError:
        raise _refused(name, f"is not what its name says, a {kind} picture") from None
    except (OSError, SyntaxError, ValueError, EOFError):
        raise _refused(name, "is broken") from None
    width, height = picture.size
    if width * height > MOST_PIXELS:
        raise _refused(name, f"has over {MOST_PIXELS // 1_000_000} million dots")
    if getattr(picture, "n_frames", 1) > 1:
        raise _refused(name, "has several pictures; only one is shown")
    return picture


def _encoded(picture: Image, kind: str, name: str) -> bytes:
    """A picture's dots alone, turned upright, in sRGB, as a file of its kind. Raises Refused."""
    from PIL import ImageOps

    try:
        upright = _in_srgb(ImageOps.exif_transpose(picture))
        clear = upright.info.get("transparency")
        upright = upright.convert(_mode(upright.mode, kind, clear is not None))
        dots = upright.copy()
        dots.info.clear()
        dots.getexif().clear()
        if clear is not None and upright.mode in ("P", "L", "RGB"):
            dots.info["transparency"] = clear
        made = io.BytesIO()
        dots.save(made, kind, **_SAVED[kind])
    except (OSError, SyntaxError, ValueError, EOFError, IndexError, struct.error):
        raise _refused(name, "is broken") from None
    return made.getvalue()


def _mode(given: str, kind: str, clear: bool) -> str:
    """How a picture's dots are kept: a PNG's palette stays small, the rest in three or four
    colours."""
    if kind == "PNG" and given in ("1", "L", "P", "RGB"):
        return given
    if given in ("1", "L") and not clear:
        return "L" if kind == "JPEG" else "RGB"
    return "RGBA" if kind != "JPEG" and (clear or given in ("RGBA", "LA", "PA")) else "RGB"


def _in_srgb(picture: Image) -> Image:
    """A picture in the colours a page without a profile is shown in."""
    from PIL import ImageCms

    profile = picture.info.get("icc_profile")
    if not profile or picture.mode not in ("RGB", "RGBA", "CMYK"):
        return picture
    try:
        given = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        mode = "RGBA" if picture.mode == "RGBA" else "RGB"
        made = ImageCms.profileToProfile(
            picture, given, ImageCms.createProfile("sRGB"), outputMode=mode
        )
    except ImageCms.PyCMSError:
        return picture  # a profile nobody can read
    return made if made is not None else picture


def leads_out(path: Path, roots: tuple[Path, ...]) -> bool:
    """Whether a file lies outside all of ``roots`` once every link to it is followed: nothing from
    elsewhere on the machine is published. A link that leads nowhere leads out."""
    try:
        real = path.resolve(strict=True)
    except (OSError, RuntimeError):
        return True
    return not any(real.is_relative_to(root.resolve()) for root in roots)


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
