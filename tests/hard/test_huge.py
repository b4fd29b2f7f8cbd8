"""Sizes that no record has: answered in seconds, with findings, never with an exception."""

from __future__ import annotations

import shutil
import time
from pathlib import Path

import pytest
from bad_cases import EXAMPLE, RECORD

from reportgen.archive.checked import findings_in
from reportgen.checks.base import names
from reportgen.loading import load_archive

BASE = (EXAMPLE / RECORD).read_text(encoding="utf-8")
LOG = "    - {at: 2026-03-15 18:00, temperature: 19 C, gravity: 1.020}\n"
HUGE = {
    "a number of 100,000 figures": (BASE.replace("volume: 40 L", f"volume: {'9' * 10**5} L"),
                                    {"long-text", "quantity"}),
    "a number of 60,000 figures": (BASE.replace("volume: 40 L", f"volume: {'9' * 60_000}"),
                                   {"quantity"}),
    "a name of 60,000 letters": (BASE.replace("malt: pale,", f"malt: {'p' * 60_000},"),
                                 {"unknown-name"}),
    "a key of 60,000 letters": (BASE + "k" * 60_000 + ": 1\n", {"no-colon"}),
    "a log of 2,000 entries": (BASE + "fermentation:\n  log:\n" + LOG * 2000, set()),
    "a list of 60,000 values": (BASE + "tasting: [" + "1, " * 60_000 + "1]\n",
                                {"too-many-values"}),
    "brackets 10,000 deep": (BASE + "tasting: " + "[" * 10_000 + "\n", {"too-deep", "bracket"}),
    "a line of two million letters": (BASE + "# " + "x" * 2_000_000 + "\n", set()),
    "more than two megabytes": (BASE + "# x\n" * 600_000, {"too-large"}),
    "ten thousand unknown keys": (BASE + "".join(f"key{n}: 1\n" for n in range(10_000)),
                                  {"unknown-key"}),
}  # fmt: skip


@pytest.mark.parametrize("name", HUGE)
def test_a_huge_file_is_answered(name: str, tmp_path: Path) -> None:
    text, wanted = HUGE[name]
    root = tmp_path / "archive"
    shutil.copytree(EXAMPLE, root)
    (root / RECORD).write_text(text, encoding="utf-8")
    start = time.process_time()
    archive = load_archive(root, names())
    found = findings_in(archive)
    assert time.process_time() - start < 20
    errors = {f.rule for f in found if f.severity.value == "error"}
    assert errors <= wanted and bool(errors) == bool(wanted)


def test_a_thousand_plans_one_from_the_other(tmp_path: Path) -> None:
    root = tmp_path / "archive"
    shutil.copytree(EXAMPLE, root)
    before = "2026-01"
    for number in range(1000):
        batch = f"p{number:04d}"
        (root / "2026" / f"{batch}.yaml").write_text(
            f"format: 1\nbatch: {batch}\nname: x\nplan: {{like: {before}}}\n", encoding="utf-8"
        )
        before = batch
    archive = load_archive(root)
    assert archive.findings == ()
    last = archive.batches[before].record
    assert last is not None and last.plan.fermenter_volume.value == 40
