"""Beginning an archive, help pages, shell completion: what a newcomer types first."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import yaml
from houses import inside

from reportgen.assessment.assess import assess
from reportgen.checks.base import names, run_checks
from reportgen.cli import main
from reportgen.command_words import VERBS
from reportgen.commandline import parser
from reportgen.loading import load_archive
from reportgen.record.describe import file_schema
from reportgen.record.finding import Severity
from reportgen.record.model.batch import Record

ROOT = Path(__file__).parents[2]


def reportgen(*arguments: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "reportgen", *arguments], cwd=cwd, capture_output=True, text=True,
        timeout=120, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip


def errors(folder: Path) -> list[str]:
    done = inside("check", "--format", "json", cwd=folder)
    assert done.returncode in (0, 1), done.stderr
    found = [json.loads(line) for line in done.stdout.splitlines()]
    return [f"{f['line']}: {f['message']}" for f in found if f["severity"] in ("error", "critical")]


@pytest.fixture(scope="module")
def started(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("started")
    done = reportgen("start", "my brewery", "--ci", cwd=folder)
    assert done.returncode == 0, done.stderr
    assert len(done.stdout.splitlines()) == 8
    return folder / "my brewery"


@pytest.fixture
def house(started: Path, tmp_path: Path) -> Path:
    """An archive as it is begun, to be written in."""
    return shutil.copytree(started, tmp_path / started.name)


def test_a_new_archive_and_its_first_record_have_no_error(house: Path) -> None:
    assert errors(house) == []
    done = reportgen("new", "2026-01", "--name", "First Pale", cwd=house)
    assert done.stdout == "2026/2026-01.yaml\n"
    assert errors(house) == []
    for name in ("brewery", "stock"):
        first = (house / f"{name}.yaml").read_text(encoding="utf-8").splitlines()[0]
        assert first == f"# yaml-language-server: $schema=.reportgen/{name}.json"
        assert (house / ".reportgen" / f"{name}.json").is_file()


PROSE = re.compile(r"^\s*# (?![a-z_]+:|- |  )")
"""A comment that is no line of the record."""


def uncommented(text: str, *sections: str) -> str:
    """Return a new record with the mark taken off its lines: of some sections or of all."""
    head, _, rest = text.partition("\nplan:\n")
    parts = f"# plan:\n{rest}".split("\n\n")
    lines = []
    for part in parts:
        bare = [line for line in part.splitlines() if not PROSE.match(line)]
        name = next((line[2:].split(":")[0] for line in bare if line.startswith("# ")), "")
        if sections and name not in sections:
            lines += bare if name != "plan" else ["plan:", *bare[1:]]
            continue
        # An option within an option has two marks.
        bare = [re.sub(r"^( *)#   # ", r"\1  ", line) for line in bare]
        lines += [re.sub(r"^( *)# (?=[\w{-]|  )", r"\1", line) for line in bare]
    return head + "\n" + "\n".join(lines) + "\n"


@pytest.fixture(params=["start", "demo"])
def any_house(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """An archive as it is begun, and one with another stock."""
    if request.param == "start":
        found: Path = request.getfixturevalue("house")
        return found
    folder = tmp_path / "demo"
    folder.mkdir()
    for name in ("brewery.yaml", "stock.yaml"):
        shutil.copy(ROOT / "batches" / name, folder)
    return folder


def test_every_commented_line_of_a_new_record_can_stand_without_its_mark(any_house: Path) -> None:
    reportgen("new", "2026-01", cwd=any_house)
    path = any_house / "2026/2026-01.yaml"
    new = path.read_text(encoding="utf-8")
    path.write_text(uncommented(new), encoding="utf-8")
    assert errors(any_house) == []
    archive = load_archive(any_house, names())
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    # What the brewer has not written yet is told; nothing in the lines passes for a reading.
    majors = {f.rule for f in run_checks(found) if f.severity >= Severity.MAJOR}
    assert majors == {"no-final-gravity", "sealed-before-steady"}
    assert found.actuals and not any(actual.value for actual in found.actuals.values())
    written = yaml.safe_load(path.read_text(encoding="utf-8"))
    sections = {
        key for key, shape in file_schema(Record)["properties"].items()
        if "$ref" in shape or shape.get("type") == "array"
    }  # fmt: skip
    # What the printed sheet says, and the batch that shares its wort, a new record cannot know.
    assert sections - {"issued", "wort_from"} <= set(written)
    for key in ("salts", "acids"):
        assert written["plan"]["liquor"][key]
    assert written["review"]["silenced"] and written["plan"]["boil"]["finings"]


SECTIONS = ("plan", "brew_day", "fermentation", "packaging", "tasting", "review")


@pytest.mark.parametrize("section", SECTIONS)
def test_each_section_of_a_new_record_can_stand_alone(house: Path, section: str) -> None:
    inside("new", "2026-01", cwd=house)
    path = house / "2026/2026-01.yaml"
    text = uncommented(path.read_text(encoding="utf-8"), section)
    assert f"\n{section}:\n" in text
    path.write_text(text, encoding="utf-8")
    archive = load_archive(house, names())
    assert archive.findings == ()
    record = archive.batches["2026-01"].record
    assert record is not None and getattr(record, section)


def test_start_touches_nothing_that_is_there(house: Path) -> None:
    before = {p: p.read_bytes() for p in house.rglob("*") if p.is_file()}
    for folder in (".", "inside"):
        done = inside("start", folder, cwd=house)
        assert done.returncode == 2 and "an archive is there already" in done.stderr
    assert {p: p.read_bytes() for p in house.rglob("*") if p.is_file()} == before
    other = house.parent / "other"
    other.mkdir()
    (other / ".gitignore").write_text("mine", encoding="utf-8")
    done = inside("start", "other", cwd=house.parent)
    assert done.returncode == 2 and ".gitignore" in done.stderr
    assert [p.name for p in other.iterdir()] == [".gitignore"]


def test_the_workflow_is_yaml_that_calls_verbs_there_are(house: Path) -> None:
    made = yaml.safe_load((house / ".github/workflows/batches.yml").read_text(encoding="utf-8"))
    steps = [s for job in made["jobs"].values() for s in job["steps"]]
    commands = [s["run"] for s in steps if s.get("run", "").startswith("reportgen ")]
    assert any("--format annotations" in command for command in commands)
    # Who holds the bare name in a registry is not known: the address must be written out.
    assert not any(s.get("run", "").strip() == "pip install reportgen" for s in steps)
    assert any(s.get("run") == 'pip install "$REPORTGEN"' for s in steps)
    assert made["env"]["REPORTGEN"].startswith("reportgen[print] @ git+https://example.org/")
    for command in commands:
        parser().parse_args(command.split()[1:])


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_has_a_help_page_with_examples(
    verb: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "70")
    with pytest.raises(SystemExit) as ended:
        main([verb, "--help"])
    assert ended.value.code == 0
    told = capsys.readouterr().out
    assert "examples:" in told
    for command, _ in VERBS[verb].examples:
        assert command in told
        plain = re.sub(r" [<>] \S+", "", command)
        words = re.findall(r'"[^"]*"|\S+', plain)
        parser().parse_args([word.strip('"') for word in words[1:]])
    text = told.partition("examples:")[0]
    assert all(len(line) <= 72 for line in text.splitlines())


def test_help_loads_nothing_heavy() -> None:
    script = (
        "import sys, reportgen.cli, reportgen.commandline as c; c.parser(); "
        "print([m for m in ('yaml', 'jsonschema', 'numpy', 'jinja2', 'weasyprint', 'shtab',"
        " 'uncertainties') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True)
    assert done.stdout == "[]\n"


def test_check_loads_no_printing_and_no_plotting(house: Path) -> None:
    script = (
        "import sys; from reportgen.cli import main; main(['check']); "
        "print([m for m in ('jinja2', 'weasyprint', 'pint', 'scipy', 'fontTools', 'pikepdf',"
        " 'markdown_it') if m in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=house, capture_output=True, text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert done.stdout.splitlines()[-1] == "[]"


BASH = """
source {script}
COMP_WORDS=(reportgen {typed}); COMP_CWORD={at}
_shtab_reportgen; printf '%s\\n' "${{COMPREPLY[@]}}"
"""


@pytest.mark.parametrize(
    ("typed", "at", "offered"),
    [
        ("che", 1, {"check"}),
        ("check --fo", 2, {"--format"}),
        ("check --format s", 3, {"sarif"}),
        ("completion f", 2, {"fish"}),
        ("figures mine", 2, {"mine.yaml"}),
    ],
)
def test_bash_completes(tmp_path: Path, typed: str, at: int, offered: set[str]) -> None:
    script = tmp_path / "reportgen.bash"
    script.write_text(reportgen("completion", "bash", cwd=tmp_path).stdout, encoding="utf-8")
    (tmp_path / "mine.yaml").touch()
    done = subprocess.run(
        ["bash", "--norc", "-c", BASH.format(script=script.name, typed=typed, at=at)],
        cwd=tmp_path, capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    assert offered <= set(done.stdout.split()), done.stderr


@pytest.mark.parametrize("shell", ["zsh", "fish"])
def test_the_scripts_of_other_shells_are_sound(tmp_path: Path, shell: str) -> None:
    script = tmp_path / "script"
    script.write_text(reportgen("completion", shell, cwd=tmp_path).stdout, encoding="utf-8")
    for word in ("check", "sarif", "--fail-on"):
        assert word.lstrip("-") in script.read_text(encoding="utf-8")
    if shutil.which(shell) is None:
        pytest.skip(f"{shell} is not installed: its script is written but not read by it")
    done = subprocess.run([shell, "-n", str(script)], capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stderr) == (0, "")
    if shell == "fish":
        ask = f"source {script}; complete -C 'reportgen che'"
        done = subprocess.run(["fish", "-c", ask], capture_output=True, text=True, timeout=60)
        assert done.stdout.startswith("check"), done.stderr
