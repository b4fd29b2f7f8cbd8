"""An archive of our own for the documents, and each document of it made once for all tests."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest
from extremes import EXTREMES, make_extremes
from printed import ARCHIVE, BREWED, DEMO, HOSTILE, Made, assessed, nothing_logged

from reportgen.assessment.assess import Assessment
from reportgen.report.documents import ALL


@pytest.fixture(scope="session")
def brewed() -> Assessment:
    return assessed(BREWED)


@pytest.fixture(scope="session")
def hostile() -> Assessment:
    return assessed(HOSTILE)


@pytest.fixture(scope="session")
def in_gallons(tmp_path_factory: pytest.TempPathFactory) -> Assessment:
    """The same batch in a house that prints US units."""
    root = tmp_path_factory.mktemp("gallons") / "archive"
    shutil.copytree(ARCHIVE, root)
    house = root / "brewery.yaml"
    text = house.read_text(encoding="utf-8")
    assert "units: metric" in text
    house.write_text(text.replace("units: metric", "units: US"), encoding="utf-8")
    return assessed(BREWED, root)


@pytest.fixture(scope="session")
def in_casks(tmp_path_factory: pytest.TempPathFactory) -> Assessment:
    """The same batch, planned for casks; it is not packed yet."""
    root = tmp_path_factory.mktemp("casks") / "archive"
    shutil.copytree(ARCHIVE, root)
    record = root / f"2026/{BREWED}.yaml"
    text = record.read_text(encoding="utf-8")
    keg = "packaging: {into: keg, carbonation: 2.2 vol, beer_temperature: 6 C}"
    assert keg in text
    cask = "packaging: {into: cask, carbonation: 1.4 vol}"
    record.write_text(text.split("\npackaging:")[0].replace(keg, cask) + "\n", encoding="utf-8")
    return assessed(BREWED, root)


@pytest.fixture(scope="session")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that all processes of a run have in common."""
    own = tmp_path_factory.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own


def _once(path: Path, root: Path, name: str, batch: str, paper: str) -> Path:
    """Make a document where no process has made it yet.

    A line that the PDF library logs while it works is an error.
    """
    if not path.exists():
        document = next(d for d in ALL if d.name == name)
        with nothing_logged():
            data = document.make(assessed(batch, root), paper, 1)
        part = path.with_suffix(f".{os.getpid()}")
        part.write_bytes(data)
        os.replace(part, path)
    return path


@pytest.fixture(scope="session")
def made(shared: Path) -> Made:
    """Return a function that makes a document once, also when tests run in several processes."""

    def archive_of(batch: str) -> Path:
        if batch not in EXTREMES:
            return ARCHIVE
        folder = shared / f"extremes-{os.getpid()}"
        return folder if folder.exists() else make_extremes(folder)

    def make(name: str, batch: str = BREWED, paper: str = "A4") -> Path:
        path = shared / f"{batch}-{name}-{paper}.pdf"
        return path if path.exists() else _once(path, archive_of(batch), name, batch, paper)

    return make


@pytest.fixture(scope="session")
def made_of_demo(shared: Path) -> Made:
    """Return the same for the batches of the demo."""

    def make(name: str, batch: str, paper: str = "A4") -> Path:
        return _once(shared / f"demo-{batch}-{name}-{paper}.pdf", DEMO, name, batch, paper)

    return make
