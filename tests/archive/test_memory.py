"""What a batch costs in memory: little, since an archive may have thousands."""

from __future__ import annotations

import gc
import subprocess
import sys
import tracemalloc
from collections.abc import Iterator
from pathlib import Path

import pytest
from checked import summarise
from houses import CLEAN, ROOT, loaded, registered
from msgspec.structs import replace
from synthetic_archive import make_archive

from reportgen.archive.interchange import tables
from reportgen.archive.links import links_of
from reportgen.archive.register import Register
from reportgen.archive.summaries import CACHE, SummaryIndex, line_of
from reportgen.archive.summary import Summary
from reportgen.history.row import row_of
from reportgen.history.series import history_of
from reportgen.report.ledger import LedgerData
from reportgen.report.ledger_files import long_pages

FEW, MANY = 10, 60


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> tuple[Register, list[Summary]]:
    """The register and the summaries of a few batches, to make many of."""
    folder = tmp_path_factory.mktemp("sample") / "house"
    make_archive(folder, 6, seed=8)
    archive = loaded(folder)
    made = [summarise(archive, batch) for batch in archive.batches.values()]
    return registered(archive), [one for one in made if one is not None]


def many(count: int, sample: tuple[Register, list[Summary]]) -> tuple[Register, Iterator[Summary]]:
    """Return a register of as many batches, each like one of the sample, and their summaries."""
    register, summaries = sample
    ids = {f"B-{n:04d}": summaries[n % len(summaries)].id for n in range(count)}
    files = {batch: f"{batch}.yaml" for batch in ids}
    ties = {
        batch: replace(register.ties[like], batch=batch, parent="", uses=tuple(
            (name, replace(use, batch=batch)) for name, use in register.ties[like].uses
        ))
        for batch, like in ids.items()
    }
    by_id = {one.id: one for one in summaries}
    return replace(register, files=files, ties=ties), (
        replace(by_id[like], id=batch, file=files[batch], name=f"Beer {batch}")
        for batch, like in ids.items()
    )


def peak_of_the_ledger(
    count: int, sample: tuple[Register, list[Summary]], folder: Path
) -> float:
    """Return what all long pages and tables of so many batches need at most, bytes."""
    register, summaries = many(count, sample)
    cache = folder / f"{count}{CACHE}"
    lines = [line_of(one.id, "0" * 64, one) for one in summaries]
    cache.write_bytes(b"{\n" + b",\n".join(lines) + b"\n}\n")
    del lines, summaries
    gc.collect()
    tracemalloc.start()
    try:
        kept = SummaryIndex(cache)
        rows = {batch: row_of(one) for batch, one in kept.items()}
        assert len(rows) == count
        assert register.brewery is not None and register.stock is not None
        data = LedgerData(
            register, register.brewery, register.stock, links_of(register), rows, kept, (),
            history_of(rows, register.brewery, register.stock),
        )  # fmt: skip
        for piece in long_pages(data, "look"):
            assert all(one.make() for one in piece())
        assert all(tables(kept.values(), data.links, "House"))
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_a_batch_costs_the_ledger_little(
    sample: tuple[Register, list[Summary]], tmp_path: Path
) -> None:
    # Once before it is measured, so that templates and the like are there.
    peak_of_the_ledger(3, sample, tmp_path)
    few, more = (peak_of_the_ledger(count, sample, tmp_path) for count in (FEW, MANY))
    # A summary in memory is 35 kB; the long pages and tables are some 10 kB a batch of text.
    assert (more - few) / (MANY - FEW) < 25_000


MEASURE = """
import os, subprocess, sys
run = subprocess.Popen([sys.executable, "-m", "reportgen", *sys.argv[1:]],
                       stdout=subprocess.DEVNULL)
_, status, used = os.wait4(run.pid, 0)
print(os.waitstatus_to_exitcode(status), used.ru_maxrss)
"""


def peak_of(*command: str, folder: Path) -> float:
    """Return what the largest process of a command needs, MB.

    A process is started by a small one: what the one that starts it holds would be counted too.
    """
    done = subprocess.run(
        [sys.executable, "-c", MEASURE, *command],
        cwd=folder, env={**CLEAN, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True,
        timeout=300, check=True,
    )  # fmt: skip
    code, largest = map(int, done.stdout.split())
    assert code in (0, 1), done.stderr
    return largest / (1e6 if sys.platform == "darwin" else 1e3)


@pytest.mark.usefixtures("every_core")
def test_a_batch_costs_trace_little(tmp_path: Path) -> None:
    few, many = 50, 300
    for count in (few, many):
        make_archive(tmp_path / str(count), count)
    least, most = (
        peak_of("trace", "2020-010", folder=tmp_path / str(count)) for count in (few, many)
    )
    # A record read in full is 120 kB; never more than a portion of them is held.
    assert least > 15 and (most - least) / (many - few) < 0.05
