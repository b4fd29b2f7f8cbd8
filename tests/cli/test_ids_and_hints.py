"""What is typed at a terminal: batch ids for files, slips in verbs and options, wrong folders."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from reportgen.cli import main

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "tests" / "example"


@pytest.fixture
def house(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "repository" / "batches"
    shutil.copytree(EXAMPLE, folder)
    monkeypatch.chdir(folder)
    return folder


@pytest.mark.parametrize(
    "command",
    [("check",), ("figures",), ("blanks",), ("figures", "--format", "csv"),
     ("treat", "--calcium", "80")],
    ids=" ".join,
)  # fmt: skip
@pytest.mark.parametrize("place", [".", "2026", "build"])
def test_an_id_stands_for_its_record(
    house: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
    command: tuple[str, ...], place: str,
) -> None:  # fmt: skip
    verb, *options = command
    file = house / "2026/2026-01.yaml"
    code = main([verb, str(file), *options])
    by_file = capsys.readouterr().out
    (house / place).mkdir(exist_ok=True)
    monkeypatch.chdir(house / place)
    assert main([verb, "2026-01", *options]) == code
    by_id = capsys.readouterr().out
    assert by_id.replace("../", "").replace("2026/2026", "2026") == by_file.replace(
        "../", ""
    ).replace("2026/2026", "2026")


def test_sheets_and_record_and_their_pdfs_by_id(
    house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["verify", "2026-01"]) == 2
    assert "fix: run `reportgen record 2026-01`" in capsys.readouterr().err
    assert main(["sheet", "2026-01", "--html"]) == 0
    made = capsys.readouterr().out.splitlines()
    assert made and all(name.startswith("build/sheets/2026-01-") for name in made)


def test_an_unknown_id_is_told_with_the_nearest(
    house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for verb in ("check", "record", "verify"):
        assert main([verb, "2026-02"]) == 2
        said = capsys.readouterr().err
        assert "`2026-02`" in said and "did you mean `2026-01`?" in said
    assert main(["check", "2026/2026-02.yaml"]) == 2
    assert "no such file or folder" in capsys.readouterr().err


def test_a_path_does_where_a_number_is_asked_for(
    house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["new", "2026/2026-08.yaml", "--like", "2026/2026-01.yaml"]) == 0
    assert capsys.readouterr().out == "2026/2026-08.yaml\n"
    assert main(["trace", "2026/2026-08.yaml"]) == 0
    assert capsys.readouterr().out.startswith("Batch 2026-08")
    # One number written in two ways would be two batches side by side.
    assert main(["new", "2026-8"]) == 2
    assert "too like batch 2026-08, 2026/2026-08.yaml" in capsys.readouterr().err
    assert main(["new", "2026-80"]) == 0


@pytest.mark.parametrize(
    ("command", "words"),
    [(["record"], "no batch has been brewed yet"), (["sheet"], "begin one with `reportgen new`")],
)
def test_nothing_to_print_is_said(
    house: Path, capsys: pytest.CaptureFixture[str], command: list[str], words: str
) -> None:
    shutil.rmtree(house / "2026")
    assert main(command) == 0
    said = capsys.readouterr()
    assert said.out == "" and words in said.err


def test_a_folder_of_that_name_comes_first(
    house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (house / "2026-01").mkdir()
    assert main(["figures", "2026-01"]) == 2
    assert "no batch record" in capsys.readouterr().err


SLIPS = [
    (["chek"], "did you mean `check`?"),
    (["recrod", "2026-01"], "did you mean `record`?"),
    (["2026/2026-01.yaml"], "reportgen check 2026/2026-01.yaml"),
    (["frobnicate"], "--help lists them all"),
    (["--fromat", "json", "check"], "check has no option `--fromat`; did you mean `--format`?"),
    (["--fromat=json", "check"], "did you mean `--format`?"),
    (["--format", "json", "check"], "belongs after the verb"),
    (["check", "--fromat", "json"], "did you mean `--format`?"),
    (["--verison"], "did you mean `--version`?"),
]


@pytest.mark.parametrize(("words", "told"), SLIPS, ids=lambda one: " ".join(one)[:30])
def test_a_slip_is_named_with_what_was_meant(
    words: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(words)
    assert stopped.value.code == 2
    assert told in capsys.readouterr().err


def test_in_a_repository_the_folder_of_the_archive_is_named(
    house: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    top = house.parent
    (top / ".git").mkdir()
    (top / "notes" / "old").mkdir(parents=True)
    for place, near in ((top, "batches"), (top / "notes" / "old", "../../batches")):
        monkeypatch.chdir(place)
        assert main(["check"]) == 2
        assert f"the archive is {near}/; fix: `cd {near}` first" in capsys.readouterr().err
    shutil.copytree(EXAMPLE, top / "second house")
    monkeypatch.chdir(top)
    assert main(["check"]) == 2
    assert "there are archives in batches, second house" in capsys.readouterr().err


def test_where_there_is_none_at_all_it_says_how_to_begin(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["check"]) == 2
    assert "reportgen start" in capsys.readouterr().err


def test_names_for_the_shell(house: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["completion", "--names", "batches"]) == 0
    assert capsys.readouterr().out.split() == ["2026-01"]
    assert main(["completion", "--names", "traced"]) == 0
    assert {"2026-01", "pale"} <= set(capsys.readouterr().out.split())
    assert main(["completion", "--names", "checks"]) == 0
    assert "gravity-rises" in capsys.readouterr().out.split()


@pytest.mark.parametrize(
    ("line", "index", "told"),
    [
        ("record 2026-", 2, "2026-01"),
        ("compare 2026-01 2026-", 3, "2026-01"),
        ("explain gravity-r", 2, "gravity-rises"),
        ("trace pal", 2, "pale"),
    ],
)
def test_bash_completes_names(
    house: Path, tmp_path: Path, line: str, index: int, told: str
) -> None:
    bash = shutil.which("bash")
    if bash is None:
        pytest.skip("bash is not installed")
    tool = tmp_path / "bin" / "reportgen"
    tool.parent.mkdir()
    tool.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m reportgen "$@"\n', encoding="utf-8")
    tool.chmod(0o755)
    words = ["reportgen", *line.split(" ")]
    script = (
        'source <(reportgen completion bash)\n'
        f"COMP_WORDS=({' '.join(words)}); COMP_CWORD={index}\n"
        "_shtab_reportgen; printf '%s\\n' \"${COMPREPLY[@]}\""
    )
    done = subprocess.run(
        [bash, "--norc", "-c", script], cwd=house, capture_output=True, text=True, timeout=60,
        env={**os.environ, "PATH": f"{tool.parent}{os.pathsep}{os.environ['PATH']}",
             "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert told in done.stdout.split(), done.stdout + done.stderr


def test_a_kit_that_cannot_be_read_is_not_laid_on_the_record(
    house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    brewery = house / "brewery.yaml"
    text = brewery.read_text(encoding="utf-8")
    assert "    conversion: " in text
    brewery.write_text(text.replace("    conversion: ", "    conversion: 3 kg #"), encoding="utf-8")
    assert main(["figures", "2026-01"]) == 1
    assert capsys.readouterr().err.startswith("brewery.yaml: cannot be read")
