"""A check of one record says of it what a check of the whole archive does, and reads no more."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from reportgen.archive import checked
from reportgen.archive.checked import checked as check
from reportgen.record.finding import Finding
from reportgen.record.listing import mentioning

EXAMPLE = Path(__file__).parents[1] / "example"
OUT = """
brew_day: {{date: {day}}}
packaging:
  date: {packed}
  filled: [{{number: {number}, went_to: household 3, went_on: {packed}}}]
"""


def told(finding: Finding) -> tuple[object, ...]:
    return finding.rule, finding.position, finding.message, finding.expected, finding.remedy


@pytest.fixture
def root(tmp_path: Path) -> Path:
    folder = tmp_path / "archive"
    shutil.copytree(EXAMPLE, folder)
    text = (folder / "2026/2026-01.yaml").read_text("utf-8")
    for n, number in enumerate(("K-07", '"K\\x2d07"', "B 12", "B 12"), 1):
        more = OUT.format(day=f"2026-0{n}-14", packed=f"2026-0{n}-24", number=number)
        (folder / f"2026/2026-0{n}.yaml").write_text(
            text.replace("batch: 2026-01", f"batch: 2026-0{n}") + more, "utf-8"
        )
    return folder


def test_one_record_is_told_that_its_container_is_out_with_another(root: Path) -> None:
    everything = check(root).findings
    out = [f.position.file for f in everything if f.rule == "container-out-twice"]
    assert out == ["2026/2026-02.yaml", "2026/2026-04.yaml"]
    for name in sorted(path.name for path in (root / "2026").iterdir()):
        file = f"2026/{name}"
        assert [told(f) for f in check(root, [file]).findings] == [
            told(f) for f in everything if f.position.file == file
        ]


def test_only_records_that_mention_its_container_are_read_with_it(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read: list[set[str]] = []
    load = checked.load_archive
    monkeypatch.setattr(
        checked, "load_archive",
        lambda root, names, given=None, only=(), listing=None: (
            read.append(set(only)), load(root, names, given, only, listing)
        )[1],
    )  # fmt: skip
    check(root, ["2026/2026-03.yaml"])
    # The second one has a backslash: it could be the same number, written otherwise.
    assert read == [
        {"2026/2026-03.yaml"},
        {"2026/2026-02.yaml", "2026/2026-03.yaml", "2026/2026-04.yaml"},
    ]


def test_a_number_in_two_words_is_found_however_it_is_spaced(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text("number: B\n  12\n")
    (tmp_path / "b.yaml").write_text("number: C 12\n")
    assert mentioning(tmp_path, ["a.yaml", "b.yaml"], {"B 12"}) == ["a.yaml"]
