"""The command line: arguments in, exit code out. Each verb is imported only when it is asked for.

Exit codes: 0 clean, 1 findings, 2 misuse or an output that cannot be written.
"""

from __future__ import annotations

import argparse
import importlib
import io
import os
import sys
from collections.abc import Sequence
from typing import Any

from reportgen import __version__

EPILOG = """\
With no path a verb works on the archive it stands in: the nearest folder at or above with a
brewery.yaml. Exit code 0 clean, 1 findings, 2 misuse.
"""


def parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command line."""
    top = argparse.ArgumentParser(
        prog="reportgen",
        description="Batch records of beer: check them, print brew-day sheets, keep the record.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="version", version=f"reportgen {__version__}")
    verbs = top.add_subparsers(dest="verb", metavar="VERB", required=True)
    _new(verbs)
    _check(verbs)
    _verb(
        verbs,
        "blanks",
        "print the readings still missing, as YAML to paste",
        "reportgen blanks 2026/2026-07.yaml",
    )
    _documents(verbs)
    figures = _verb(
        verbs,
        "figures",
        "print every expected and actual number",
        "reportgen figures 2026/2026-07.yaml --format csv",
    )
    figures.add_argument("--format", choices=("table", "csv", "json"), default="table")
    explain = _verb(
        verbs,
        "explain",
        "print the manual page of a check",
        "reportgen explain gravity-rises",
        paths=False,
    )
    explain.add_argument("name", nargs="?", help="name of the check; without it all are listed")
    manual = _verb(
        verbs,
        "manual",
        "write the manual as web pages and PDF",
        "reportgen manual --output manual",
        paths=False,
    )
    manual.add_argument("--output", metavar="FOLDER", help="folder to write; else build/manual")
    manual.add_argument("--paper", choices=("A4", "Letter"), default="A4", help="paper of the PDF")
    _treat(verbs)
    _over_the_archive(verbs)
    return top


def _verb(
    verbs: Any, name: str, words: str, example: str, paths: bool = True
) -> argparse.ArgumentParser:
    sub: argparse.ArgumentParser = verbs.add_parser(
        name,
        help=words,
        description=words[0].upper() + words[1:] + ".",
        epilog=f"example:\n  {example}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    if paths:
        sub.add_argument("path", nargs="*", help="records, or folders of records")
    return sub


def _new(verbs: Any) -> None:
    new = _verb(
        verbs,
        "new",
        "start a record and print its path",
        "reportgen new 2026-07 --like 2026-03",
        paths=False,
    )
    new.add_argument("batch", help="id of the new batch, e.g. 2026-07")
    new.add_argument("--like", metavar="BATCH", help="start from the plan of this batch")
    new.add_argument("--name", help="name of the beer")


def _check(verbs: Any) -> None:
    check = _verb(verbs, "check", "validate and run every check", "reportgen check 2026")
    check.add_argument(
        "--format", choices=("text", "json"), default="text", help="json: one object a line"
    )
    check.add_argument(
        "--colour",
        action=argparse.BooleanOptionalAction,
        default=None,
        help="colour the text; by default on a terminal without NO_COLOR",
    )


def _treat(verbs: Any) -> None:
    treat = _verb(
        verbs,
        "treat",
        "propose salts and acid for a plan's liquor, as YAML to paste",
        "reportgen treat 2026/2026-07.yaml --calcium 100 --sulfate 150 --mash-ph 5.4",
        paths=False,
    )
    treat.add_argument("path", help="the record whose plan is meant")
    for ion in ("calcium", "magnesium", "sodium", "chloride", "sulfate"):
        treat.add_argument(
            f"--{ion}", type=float, metavar="MG_L", help=f"{ion} wanted in the mash liquor, mg/L"
        )
    treat.add_argument("--mash-ph", type=float, metavar="PH", help="mash pH wanted, cooled sample")
    treat.add_argument(
        "--where",
        choices=("mash", "both"),
        default="mash",
        help="salt the mash liquor only, the sparge untreated (default), or both",
    )


def _documents(verbs: Any) -> None:
    for name, words in (
        ("sheet", "print the working sheets as PDF"),
        ("record", "print the batch record as PDF, its source attached"),
        ("build", "build everything that changed: sheets and records"),
    ):
        one = _verb(verbs, name, words, f"reportgen {name} 2026/2026-07.yaml")
        one.add_argument(
            "--paper", choices=("A4", "Letter"), help="paper; else that of brewery.yaml"
        )
        if name == "sheet":
            one.add_argument(
                "--copy", type=int, default=1, metavar="N", help="number of this copy"
            )


def _over_the_archive(verbs: Any) -> None:
    trace = _verb(
        verbs,
        "trace",
        "trace a batch, a lot or a yeast, forward and back",
        "reportgen trace M-2604",
        paths=False,
    )
    trace.add_argument("name", help="batch id, lot number, or name of an item in stock.yaml")
    history = _verb(
        verbs,
        "history",
        "print what kit and yeasts have done so far, and compare two",
        "reportgen history --compare house_ale_a house_ale_b",
        paths=False,
    )
    history.add_argument(
        "--compare", nargs=2, metavar=("A", "B"), help="two yeasts, or two liquors"
    )
    ledger = _verb(
        verbs,
        "ledger",
        "build the pages over all batches, the printed list, tables for other programs",
        "reportgen ledger",
        paths=False,
    )
    ledger.add_argument("--paper", choices=("A4", "Letter"), help="paper of the list")
    ledger.add_argument("--archive", metavar="FOLDER", help="archive; else the one stood in")
    verify = _verb(
        verbs,
        "verify",
        "hold an archived PDF against its source: same record, same bytes",
        "reportgen verify build/records/2026-03.pdf --revision HEAD~2",
        paths=False,
    )
    verify.add_argument("pdf", nargs="+", help="batch records or working sheets, as PDF")
    verify.add_argument(
        "--revision", metavar="REV", help="against the archive as it was in this git revision"
    )
    verify.add_argument("--copy", type=int, default=1, metavar="N", help="copy number of a sheet")
    verify.add_argument(
        "--source", action="store_true", help="print the record attached to one PDF, nothing else"
    )
    compare = _verb(
        verbs,
        "compare",
        "compare two batches, or two revisions of one: only what differs",
        "reportgen compare 2026-03@HEAD~2 2026-03",
        paths=False,
    )
    compare.add_argument(
        "--page", action="store_true", help="write it as a page in build/compare and print its path"
    )
    for letter in ("a", "b"):
        compare.add_argument(
            letter, metavar=letter.upper(), help="batch id, or BATCH@REV for an earlier revision"
        )
    watch = _verb(
        verbs,
        "watch",
        "check and build again after every save, until Ctrl-C",
        "reportgen watch 2026/2026-07.yaml",
    )
    watch.add_argument("--paper", choices=("A4", "Letter"), help="paper; else that of brewery.yaml")
    watch.add_argument(
        "--interval", type=float, default=0.5, metavar="SECONDS", help="between two looks; 0.5"
    )
    for one in (trace, history, verify, compare):
        one.add_argument("--format", choices=("text", "json"), default="text")
        one.add_argument("--archive", metavar="FOLDER", help="archive; else the one stood in")


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A terminal that cannot show a letter is shown its number.
            stream.reconfigure(errors="backslashreplace")
    arguments = parser().parse_args(argv)
    if getattr(arguments, "colour", False) is None:
        arguments.colour = sys.stdout.isatty() and not os.environ.get("NO_COLOR")
    from reportgen.archive.write import CannotWrite
    from reportgen.verbs.where import Misuse

    verb = importlib.import_module(f"reportgen.verbs.{arguments.verb}")
    try:
        code = verb.run(arguments)
        sys.stdout.flush()
        return int(code)
    except (Misuse, CannotWrite) as error:
        print(f"reportgen {arguments.verb}: {error}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        # The reader of our output has had enough, e.g. `| head`.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        # What is printed may go to a full disk, and a folder may vanish under us.
        where = f"{error.filename}: " if error.filename else ""
        print(f"reportgen {arguments.verb}: {where}{error.strerror}", file=sys.stderr)
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 2
    except KeyboardInterrupt:
        return 130
    except Exception as error:
        # A template of the archive's own is the user's: it is said what is wrong with it.
        jinja2 = sys.modules.get("jinja2")
        if jinja2 is None or not isinstance(error, jinja2.TemplateError):
            raise
        place = f"{getattr(error, 'filename', None) or 'templates'}: "
        print(f"reportgen {arguments.verb}: {place}{error.message}", file=sys.stderr)
        return 2


if __name__ == "__main__":
    sys.exit(main())
