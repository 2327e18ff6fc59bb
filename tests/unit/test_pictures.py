"""Pictures: what a camera wrote into them is left out, and only a picture of a sensible size is
one."""

from __future__ import annotations

import io
import struct
import time
import zlib
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from conftest import compute, edit
from each_row import each_row
from PIL import Image, ImageCms, PngImagePlugin

from generator.cli import cli
from generator.files.finding import Refused, as_text
from generator.resolve import pictures
from generator.resolve.pictures import cleaned, is_picture, leads_out, published
from generator.site.publish import PublishError, build_site

SECRET = "Owner-of-the-camera"
SITE = (
    "site_name: Pictures\ndocs_dir: pages\ntheme: {name: material, font: false}\n"
    "plugins: [kitchen-manual]\n"
)


def photo(size: tuple[int, int] = (60, 40)) -> Image.Image:
    """Red at the left, green at the right: one sees which way it is turned."""
    made = Image.new("RGB", size, (200, 30, 30))
    made.paste((30, 160, 30), (size[0] // 2, 0, size[0], size[1]))
    return made


def exif(orientation: int = 1) -> Image.Exif:
    data = Image.Exif()
    data[0x0112] = orientation
    data[0x010F] = SECRET  # maker
    data[0x013B] = SECRET  # artist
    data[0x8298] = SECRET  # copyright
    place = data.get_ifd(0x8825)
    place[1], place[2] = "N", (51.0, 30.0, 1.0)
    return data


def bytes_of(picture: Image.Image, kind: str, **more: Any) -> bytes:
    held = io.BytesIO()
    picture.save(held, kind, **more)
    return held.getvalue()


def with_everything(kind: str, orientation: int = 1) -> bytes:
    xmp = f"<x:xmpmeta xmlns:x='adobe:ns:meta/'>{SECRET}</x:xmpmeta>".encode()
    more: dict[str, Any] = {"exif": exif(orientation)}
    if kind == "PNG":
        text = PngImagePlugin.PngInfo()
        text.add_text("Author", SECRET)
        text.add_itxt("XML:com.adobe.xmp", xmp.decode())
        more["pnginfo"] = text
    if kind == "JPEG":
        more["comment"] = SECRET.encode()
    if kind == "WEBP":
        more["xmp"] = xmp
    return bytes_of(photo(), kind, **more)


KINDS = {"a.jpg": "JPEG", "a.JPEG": "JPEG", "a.png": "PNG", "a.webp": "WEBP"}


@pytest.mark.parametrize("name", KINDS)
def test_place_camera_and_owner_are_left_out(name: str) -> None:
    data = with_everything(KINDS[name])
    assert SECRET.encode() in data
    made = cleaned(data, name)
    assert SECRET.encode() not in made and b"Exif" not in made and b"xmpmeta" not in made
    with Image.open(io.BytesIO(made)) as read:
        assert read.format == KINDS[name] and read.size == (60, 40)
        assert not dict(read.getexif()) and not set(read.info) - {
            "jfif",
            "jfif_version",
            "jfif_unit",
            "jfif_density",
            "progressive",
            "progression",
            "dpi",
            "loop",
            "background",
            "timestamp",
            "duration",
        }


@each_row("orientation", range(1, 9))
def test_a_picture_is_turned_as_the_camera_said(orientation: int) -> None:
    made = cleaned(with_everything("JPEG", orientation), "a.jpg")
    with Image.open(io.BytesIO(made)) as read:
        assert read.size == ((60, 40) if orientation < 5 else (40, 60))
        red, green, _ = read.convert("RGB").getpixel((2, 2))  # type: ignore[misc]
        # Exif 2.32, table of Orientation: which side the row 0 and the column 0 are on.
        assert (red > green) == (orientation in (1, 4, 5, 6)), orientation


def test_the_colours_of_a_wide_profile_are_kept_and_the_profile_is_not() -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    data = bytes_of(photo(), "JPEG", icc_profile=profile)
    made = cleaned(data, "a.jpg")
    assert b"ICC_PROFILE" in data and b"ICC_PROFILE" not in made
    with Image.open(io.BytesIO(made)) as read:
        red, green, _ = read.convert("RGB").getpixel((5, 5))  # type: ignore[misc]
        assert abs(red - 200) < 12 and abs(green - 30) < 12


@each_row("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "I;16", "CMYK"])
@each_row("name", ["a.png", "a.jpg", "a.webp"])
def test_a_picture_of_any_colours_is_drawn(mode: str, name: str) -> None:
    kind = KINDS[name]
    try:
        data = bytes_of(
            photo().convert("L").convert(mode) if mode == "I;16" else photo().convert(mode), kind
        )
    except (OSError, ValueError):
        return  # no such file can be
    with Image.open(io.BytesIO(cleaned(data, name))) as read:
        assert read.size == (60, 40)


def test_a_clear_colour_stays_clear_and_a_palette_small() -> None:
    drawn = photo().convert("P")
    drawn.info["transparency"] = drawn.getpixel((0, 0))
    data = bytes_of(drawn, "PNG")
    made = cleaned(data, "a.png")
    with Image.open(io.BytesIO(made)) as read:
        assert read.mode == "P" and read.convert("RGBA").getpixel((0, 0))[3] == 0  # type: ignore[index]


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png_of(width: int, height: int, *chunks: bytes) -> bytes:
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + b"".join(chunks) + chunk(b"IEND", b"")


BAD = {
    "a page as a picture": (
        "a.png",
        b"<html><script>alert(1)</script></html>",
        "is not what its name says",
    ),
    "a drawing as a picture": (
        "a.png",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        "is not what its name says",
    ),
    "a head alone": ("a.png", b"\x89PNG\r\n\x1a\n", "is"),
    "a JPEG as a PNG": ("a.png", with_everything("JPEG"), "is not what its name says"),
    "a WEBP as a JPEG": ("a.jpg", with_everything("WEBP"), "is not what its name says"),
    "nothing": ("a.jpg", b"", "is not what its name says"),
    "cut off": ("a.jpg", with_everything("JPEG")[:-200], "is broken"),
    "dots that unfold to gigabytes": (
        "a.png",
        png_of(60_000, 60_000, chunk(b"IDAT", zlib.compress(b"\0" * 9_000_000, 1))),
        "million dots",
    ),
    "the largest size there is": ("a.png", png_of(2**31 - 1, 2**31 - 1), "million dots"),
    "words that unfold to gigabytes": (
        "a.png",
        lambda: png_of(2, 2, chunk(b"zTXt", b"k\0\0" + zlib.compress(b"\0" * 200_000_000, 1))),
        "is broken",
    ),
    "too many bytes": ("a.jpg", b"\xff\xd8\xff" + b"\0" * 20_000_001, "is over 20 MB"),
    "one that moves": (
        "a.webp",
        bytes_of(photo(), "WEBP", save_all=True, append_images=[photo((60, 40)).rotate(180)]),
        "has several",
    ),
    "another kind": ("a.gif", bytes_of(photo(), "GIF"), "is not a .png"),
    "a scan": ("a.tif", bytes_of(photo(), "TIFF"), "is not a .png"),
}


@pytest.mark.parametrize("why", BAD)
def test_what_is_no_picture_is_refused(why: str) -> None:
    name, made, words = BAD[why]
    data = made() if callable(made) else made
    begun = time.process_time()
    with pytest.raises(Refused) as refused:
        cleaned(data, name)
    assert refused.value.code == "picture-refused" and words in refused.value.message
    assert time.process_time() - begun < 2


@pytest.fixture
def project(kitchen: Path) -> Path:
    (kitchen / "mkdocs.yml").write_text(SITE)
    (kitchen / "pages").mkdir()
    (kitchen / "pages/bake.jpg").write_bytes(with_everything("JPEG", 6))
    (kitchen / "pages/about.md").write_text("# About\n\n![a pan](pan.png)\n")
    (kitchen / "pages/pan.png").write_bytes(with_everything("PNG"))
    edit(kitchen, "formulas/pork-bake.yaml", "keeps:", "picture: bake.jpg\nkeeps:")
    return kitchen


def test_the_site_and_the_exported_tree_hold_dots_alone(project: Path, tmp_path: Path) -> None:
    manual = compute(project)
    assert manual.findings == ()
    build_site(manual, project / "site", strict=True)
    ran = CliRunner().invoke(cli, ["export", str(tmp_path / "tree"), "--project", str(project)])
    assert ran.exit_code == 0, ran.output
    for folder in (project / "site", tmp_path / "tree"):
        for name in ("bake.jpg", "pan.png"):
            data = (folder / name).read_bytes()
            assert SECRET.encode() not in data and data != (project / "pages" / name).read_bytes()
        with Image.open(folder / "bake.jpg") as read:
            assert read.size == (40, 60), "turned upright"
    assert SECRET.encode() in (project / "pages/bake.jpg").read_bytes(), (
        "the chef's own is as it was"
    )


def test_a_page_that_is_named_a_picture_is_an_error_at_its_line(project: Path) -> None:
    (project / "pages/bake.jpg").write_bytes(b"\xff\xd8\xff not a picture")
    (found,) = compute(project).errors
    assert (
        as_text(found)
        .split("\n")[0]
        .endswith(
            "The picture `bake.jpg` is not what its name says, a JPEG picture. [picture-refused]"
        )
    )


def test_a_picture_broken_further_down_stops_the_build_whole(project: Path) -> None:
    path = project / "pages/pan.png"
    path.write_bytes(path.read_bytes()[:-60])
    with pytest.raises(PublishError, match=r"The picture `pan\.png` is broken"):
        build_site(compute(project), project / "site", strict=False)
    assert not (project / "site").exists()


@pytest.mark.parametrize("name", ["notes.md", "bake.jpg", "list.pdf", "folder"])
def test_nothing_from_outside_the_project_is_published(
    project: Path, tmp_path: Path, name: str
) -> None:
    secret = tmp_path / "secret"
    secret.mkdir()
    (secret / "notes.md").write_text("# Secret of the machine\n")
    path = project / "pages" / name
    path.unlink(missing_ok=True)
    path.symlink_to(secret if name == "folder" else secret / "notes.md")
    assert leads_out(path, (project,))
    with pytest.raises(PublishError, match=r"link|1 error"):
        manual = compute(project)
        if name == "bake.jpg":
            assert "is a link" in manual.errors[0].message
        build_site(manual, project / "site", strict=False)
    edit(project, "formulas/pork-bake.yaml", "picture: bake.jpg\n", "")
    ran = CliRunner().invoke(cli, ["export", str(tmp_path / "tree"), "--project", str(project)])
    assert ran.exit_code == 2 and "out of the project" in ran.output
    assert not (tmp_path / "tree").exists()


def test_a_link_within_the_pages_is_followed(project: Path) -> None:
    (project / "pages/more.md").symlink_to("about.md")
    build_site(compute(project), project / "site", strict=False)
    assert "About" in (project / "site/more/index.html").read_text()


def test_one_picture_is_cleaned_once(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    data = (project / "pages/bake.jpg").read_bytes()
    made = cleaned(data, "bake.jpg")
    monkeypatch.setattr(pictures, "_encoded", lambda *_: pytest.fail("encoded again"))
    assert published(project / "pages/bake.jpg", "bake.jpg") == made
    assert published(project / "pages/about.md", "about.md") is None
    assert [is_picture(n) for n in ("a.PNG", "a.heic", "a.svg", "a.md")] == [
        True,
        True,
        False,
        False,
    ]


@pytest.mark.parametrize(("most", "taken"), [(2400, True), (2399, False)])
def test_a_picture_may_have_as_many_dots_as_are_allowed(
    most: int, taken: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """60 × 40 are 2,400."""
    monkeypatch.setattr(pictures, "MOST_PIXELS", most)
    data = bytes_of(photo((60, 40)), "PNG")
    if taken:
        assert pictures._opened(data, "a.png").size == (60, 40)
    else:
        with pytest.raises(Refused, match="has over"):
            pictures._opened(data, "a.png")
