"""Earlier revisions, comparison and verification, as real processes on real repositories."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pikepdf
import pytest
from houses import git, house, inside, loaded, reportgen
from synthetic_archive import make_archive

from reportgen.archive.build import digest
from reportgen.archive.revisions import Revision, resolve
from reportgen.archive.verify import (
    NotVerifiable,
    Verification,
    _pages_words,
    document_of,
    open_pdf,
    shelf,
    verify,
)
from reportgen.assessment.assess import Assessment, assess
from reportgen.history.difference import changes, difference_of
from reportgen.record.load import Archive
from reportgen.report.documents import ALL, Document


def assessed(archive: Archive, batch: str) -> Assessment:
    found = assess(archive, archive.batches[batch])
    assert found is not None
    return found


def kept_in_git(folder: Path) -> Path:
    git(folder, "init", "-q", "-b", "main")
    (folder / ".gitignore").write_text("build/\n", encoding="utf-8")
    commit(folder, "First")
    return folder


def commit(folder: Path, message: str) -> str:
    git(folder, "add", "-A")
    git(folder, "commit", "-q", "-m", message)
    return git(folder, "rev-parse", "HEAD")


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


PAIR = {
    "2026-01": "plan: {grist: [{malt: pale, amount: 7.0 kg}, {malt: crystal, amount: 350 g}]}",
    "2026-02": "plan: {grist: [{malt: pale, amount: 8000 g}, {malt: crystal, amount: 0.350 kg}], "
    "boil: {hops: [{hop: goldings, amount: 60 g, time: 60 min}, "
    "{hop: goldings, amount: 30 g, time: 5 min}]}}",
}


def test_only_what_differs_is_told_and_units_do_not_count(tmp_path: Path) -> None:
    archive = loaded(house(tmp_path / "house", PAIR))
    found = list(changes(*(archive.batches[b].record.plan for b in PAIR)))  # type: ignore[union-attr]
    assert [(c.place, c.before, c.after) for c in found] == [
        ("grist, pale, amount", "7.0 kg", "8000 g"),
        ("boil, hops, goldings 10 min, time", "10 min", "5 min"),
    ]


def test_the_steps_add_up_and_point_the_right_way(tmp_path: Path) -> None:
    archive = loaded(house(tmp_path / "house", PAIR))
    found = difference_of(assessed(archive, "2026-01"), assessed(archive, "2026-02"))
    assert found.sections == ("grist", "boil")
    whole = {e.figure: e.change for e in found.together}
    parts: dict[str, float] = {}
    for effect in found.effects:
        parts[effect.figure] = parts.get(effect.figure, 0.0) + effect.change
    for figure, change in whole.items():
        # Steps too small to print are left out, so a sum may miss less than one printed unit.
        assert parts[figure] == pytest.approx(change, abs=1.0 if figure == "bitterness" else 2e-4)
    # A seventh more pale malt in the same volume: a bit more than a seventh more extract.
    assert 0.005 < whole["original_gravity"] < 0.008
    assert whole["bitterness"] < 0
    boil = {e.figure for e in found.effects if e.section == "boil"}
    assert boil == {"bitterness"}


def test_a_batch_compared_with_itself_has_nothing_to_tell(tmp_path: Path) -> None:
    folder = house(tmp_path / "house", PAIR)
    done = inside("compare", "2026-01", "2026-01", cwd=folder)
    assert done.returncode == 0 and done.stdout.endswith("\nNothing differs.\n")
    found = difference_of(*(assessed(loaded(folder), "2026-01") for _ in range(2)))
    assert (found.plan, found.results, found.effects, found.together) == ((), (), (), ())


def test_a_comparison_as_a_page(tmp_path: Path) -> None:
    folder = house(tmp_path / "house", PAIR)
    done = inside("compare", "2026-01", "2026-02", "--page", cwd=folder)
    assert (done.returncode, done.stdout) == (0, "build/compare/2026-01_2026-02.html\n")
    first = (folder / done.stdout.strip()).read_bytes()
    text = first.decode()
    for word in ("7.0 kg", "8000 g", "grist", "boil", "Bitterness", "<style>"):
        assert word in text
    # It stands alone: no style or script from elsewhere.
    assert "<link" not in text and "<script" not in text
    inside("compare", "2026-01", "2026-02", "--page", cwd=folder)
    assert (folder / done.stdout.strip()).read_bytes() == first


def test_two_revisions_of_one_record_and_of_the_house(tmp_path: Path) -> None:
    folder = kept_in_git(house(tmp_path / "house", PAIR))
    edit(folder / "2026/2026-01.yaml", "amount: 7.0 kg", "amount: 7.5 kg")
    edit(folder / "brewery.yaml", "evaporation: 4.5 L/h", "evaporation: 6.0 L/h")
    second = commit(folder, "More malt, more steam")
    done = inside("compare", "2026-01@HEAD~1", "2026-01", cwd=folder)
    assert done.returncode == 0, done.stderr
    assert "grist, pale, amount: 7.0 kg → 7.5 kg" in done.stdout
    assert "brewery.yaml and stock.yaml" in done.stdout and "First" in done.stdout
    found = json.loads(
        inside("compare", "2026-01@HEAD~1", f"2026-01@{second[:9]}", "--format", "json",
               cwd=folder).stdout
    )  # fmt: skip
    assert found["b"]["revision"] == second and found["plan"][0]["after"] == "7.5 kg"
    sections = {e["section"] for e in found["effects"] if e["figure"] == "original_gravity"}
    assert sections == {"grist", "brewery.yaml and stock.yaml"}
    # The path of a record does as well as its id, also from below.
    done = inside("compare", "2026-01.yaml@HEAD~1", "2026-01.yaml", cwd=folder / "2026")
    assert "7.0 kg → 7.5 kg" in done.stdout


def test_a_side_that_is_not_there_is_misuse(tmp_path: Path) -> None:
    folder = kept_in_git(house(tmp_path / "house", PAIR))
    for name, words in {
        "2026-01@nope": "no revision `nope`",
        "2026-01@--help": "no revision `--help`",
        "2026-01@HEAD:x": "no revision",
        "2026-O1": "did you mean `2026-01`",
        "2026-09@HEAD": "no batch `2026-09` in revision",
    }.items():
        done = inside("compare", name, "2026-01", cwd=folder)
        assert done.returncode == 2 and words in done.stderr, (name, done.stderr)


def test_without_git_everything_else_works(tmp_path: Path) -> None:
    folder = house(tmp_path / "house", PAIR)
    nothing = tmp_path / "empty"
    nothing.mkdir()
    done = reportgen("compare", "2026-01", "2026-02", cwd=folder, PATH=str(nothing))
    assert done.returncode == 0 and "7.0 kg → 8000 g" in done.stdout
    done = reportgen("compare", "2026-01@HEAD", "2026-02", cwd=folder, PATH=str(nothing))
    assert done.returncode == 2 and "git is not installed" in done.stderr
    git(folder.parent, "init", "-q", "--bare", "x.git")
    done = inside("compare", "2026-01@HEAD", "2026-02", cwd=folder)
    assert done.returncode == 2 and "not kept in git" in done.stderr


def verified(folder: Path, *arguments: str) -> tuple[int, list[dict[str, object]], str]:
    """Verify in a process of its own, and return exit code, what was said, and the errors."""
    done = inside("verify", *arguments, "--format", "json", cwd=folder)
    assert "Traceback" not in done.stderr, done.stderr
    return done.returncode, json.loads(done.stdout or "[]"), done.stderr


def said(found: dict[str, object]) -> dict[str, object]:
    """Return whether each statement holds, by a word of it."""
    words = {"attached": "attached", "archive has": "record", "made again": "bytes",
             "SHA256SUMS": "listed"}  # fmt: skip
    result: dict[str, object] = {}
    for statement in found["statements"]:  # type: ignore[attr-defined]
        key = next(v for k, v in words.items() if k in statement["words"])
        result[key] = statement["holds"]
    return result


@pytest.fixture
def made_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep each document that is made again, by all that it is made from: setting it takes long."""
    kept: dict[tuple[object, ...], bytes] = {}
    made = Document.make

    def make(
        document: Document, batch: Assessment, paper: str, copy: int, form: str = "pdf"
    ) -> bytes:
        sources = tuple(sorted(s.sha256 for s in batch.archive.sources.values()))
        key = (document.name, batch.batch.id, paper, copy, form, sources)
        if key not in kept:
            kept[key] = made(document, batch, paper, copy, form)
        return kept[key]

    monkeypatch.setattr(Document, "make", make)


def test_a_record_verified_from_printing_to_tampering(tmp_path: Path, made_once: None) -> None:
    # One story: printing a record takes the longest, so it is printed once.
    folder = tmp_path / "house"
    (batch,) = make_archive(folder, 1)
    kept_in_git(folder)
    record = folder / "2020" / f"{batch}.yaml"
    original = record.read_bytes()
    assert inside("record", cwd=folder).returncode == 0
    pdf = folder / "build/records" / f"{batch}.pdf"
    code, (found,), _ = verified(folder, str(pdf))
    assert code == 0 and said(found) == {"attached": True, "record": True, "bytes": True}
    assert (found["batch"], found["paper"]) == (batch, "A4")

    # The record inside can be had again, byte for byte.
    done = reportgen("verify", "--source", str(pdf), cwd=tmp_path)
    assert done.stdout.encode() == original

    # The record goes on; the PDF still is what its own record gives, and git knows which.
    edit(record, "name: ", "name: New ")
    commit(folder, "Renamed")
    first = resolve(folder, "HEAD~1")
    data = pdf.read_bytes()
    now = against(data, folder)
    assert not now.holds and standing(now) == {"attached": True, "record": False, "bytes": True}
    (differs,) = [s for s in now.statements if "lines differ" in s.words]
    assert "First" in differs.words and any(d.startswith("+name: New") for d in differs.details)
    then = against(data, folder, first)
    assert then.holds and set(standing(then).values()) == {True}

    # A house that has changed since does not hold; as it was then it does.
    edit(folder / "brewery.yaml", "evaporation: 4.5 L/h", "evaporation: 5.5 L/h")
    assert standing(against(data, folder))["bytes"] is False
    assert against(data, folder, first).holds

    # A page changed by hand is found, though the record inside is whole.
    forged = tmp_path / "forged.pdf"
    with pikepdf.open(pdf) as opened:
        opened.pages[1].contents_add(b"q 0 0 1 rg 50 50 100 100 re f Q")
        opened.save(forged)
    found_out = against(forged.read_bytes(), folder, first)
    assert standing(found_out) == {"attached": True, "record": True, "bytes": False}
    assert any("page 2 differs" in s.words for s in found_out.statements)

    # Another record put inside is found as well.
    swapped = tmp_path / "swapped.pdf"
    with pikepdf.open(pdf) as opened:
        name = next(iter(opened.attachments))
        del opened.attachments[name]
        opened.attachments[name] = original.replace(b"name: ", b"name: Not ")
        opened.save(swapped)
    found_out = against(swapped.read_bytes(), folder, first)
    assert standing(found_out) == {"attached": True, "record": False, "bytes": False}


def against(data: bytes, root: Path, revision: Revision | None = None) -> Verification:
    with shelf(root, revision) as archive:
        return verify(data, archive, ALL)


def standing(found: Verification) -> dict[str, object]:
    """Return whether each statement holds, by a word of it."""
    return said({"statements": [{"words": s.words, "holds": s.holds} for s in found.statements]})


def small_pdf(title: str, pages: int = 1) -> bytes:
    pdf = pikepdf.new()
    for _ in range(pages):
        pdf.add_blank_page(page_size=(595, 842))
    pdf.docinfo["/Title"] = title
    stream = io.BytesIO()
    pdf.save(stream)
    return stream.getvalue()


def test_what_is_no_record_is_misuse_and_the_others_are_still_looked_at(tmp_path: Path) -> None:
    folder = house(tmp_path / "house", {"2026-01": "{}"})
    files = {
        "text.pdf": b"no PDF at all",
        "cut.pdf": small_pdf("Batch record 2026-01: x")[:300],
        "other.pdf": small_pdf("A letter"),
        "empty.pdf": b"",
        "gone.pdf": small_pdf("Batch record 1999-01: gone"),
    }
    for name, data in files.items():
        (folder / name).write_bytes(data)
    code, found, errors = verified(folder, *files, "missing.pdf")
    assert code == 2
    expected = {"text.pdf": "not a PDF", "cut.pdf": "cut.pdf: ", "other.pdf": "A letter",
                "empty.pdf": "not a PDF", "missing.pdf": "no such file"}  # fmt: skip
    for name, words in expected.items():
        assert any(name in line and words in line for line in errors.splitlines()), (name, errors)
    (one,) = found
    assert one["file"] == "gone.pdf" and one["holds"] is False
    done = inside("verify", "other.pdf", "--revision", "HEAD", cwd=folder)
    assert done.returncode == 2


def test_a_trace_tells_when_the_record_was_changed(tmp_path: Path) -> None:
    folder = house(tmp_path / "house", {"2026-01": "{}"})
    done = inside("trace", "2026-01", cwd=folder)
    assert done.returncode == 0 and "by git" not in done.stdout
    kept_in_git(folder)
    edit(folder / "2026/2026-01.yaml", "name: ", "name: New ")
    commit(folder, "Renamed")
    done = inside("trace", "2026-01", cwd=folder)
    assert done.returncode == 0
    told = done.stdout.partition("Record changed, by git")[2]
    assert told.index("Renamed") < told.index("First")
    command = told.rpartition("reportgen ")[2].split()
    assert "name: " in inside(*command, cwd=folder).stdout
    data = json.loads(inside("trace", "2026-01", "--format", "json", cwd=folder).stdout)
    assert [r["subject"] for r in data[0]["revisions"]] == ["Renamed", "First"]


def test_a_folder_of_pdfs_is_looked_through(tmp_path: Path) -> None:
    folder = house(tmp_path / "house", {"2026-01": "{}"})
    shelf_of_pdfs = folder / "shelf"
    shelf_of_pdfs.mkdir()
    for number in range(3):
        pdf = small_pdf(f"Batch record 199{number}-01: gone")
        (shelf_of_pdfs / f"{number}.pdf").write_bytes(pdf)
    (shelf_of_pdfs / "notes.txt").write_text("no PDF")
    code, found, errors = verified(folder, "shelf")
    assert code == 1 and errors == "3 PDFs: 3 do not hold\n"
    assert [one["batch"] for one in found] == ["1990-01", "1991-01", "1992-01"]


def test_what_is_made_of_many_records_is_held_against_the_last_build(tmp_path: Path) -> None:
    folder = house(tmp_path / "house", {"2026-01": "{}"})
    ours = {"ledger/ledger.pdf": small_pdf("Ledger: x"), "labels/a.pdf": small_pdf("Labels 1: x")}
    for name, data in ours.items():
        with pikepdf.open(io.BytesIO(data)) as opened:
            opened.docinfo["/Creator"] = "reportgen 0.1.0"
            (folder / "build" / name).parent.mkdir(parents=True)
            opened.save(folder / "build" / name)
    listed = digest((folder / "build/ledger/ledger.pdf").read_bytes())
    (folder / "build/SHA256SUMS").write_text(f"{listed}  ledger/ledger.pdf\n")
    code, found, errors = verified(folder, "build")
    assert code == 0 and errors == "2 PDFs: 1 hold, 1 not of one batch\n"
    assert [one["statements"][-1]["holds"] for one in found] == [None, True]  # type: ignore[index]
    # By itself there is nothing to hold it against.
    assert verified(folder, "build/labels/a.pdf")[0] == 2


def test_one_document_in_the_place_of_another_is_found(tmp_path: Path, made_once: None) -> None:
    folder = house(tmp_path / "house", {"2026-01": "{}"})
    sheets = folder / "build/sheets"
    sheets.mkdir(parents=True)
    batch = assessed(loaded(folder), "2026-01")
    tasting = next(document for document in ALL if document.name == "tasting")
    data = tasting.make(batch, "A4", 1)
    (folder / "build/SHA256SUMS").write_text(
        f"{digest(data)}  sheets/2026-01-tasting.pdf\n{digest(b'')}  sheets/2026-01-cellar.pdf\n"
    )
    for name in ("tasting", "cellar"):
        (sheets / f"2026-01-{name}.pdf").write_bytes(data)
    with shelf(folder) as kept:
        for name, holds in (("tasting", True), ("cellar", False)):
            found = verify(data, kept, ALL, 1, sheets / f"2026-01-{name}.pdf")
            assert found.holds is holds
        assert "not as sheets/2026-01-cellar.pdf" in found.statements[-1].words
        # Sent elsewhere it may have any name.
        assert verify(data, kept, ALL, 1, tmp_path / "2026-01-cellar.pdf").holds
        # Of another copy the number is asked for, since a sheet says no more.
        other = verify(tasting.make(batch, "A4", 2), kept, ALL)
        assert not other.holds and "another with --copy" in str(other.statements)


def test_without_an_archive_it_is_said_that_nothing_is_compared(tmp_path: Path) -> None:
    record = b"format: 1\nbatch: 2026-01\n"
    with pikepdf.open(io.BytesIO(small_pdf("Batch record 2026-01: x"))) as opened:
        opened.attachments["2026-01.yaml"] = record
        opened.save(tmp_path / "alone.pdf")
    code, (found,), _ = verified(tmp_path, "alone.pdf")
    assert code == 2
    words = [(s["holds"], s["words"]) for s in found["statements"]]  # type: ignore[attr-defined]
    assert words[0][0] is True and "2026-01.yaml" in words[0][1]
    assert words[1][0] is None and "no archive here" in words[1][1]
    code, _, errors = verified(tmp_path, "alone.pdf", "--revision", "HEAD")
    assert code == 2 and "no archive here" in errors


@pytest.mark.parametrize(
    ("differing", "words"),
    [([3], "page 3 differs"), ([1, 2, 3, 6], "pages 1 to 3, 6 differ"),
     ([1, 2, 3, 4, 5, 6, 7], "all 7 pages differ")],
)
def test_pages_that_differ_are_told_shortly(differing: list[int], words: str) -> None:
    assert _pages_words(differing, 7) == words


@pytest.mark.parametrize("data", [b"", b"%PDF-1.7", b"%PDF-1.7\n%%EOF", b"%PDF-" + b"\0" * 5000])
def test_broken_files_are_said_to_be_broken(data: bytes) -> None:
    with pytest.raises(NotVerifiable):
        open_pdf(data)


def test_the_title_names_document_and_batch() -> None:
    document, batch = document_of("Brew-day sheet 2026-03: Beer: the second", ALL)
    assert (document.name, batch) == ("brew-day", "2026-03")
    with pytest.raises(NotVerifiable):
        document_of("Batch record", ALL)
