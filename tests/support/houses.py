"""Small archives for the tests of the archive as a whole, and the tool run on them as a process."""

from __future__ import annotations

import contextlib
import io
import os
import shutil
import subprocess
import sys
from collections.abc import Mapping
from contextlib import redirect_stderr, redirect_stdout
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml
from msgspec.structs import replace

from reportgen.archive.links import links_of
from reportgen.archive.register import Register, joined, part_of
from reportgen.archive.summary import Summary
from reportgen.assessment.assess import Assessment, assess
from reportgen.checks.base import names
from reportgen.cli import main
from reportgen.history.row import BatchRow
from reportgen.history.series import history_of
from reportgen.loading import load_archive
from reportgen.record.load import Archive
from reportgen.report.documents import ALL
from reportgen.report.ledger import LedgerData

TESTS = Path(__file__).parents[1]
ROOT = TESTS.parent
EXAMPLE = TESTS / "example"
NAMES = names()
CLEAN = {k: v for k, v in os.environ.items() if not k.startswith("GIT_")}


def reportgen(
    *arguments: str, cwd: Path, seconds: float = 300, **environment: str
) -> subprocess.CompletedProcess[str]:
    """Run the tool as a user does, in a process of its own, bounded in time."""
    return subprocess.run(
        [sys.executable, "-m", "reportgen", *arguments],
        cwd=cwd,
        capture_output=True,
        text=True,
        timeout=seconds,
        env={**CLEAN, "PYTHONPATH": str(ROOT), **environment},
    )


def inside(
    *arguments: str, cwd: Path, stdin: str | None = None
) -> subprocess.CompletedProcess[str]:
    """Run the command line within this process: as ``reportgen``, without the time to start it."""
    out, errors = io.StringIO(), io.StringIO()
    given = io.TextIOWrapper(io.BytesIO((stdin or "").encode()), "utf-8")
    before, sys.stdin = sys.stdin, given
    try:
        with contextlib.chdir(cwd), redirect_stdout(out), redirect_stderr(errors):
            code = main(arguments)
    except SystemExit as ended:
        # How a command line is refused that cannot be understood.
        code = int(ended.code or 0)
    finally:
        sys.stdin = before
    return subprocess.CompletedProcess(arguments, code, out.getvalue(), errors.getvalue())


def laid_over(base: Any, patch: Any) -> Any:
    """Lay one mapping over another; a key with an empty text takes the base's key away."""
    if isinstance(base, dict) and isinstance(patch, dict):
        whole = {**base, **{k: laid_over(base.get(k), v) for k, v in patch.items()}}
        return {k: v for k, v in whole.items() if v != ""}
    return patch


@cache
def parsed(name: str) -> Any:
    """Return a file of the example as plain data, for all to lay over and none to change."""
    return yaml.load((EXAMPLE / name).read_text(encoding="utf-8"), yaml.BaseLoader)


def house(
    folder: Path,
    batches: dict[str, str] | None = None,
    brewery: str = "",
    stock: str = "",
) -> Path:
    """Write an archive like the example, with one record for each id, patched by YAML."""
    shutil.copytree(EXAMPLE, folder)
    base = parsed("2026/2026-01.yaml")
    (folder / "2026/2026-01.yaml").unlink()
    for name, patch in (("brewery.yaml", brewery), ("stock.yaml", stock)):
        whole = laid_over(parsed(name), yaml.load(patch, yaml.BaseLoader) or {})
        _write(folder / name, whole)
    for batch, patch in (batches or {}).items():
        over = yaml.load(patch, yaml.BaseLoader) or {}
        _write(folder / "2026" / f"{batch}.yaml", laid_over({**base, "batch": batch}, over))
    return folder


def plain_pages(folder: Path) -> Path:
    """Give an archive templates of its own that set a line, for tests of what is made, and when.

    Its documents are real ones, at a tenth of the time; what stands on ours is tested elsewhere.
    """
    line = "{{ view.identity.name }}, plan {{ view.identity.plan_hash }}"
    for name, said in (*((d.template, line) for d in ALL), ("printed_list", "A list")):
        page = folder / "templates" / name / "page.html.j2"
        page.parent.mkdir(parents=True)
        page.write_text(
            f'<!DOCTYPE html><html lang="en"><head><title>t</title></head><body><h1>{said}</h1>'
            "</body></html>",
            encoding="utf-8",
        )
    return folder


def _write(path: Path, whole: Any) -> None:
    text = yaml.safe_dump(whole, allow_unicode=True, sort_keys=False, width=1000)
    path.write_text(text, encoding="utf-8")


def loaded(folder: Path) -> Archive:
    """Load an archive that must have no fault in its form."""
    archive = load_archive(folder, NAMES)
    assert archive.findings == (), archive.findings
    return archive


def example_with(folder: Path, *swaps: tuple[str, str], later: str = "") -> Assessment:
    """Return the example's batch with texts of its record replaced and others added, assessed."""
    shutil.copytree(EXAMPLE, folder)
    record = folder / "2026" / "2026-01.yaml"
    text = record.read_text(encoding="utf-8")
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new, 1)
    record.write_text(text + later, encoding="utf-8")
    archive = load_archive(folder)
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None and found.problems == ()
    return found


PLAIN = Summary(
    id="2026-01", file="2026/2026-01.yaml", name="Beer", beer="", state="packed", disposition="",
    brewed="2026-01-10", finished="", packed="", last_day="2026-01-20", revision=1,
    plan_hash="00000000", plan_parts=(), like="", kit="main", liquor="soft", yeast="ale",
    malt="pale", generation=0, mash_temperature=66.0, boil_minutes=60.0, into="keg",
    containers=None, best_before="", label="", figures=(), measures=(), counts=(),
    deviations=(), tastings=(), learned="", problems=(), silenced=(), findings=(), doubts=(),
)  # fmt: skip
"""A summary with nothing in it, to be varied."""


def summary(batch: str, **fields: Any) -> Summary:
    """Return a summary of a batch with some fields of its own."""
    return replace(PLAIN, id=batch, file=f"2026/{batch}.yaml", **fields)


def registered(archive: Archive) -> Register:
    """Return the register of an archive that is loaded as a whole."""
    return joined(archive, [part_of(archive, {b.file for b in archive.batches.values()})])


def ledger_data(archive: Archive, rows: Mapping[str, BatchRow]) -> LedgerData:
    """Return what the ledger's pages are made from, of an archive that is loaded as a whole.

    The rows may be summaries; pages of batches need them to be.
    """
    assert archive.brewery is not None and archive.stock is not None
    register = registered(archive)
    return LedgerData(
        register, archive.brewery, archive.stock, links_of(register), rows,
        {b: row for b, row in rows.items() if isinstance(row, Summary)}, (),
        history_of(rows, archive.brewery, archive.stock),
    )  # fmt: skip


def quiet(done: int, total: int) -> None:
    """Tell nobody how much is done."""


def git(folder: Path, *arguments: str) -> str:
    """Run git in a folder, with an author and without anybody's own settings."""
    if shutil.which("git") is None:
        pytest.skip("git is not installed")
    done = subprocess.run(
        ["git", *arguments],
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=60,
        env={
            **CLEAN,
            "GIT_CONFIG_GLOBAL": os.devnull,
            "GIT_CONFIG_NOSYSTEM": "1",
            "GIT_AUTHOR_NAME": "A", "GIT_AUTHOR_EMAIL": "a@example.org",
            "GIT_COMMITTER_NAME": "A", "GIT_COMMITTER_EMAIL": "a@example.org",
        },
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def commit(folder: Path, message: str) -> None:
    """Commit all that is in a folder."""
    git(folder, "add", "-A")
    git(folder, "commit", "-q", "-m", message)


def edit(path: Path, old: str, new: str) -> None:
    """Put other words into a file that has the old ones."""
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
