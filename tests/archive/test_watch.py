"""``watch`` in a process of its own: builds, sees a save, tells what is wrong, stops on Ctrl-C."""

from __future__ import annotations

import os
import queue
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from houses import CLEAN, ROOT, house, inside, plain_pages

from reportgen.archive.build import read_state
from reportgen.archive.changes import changed, look

SECONDS = 240
"""Longest wait for one thing to happen, on a machine that is busy with other tests."""

BATCH = "2026/2026-01.yaml"


class Watching:
    """A running ``watch`` whose lines can be waited for."""

    def __init__(self, folder: Path, *arguments: str) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-u", "-m", "reportgen", "watch", "--interval", "0.1", *arguments],
            cwd=folder,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            env={**CLEAN, "PYTHONPATH": str(ROOT)},
            start_new_session=True,
        )
        self.lines: queue.Queue[str] = queue.Queue()
        self.seen: list[str] = []
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.lines.put(line.rstrip("\n"))

    def wait_for(self, word: str) -> list[str]:
        """Return the lines up to the first that has a word."""
        until = time.monotonic() + SECONDS
        found = []
        while time.monotonic() < until:
            try:
                line = self.lines.get(timeout=0.5)
            except queue.Empty:
                assert self.process.poll() is None, f"it ended; so far: {self.seen}"
                continue
            self.seen.append(line)
            found.append(line)
            if word in line:
                return found
        raise AssertionError(f"`{word}` did not come; so far: {self.seen}")

    def interrupt(self) -> int:
        """Press Ctrl-C: the whole group is told, as a terminal does."""
        os.killpg(self.process.pid, signal.SIGINT)
        return self.process.wait(timeout=SECONDS)


@contextmanager
def watching(folder: Path, *arguments: str) -> Iterator[Watching]:
    one = Watching(folder, *arguments)
    try:
        yield one
    finally:
        if one.process.poll() is None:
            os.killpg(one.process.pid, signal.SIGKILL)
            one.process.wait(timeout=30)


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


@pytest.mark.skipif(not hasattr(os, "killpg"), reason="needs POSIX process groups")
def test_a_save_is_seen_told_and_built_and_ctrl_c_stops(tmp_path: Path) -> None:
    folder = plain_pages(house(tmp_path / "house", {"2026-01": "{}"}))
    sheet = folder / "build/sheets/2026-01-brew-day.pdf"
    with watching(folder, BATCH) as one:
        one.wait_for("watching")
        first = sheet.read_bytes()

        # A mistake is told with its place, and the old sheet stands.
        edit(folder / BATCH, "malt: pale", "malt: palle")
        lines = one.wait_for("watching")
        assert f"changed: {BATCH}" in lines
        assert any("`palle` is not among the malts" in line for line in lines)
        assert sheet.read_bytes() == first

        # Fixed otherwise than it was: a new sheet.
        edit(folder / BATCH, "malt: palle", "malt: pale")
        edit(folder / BATCH, "volume: 40 L", "volume: 38 L")
        one.wait_for("watching")
        while sheet.read_bytes() == first:
            # Both edits may have been seen apart.
            one.wait_for("watching")

        # What was built is taken away, and the record for a while.
        (folder / "build").rename(tmp_path / "old build")
        one.wait_for("watching")
        assert sheet.is_file()
        (folder / BATCH).rename(tmp_path / "kept.yaml")
        lines = one.wait_for("watching")
        assert any("it is built when it is back" in line for line in lines)
        (tmp_path / "kept.yaml").rename(folder / BATCH)
        one.wait_for("watching")

        # Saved without a change: nothing happens.
        (folder / BATCH).write_bytes((folder / BATCH).read_bytes())
        time.sleep(1.0)
        assert one.lines.empty()

        assert one.interrupt() == 0
        while not one.lines.empty():
            one.seen.append(one.lines.get())
    assert one.seen[-1] == "stopped"
    assert not any("Traceback" in line for line in one.seen)


BUILD = """
import argparse, sys
from reportgen.archive import workers
from reportgen.verbs.build import build
workers.cores = lambda: 2
given = argparse.Namespace(path=[sys.argv[1]], paper=None, share=None, take=[])
saves = iter(map(int, sys.argv[2]))
sys.exit(build(given, lambda: bool(next(saves, 0))))
"""


def built(folder: Path, saves: str = "") -> str:
    """Build with two workers; whether something is saved meanwhile is asked so many times."""
    done = subprocess.run(
        [sys.executable, "-c", BUILD, str(folder), saves], capture_output=True, text=True,
        timeout=SECONDS, env={**CLEAN, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stderr


@pytest.mark.usefixtures("every_core")
def test_a_save_while_it_builds_is_built_without_the_rest_of_what_is_stale(tmp_path: Path) -> None:
    # More jobs than two workers are ever ahead by.
    folder = plain_pages(house(tmp_path / "house", {"2026-01": "{}", "2026-02": "{}"}))
    assert "saved meanwhile" in built(folder, "0001")
    printed = sorted(p.name for p in (folder / "build").rglob("*.pdf"))
    assert 0 < len(printed) < 10 and not (folder / "build/ledger").exists()
    noted = [folder / "build" / n for n in read_state(folder / "build") if n.endswith(".pdf")]
    stamps = {path: path.stat().st_mtime_ns for path in noted}
    assert stamps and "saved meanwhile" not in built(folder)
    # What was made and noted before the save is not made again; a worker may have been at more.
    assert {p: p.stat().st_mtime_ns for p in stamps} == stamps
    assert (folder / "build/ledger/index.html").is_file()


def test_what_counts_as_a_change(tmp_path: Path) -> None:
    folder = house(tmp_path / "house", {"2026-01": "{}"})
    before = look(folder, {})
    assert set(before) == {BATCH, "brewery.yaml", "stock.yaml"}
    for name, data in (("build/x.yaml", b"a"), (".git/y.yaml", b"b"), ("2026/notes.txt", b"c")):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    assert changed(before, look(folder, before)) == []
    (folder / "templates").mkdir()
    (folder / "templates/record.css").write_text("p {}", encoding="utf-8")
    (folder / "2026/photo.PNG").write_bytes(b"x")
    (folder / "stock.yaml").unlink()
    now = look(folder, before)
    assert changed(before, now) == ["2026/photo.PNG", "stock.yaml", "templates/record.css"]
    # A link to nothing with the name of a record is told as soon as it is there, and when it goes.
    (folder / "2026/2026-09.yaml").symlink_to("nowhere.yaml")
    linked = look(folder, now)
    assert changed(now, linked) == ["2026/2026-09.yaml"]
    (folder / "2026/2026-09.yaml").unlink()
    assert changed(linked, look(folder, linked)) == ["2026/2026-09.yaml"]
    # Same size, same content: a new time of change alone is none.
    os.utime(folder / BATCH, ns=(1, 1))
    assert changed(now, look(folder, now)) == []
    edit(folder / BATCH, "volume: 40 L", "volume: 41 L")
    os.utime(folder / BATCH, ns=(1, 1))
    assert changed(now, look(folder, now)) == [BATCH]


def test_an_interval_that_makes_no_sense_is_misuse(tmp_path: Path) -> None:
    folder = house(tmp_path / "house", {"2026-01": "{}"})
    for interval in ("0", "-1", "nan", "1e9"):
        done = inside("watch", "--interval", interval, cwd=folder)
        assert done.returncode == 2 and "interval" in done.stderr
