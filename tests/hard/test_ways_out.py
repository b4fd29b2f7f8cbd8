"""Runs that cannot go as asked: one line with a way out, the record by name, never a traceback."""

from __future__ import annotations

import errno
import os
import pickle
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from processes import COMMAND, ROOT, environment, reportgen

from reportgen.archive import checked as checking
from reportgen.archive import issued, summaries, workers
from reportgen.archive.workers import in_order
from reportgen.archive.write import CannotWrite
from reportgen.assessment import assess as assessing
from reportgen.cli import main
from reportgen.record.failure import RULE, Failed, reason
from reportgen.record.load import Archive, Batch
from reportgen.science.method import OutOfRange

DEMO = ROOT / "batches"
RECORD = "2026/2026-01.yaml"


@pytest.fixture
def archive(tmp_path: Path) -> Path:
    """Two records of the demo with the files of the house."""
    root = tmp_path / "archive"
    (root / "2026").mkdir(parents=True)
    for name in ("brewery.yaml", "stock.yaml", RECORD, "2026/2026-02.yaml"):
        shutil.copy(DEMO / name, root / name)
    return root


@pytest.fixture
def faulty(monkeypatch: pytest.MonkeyPatch) -> None:
    """A tool with a fault that shows in one record; its words would hold a value of it."""

    def assess(archive: Archive, batch: Batch) -> object:
        if batch.id == "2026-02":
            raise KeyError("secret 5.2 %")
        return assessing.assess(archive, batch)

    for module in (checking, issued, summaries):
        monkeypatch.setattr(module, "assess", assess)
    monkeypatch.setattr(workers, "cores", lambda: 2)
    monkeypatch.setattr(checking, "FEWEST", 1)


@pytest.mark.usefixtures("faulty")
def test_a_fault_of_the_tool_names_its_record_and_the_others_go_on(
    archive: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(archive)
    text = (archive / RECORD).read_text(encoding="utf-8")
    (archive / RECORD).write_text(text.replace("0.72 bar", "13 bar"), encoding="utf-8")
    assert main(["check"]) == 3
    said = capsys.readouterr().out
    (line,) = [one for one in said.splitlines() if RULE in one]
    assert line.startswith("2026/2026-02.yaml:1:1: error: reportgen itself failed here: KeyError")
    assert "test_ways_out.py" in line and "secret" not in said and str(archive) not in line
    pressure = 1 + [line.split(":")[0].strip() for line in text.splitlines()].index("pressure")
    assert f"{RECORD}:{pressure}:" in said, "the other record is judged all the same"
    assert main(["figures", "--format", "csv"]) == 3
    printed = capsys.readouterr()
    assert RULE in printed.err and "2026-01,alcohol" in printed.out
    assert "2026-02,alcohol" not in printed.out


def test_what_cannot_be_handed_over_by_a_worker_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """An exception with arguments of its own cannot be taken apart and put together again."""
    monkeypatch.setattr(workers, "cores", lambda: 2)

    def work(number: int) -> int:
        if number == 1:
            raise OutOfRange("boil.evaporation", "volume", 47500, 0, 20000, "L")
        return number

    with pytest.raises(Failed) as met:
        list(in_order(work, range(4)))
    assert "OutOfRange" in met.value.finding.message and "47500" not in met.value.finding.message


@pytest.mark.parametrize("verb", ["check", "figures", "blanks"])
def test_a_link_out_of_the_archive_given_by_its_path(archive: Path, verb: str) -> None:
    outside = archive.parent / "outside.yaml"
    shutil.move(archive / RECORD, outside)
    (archive / RECORD).symlink_to(outside)
    done = reportgen(verb, RECORD, cwd=archive)
    assert done.returncode == 1 and RECORD in done.stdout + done.stderr
    assert "Traceback" not in done.stderr
    if verb == "check":
        assert "a link to a file outside the archive" in done.stdout


@pytest.mark.parametrize("streams", [">&-", "2>&-", "<&- >&- 2>&-"])
def test_a_stream_that_is_closed_goes_nowhere(archive: Path, streams: str) -> None:
    command = " ".join([*COMMAND, "record", "--html", RECORD])
    done = subprocess.run(
        ["sh", "-c", f"{command} {streams}"], cwd=archive, env=environment(), timeout=120,
        capture_output=True, text=True,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr
    pages = sorted((archive / "build" / "records").iterdir())
    assert len(pages) >= 1
    assert all(page.read_bytes().startswith(b"<!DOCTYPE html>") for page in pages)


def test_without_docstrings_it_says_so(archive: Path) -> None:
    command = [sys.executable, "-OO", "-m", "reportgen", "check"]
    done = subprocess.run(
        command, cwd=archive, env=environment(), capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 2 and done.stderr.count("\n") == 1
    assert "-OO" in done.stderr and "PYTHONOPTIMIZE" in done.stderr


@pytest.mark.parametrize("file", [RECORD, "stock.yaml"])
def test_a_pipe_in_the_place_of_a_file_is_not_waited_for(archive: Path, file: str) -> None:
    (archive / file).unlink()
    os.mkfifo(archive / file)
    done = reportgen("check", cwd=archive, before=["timeout", "60"])
    assert done.returncode == 1 and f"{file}:1:1: error: this is not a regular file" in done.stdout
    assert "delete it" in done.stdout and "folder" not in done.stdout
    assert reportgen("schema", cwd=archive, before=["timeout", "60"]).returncode == 0


@pytest.mark.parametrize(
    "name",
    ["2026-03.YAML", "2026-03.yaml.txt", "2026-03.Yml", "2026-03.yaml (1)", "2026-03.yml.download"],
)
def test_a_record_that_is_passed_over_for_its_name(
    archive: Path, name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (archive / "2026" / name).write_text("format: 1\n", encoding="utf-8")
    (archive / "2026" / "2026-02.yaml.bak").write_text("a copy", encoding="utf-8")
    monkeypatch.chdir(archive)
    assert main(["check"]) == 1
    said = capsys.readouterr().out
    assert said.startswith(f"2026/{name}:1:1: error: ") and "rename it to 2026-03.yaml" in said
    assert "bak" not in said
    assert main(["figures", f"2026/{name}"]) == 2
    assert "rename it to 2026-03.yaml" in capsys.readouterr().err


@pytest.mark.parametrize("text", ["", "\n \n", "# nothing but words\n"])
def test_an_empty_record_has_a_way_out(
    archive: Path, text: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (archive / RECORD).write_text(text, encoding="utf-8")
    monkeypatch.chdir(archive)
    assert main(["check", RECORD]) == 1
    assert "reportgen new ID" in capsys.readouterr().out


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EROFS, errno.EACCES])
def test_what_the_system_refuses_has_a_way_out(number: int) -> None:
    refused = OSError(number, os.strerror(number))
    said = reason(refused, elsewhere=True)
    assert said.startswith(os.strerror(number)) and ("--output" in said or "free" in said)
    assert "--output" not in reason(refused) and "; " in reason(refused)


def test_a_refusal_keeps_its_ways_out_when_a_worker_hands_it_over() -> None:
    refused = CannotWrite("build/a.pdf", OSError(errno.EACCES, "Permission denied"))
    there = pickle.loads(pickle.dumps(refused))
    assert there.told(elsewhere=True).startswith("build/a.pdf: Permission denied; name another")
    assert str(there) == "build/a.pdf: Permission denied; allow writing there (its permissions)"


@pytest.mark.parametrize(("verb", "has_output"), [("sheet", True), ("schema", False)])
def test_another_folder_is_named_only_where_there_is_an_option_for_it(
    archive: Path, verb: str, has_output: bool,
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise OSError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.chdir(archive)
    monkeypatch.setattr(Path, "mkdir", refused)
    assert main([verb, *([RECORD] if has_output else [])]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert "allow writing there" in line and ("--output" in line) == has_output


def test_a_document_can_be_written_elsewhere(
    archive: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The archive itself may be one that cannot be written: nothing is made in it."""
    monkeypatch.chdir(archive)
    elsewhere = tmp_path / "elsewhere"
    assert main(["sheet", RECORD, "--html", "--output", str(elsewhere)]) == 0
    assert main(["compare", "2026-01", "2026-02", "--page", "--output", str(elsewhere)]) == 0
    made = {path.name for path in elsewhere.iterdir()}
    assert {"2026-01-brew-day.html", "2026-01_2026-02.html"} <= made
    assert not (archive / "build").exists()


@pytest.mark.parametrize("altitude", ["-200 m", "-430 m"])
def test_a_brewery_below_the_sea_is_as_sound_as_one_above(
    archive: Path, altitude: str, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    house = archive / "brewery.yaml"
    text = house.read_text(encoding="utf-8").replace("altitude: 118 m", f"altitude: {altitude}")
    assert altitude in text
    house.write_text(text, encoding="utf-8")
    monkeypatch.chdir(archive)
    assert main(["check"]) == 0, capsys.readouterr().out


@pytest.mark.parametrize(
    "command",
    [["figures", "2026-01"], ["blanks", "2026-01"], ["treat", "2026-01", "--calcium", "80"],
     ["compare", "2026-01", "2026-01"], ["trace", "2026-01"], ["trace", "probe"],
     ["history"], ["history", "--format", "json"], ["store"], ["ledger"]],
    ids=" ".join,
)  # fmt: skip
def test_what_is_printed_in_part_says_so(
    archive: Path, command: list[str], monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """A value that cannot be read is left out of every number, and nobody would see that it is."""
    monkeypatch.chdir(archive)
    main(command)
    assert "cannot be read in full" not in capsys.readouterr().err
    path = archive / RECORD
    text = path.read_text(encoding="utf-8")
    path.write_text(f"{text}brew_day: {{date: 2026-03-14, mash: {{mash_ph: 54 C}}}}\n", "utf-8")
    for _ in range(2):  # the second time something may stand already
        assert main(command) == 1
        assert f"{RECORD}: cannot be read in full" in capsys.readouterr().err


@pytest.mark.parametrize(
    "command",
    [["figures", "2026-02"], ["treat", "2026-02", "--calcium", "80"], ["blanks", "2026-02"],
     ["compare", "2026-02", "2026-01"], ["trace", "2026-02"], ["propose", "2026-02"]],
    ids=lambda command: command[0],
)  # fmt: skip
def test_a_record_that_gives_no_batch_is_there_all_the_same(
    archive: Path, command: list[str], monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    monkeypatch.chdir(archive)
    path = archive / "2026/2026-02.yaml"
    path.write_bytes(path.read_bytes() + b"\tnote: \xef\n")
    assert main(command) == 1
    said = capsys.readouterr().err
    assert said.endswith("2026/2026-02.yaml: cannot be read; run reportgen check\n")
    # Where it is a file of the house that cannot be read, no record is to blame.
    (archive / "stock.yaml").write_text("malts: [")
    assert main(command) == 1
    assert "stock.yaml: cannot be read; run reportgen check\n" in capsys.readouterr().err


@pytest.mark.parametrize("verb", ["store", "history", "ledger"])
def test_a_file_of_the_house_that_cannot_be_read_is_named(
    archive: Path, verb: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    monkeypatch.chdir(archive)
    (archive / "brewery.yaml").write_text("kits: [")
    assert main([verb]) == 1
    assert "brewery.yaml: cannot be read; run reportgen check\n" in capsys.readouterr().err
