"""Every command that the README, the manual and the help pages show is run, as it is shown."""

from __future__ import annotations

import csv
import io
import re
import shlex
import shutil
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest
import yaml
from houses import plain_pages

from reportgen.cli import main
from reportgen.command_words import VERBS
from reportgen.commandline import parser
from reportgen.report.manual_guide import GUIDE, MORE
from reportgen.resources import templates_dir

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
KEPT = ("2025-02", "2025-03", "2026-01", "2026-10")
"""Batches of the demo that the commands speak of, with those that these start from."""

LONG = ("manual", "watch")
"""Verbs that take minutes or do not end by themselves: only their arguments are looked at here."""

WHOLE = ("reportgen build", "reportgen ledger")
HEAVY = ("build", "ledger", "sheet", "record")
"""Verbs that set many pages: run on the one batch of the first archive only."""

FINDINGS = ("check",)
"""Verbs that may well have findings, exit code 1."""


def commands_in(text: str) -> list[list[str]]:
    """Return the commands of each block of a Markdown text that is to be typed."""
    # Each fence is paired with its own end, else the end of one would open the next.
    blocks = re.findall(r"^[ ]*```(\w*)\n(.*?)^[ ]*```$", text, re.M | re.S)
    found = ([line.strip() for line in block.splitlines()] for kind, block in blocks if not kind)
    return [lines for lines in found if any(line.startswith("reportgen ") for line in lines)]


def guide(name: str) -> str:
    return (templates_dir() / "manual" / "guide" / f"{name}.md").read_text(encoding="utf-8")


class Terminal:
    """Types commands one after the other, in one process, and stops at the first that fails."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
        self.monkeypatch, self.capsys = monkeypatch, capsys
        self.typed: list[str] = []
        self.small = True

    def type(self, line: str) -> str:
        words = shlex.split(line)
        if words[0] == "cd":
            self.monkeypatch.chdir(words[1])
            return ""
        assert words[0] == "reportgen", line
        self.typed.append(line)
        given = b""
        target = None
        while len(words) > 2 and words[-2] in ("<", ">"):
            if words[-2] == "<":
                given = Path(words[-1]).read_bytes()
            else:
                target = Path(words[-1])
            del words[-2:]
        self.monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(given)))
        if words[1] in LONG or (words[1] in HEAVY and not self.small):
            parser().parse_args(words[1:])
            return ""
        code = main(words[1:])
        told = self.capsys.readouterr()
        may = (0, 1) if words[1] in FINDINGS else (0,)
        assert code in may, f"{line}: {code}\n{told.err}"
        assert "Traceback" not in told.err
        silent = words[1] in FINDINGS or "unchanged" in told.err
        assert told.out or silent, f"{line}: nothing printed"
        if target is not None:
            target.write_text(told.out, encoding="utf-8")
        return told.out


@pytest.fixture
def terminal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Terminal:
    monkeypatch.chdir(tmp_path)
    return Terminal(monkeypatch, capsys)


@pytest.fixture
def demo(tmp_path: Path, terminal: Terminal, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A part of the demo in a git repository, with one record printed."""
    folder = tmp_path / "house"
    folder.mkdir()
    for name in ("brewery.yaml", "stock.yaml"):
        shutil.copy(ROOT / "batches" / name, folder)
    wanted = list(KEPT)
    for batch in wanted:
        source = ROOT / "batches" / batch[:4] / f"{batch}.yaml"
        (folder / batch[:4]).mkdir(exist_ok=True)
        shutil.copy(source, folder / batch[:4])
        for line in source.read_text(encoding="utf-8").splitlines():
            key, _, value = line.strip().partition(": ")
            if key in ("like", "harvested_from", "against") and value not in wanted:
                wanted.append(value)
    plain_pages(folder)
    who = ("-c", "user.name=A", "-c", "user.email=a@example.org")
    for command in (("init", "-q"), ("add", "-A"), (*who, "commit", "-qm", "demo")):
        subprocess.run(["git", *command], cwd=folder, check=True, capture_output=True, timeout=60)
    monkeypatch.chdir(folder)
    terminal.type("reportgen record 2026/2026-01.yaml")
    terminal.small = False
    return folder


@pytest.mark.parametrize("name", ["README", "first-batch"])
def test_the_first_batch_goes_as_it_is_told(terminal: Terminal, name: str) -> None:
    text = README if name == "README" else guide(name)
    lines = [line for block in commands_in(text) for line in block]
    # The same steps: what is printed need not be printed twice.
    terminal.small = name == "first-batch"
    assert lines[0] == "reportgen start my-brewery"
    path = Path("2026/2026-01.yaml")
    for line in lines:
        if line.startswith("reportgen record"):
            # As it is printed; the sheets of a new archive are, where a wheel is installed.
            shutil.rmtree("templates", ignore_errors=True)
        told = terminal.type(line)
        if line.startswith("cd "):
            plain_pages(Path.cwd())
        if line.startswith("reportgen blanks"):
            # What the brewer does then: paste, and fill in what there is.
            pasted = re.sub(r"date: +# day of brewing.*", "date: 2026-03-14", told)
            pasted = re.sub(r"date: +# day of packaging.*", "date: 2026-03-24", pasted)
            with path.open("a", encoding="utf-8") as file:
                file.write(pasted)
    if name == "first-batch":
        # What `build` makes beside the record is looked for here.
        plain_pages(Path.cwd())
        for line in WHOLE:
            terminal.type(line)
        assert Path("build/ledger/index.html").is_file()
        assert "`ledger.pdf`" in README and Path("build/ledger/ledger.pdf").is_file()
        assert Path("build/SHA256SUMS").is_file()
        assert Path("build/sheets/2026-01-brew-day.pdf").read_bytes().startswith(b"%PDF")
        assert Path("build/records/2026-01.pdf").read_bytes().startswith(b"%PDF")


def test_a_mistake_is_told_as_the_readme_shows_it(terminal: Terminal) -> None:
    terminal.type("reportgen start my-brewery")
    terminal.type("cd my-brewery")
    terminal.type("reportgen new 2026-01")
    path = Path("2026/2026-01.yaml")
    path.write_text(path.read_text(encoding="utf-8").replace("malt: pale,", "malt: palle,", 1))
    told = terminal.type("reportgen check")
    shown = README.partition("each with its place")[2].split("```\n")[1]
    assert shown.strip() in told


def test_the_recipes_and_answers_work(terminal: Terminal, demo: Path) -> None:
    for name, _, _ in (*GUIDE[1:], *MORE):
        for block in commands_in(guide(name)):
            for line in block:
                terminal.type(line)
    assert len(terminal.typed) >= 12


def test_the_examples_of_every_help_page_work(terminal: Terminal, demo: Path) -> None:
    recipes = [line for block in commands_in(guide("recipes")) for line in block]
    for words in VERBS.values():
        for command, _ in words.examples:
            if command in recipes:
                continue
            if command.endswith("--ci"):
                command = command.replace("my-brewery", "other-brewery")
            if command.startswith("reportgen start"):
                # Not one archive within another.
                terminal.type("cd ..")
                terminal.type(command)
                terminal.type("cd house")
            else:
                terminal.type(command)
    assert len(terminal.typed) >= 15


def test_every_file_that_the_readme_names_is_there_or_is_made() -> None:
    from reportgen.report.documents import ALL

    for part in ("schema/", "tests/hard/", "DEVELOPERS.md", "LICENSE"):
        assert part in README and (ROOT / part).exists()
    for batch in ("2026-10", "2026-01"):
        assert (ROOT / "batches" / batch[:4] / f"{batch}.yaml").is_file()
    made = {f"batches/build/{document.file(b)}" for document in ALL for b in ("2026-10", "2026-01")}
    table = README.partition("## What comes out")[2].partition("\n## ")[0]
    named = [word for word in table.split("`") if word.startswith("batches/build/")]
    assert len(named) == 7
    assert set(named[:4]) <= made
    for verb in VERBS:
        assert f"`{verb}`" in README.partition("## All the verbs")[2]


def test_the_page_on_security_does_not_boast() -> None:
    """Over 200 cases of bad content, over 90 of bad syntax: counted."""
    content = ROOT / "tests" / "hard" / "bad"
    cases = sum(len(yaml.safe_load(p.read_text("utf-8"))) for p in content.glob("*.yaml"))
    security = guide("security").lower()
    assert "more than 200 cases of bad content" in security and cases > 200
    index = yaml.safe_load((ROOT / "tests/record/bad/syntax.yaml").read_text("utf-8"))
    assert "more than 90 of bad syntax" in security
    assert len(index["files"]) + len(index["bytes"]) > 90


def test_the_readme_is_short_and_its_sheet_is_the_one_made() -> None:
    """The sample of a sheet has the numbers of the demo batch that the README speaks of."""
    assert len(README.splitlines()) <= 150
    assert re.search(r"68\.0 °C +OK 67\.5–68\.5", README)
    from reportgen.assessment.assess import assess
    from reportgen.checks.base import names
    from reportgen.loading import load_archive
    from reportgen.report.sheet import brew_day_sheet

    archive = load_archive(ROOT / "batches", names())
    batch = assess(archive, archive.batches["2026-10"])
    assert batch is not None
    printed = repr(brew_day_sheet(batch, "A4")).replace("\\u2009", " ")
    assert "68.0" in printed and "67.5–68.5" in printed


def test_the_yaml_of_the_recipes_is_right(terminal: Terminal) -> None:
    terminal.type("reportgen start house")
    terminal.type("cd house")
    terminal.type("reportgen new 2026-01")
    path = Path("2026/2026-01.yaml")
    blocks = re.findall(r"^```yaml\n(.*?)^```$", guide("recipes"), re.M | re.S)
    readings = [b for b in blocks if "read:" in b]
    hooks = [b for b in blocks if b.startswith("repos:")]
    house = [b for b in blocks if b.startswith("containers:")]
    kits = [b for b in blocks if b.startswith("kits:")]
    rest = [b for b in blocks if b not in (*readings, *hooks, *house, *kits)]
    assert (len(readings), len(hooks), len(house), len(kits), len(rest)) == (2, 1, 1, 1, 2)
    (hook,) = yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))
    assert yaml.safe_load(hooks[0])["repos"][0]["hooks"][0]["id"] == hook["id"]
    day = "brew_day:\n  date: 2026-03-14\n  run_off:\n"
    text = path.read_text(encoding="utf-8")
    added = day + "".join(textwrap.indent(b, "    ") for b in readings) + "".join(rest)
    path.write_text(text + added, encoding="utf-8")
    brewery = Path("brewery.yaml")
    ours = yaml.load(brewery.read_text(encoding="utf-8"), yaml.BaseLoader)
    ours |= yaml.load(house[0], yaml.BaseLoader)
    ours["kits"]["main"] |= yaml.load(kits[0], yaml.BaseLoader)["kits"]["main"]
    brewery.write_text(yaml.safe_dump(ours, allow_unicode=True), encoding="utf-8")
    assert "error" not in terminal.type("reportgen check")
    told = terminal.type("reportgen figures 2026/2026-01.yaml --format csv")
    # Read and corrected, not merely passed over: water alone is lighter by 0.0009 at 24 degC than
    # at 20 (998.203 and 997.296 kg/m3, IAPWS-95), and wort expands a little more.
    (row,) = (r for r in csv.DictReader(io.StringIO(told)) if r["key"] == "kettle_gravity")
    assert 0.0008 < float(row["actual"]) - 1.046 < 0.0012
    assert row["verdict"]
    (row,) = (r for r in csv.DictReader(io.StringIO(told)) if r["key"] == "bitterness")
    assert float(row["actual"]) == 29.0
