"""Photographs of a record: placed clean, and never a way out of the archive or into the machine."""

from __future__ import annotations

import io
import shutil
import struct
import zlib
from pathlib import Path

import pikepdf
import pytest
from PIL import Image
from printed import ARCHIVE, BREWED, assessed

from reportgen.checks.base import run_checks
from reportgen.photos import LONGEST, MOST_PIXELS, BadPhoto, photograph
from reportgen.report.documents import RECORD

PLACE = "51 deg north"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    shutil.copytree(ARCHIVE, tmp_path / "archive")
    (tmp_path / "archive" / "photos").mkdir()
    return tmp_path / "archive"


def jpeg(path: Path, size: tuple[int, int] = (60, 40), orientation: int = 1) -> None:
    image = Image.new("RGB", size, "red")
    exif = Image.Exif()
    exif[0x0112], exif[0x010E] = orientation, PLACE
    image.save(path, "JPEG", exif=exif.tobytes())


def bomb(path: Path) -> None:
    """A PNG of a few hundred bytes that says it is 60,000 pixels square."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(
            ">I", zlib.crc32(kind + data)
        )

    head = struct.pack(">IIBBBBB", 60000, 60000, 8, 0, 0, 0, 0)
    path.write_bytes(
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 9999))
        + chunk(b"IEND", b"")
    )


def with_photos(root: Path, *files: str) -> None:
    path = root / "2026" / f"{BREWED}.yaml"
    lines = [f"  - {{file: {file}, caption: Mash of {n}}}" for n, file in enumerate(files)]
    text = path.read_text(encoding="utf-8") + "\nphotos:\n" + "\n".join(lines) + "\n"
    path.write_text(text, encoding="utf-8")


def test_a_picture_leaves_upright_small_and_without_its_metadata(root: Path) -> None:
    jpeg(root / "photos/a.jpg", (3000, 1500), orientation=6)
    made = photograph(root, "photos/a.jpg")
    # Orientation 6: turned by a quarter, so it is upright now.
    assert (made.width, made.height) == (LONGEST // 2, LONGEST)
    assert PLACE.encode() not in made.data
    with Image.open(io.BytesIO(made.data)) as image:
        assert not image.getexif() and "icc_profile" not in image.info
    assert photograph(root, "photos/a.jpg") == made


def test_too_many_pixels_are_not_decoded(root: Path) -> None:
    bomb(root / "photos/bomb.png")
    with pytest.raises(BadPhoto, match=f"{MOST_PIXELS // 1_000_000} million are the most"):
        photograph(root, "photos/bomb.png")


def test_what_cannot_be_used_is_a_finding_and_the_record_is_whole(root: Path) -> None:
    outside = root.parent / "outside.jpg"
    jpeg(outside)
    (root / "photos/link.jpg").symlink_to(outside)
    (root / "photos/text.jpg").write_text("no picture at all")
    (root / "photos/cut.jpg").write_bytes(b"\xff\xd8\xff\xe0" + b"\0" * 50)
    with (root / "photos/large.jpg").open("wb") as large:
        large.truncate(200_000_000)
    bomb(root / "photos/bomb.png")
    jpeg(root / "photos/good.jpg")
    bad = ("../outside.jpg", str(outside), "photos/link.jpg", "photos/text.jpg", "photos/cut.jpg",
           "photos/large.jpg", "photos/bomb.png", "photos/none.jpg", "photos")  # fmt: skip
    with_photos(root, *bad, "photos/good.jpg")
    batch = assessed(BREWED, root)
    found = [f for f in run_checks(batch) if f.rule == "photo-unusable"]
    assert [f.message.split("`")[1] for f in found] == list(bad)
    assert all(f.position.line > 1 for f in found)
    page = RECORD.make(batch, "A4", 1, "html").decode()
    assert page.count("<img ") == 1 and 'alt="Mash of 9"' in page
    assert page.count("photo-unusable") == len(bad)


def test_a_record_with_a_photograph_is_still_for_keeping(root: Path) -> None:
    jpeg(root / "photos/a.jpg")
    with_photos(root, "photos/a.jpg")
    data = RECORD.make(assessed(BREWED, root), "A4", 1)
    assert PLACE.encode() not in data
    with pikepdf.open(io.BytesIO(data)) as pdf:
        images = {x for page in pdf.pages for x in page.images}
        report = pikepdf.pdfa.check(pdf, "3b")
    assert len(images) == 1
    assert not [f for f in report.findings if "image" in f.message.lower()]
