"""A survey that reads only what has changed says the same as one that reads everything."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from bad_cases import one_of_each
from PIL import Image

from reportgen.archive import summaries
from reportgen.archive.checked import checked
from reportgen.archive.summaries import CACHE, SummaryIndex, Survey, survey
from reportgen.archive.workers import FEWEST
from reportgen.loading import load_archive

BATCHES = Path(__file__).parents[2] / "batches"

KEPT = {
    "2025-01": "others have their yeast and their plan from it",
    "2025-02": "has its plan from another",
    "2025-03": "has its yeast from the same",
    "2025-04": "has its yeast from one that has it from another",
    "2025-05": "the same, a generation later",
    "2025-06": "hangs on nothing, and nothing on it",
    "2026-11": "hangs on one that hangs on it",
    "2026-12": "is brewed of another's wort",
}
"""Batches of the demo that are enough, with the reasons; as many as are shared out to workers."""


def some_of_the_demo(root: Path) -> None:
    """Copy the house of the demo, and the batches that are enough."""
    for file in [p for p in BATCHES.rglob("*.yaml") if p.parent == BATCHES or p.stem in KEPT]:
        to = root / file.relative_to(BATCHES)
        to.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(file, to)


def quiet(done: int, total: int) -> None:
    """Tell nobody."""


def change(name: str, old: str, new: str) -> Callable[[Path], None]:
    """Return a change of some words in a file of the archive."""

    def apply(root: Path) -> None:
        path = root / name
        text = path.read_text(encoding="utf-8")
        assert old in text, f"{name} has no {old}"
        path.write_text(text.replace(old, new), encoding="utf-8")

    return apply


def remove(name: str) -> Callable[[Path], None]:
    """Return the removal of a file."""
    return lambda root: (root / name).unlink()


def copy(name: str, to: str) -> Callable[[Path], None]:
    """Return the copying of a record, as it is, to another name: two files with one id."""
    return lambda root: shutil.copy(root / name, root / to)


def put(name: str, text: str) -> Callable[[Path], None]:
    """Return a new file."""
    return lambda root: (root / name).write_text(text, encoding="utf-8")


CHANGES: dict[str, Callable[[Path], None]] = {
    "nothing": lambda root: None,
    "one name": change("2025/2025-01.yaml", "name:", "name: Another "),
    "a yeast's parent goes": remove("2025/2025-01.yaml"),
    "a yeast's parent cannot be read": put("2025/2025-01.yaml", "batch: 2025-01\n  nothing: [\n"),
    "a plan's parent has a fault": change("2025/2025-01.yaml", "plan:", "plan:\n  colour: red"),
    "one id twice": copy("2025/2025-02.yaml", "2026/2025-02.yaml"),
    "one id twice, earlier": copy("2025/2025-02.yaml", "2024-copy.yaml"),
    "a new record": copy("2025/2025-02.yaml", "2027-01.yaml"),
    "a broken record": put("2027-01.yaml", "batch: [\n"),
    "the stock": change("stock.yaml", "malts:", "malts: # all of it\n"),
    "the house": change("brewery.yaml", "name:", "name: Other "),
    "the house is broken": put("brewery.yaml", "format: 1\nname: [\n"),
}


@pytest.fixture(scope="module")
def surveyed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("standing") / "archive"
    some_of_the_demo(root)
    with pytest.MonkeyPatch.context() as shared:
        shared.setattr("reportgen.archive.workers.cores", lambda: 2)
        survey(root, root / "build", quiet, keep=True)
    return root


@pytest.fixture(scope="module")
def first(surveyed: Path, tmp_path_factory: pytest.TempPathFactory) -> Survey:
    """What all of the archive says when nothing is changed in it."""
    return survey(surveyed, tmp_path_factory.mktemp("first"), quiet, keep=True)


def links_of_demo() -> set[str]:
    """Return the batches of the demo that others hang on."""
    archive = load_archive(BATCHES)
    return {id_ for batch in archive.batches.values() for id_ in batch.links}


@pytest.mark.parametrize("name", CHANGES)
def test_it_says_the_same(
    name: str, surveyed: Path, first: Survey, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What stands was surveyed by workers; all anew is read by one process alone."""
    root = tmp_path / "archive"
    shutil.copytree(surveyed, root)
    CHANGES[name](root)
    kept = survey(root, root / "build", quiet, keep=True)
    with monkeypatch.context() as alone:
        alone.setattr("reportgen.archive.workers.cores", lambda: 1)
        fresh = survey(root, tmp_path / "elsewhere", quiet, keep=True)
    assert kept.register == fresh.register
    assert kept.rows == fresh.rows
    assert kept.lost == fresh.lost
    if fresh.register.brewery is not None:
        written = (root / "build" / CACHE).read_bytes()
        assert written == (tmp_path / "elsewhere" / CACHE).read_bytes()
    if name in ("one name", "the stock", "the house", "a new record"):
        return
    # And once more back again, as when a fault is fixed.
    for path in root.rglob("*.yaml"):
        path.unlink()
    some_of_the_demo(root)
    fixed = survey(root, root / "build", quiet, keep=True)
    assert fixed.rows == first.rows
    assert fixed.register.ties == first.register.ties
    assert fixed.register.findings == first.register.findings


def test_a_yeast_and_a_plan_hang_on_the_record_that_the_changes_touch() -> None:
    assert "2025-01" in links_of_demo()


def test_what_stands_is_not_read(surveyed: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[str] = []
    real = summaries.load_archive

    def watched(root: Path, *more: object, **named: object) -> object:
        archive = real(root, *more, **named)  # type: ignore[arg-type]
        read.extend(batch.file for batch in archive.batches.values())
        return archive

    monkeypatch.setattr(summaries, "load_archive", watched)
    # One worker, which is this process, so that what it reads is seen.
    monkeypatch.setattr("reportgen.archive.workers.cores", lambda: 1)
    survey(surveyed, surveyed / "build", quiet, keep=True)
    assert read == []
    assert len(SummaryIndex(surveyed / "build" / CACHE)) == len(KEPT) >= FEWEST


@pytest.mark.parametrize("group", ["names", "sense"])
def test_what_is_not_looked_at_again_is_told_all_the_same(group: str, tmp_path: Path) -> None:
    for number, case in enumerate(one_of_each(group)):
        root = tmp_path / str(number)
        case.lay_over(root)
        said = checked(root, [path.name for path in root.iterdir()])
        (root / "build").mkdir()
        # The first time all is looked at, the second time what stands is not.
        for _ in range(2):
            assert checked(root, keep=True) == said, case.name


def test_check_keeps_what_it_found_only_where_it_may(tmp_path: Path) -> None:
    root = tmp_path / "archive"
    some_of_the_demo(root)
    said = checked(root, keep=True)
    assert not (root / "build").exists(), "a small archive gets no folder by being checked"
    (root / "build").mkdir()
    assert checked(root) == said and not (root / "build" / CACHE).exists()
    assert checked(root, keep=True) == said and (root / "build" / CACHE).exists()
    (root / "build" / CACHE).unlink()
    (root / "build" / CACHE).mkdir()
    assert checked(root, keep=True) == said, "it is checked though nothing can be kept"


def test_what_git_knows_and_what_a_photograph_holds_is_looked_at_each_time(tmp_path: Path) -> None:
    root = tmp_path / "archive"
    some_of_the_demo(root)
    (root / "build").mkdir()
    record = root / "2025/2025-02.yaml"
    with record.open("a", encoding="utf-8") as file:
        file.write("photos: [{file: mash.png, caption: The mash, shows: A mash}]\n")
    first = {f.rule for f in checked(root, keep=True).findings}
    assert "photo-unusable" in first
    Image.new("RGB", (40, 30)).save(root / "mash.png")
    assert "photo-unusable" not in {f.rule for f in checked(root, keep=True).findings}
