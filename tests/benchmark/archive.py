"""How long the verbs over a whole archive take, and how much memory, by the number of batches.

    python tests/benchmark/archive.py                       100, 1000 and 2000 batches
    python tests/benchmark/archive.py 100 10000 --verbs check ledger
    python tests/benchmark/archive.py 1000 --verbs check --schema-tool PATH

Makes synthetic archives in a scratch folder, runs each verb in a process of its own and prints a
table: wall clock, processor time and the largest memory of any one process. Nothing is kept.
``--schema-tool`` names the ``check-jsonschema`` of any environment: it holds the same files
against the schema alone, by turns with ``check`` and with ``check`` on one core, and the medians
are printed. Not part of the tests: it takes minutes.
"""

from __future__ import annotations

import argparse
import os
import platform
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

TREE = Path(__file__).parents[2]
sys.path.insert(0, str(TREE / "tests/support"))

from synthetic_archive import make_archive  # noqa: E402

COUNTS = (100, 1000, 2000)
VERIFIED = 50
"""Records that are printed and then verified."""
RUNS = 3
"""Runs of each command that is held against another."""

VERBS = ("check", "check one", "ledger", "ledger again", "history", "trace", "verify")


@dataclass(frozen=True)
class Cost:
    """What one command took: s, s, MB of its largest process."""

    wall: float
    cpu: float
    memory: float


def run(command: Sequence[str], folder: Path, one_core: bool = False) -> Cost:
    """Run a command in a folder to its end and return what it took. Its output is dropped."""
    path = os.pathsep.join(p for p in (str(TREE), os.environ.get("PYTHONPATH", "")) if p)
    start = time.perf_counter()
    process = subprocess.Popen(
        _on_one_core(command) if one_core else command,
        cwd=folder,
        env={**os.environ, "PYTHONPATH": path},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    _, status, used = os.wait4(process.pid, 0)
    wall = time.perf_counter() - start
    code = os.waitstatus_to_exitcode(status)
    if code not in (0, 1):
        raise SystemExit(f"{' '.join(command[:6])} ended with {code}")
    # Linux counts in kibibytes, macOS in bytes.
    unit = 1 if sys.platform == "darwin" else 1024
    return Cost(wall, used.ru_utime + used.ru_stime, used.ru_maxrss * unit / 1e6)


def _on_one_core(command: Sequence[str]) -> list[str]:
    if not hasattr(os, "sched_getaffinity") or shutil.which("taskset") is None:
        raise SystemExit("one core at a time needs taskset")
    return ["taskset", "--cpu-list", str(min(os.sched_getaffinity(0))), *command]


def reportgen(*arguments: str) -> list[str]:
    """Return the command line of a verb of this tree."""
    return [sys.executable, "-m", "reportgen", *arguments]


def measure(verb: str, folder: Path, batches: Sequence[str]) -> Cost:
    """Run one of the ``VERBS`` over an archive."""
    last = batches[-1]
    record = next(folder.glob(f"*/{last}.yaml")).relative_to(folder).as_posix()
    if verb == "verify":
        some = [
            path.relative_to(folder).as_posix()
            for path in sorted(folder.glob("20*/*.yaml"))[:VERIFIED]
        ]
        printed = folder / "build/records"
        if not printed.is_dir():
            run(reportgen("record", *some), folder)
        return run(reportgen("verify", "build/records"), folder)
    arguments = {
        "check": ("check",),
        "check one": ("check", record),
        "ledger": ("ledger",),
        "ledger again": ("ledger",),
        "history": ("history",),
        "trace": ("trace", last),
    }[verb]
    return run(reportgen(*arguments), folder)


def machine() -> str:
    """Return the processor, its cores that may be used, the system and the Python."""
    model = platform.processor() or platform.machine()
    cpuinfo = Path("/proc/cpuinfo")
    if cpuinfo.is_file():
        lines = cpuinfo.read_text(encoding="utf-8", errors="replace").splitlines()
        model = next((x.partition(":")[2].strip() for x in lines if x.startswith("model name")),
                     model)
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    return f"{model}, {cores} cores{load}; Python {platform.python_version()}"


def table(counts: Sequence[int], verbs: Sequence[str], scratch: Path) -> None:
    """Print what each verb takes at each size."""
    print(f"{'verb':<14}{'batches':>8}{'wall, s':>10}{'cpu, s':>10}{'ms/batch':>10}{'MB':>8}")
    for count in counts:
        folder = scratch / str(count)
        batches = make_archive(folder, count, 1)
        for verb in verbs:
            cost = measure(verb, folder, batches)
            print(
                f"{verb:<14}{count:>8}{cost.wall:>10.2f}{cost.cpu:>10.2f}"
                f"{cost.wall / count * 1000:>10.1f}{cost.memory:>8.0f}",
                flush=True,
            )
        shutil.rmtree(folder)


def against_schema_alone(count: int, tool: str, scratch: Path) -> None:
    """Print the medians of ``check`` and of a validator that looks at the schema only."""
    folder = scratch / "schema"
    make_archive(folder, count, 1)
    files = sorted(str(p.relative_to(folder)) for p in folder.glob("20*/*.yaml"))
    alone = [tool, "--schemafile", str(TREE / "schema/record.json"), *files]
    kinds = {
        "schema alone": (alone, False),
        "schema alone, one core": (alone, True),
        "check": (reportgen("check"), False),
        "check, one core": (reportgen("check"), True),
    }
    costs: dict[str, list[Cost]] = {name: [] for name in kinds}
    for _ in range(RUNS):
        for name, (command, one_core) in kinds.items():
            costs[name].append(run(command, folder, one_core))
    base = statistics.median(c.wall for c in costs["schema alone"])
    print(f"\n{count} records, medians of {RUNS} runs by turns")
    print(f"{'':<26}{'wall, s':>10}{'cpu, s':>10}{'MB':>8}{'wall, ratio':>14}")
    for name, found in costs.items():
        wall = statistics.median(c.wall for c in found)
        cpu = statistics.median(c.cpu for c in found)
        memory = max(c.memory for c in found)
        print(f"{name:<26}{wall:>10.2f}{cpu:>10.2f}{memory:>8.0f}{wall / base:>14.2f}")
    shutil.rmtree(folder)


def main() -> None:
    """Measure what the command line asks for."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("counts", nargs="*", type=int, default=list(COUNTS))
    parser.add_argument("--verbs", nargs="*", choices=VERBS, default=list(VERBS))
    parser.add_argument("--schema-tool", metavar="PATH", help="a check-jsonschema")
    arguments = parser.parse_args()
    print(machine())
    with tempfile.TemporaryDirectory(prefix="reportgen-benchmark-") as name:
        scratch = Path(name)
        if arguments.schema_tool:
            for count in arguments.counts:
                against_schema_alone(count, arguments.schema_tool, scratch)
        else:
            table(arguments.counts, arguments.verbs, scratch)


if __name__ == "__main__":
    main()
