"""Photographs of a record: placed clean, and never a way out of the archive or into the machine."""

from __future__ import annotations

import io
import re
import shutil
import struct
import zlib
from pathlib import Path

import pikepdf
import pytest
from houses import quiet
from PIL import Image, ImageFile
from printed import ARCHIVE, BREWED, assessed

from reportgen.archive.summaries import CACHE, SummaryIndex, survey
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
           "photos/large.jpg", "photos/bomb.png", "photos/none.jpg", "photos",
           "photos/raw.tif")  # fmt: skip
    with_photos(root, *bad, "photos/good.jpg")
    batch = assessed(BREWED, root)
    found = [f for f in run_checks(batch) if f.rule == "photo-unusable"]
    assert [f.message.split("`")[1] for f in found] == list(bad)
    assert all(f.position.line > 1 for f in found)
    page = RECORD.make(batch, "A4", 1, "html").decode()
    assert page.count("<img ") == 1 and f'alt="Mash of {len(bad)}"' in page
    # Of one check the first are printed, and how many more there are.
    assert f"And {len(bad) - 3} more of this check." in page


def test_a_picture_that_is_cut_off_is_never_placed(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The layout library tells the decoder to fill what is missing; what is said must not change.
    """
    jpeg(root / "photos/whole.jpg", (900, 700))
    data = (root / "photos/whole.jpg").read_bytes()
    (root / "photos/half.jpg").write_bytes(data[: len(data) // 2])
    for filled in (False, True):
        monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", filled)
        with pytest.raises(BadPhoto, match="not a sound"):
            photograph(root, "photos/half.jpg")
        assert filled is ImageFile.LOAD_TRUNCATED_IMAGES


def test_a_name_with_a_slip_is_told_with_the_one_that_is_meant(root: Path) -> None:
    jpeg(root / "photos/mash.jpg")
    jpeg(root / "photos/Ku\N{COMBINING DIAERESIS}hler.jpg")
    names = ("mash.jpg", "Photos/Mash.JPG", r"photos\mash.jpg", str(root / "photos/mash.jpg"))
    with_photos(root, *names, "nowhere.jpg", "photos/phone.heic")
    found = [f for f in run_checks(assessed(BREWED, root)) if f.rule == "photo-unusable"]
    assert [f.remedy for f in found[:4]] == ["did you mean `photos/mash.jpg`?"] * 4
    assert "is not there" in found[4].message and "did you mean" not in found[4].remedy
    assert "as JPEG" in found[5].remedy
    # An accent that the other system keeps as a letter of its own is the same name.
    assert photograph(root, "photos/K\N{LATIN SMALL LETTER U WITH DIAERESIS}hler.jpg")


def adobe_rgb() -> bytes:
    """An ICC profile of Adobe RGB (1998): primaries for D50 and gamma 563/256 of its text."""

    def xyz(*values: float) -> bytes:
        return b"XYZ \0\0\0\0" + b"".join(struct.pack(">i", round(v * 65536)) for v in values)

    text = b"desc\0\0\0\0" + struct.pack(">I", 2) + b"a\0" + b"\0" * 78
    curve = b"curv\0\0\0\0" + struct.pack(">IH", 1, 563) + b"\0\0"
    tags = {
        b"desc": text, b"cprt": b"text\0\0\0\0a\0\0\0", b"wtpt": xyz(0.9642, 1.0, 0.82491),
        b"rXYZ": xyz(0.60974, 0.31111, 0.01947), b"gXYZ": xyz(0.20528, 0.62567, 0.06087),
        b"bXYZ": xyz(0.14919, 0.06322, 0.74457), b"rTRC": curve, b"gTRC": curve, b"bTRC": curve,
    }  # fmt: skip
    at, table, body = 132 + 12 * len(tags), b"", b""
    for name, data in tags.items():
        data += b"\0" * (-len(data) % 4)
        table += name + struct.pack(">II", at + len(body), len(data))
        body += data
    head = struct.pack(">I4sI4s4s4s", at + len(body), b"\0" * 4, 0x02100000, b"mntr", b"RGB ",
                       b"XYZ ") + b"\0" * 12 + b"acsp" + b"\0" * 28
    head += struct.pack(">iii", 63190, 65536, 54061) + b"\0" * 48
    return head + struct.pack(">I", len(tags)) + table + body


def linear_to_srgb(value: float) -> float:
    return 12.92 * value if value <= 0.0031308 else 1.055 * value ** (1 / 2.4) - 0.055


@pytest.mark.parametrize("colour", [(100, 150, 100), (200, 120, 90), (60, 60, 60)])
def test_colours_are_those_that_the_profile_means(
    root: Path, colour: tuple[int, int, int]
) -> None:
    """By the matrices of CSS Color 4 from Adobe RGB to XYZ and on to linear sRGB."""
    path = root / "photos/a.png"
    Image.new("RGB", (40, 40), colour).save(path, icc_profile=adobe_rgb())
    r, g, b = ((c / 255) ** (563 / 256) for c in colour)
    x = 0.5766690 * r + 0.1855582 * g + 0.1882286 * b
    y = 0.2973450 * r + 0.6273636 * g + 0.0752915 * b
    z = 0.0270314 * r + 0.0706889 * g + 0.9913375 * b
    expected = [
        255 * linear_to_srgb(v) for v in (
            3.2409699 * x - 1.5373832 * y - 0.4986108 * z,
            -0.9692436 * x + 1.8759675 * y + 0.0415551 * z,
            0.0556301 * x - 0.2039770 * y + 1.0569715 * z,
        )
    ]  # fmt: skip
    with Image.open(io.BytesIO(photograph(root, "photos/a.png").data)) as made:
        assert made.mode == "RGB" and "icc_profile" not in made.info
        assert made.getpixel((20, 20)) == pytest.approx(expected, abs=2.5)


@pytest.mark.parametrize("mode", ["CMYK", "L", "P", "RGBA", "I;16", "1"])
def test_a_picture_of_any_kind_is_placed_in_three_colours(root: Path, mode: str) -> None:
    # A profile that is no profile, or one of other colours, is passed over.
    path = root / ("photos/a.jpg" if mode == "CMYK" else "photos/a.png")
    profile = {} if mode == "I;16" else {"icc_profile": b"no profile"}
    Image.new(mode, (30, 20)).save(path, **profile)
    assert photograph(root, path.relative_to(root).as_posix()).data.startswith(b"\xff\xd8")


@pytest.mark.parametrize("grey", [0, 128, 255])
def test_greys_of_sixteen_bits_stay_as_they_are(root: Path, grey: int) -> None:
    Image.new("I;16", (30, 20), grey * 257).save(root / "photos/a.png")
    with Image.open(io.BytesIO(photograph(root, "photos/a.png").data)) as made:
        assert made.getpixel((15, 10)) == pytest.approx((grey,) * 3, abs=2)


def test_a_changed_photograph_is_noticed_wherever_it_lies(root: Path) -> None:
    """Also one beside the records: its batch alone is looked at again, and is then settled."""
    jpeg(root / "2026/mash.jpg")
    with_photos(root, "2026/mash.jpg", "photos/none.jpg")
    # A plan that was issued is looked up in git each time.
    record = root / "2026" / f"{BREWED}.yaml"
    record.write_text(re.sub(r"\nissued: .*", "", record.read_text("utf-8")), "utf-8")

    def anew() -> int:
        return survey(root, root / "build", quiet, keep=True).assessed

    many = anew()
    assert many > 1 and anew() == 0
    (root / "2026/mash.jpg").write_text("no picture any more")
    assert anew() == 1 and anew() == 0
    findings = SummaryIndex(root / "build" / CACHE)[BREWED].findings
    assert sum("no picture" in f.line or "2026/mash.jpg" in f.message for f in findings) == 1
    jpeg(root / "photos/none.jpg")
    assert anew() == 1 and anew() == 0


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
