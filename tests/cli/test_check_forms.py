"""``check`` for other programs: SARIF, CI annotations, standard input, terminals, closed pipes."""

from __future__ import annotations

import json
import os
import pty
import re
import select
import shutil
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest
from houses import inside

from reportgen.record.finding import Finding, Position, Severity
from reportgen.verbs.check import summary

EXAMPLE = Path(__file__).parents[1] / "example"
ROOT = Path(__file__).parents[2]
ENVIRONMENT = {
    **{k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "COLUMNS")},
    "PYTHONPATH": str(ROOT),
}
COMMAND = [sys.executable, "-m", "reportgen"]
RECORD = "2026/2026-01.yaml"


@pytest.fixture
def archive(tmp_path: Path) -> Path:
    """The example with a name mistyped in its tenth line, in a folder of a git repository."""
    copy = tmp_path / "a folder, 50 %" / "archive"
    shutil.copytree(EXAMPLE, copy)
    (tmp_path / ".git").mkdir()
    path = copy / RECORD
    path.write_text(path.read_text(encoding="utf-8").replace("malt: pale,", "malt: palle,"))
    return copy


def reportgen(
    *arguments: str, cwd: Path, stdin: str | None = None
) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*COMMAND, *arguments],
        cwd=cwd, env=ENVIRONMENT, input=stdin, capture_output=True, text=True, timeout=120,
    )  # fmt: skip


def log_of(archive: Path) -> dict[str, object]:
    done = inside("check", "--format", "sarif", cwd=archive)
    assert (done.returncode, done.stderr) == (1, "")
    log: dict[str, object] = json.loads(done.stdout)
    return log


def test_sarif_holds_to_the_standard(archive: Path) -> None:
    """Models that were generated from the schema of the standard: unknown keys are refused."""
    models = pytest.importorskip("fluidattacks_core.sarif")
    log = models.SarifLog.model_validate(log_of(archive))
    assert log.version.value == "2.1.0"


def test_sarif_holds_to_the_published_schema(archive: Path) -> None:
    folder = os.environ.get("REPORTGEN_NODE")
    if not folder:
        pytest.skip("REPORTGEN_NODE names no folder with the schema; see DEVELOPERS.md")
    found = sorted(Path(folder).glob("node_modules/@microsoft/jest-sarif/lib/schemas/sarif-2.1*"))
    schema = json.loads(found[-1].read_text(encoding="utf-8"))
    validator = jsonschema.validators.validator_for(schema)(schema)
    assert [error.message for error in validator.iter_errors(log_of(archive))] == []
    wrong = {**log_of(archive), "version": "2.0.0"}
    assert not validator.is_valid(wrong)


def test_sarif_names_the_place_and_describes_the_rule(archive: Path) -> None:
    run = log_of(archive)["runs"][0]  # type: ignore[index]
    rules = run["tool"]["driver"]["rules"]
    result = next(r for r in run["results"] if r["ruleId"] == "unknown-name")
    assert rules[result["ruleIndex"]]["id"] == "unknown-name"
    place = result["locations"][0]["physicalLocation"]
    # A reference (RFC 3986) from the top of the repository: blanks and per cent signs are escaped.
    assert place["artifactLocation"]["uri"] == "a%20folder%2C%2050%20%25/archive/" + RECORD
    assert place["region"]["startLine"] == 10
    line = (archive / RECORD).read_text(encoding="utf-8").splitlines()[9]
    region = place["region"]
    assert line[region["startColumn"] - 1 : region["endColumn"] - 1] == "palle"
    assert result["level"] == "error" and "did you mean" in result["message"]["text"]


def test_a_finding_keeps_its_fingerprint_when_lines_are_put_in_above(archive: Path) -> None:
    def prints() -> set[str]:
        results = log_of(archive)["runs"][0]["results"]  # type: ignore[index]
        return {r["partialFingerprints"]["finding/v1"] for r in results if r["level"] == "error"}

    before = prints()
    path = archive / RECORD
    path.write_text(path.read_text(encoding="utf-8").replace("plan:\n", "# note\nplan:\n"))
    assert prints() == before


def unescaped(text: str) -> str:
    """Undo the escapes as the runner does (its ActionCommand), the per cent sign last."""
    for code, sign in (("%0D", "\r"), ("%0A", "\n"), ("%3A", ":"), ("%2C", ","), ("%25", "%")):
        text = text.replace(code, sign)
    return text


def test_annotations_are_workflow_commands(archive: Path) -> None:
    done = reportgen("check", "--format", "annotations", cwd=archive)
    assert done.returncode == 1
    lines = done.stdout.splitlines()
    assert all(re.match(r"::(notice|warning|error) [^:]*::.", line) for line in lines)
    line = next(line for line in lines if "palle" in line)
    head, _, said = line.removeprefix("::error ").partition("::")
    properties = dict(pair.split("=", 1) for pair in head.split(","))
    assert unescaped(properties["file"]) == "a folder, 50 %/archive/" + RECORD
    assert (properties["line"], properties["col"], properties["endColumn"]) == ("10", "14", "18")
    assert unescaped(said).splitlines()[1].startswith("expected: ")


@pytest.mark.parametrize(("least", "code"), [("note", 1), ("major", 0), ("error", 0)])
def test_the_exit_code_can_wait_for_what_weighs_more(
    archive: Path, least: str, code: int
) -> None:
    shutil.copy(EXAMPLE / RECORD, archive / RECORD)
    # The code of the one that waits is that of a real process.
    run = reportgen if least == "major" else inside
    done = run("check", "--fail-on", least, cwd=archive)
    assert done.returncode == code
    # What does not count is printed all the same.
    assert "note" in done.stderr and "note:" in done.stdout
    (archive / RECORD).write_text("batch: [", encoding="utf-8")
    assert inside("check", "--fail-on", least, cwd=archive).returncode == 1


def test_text_names_files_from_the_folder_stood_in(archive: Path) -> None:
    for folder, name in ((archive, RECORD), (archive.parent, f"archive/{RECORD}"),
                         (archive / "2026", "2026-01.yaml")):
        done = inside("check", str(archive / RECORD), cwd=folder)
        assert done.stdout.startswith(f"{name}:10:14: error:"), done.stdout
        assert done.stderr.startswith("1 batch: 1 error")


def test_a_record_on_standard_input_stands_for_its_file(archive: Path) -> None:
    saved = reportgen("check", "-", cwd=archive, stdin=(EXAMPLE / RECORD).read_text())
    assert "palle" not in saved.stdout and "error" not in saved.stderr
    typed = (EXAMPLE / RECORD).read_text().replace("kit: main", "kit: mian")
    done = inside("check", "-", cwd=archive / "2026", stdin=typed)
    assert done.returncode == 1
    assert done.stdout.startswith("2026-01.yaml:7:8: error: `mian`")
    new = typed.replace("batch: 2026-01", "batch: 2026-07").replace("kit: mian", "kit: main")
    done = inside("check", "-", cwd=archive, stdin=new)
    assert "error" not in done.stderr and "1 batch" in done.stderr
    # The disk is as it was.
    assert "palle" in (archive / RECORD).read_text(encoding="utf-8")
    assert sorted(p.name for p in (archive / "2026").iterdir()) == ["2026-01.yaml"]
    # Bad input of any kind is a finding too.
    for bad in ("", "\x00", "batch: " + "x" * 3_000_000, "batch: [", "%"):
        done = inside("check", "-", cwd=archive, stdin=bad)
        assert done.returncode == 1 and "Traceback" not in done.stderr
        assert "error" in done.stdout



def test_an_unsaved_record_is_held_against_the_store(archive: Path) -> None:
    """What the others took decides what is left, and the text typed counts, not the file's."""
    stock = archive / "stock.yaml"
    text = stock.read_text(encoding="utf-8")
    counted = text.replace("lots: {M-1: {received: 2026-01-05}}",
                           "lots: {M-1: {received: 2026-01-05, amount: 15 kg}}")
    assert counted != text
    stock.write_text(counted, encoding="utf-8")
    lot = "{malt: pale, amount: 7.0 kg, lot: M-1}"
    first = (EXAMPLE / RECORD).read_text(encoding="utf-8").replace(
        "{malt: pale, amount: 7.0 kg}", lot
    )
    (archive / RECORD).write_text(first, encoding="utf-8")
    other = first.replace("batch: 2026-01", "batch: 2026-02")
    (archive / RECORD).with_name("2026-02.yaml").write_text(other, encoding="utf-8")
    assert "promised-twice" not in inside("check", "-", cwd=archive, stdin=other).stdout
    for batch in ("2026-02", "2026-03"):
        typed = other.replace("2026-02", batch).replace("7.0 kg, lot", "9.0 kg, lot")
        done = inside("check", "-", cwd=archive, stdin=typed)
        assert "promised-twice" in done.stdout, (batch, done.stdout)
        assert done.stdout.count("promised-twice") == 1


def test_figures_of_a_record_on_standard_input(archive: Path) -> None:
    text = (EXAMPLE / RECORD).read_text().replace("volume: 40 L", "volume: 38 L")
    done = inside("figures", "-", "--format", "json", cwd=archive, stdin=text)
    assert done.returncode == 0, done.stderr
    found = {row["key"]: row["expected"] for row in json.loads(done.stdout)}
    assert found["fermenter_volume"] == 38


def test_standard_input_stands_alone(archive: Path) -> None:
    done = inside("check", "-", RECORD, cwd=archive, stdin="")
    assert done.returncode == 2 and "stands alone" in done.stderr


def on_a_terminal(*arguments: str, cwd: Path, **more: str) -> str:
    """Run the command on a pseudo-terminal of 60 columns and return what stands on it."""
    import fcntl
    import struct
    import termios

    try:
        mine, its = pty.openpty()
    except OSError:
        pytest.skip("this machine gives no pseudo-terminals")
    fcntl.ioctl(its, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 60, 0, 0))
    process = subprocess.Popen(
        [*COMMAND, *arguments], cwd=cwd, stdout=its, stderr=subprocess.DEVNULL,
        stdin=subprocess.DEVNULL, env={**ENVIRONMENT, "TERM": "xterm", **more},
    )  # fmt: skip
    os.close(its)
    told = b""
    while True:
        ready, _, _ = select.select([mine], [], [], 120)
        assert ready, "nothing came"
        try:
            part = os.read(mine, 65536)
        except OSError:  # how Linux says that the other end is closed
            break
        if not part:
            break
        told += part
    os.close(mine)
    process.wait(timeout=60)
    return told.decode()


def test_colour_and_width_are_those_of_the_terminal(archive: Path) -> None:
    path = archive / RECORD
    path.write_text(path.read_text().replace("malt: palle,", f"malt: palle, lot: {'x' * 90},"))
    told = on_a_terminal("check", RECORD, cwd=archive)
    assert "\x1b[31;1m" in told
    plain = re.sub(r"\x1b\[[0-9;]*m", "", told)
    shown = [line for line in plain.splitlines() if line.startswith("    ")]
    assert shown and all(len(line) <= 60 for line in shown) and "…" in shown[0]
    assert "\x1b" not in on_a_terminal("check", RECORD, cwd=archive, NO_COLOR="1")
    assert "\x1b" not in on_a_terminal("check", RECORD, "--no-colour", cwd=archive)
    # In a file: no colour, unless it is asked for.
    assert "\x1b" not in reportgen("check", cwd=archive).stdout
    assert "\x1b" in reportgen("check", "--colour", cwd=archive).stdout


@pytest.mark.parametrize("form", ["text", "json", "sarif", "annotations"])
def test_a_reader_that_has_had_enough_is_no_fault(archive: Path, form: str) -> None:
    process = subprocess.Popen(
        [*COMMAND, "check", "--format", form], cwd=archive, env=ENVIRONMENT,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout is not None and process.stderr is not None
    process.stdout.close()
    assert "Traceback" not in process.stderr.read()
    process.stderr.close()
    assert process.wait(timeout=120) in (0, 1)


def test_what_was_found_is_counted_in_words() -> None:
    spot = Position("a.yaml", 1, 1, 2)
    weights = [Severity.ERROR, Severity.NOTE, Severity.NOTE, Severity.MINOR, Severity.MINOR]
    found = [Finding("rule", severity, spot, "") for severity in weights]
    assert summary(found, 2) == "2 batches: 1 error, 2 minor, 2 notes"
    assert summary(found[:2] * 2, 1) == "1 batch: 2 errors, 2 notes"
    assert summary([], 1) == "1 batch: nothing found"


@pytest.mark.parametrize("path", [RECORD, "-"])
def test_what_cannot_be_read_of_the_house_is_said_with_one_record(archive: Path, path: str) -> None:
    house = archive / "brewery.yaml"
    text = house.read_text(encoding="utf-8")
    house.write_text(text.replace("format: 1", "format: 1\npapper: A4", 1), encoding="utf-8")
    record = (archive / RECORD).read_text(encoding="utf-8").replace("palle", "pale")
    (archive / RECORD).write_text(record, encoding="utf-8")
    run = inside("check", path, cwd=archive, stdin=record)
    assert run.returncode == 1, run.stdout
    assert "brewery.yaml:" in run.stdout and "`papper` is not a key" in run.stdout
