"""How long documents take beside the layout library alone on the very same HTML.

    python tests/benchmark/documents.py                 all parts, about ten minutes on two cores
    python tests/benchmark/documents.py cold warm       some parts
    python tests/benchmark/documents.py rebuild --batches 100

Parts, each held against its yardstick by turns in this one run:

cold      ``record`` and ``sheet`` of one batch, a new process each, against a new process that
          does nothing but lay out the HTML that they lay out, with the same options
warm      50 documents in one process against the library in a loop, and over two cores
rebuild   a full build of a synthetic archive, then with no change, then with one record changed
pages     the layout of the sheet and the record, and Chromium printing the same HTML

Prints a table of medians and ratios. Not part of the tests: it takes minutes.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import platform
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

TREE = Path(__file__).parents[2]
sys.path[:0] = [str(TREE), str(TREE / "tests/support")]

ENVIRONMENT = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
"""Both sides run as they do when installed: with their modules compiled already."""

RECORD = "2026/2026-01.yaml"
NO_SHEETS = ("-record.html", "-working.html")
PARTS = ("cold", "warm", "rebuild", "pages")

BARE = """
import json, sys, pathlib, datetime
case = json.loads(pathlib.Path(sys.argv[1]).read_text())
import weasyprint
from weasyprint.text.fonts import FontConfiguration
fonts = FontConfiguration()
faces = weasyprint.CSS(string=case["faces"], font_config=fonts)
for name in case["pages"]:
    text = pathlib.Path(name).read_text()
    attached = [weasyprint.Attachment(string=case["source"], name="a.yaml", relationship="Source")]
    weasyprint.HTML(string=text).write_pdf(
        name + ".pdf", font_config=fonts, stylesheets=[faces], pdf_tags=True,
        pdf_variant="pdf/a-3a" if "record" in name else "pdf/ua-1",
        attachments=attached if "record" in name else [],
    )
"""
"""The library alone: the same pages, typeface, tags, variant and attachment."""


@dataclass(frozen=True)
class Cost:
    """Seconds by the clock and of processors."""

    wall: float
    cpu: float


def run(
    command: Sequence[str], folder: Path, cores: int | None = None, tree: Path = TREE
) -> Cost:
    """Run a command to its end, on the first ``cores`` cores if given. RuntimeError if it fails.

    ``tree`` is the checkout whose modules are run.
    """
    if cores is not None:
        allowed = sorted(os.sched_getaffinity(0))[:cores]
        command = ["taskset", "-c", ",".join(map(str, allowed)), *command]
    before = os.times()
    start = time.perf_counter()
    done = subprocess.run(
        command,
        cwd=folder,
        env={**ENVIRONMENT, "PYTHONPATH": str(tree)},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )
    wall = time.perf_counter() - start
    after = os.times()
    if done.returncode not in (0, 1):
        raise RuntimeError(f"{' '.join(command)}: {done.stderr}")
    spent = after.children_user + after.children_system
    return Cost(wall, spent - before.children_user - before.children_system)


def by_turns(runs: int, *each: Callable[[], Cost], warm: bool = False) -> list[Cost]:
    """Return the median cost of each command; they take turns on the same machine.

    ``warm`` asks for one more run of each before, which is not counted: it compiles modules.
    """
    if warm:
        for one in each:
            one()
    costs: list[list[Cost]] = [[] for _ in each]
    for _ in range(runs):
        for found, one in zip(costs, each, strict=True):
            found.append(one())
    return [
        Cost(statistics.median(c.wall for c in found), statistics.median(c.cpu for c in found))
        for found in costs
    ]


def line(what: str, cost: Cost, against: Cost | None = None, note: str = "") -> None:
    """Print one line of the table."""
    ratio = f"{cost.wall / against.wall:6.2f}" if against else "      "
    ratio_cpu = f"{cost.cpu / against.cpu:6.2f}" if against else "      "
    print(f"{what:<58}{cost.wall:9.2f}{cost.cpu:9.2f} {ratio} {ratio_cpu}  {note}", flush=True)


@contextlib.contextmanager
def demo() -> Iterator[Path]:
    """Give a copy of the demo archive, without anything built."""
    with tempfile.TemporaryDirectory(prefix="benchmark-") as scratch:
        folder = Path(scratch) / "archive"
        shutil.copytree(TREE / "batches", folder, ignore=shutil.ignore_patterns("build"))
        yield folder


def write_pages(folder: Path, count: int) -> Path:
    """Write the HTML of documents of the demo as files, and what the bare library needs beside.

    Returns the case file. The typeface is the packaged one, in the two weights that are used.
    """
    from reportgen.assessment.assess import assess
    from reportgen.loading import load_archive
    from reportgen.report import fonts
    from reportgen.report.documents import ALL
    from reportgen.report.render import html

    archive = load_archive(folder)
    pages = folder.parent / "pages"
    pages.mkdir(exist_ok=True)
    faces = fonts.FACES
    for name in fonts.WEIGHTS:
        path = pages / f"{name}.ttf"
        path.write_bytes(fonts.font_data(name))
        faces = faces.replace(f"{fonts.SCHEME}:{name}", path.as_uri())
    named = []
    for batch in archive.batches.values():
        assessment = assess(archive, batch)
        if assessment is None:
            continue
        for document in ALL:
            if document.applies(assessment) and len(named) < count:
                path = pages / f"{batch.id}-{document.name}.html"
                view = document.view(assessment, "A4", 1)
                path.write_text(
                    fonts.printable(html(document.template, view, "A4", folder)), encoding="utf-8"
                )
                named.append(str(path))
    case = pages / "case.json"
    source = (folder / RECORD).read_text(encoding="utf-8")
    case.write_text(json.dumps({"faces": faces, "pages": named, "source": source}))
    return case


def only(case: Path, ending: str) -> Path:
    """Return a case with those pages alone whose name ends so."""
    data = json.loads(case.read_text())
    data["pages"] = [name for name in data["pages"] if name.endswith(ending)]
    path = case.with_name(f"case-{ending}.json")
    path.write_text(json.dumps(data))
    return path


def cold(runs: int) -> None:
    """One batch, a new process each."""
    with demo() as folder:
        case = write_pages(folder, 1000)
        bare = folder.parent / "bare.py"
        bare.write_text(BARE)
        tool = [sys.executable, "-m", "reportgen"]
        batch = Path(RECORD).stem
        sheets = json.loads(case.read_text())["pages"]
        sheets = [n for n in sheets if f"/{batch}-" in n and not n.endswith(NO_SHEETS)]
        all_sheets = case.with_name("case-sheets.json")
        data = json.loads(case.read_text())
        all_sheets.write_text(json.dumps({**data, "pages": sheets}))
        one = only(case, f"{batch}-record.html")
        for what, command, yardstick in (
            ("record", [*tool, "record", RECORD], one),
            ("sheet (five sheets)", [*tool, "sheet", RECORD], all_sheets),
        ):
            ours, theirs = by_turns(
                runs,
                lambda command=command: run(command, folder),
                lambda case=yardstick: run([sys.executable, str(bare), str(case)], folder),
                warm=True,
            )
            line(f"cold: the library alone, HTML of {what}", theirs)
            line(f"cold: {what}", ours, theirs, "at most 1.15")


def warm(runs: int) -> None:
    """Fifty documents in one process, and over two cores."""
    with demo() as folder:
        case = write_pages(folder, 50)
        bare = folder.parent / "bare.py"
        bare.write_text(BARE)
        kept = {Path(name).stem[:7] for name in json.loads(case.read_text())["pages"]}
        for path in sorted(folder.rglob("20??-??.yaml")):
            if path.stem not in kept:
                path.unlink()
        chosen = sorted(str(path.relative_to(folder)) for path in folder.rglob("20??-??.yaml"))
        build = [sys.executable, "-m", "reportgen", "build", *chosen[:-1]]

        def built(cores: int) -> Cost:
            shutil.rmtree(folder / "build", ignore_errors=True)
            return run(build, folder, cores)

        tool = [sys.executable, "-m", "reportgen"]

        def documents() -> Cost:
            """The same documents and no more: build sets pages and the ledger besides."""
            shutil.rmtree(folder / "build", ignore_errors=True)
            sheets = run([*tool, "sheet", *chosen[:-1]], folder, 1)
            records = run([*tool, "record", *chosen[:-1]], folder, 1)
            return Cost(sheets.wall + records.wall, sheets.cpu + records.cpu)

        pages = [n for n in json.loads(case.read_text())["pages"]
                 if Path(n).stem[:7] != Path(chosen[-1]).stem]
        data = json.loads(case.read_text())
        case.write_text(json.dumps({**data, "pages": pages}))
        theirs, ours, one, two = by_turns(
            runs,
            lambda: run([sys.executable, str(bare), str(case)], folder, 1),
            documents,
            lambda: built(1),
            lambda: built(2),
        )
        count = len(pages)
        line(f"warm: the library alone, {count} documents, one core", theirs)
        line(f"warm: sheet and record, the same {count}, one core", ours, theirs, "at most 1.05")
        line("warm: build, these with pages and ledger, one core", one, theirs)
        line("warm: build, two cores", two, one, f"{one.wall / two.wall:.2f} times faster; 1.8")


def rebuild(batches: int) -> None:
    """A full build, one with no change and one with one record changed."""
    from synthetic_archive import make_archive

    with tempfile.TemporaryDirectory(prefix="benchmark-") as scratch:
        folder = Path(scratch) / "archive"
        make_archive(folder, batches, seed=1)
        build = [sys.executable, "-m", "reportgen", "build"]
        full = run(build, folder)
        line(f"build of {batches} batches", full)
        same = by_turns(3, lambda: run(build, folder))[0]
        line("build again, nothing changed", same, full, "under 0.01")
        changed = sorted(folder.rglob("20*.yaml"))[-1]
        with changed.open("a", encoding="utf-8") as file:
            file.write("# a remark\n")
        one = run(build, folder)
        more = one.wall - same.wall
        line("build again, one record changed", one, None, f"{more:.1f} s more; 2 s")


def pages(runs: int) -> None:
    """The pages themselves: layout alone, and a browser printing the same HTML."""
    from reportgen.report.fonts import font_configuration

    with demo() as folder:
        case = write_pages(folder, 1000)
        fonts = font_configuration()
        import weasyprint

        data = json.loads(case.read_text())
        faces = weasyprint.CSS(string=data["faces"], font_config=fonts)
        for document in ("brew-day", "record"):
            path = case.with_name(f"{Path(RECORD).stem}-{document}.html")
            text = path.read_text(encoding="utf-8")

            def laid_out(text: str = text) -> Cost:
                start, spent = time.perf_counter(), time.process_time()
                weasyprint.HTML(string=text).render(font_config=fonts, stylesheets=[faces])
                return Cost(time.perf_counter() - start, time.process_time() - spent)

            costs = by_turns(runs, laid_out)
            line(f"pages: layout of the {document}", costs[0])
            chromium = shutil.which("chromium") or shutil.which("google-chrome")
            if chromium is None:
                print("pages: no Chromium on this machine")
                continue
            profile = folder.parent / "profile"
            command = [
                chromium, "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run",
                "--disable-background-networking", f"--user-data-dir={profile}",
                f"--print-to-pdf={path}.chromium.pdf", path.as_uri(),
            ]  # fmt: skip
            printed = by_turns(runs, lambda command=command: run(command, folder))
            line(f"pages: Chromium printing the {document}, whole process", printed[0], costs[0])


def head() -> None:
    """Print the machine and the head of the table."""
    own = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    print(f"{own} cores, Python {platform.python_version()}")
    print(f"{'':<58}{'wall, s':>9}{'CPU, s':>9} {'ratio':>6} {'CPU':>6}")


def main() -> None:
    """Run the parts asked for."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("parts", nargs="*", default=list(PARTS), choices=[*PARTS, []])
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--batches", type=int, default=20, help="of the archive that is rebuilt")
    arguments = parser.parse_args()
    chosen = arguments.parts or list(PARTS)
    head()
    if "cold" in chosen:
        cold(arguments.runs)
    if "warm" in chosen:
        warm(max(1, arguments.runs // 2))
    if "rebuild" in chosen:
        rebuild(arguments.batches)
    if "pages" in chosen:
        pages(arguments.runs)


if __name__ == "__main__":
    main()
