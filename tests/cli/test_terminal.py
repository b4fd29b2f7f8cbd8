"""On a real terminal: nothing stays of the progress, no codes for a dumb one, tables that fit."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import shutil
import struct
import subprocess
import sys
import termios
from pathlib import Path

import pytest

from reportgen.cli import main
from reportgen.report.text_table import text_table

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "tests" / "example"


def on_terminal(house: Path, *words: str, columns: int = 80, **environment: str) -> str:
    """Run the tool with a terminal as its output; return all that was written to it."""
    leader, follower = pty.openpty()
    fcntl.ioctl(follower, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    names = {k: v for k, v in os.environ.items() if k not in ("COLUMNS", "LINES", "NO_COLOR")}
    process = subprocess.Popen(
        [sys.executable, "-m", "reportgen", *words], cwd=house, stdin=subprocess.DEVNULL,
        stdout=follower, stderr=follower,
        env={**names, "PYTHONPATH": str(ROOT), "TERM": "xterm", **environment},
    )  # fmt: skip
    os.close(follower)
    told = b""
    while True:
        try:
            part = os.read(leader, 65536)
        except OSError:  # the other end is closed
            break
        if not part:
            break
        told += part
    os.close(leader)
    process.wait(timeout=60)
    return told.decode().replace("\r\n", "\n")


def screen(told: str) -> list[str]:
    """Return the lines as a terminal shows them: a carriage return begins the line anew."""
    lines = []
    for line in told.split("\n"):
        shown = ""
        for part in re.sub(r"\x1b\[[0-9;]*m", "", line).split("\r"):
            shown = part + shown[len(part):]
        lines.append(shown.rstrip())
    return lines


@pytest.fixture
def house(tmp_path: Path) -> Path:
    folder = tmp_path / "house"
    shutil.copytree(EXAMPLE, folder)
    record = (folder / "2026/2026-01.yaml").read_text(encoding="utf-8")
    for number in (2, 3, 4):
        batch = f"2026-0{number}"
        (folder / f"2026/{batch}.yaml").write_text(record.replace("2026-01", batch), "utf-8")
    return folder


def test_progress_leaves_nothing_behind(house: Path) -> None:
    told = on_terminal(house, "history")
    assert " of 4 looked at" in told or "\r" not in told
    assert not [line for line in screen(told) if "looked at" in line]


@pytest.mark.parametrize(
    ("words", "counted"),
    [
        (("propose", "2026/2026-01.yaml", "--aim", "bitterness=40"), "of 6 searches"),
        (("new", "2026-07", "--like", "2026-01", "--volume", "30 L"), "of 6 searches"),
        (("store",), "of 4 looked at"),
        (("trace", "2026-01"), "of 4 looked at"),
    ],
    ids=lambda value: value[0] if isinstance(value, tuple) else "",
)
def test_what_may_take_longer_than_a_second_says_how_far_it_is(
    house: Path, words: tuple[str, ...], counted: str
) -> None:
    told = on_terminal(house, *words)
    assert counted in told or "looked" in counted, "four records are one portion"
    left = screen(told)
    assert not [line for line in left if "searches" in line or "looked at" in line]
    assert "Traceback" not in told and len([line for line in left if line]) > 0
    quiet = on_terminal(house, *(w.replace("2026-07", "2026-08") for w in words), TERM="dumb")
    assert "searches" not in quiet and "\r" not in quiet


def test_progress_is_taken_away_when_the_work_is_broken_off() -> None:
    script = (
        "import sys; sys.stderr.isatty = lambda: True\n"
        "from reportgen.verbs.progress import cleared, progress\n"
        "try:\n"
        "    with cleared():\n"
        "        tell = progress('done'); tell(3, 10); raise OSError('x')\n"
        "except OSError: print('disk full', file=sys.stderr)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, timeout=60,
        env={**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm"},
    )  # fmt: skip
    told = done.stderr.decode()
    assert "3 of 10 done" in told and screen(told)[0] == "disk full"


@pytest.mark.parametrize(
    ("environment", "coloured"),
    [({}, True), ({"TERM": "dumb"}, False), ({"NO_COLOR": "1"}, False)],
    ids=["usual", "dumb", "asked for none"],
)
def test_colour_is_for_a_terminal_that_has_it(
    house: Path, environment: dict[str, str], coloured: bool
) -> None:
    told = on_terminal(house, "check", "2026-01", **environment)
    assert ("\x1b[" in told) is coloured
    if environment.get("TERM") == "dumb":
        assert "\r" not in told


@pytest.mark.parametrize("columns", [60, 80, 120, 300])
def test_a_table_of_figures_fits_the_screen(house: Path, columns: int) -> None:
    lines = screen(on_terminal(house, "figures", "2026-01", columns=columns))
    head = next(line for line in lines if line.lstrip().startswith(("batch", "key")))
    table = [line for line in lines if not line.startswith("left out")]
    assert max(map(len, table)) <= columns
    for needed in ("key", "expected"):
        assert needed in head
    if columns >= 80:
        assert "verdict" in head and "actual" in head
    if columns == 300:
        assert "method" in head


def test_what_goes_into_a_file_has_all_columns(house: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "reportgen", "figures", "2026-01"], cwd=house, capture_output=True,
        text=True, timeout=60, env={**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "40"},
    )  # fmt: skip
    assert done.stdout.splitlines()[0].split()[0] == "batch"
    assert done.stdout.splitlines()[0].endswith("method")


@pytest.mark.parametrize(
    "words",
    [("store",), ("compare", "2025-02", "2026-10"), ("compare", "2025-02", "2025-03", "2026-03"),
     ("trace", "2026-12"), ("treat", "2026-10", "--calcium", "80")],
    ids=" ".join,
)  # fmt: skip
def test_what_is_printed_fits_a_hundred_columns(
    words: tuple[str, ...], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(ROOT / "batches")
    main(list(words))
    lines = capsys.readouterr().out.splitlines()
    assert lines and not [line for line in lines if len(line) > 100]


def test_a_table_breaks_its_words_and_loses_none() -> None:
    rows = [("Beer", "Left", "Note"), ("Courtyard " * 6, "7.10 kg", "gypsum and lime " * 6)]
    lines = list(text_table(rows, {1}))
    assert max(map(len, lines)) <= 96 and all("7.10" not in line for line in lines[2:])
    assert sorted(" ".join(lines).split()) == sorted(" ".join(map(" ".join, rows)).split())
