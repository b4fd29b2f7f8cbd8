"""Work shared out over the cores: in order, with what was raised, ended from outside or not."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

import pytest
from houses import CLEAN, ROOT

from reportgen.archive import workers
from reportgen.archive.workers import in_order, portions
from reportgen.archive.write import CannotWrite


@pytest.fixture(params=[1, 3])
def cores(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> int:
    """One core, where all is done in this process, or three."""
    monkeypatch.setattr(workers, "cores", lambda: request.param)
    return int(request.param)


def test_what_came_of_the_jobs_is_in_order_and_any_function_will_do(cores: int) -> None:
    held = {number: f"made of {number}" for number in range(40)}

    def work(number: int) -> str:
        # The first take longest: they would come last if the order were that of being done.
        time.sleep(0.02 if number < 3 else 0)
        return held[number]

    assert list(in_order(work, range(40))) == list(held.values())
    assert list(in_order(work, [])) == []


def test_a_worker_is_renewed_after_so_many_jobs(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a library keeps for good goes with the worker."""
    monkeypatch.setattr(workers, "cores", lambda: 2)
    processes = list(in_order(lambda number: (number, os.getpid()), range(12), each=2))
    assert [number for number, _ in processes] == list(range(12))
    by_process = Counter(process for _, process in processes)
    assert os.getpid() not in by_process
    # Two workers share four jobs between them, then two others take over.
    assert len(by_process) >= 3 and max(by_process.values()) <= 4


def test_what_a_job_raises_is_raised_where_it_is_asked_for(cores: int) -> None:
    def work(number: int) -> int:
        if number == 2:
            raise CannotWrite("no room")
        return number

    got = []
    with pytest.raises(CannotWrite, match="no room"):
        for one in in_order(work, range(20)):
            got.append(one)
    assert got == [0, 1]


def test_nothing_is_begun_and_nobody_waits_once_a_job_has_failed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Many times over: a pool given up just after a job was handed to it once waited for ever."""
    monkeypatch.setattr(workers, "cores", lambda: 2)

    def work(number: int) -> None:
        (tmp_path / str(number)).touch()
        if number == 1:
            raise CannotWrite("no room")
        time.sleep(0.005 if number == 0 else 0)

    for _ in range(20):
        with pytest.raises(CannotWrite, match="no room"):
            list(in_order(work, range(40)))
    # A few may have been handed over by then, never all.
    assert len(list(tmp_path.iterdir())) < 20


def test_a_worker_ended_from_outside_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workers, "cores", lambda: 2)

    def work(number: int) -> int:
        if number == 3:
            os.kill(os.getpid(), signal.SIGKILL)
        return number

    with pytest.raises(CannotWrite, match="ended from outside"):
        list(in_order(work, range(6)))


ORPHANS = """
import os, sys, time
from reportgen.archive import workers
workers.cores = lambda: 2
def work(number):
    open(f"{sys.argv[1]}/{os.getpid()}", "w").close()
    time.sleep(120)
list(workers.in_order(work, range(4)))
"""


def test_workers_end_with_the_run_that_started_them(tmp_path: Path) -> None:
    run = subprocess.Popen(
        [sys.executable, "-c", ORPHANS, str(tmp_path)], env={**CLEAN, "PYTHONPATH": str(ROOT)}
    )

    def wait_until(done: object) -> None:
        until = time.monotonic() + 60
        while not done():  # type: ignore[operator]
            assert time.monotonic() < until
            time.sleep(0.05)

    try:
        wait_until(lambda: len(list(tmp_path.iterdir())) == 2)
    finally:
        run.kill()
        run.wait()
    ids = [int(path.name) for path in tmp_path.iterdir()]
    wait_until(lambda: not any(_runs(id_) for id_ in ids))


def _runs(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    state = Path(f"/proc/{process}/stat")
    # One that has ended but that nobody has asked after yet is still listed.
    return not (state.is_file() and state.read_text().rpartition(")")[2].split()[0] == "Z")


@pytest.mark.parametrize("count", [0, 1, 7, 8, 100, 1001])
@pytest.mark.parametrize(("most", "rounds", "fewest"), [(200, 2, 8), (12, 4, 1), (1, 1, 1)])
def test_portions_are_all_of_it_in_order_and_alike(
    cores: int, count: int, most: int, rounds: int, fewest: int
) -> None:
    shares = portions(range(count), most, rounds, fewest)
    assert [item for share in shares for item in share] == list(range(count))
    sizes = [len(share) for share in shares]
    if count < fewest:
        assert sizes == ([count] if count else [])
    elif count:
        assert max(sizes) <= most and len(set(sizes[:-1])) <= 1
        assert len(sizes) >= min(count, cores)
