"""What can be typed: every verb with its options and help page, declared and nothing else.

The command line is read by it, the completion of shells and the manual are made from it.
"""

from __future__ import annotations

import argparse
import re
import shutil
import textwrap
from collections.abc import Callable, Sequence

from reportgen import __version__
from reportgen.command_words import VERBS, by_use

EPILOG = """\
Without a path, a command uses the current archive: the nearest folder at or above with a
brewery.yaml. `reportgen VERB --help` has examples. Exit code 0 clean, 1 findings,
2 usage error or nothing can be written, 3 reportgen itself failed.
"""

PAPERS = ("A4", "Letter")
SEVERITIES = ("note", "minor", "major", "critical", "error")
IONS = ("calcium", "magnesium", "sodium", "chloride", "sulfate")


class _ByUse(argparse.RawDescriptionHelpFormatter):
    """Lists the verbs by when they are used."""

    def _format_action(self, action: argparse.Action) -> str:
        if not isinstance(action, argparse._SubParsersAction):
            return super()._format_action(action)
        lines = {choice.dest: super(_ByUse, self)._format_action(choice)
                 for choice in action._choices_actions}
        groups = [
            f"{head}:\n" + "".join(lines[name] for name in names)
            for head, names in by_use().items()
        ]
        return "\n".join(groups)


def parser(completing: bool = False) -> argparse.ArgumentParser:
    """Return the parser of the whole command line; for completion also with what files may be."""
    top = argparse.ArgumentParser(
        prog="reportgen",
        description="Batch records of beer: check them, print brew-day sheets, keep the record.",
        epilog=EPILOG,
        formatter_class=_ByUse,
    )
    top.add_argument("--version", action="version", version=f"reportgen {__version__}")
    verbs = top.add_subparsers(title="verbs", dest="verb", metavar="VERB", required=True)
    for name, words in VERBS.items():
        sub = verbs.add_parser(
            name,
            help=words.line,
            description=_filled(f"{words.line[0].upper()}{words.line[1:]}.\n\n{words.text}"),
            epilog="examples:\n" + "\n".join(map(_example, words.examples)),
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        _OPTIONS[name](sub)
        if completing:
            _complete(sub)
    return top


def options_of(verb: str) -> list[str]:
    """Return the options of a verb that are written out, as ``--format``."""
    sub = argparse.ArgumentParser()
    _OPTIONS[verb](sub)
    return [o for action in sub._actions for o in action.option_strings if o.startswith("--")]


OF_ALL = ("-h", "--help", "--version")
"""Options that stand before a verb."""


def misplaced(words: Sequence[str]) -> str:
    """Return what is wrong with the verb, or with an option before it; empty when nothing is."""
    from reportgen.record.suggest import did_you_mean

    before = [word for word in _until_verb(words) if word.startswith("-") and word not in OF_ALL]
    verb = next((word for word in words if word in VERBS), None)
    if before:
        option = before[0].partition("=")[0]
        if verb is None:
            hint = did_you_mean(option, OF_ALL)
            return f"no option `{option}` before the verb{'; ' if hint else ''}{hint}"
        if option in options_of(verb):
            return f"`{option}` belongs after the verb: reportgen {verb} {before[0]} ..."
        hint = did_you_mean(option, options_of(verb))
        return f"{verb} has no option `{option}`; {hint or f'see reportgen {verb} --help'}"
    first = next((word for word in words if not word.startswith("-")), None)
    if first is None or first in VERBS or any(word in OF_ALL for word in words[:1]):
        return ""
    hint = did_you_mean(first, VERBS)
    if not hint and (first.endswith((".yaml", ".yml", ".pdf")) or "/" in first):
        hint = f"the verb comes first, as in `reportgen check {first}`"
    return f"invalid choice of VERB: `{first}`; {hint or 'reportgen --help lists them all'}"


def _until_verb(words: Sequence[str]) -> list[str]:
    """Return the words before the verb; all when there is none."""
    before_verb = []
    for word in words:
        if word in VERBS:
            break
        before_verb.append(word)
    return before_verb


def _filled(text: str) -> str:
    """Return paragraphs broken to the width of the screen; 88 columns at most are easily read."""
    width = min(shutil.get_terminal_size((90, 24)).columns - 2, 88)
    return "\n\n".join(textwrap.fill(part, max(width, 20)) for part in text.split("\n\n"))


def _example(example: tuple[str, str]) -> str:
    command, does = example
    return f"  {command}\n      {does}"


def _complete(sub: argparse.ArgumentParser) -> None:
    """Say which arguments are files, folders or names, in the way of the library."""
    import shtab

    for action in sub._actions:
        if action.metavar == "FOLDER" or action.dest == "folder":
            action.complete = shtab.DIRECTORY  # type: ignore[attr-defined]
        elif action.dest in ("path", "pdf"):
            action.complete = _named("batches", files=True)  # type: ignore[attr-defined]
        elif action.dest in ("a", "b", "like"):
            action.complete = _named("batches")  # type: ignore[attr-defined]
        elif action.dest == "name" and action.help and "check" in action.help:
            action.complete = _named("checks")  # type: ignore[attr-defined]
        elif action.dest == "name" and not action.option_strings:
            action.complete = _named("traced")  # type: ignore[attr-defined]


NAMED = ("batches", "checks", "traced")
"""Kinds of names that a shell asks for while a command is typed."""


def _named(kind: str, files: bool = False) -> dict[str, str]:
    """Return the shell functions that complete a kind of name, with files beside them if wanted."""
    function = f"_reportgen_{kind}{'_or_files' if files else ''}"
    ask = f"(reportgen completion --names {kind} 2>/dev/null)"
    more = " (__fish_complete_path (commandline -ct))" if files else ""
    return {"bash": function, "zsh": function, "fish": f"{ask}{more}"}


def shell_functions() -> dict[str, str]:
    """Return the text of these functions for the shells that need them written out."""
    bash, zsh = [], []
    for kind in NAMED:
        ask = f"$(reportgen completion --names {kind} 2>/dev/null)"
        for suffix, more_bash, more_zsh in (
            ("", "", ""), ("_or_files", '; compgen -f -- "$1"', "; _files"),
        ):  # fmt: skip
            name = f"_reportgen_{kind}{suffix}"
            bash.append(f'{name}() {{ compgen -W "{ask}" -- "$1"{more_bash}; }}')
            zsh.append(f"{name}() {{ compadd -- ${{(f)\"{ask}\"}}{more_zsh} }}")
    return {"bash": "\n".join(bash), "zsh": "\n".join(zsh)}


def _paths(sub: argparse.ArgumentParser) -> None:
    sub.add_argument("path", nargs="*", help="batch ids, records, or folders of records")


def _paper(sub: argparse.ArgumentParser) -> None:
    sub.add_argument("--paper", choices=PAPERS, help="paper (default: as in brewery.yaml)")


def _archive(sub: argparse.ArgumentParser) -> None:
    sub.add_argument("--archive", metavar="FOLDER", help="archive (default: the current one)")


def _text_or_json(sub: argparse.ArgumentParser) -> None:
    sub.add_argument("--format", choices=("text", "json"), default="text")
    _archive(sub)


def _start(start: argparse.ArgumentParser) -> None:
    start.add_argument("folder", help="folder to make, or an empty one")
    start.add_argument("--ci", action="store_true", help="with a workflow for GitHub")
    start.add_argument(
        "--jobs", type=int, default=1, metavar="N", help="jobs that share the build; default 1"
    )
    start.add_argument(
        "--publish", action="store_true", help="put the pages on the web; records hold names"
    )


def _schema(schema: argparse.ArgumentParser) -> None:
    schema.add_argument("folder", nargs="?", help="archive (default: the current one)")


def _new(new: argparse.ArgumentParser) -> None:
    new.add_argument("batch", help="id of the new batch, e.g. 2026-07")
    new.add_argument("--like", metavar="BATCH", help="start from the plan of this batch")
    new.add_argument("--name", help="name of the beer")
    new.add_argument("--kit", help="a kit of brewery.yaml; with --like the amounts are made for it")
    new.add_argument(
        "--volume", help="wort into the fermenter, e.g. 20L; with --like the amounts follow"
    )


def _check(check: argparse.ArgumentParser) -> None:
    check.add_argument(
        "path", nargs="*", help="batch ids, records, folders; - for a record on standard input"
    )
    check.add_argument(
        "--format",
        choices=("text", "json", "sarif", "annotations"),
        default="text",
        help="text for people; json, one object a line; sarif; annotations for CI",
    )
    check.add_argument(
        "--fail-on",
        choices=SEVERITIES,
        default="note",
        help="exit code 1 from this severity on; all findings are printed; default note",
    )
    check.add_argument(
        "--colour",
        action=argparse.BooleanOptionalAction,
        default=None,
        help="colour the text; by default on a terminal, without NO_COLOR or TERM=dumb",
    )


def _wanted(text: str, kind: str, unit: str, most: float, example: str) -> float:
    """Read a number, with its unit or without, in the base unit of its kind."""
    from reportgen.record.units import UnitError, parse_quantity

    try:
        if re.fullmatch(r"[+-]?[0-9]*\.?[0-9]+", text.strip()):
            text = f"{text.strip()} {unit}".strip()
        value = parse_quantity(text, kind).value
    except UnitError as error:
        raise argparse.ArgumentTypeError(f"{error}; write {example}") from None
    if value > most:
        raise argparse.ArgumentTypeError(f"`{text}` is more than {most:g} {unit}".rstrip())
    return value


def _concentration(text: str) -> float:
    # Beyond 2 g/L of one ion no water is brewed with: gypsum does not dissolve to so much.
    return _wanted(text, "concentration", "mg/L", 2000.0, "80 or '80 mg/L'")


def _ph(text: str) -> float:
    return _wanted(text, "ph", "", 14.0, "5.4")


def _treat(treat: argparse.ArgumentParser) -> None:
    treat.add_argument("path", help="batch id or record whose plan is meant")
    for ion in IONS:
        treat.add_argument(
            f"--{ion}", type=_concentration, metavar="MG_L",
            help=f"{ion} wanted in the mash liquor, mg/L",
        )
    treat.add_argument("--mash-ph", type=_ph, metavar="PH", help="mash pH wanted, cooled sample")
    treat.add_argument(
        "--where",
        choices=("mash", "both"),
        default="mash",
        help="salt the mash liquor only, the sparge untreated (default), or both",
    )


def _propose(propose: argparse.ArgumentParser) -> None:
    propose.add_argument("path", help="the record whose plan is meant")
    propose.add_argument(
        "--aim", action="append", default=[], metavar="FIGURE=VALUE",
        help="an aim beside those of the plan, or in place of one; e.g. bitterness=35",
    )
    propose.add_argument(
        "--change", action="append", default=[], metavar="NAME",
        help="only this may change: grist, sugars, hops, salts, acids, liquor, mash_temperature, "
        "an item such as crystal, or one entry such as hops[0]; may be repeated",
    )
    propose.add_argument(
        "--hold", action="append", default=[], metavar="NAME",
        help="this stays as it is; named likewise; may be repeated",
    )
    _set(propose)
    propose.add_argument(
        "--swap", metavar="OLD=NEW",
        help="a hop, malt, sugar, salt, liquor or lot for another, the beer kept alike",
    )
    propose.add_argument(
        "--both", action="store_true", help="salt the sparge liquor as well as the mash liquor"
    )
    propose.add_argument(
        "--nearest", action="store_true", help="print amounts even where an aim is out of reach"
    )
    propose.add_argument("--format", choices=("text", "json"), default="text")


def _set(sub: argparse.ArgumentParser) -> None:
    sub.add_argument(
        "--set", action="append", default=[], metavar="PLACE=VALUE",
        help="what if: a value of the plan changed for this run only, e.g. "
        "mash.rests[0].temperature=68C; may be repeated",
    )


def _document(sub: argparse.ArgumentParser) -> None:
    _paths(sub)
    _paper(sub)


def _build(build: argparse.ArgumentParser) -> None:
    _document(build)
    build.add_argument(
        "--share", metavar="K/N", help="only the K-th of N parts of the records, for a job of many"
    )
    build.add_argument(
        "--take", nargs="+", metavar="FOLDER", default=[],
        help="first take what builds in other folders made, such as those of shares",
    )


def _html(sub: argparse.ArgumentParser) -> None:
    _document(sub)
    sub.add_argument(
        "--html", action="store_true", help="one file for a phone or screen instead of the PDF"
    )


def _output(sub: argparse.ArgumentParser, usual: str) -> None:
    sub.add_argument(
        "--output", metavar="FOLDER", help=f"folder to write to (default: {usual})"
    )


def _record(record: argparse.ArgumentParser) -> None:
    _html(record)
    _output(record, "build/records")
    record.add_argument(
        "--card", action="store_true", help="instead a card for those who drink it, half a sheet"
    )
    record.add_argument(
        "--labels", metavar="STOCK", help="instead a sheet of labels, e.g. 99x38 or 4x2in"
    )
    record.add_argument(
        "--working", action="store_true", help="also the working: how each number is computed"
    )
    record.add_argument(
        "--changes", action="store_true", help="also list the record's changes in git"
    )


def _sheet(sheet: argparse.ArgumentParser) -> None:
    _html(sheet)
    _output(sheet, "build/sheets")
    sheet.add_argument("--copy", type=int, default=1, metavar="N", help="number of this copy")
    sheet.add_argument(
        "--lesson", action="store_true", help="instead a lesson sheet for a class or a friend"
    )
    sheet.add_argument(
        "--tasting", metavar="DAY",
        help="instead the sheets of a tasting of these batches: pouring, and a side per assessor",
    )
    sheet.add_argument("--assessors", type=int, default=4, metavar="N", help="3 to 24 (default: 4)")
    sheet.add_argument(
        "--test", choices=("scores", "triangle", "paired", "ranking"), default="scores",
        help="what is asked of them (default: scores)",
    )


def _figures(figures: argparse.ArgumentParser) -> None:
    figures.add_argument(
        "path", nargs="*", help="batch ids, records, folders; - for a record on standard input"
    )
    figures.add_argument("--format", choices=("table", "csv", "json"), default="table")
    figures.add_argument(
        "--base-units", action="store_true",
        help="a table in base units, as CSV and JSON always are",
    )
    figures.add_argument(
        "--causes", action="store_true",
        help="where the U of each figure aimed at comes from, and what would halve it",
    )
    _set(figures)


def _explain(explain: argparse.ArgumentParser) -> None:
    explain.add_argument("name", nargs="?", help="name of the check; without it all are listed")


def _manual(manual: argparse.ArgumentParser) -> None:
    manual.add_argument("--output", metavar="FOLDER", help="folder (default: build/manual)")
    manual.add_argument("--paper", choices=PAPERS, default="A4", help="paper of the PDF")
    manual.add_argument(
        "--whole", action="store_true",
        help="print the pages of each calculation and check too, which are otherwise web pages",
    )


def _trace(trace: argparse.ArgumentParser) -> None:
    trace.add_argument("name", help="batch id, lot number, or name of an item in stock.yaml")
    trace.add_argument(
        "--recall", action="store_true",
        help="write the list of who got the beer to build/recall, as PDF; names are personal data",
    )
    _paper(trace)
    _text_or_json(trace)


def _store(store: argparse.ArgumentParser) -> None:
    store.add_argument(
        "--on", metavar="DAY", help="as of this day, e.g. 2026-12-05 (default: last day written)"
    )
    store.add_argument("--pdf", action="store_true", help="write it as a list to print")
    _paper(store)
    _text_or_json(store)


def _history(history: argparse.ArgumentParser) -> None:
    history.add_argument(
        "--compare", nargs=2, metavar=("A", "B"), help="two yeasts, or two liquors"
    )
    _text_or_json(history)


def _ledger(ledger: argparse.ArgumentParser) -> None:
    ledger.add_argument("--paper", choices=PAPERS, help="paper of the list")
    _archive(ledger)


def _verify(verify: argparse.ArgumentParser) -> None:
    verify.add_argument("pdf", nargs="+", help="PDFs, folders of them, or batch ids")
    verify.add_argument(
        "--revision", metavar="REV", help="against the archive as it was in this git revision"
    )
    verify.add_argument("--copy", type=int, default=1, metavar="N", help="copy number of a sheet")
    verify.add_argument(
        "--source", action="store_true", help="print the record attached to one PDF, nothing else"
    )
    _text_or_json(verify)


def _compare(compare: argparse.ArgumentParser) -> None:
    compare.add_argument(
        "--page", action="store_true", help="write it as a page in build/compare and print its path"
    )
    compare.add_argument("--pdf", action="store_true", help="the same as PDF, to print")
    _output(compare, "build/compare")
    _paper(compare)
    for letter in ("a", "b"):
        compare.add_argument(
            letter, metavar=letter.upper(), help="batch id, or BATCH@REV for an earlier revision"
        )
    compare.add_argument("more", nargs="*", metavar="MORE", help="further batches")
    _text_or_json(compare)


def _watch(watch: argparse.ArgumentParser) -> None:
    _document(watch)
    watch.add_argument(
        "--interval", type=float, default=0.25, metavar="SECONDS", help="between two looks; 0.25"
    )


def _completion(completion: argparse.ArgumentParser) -> None:
    completion.add_argument("shell", nargs="?", choices=("bash", "zsh", "fish"))
    completion.add_argument(
        "--names", choices=NAMED, help="print names of the archive instead, as a script asks for"
    )


_OPTIONS: dict[str, Callable[[argparse.ArgumentParser], None]] = {
    "start": _start,
    "schema": _schema,
    "new": _new,
    "treat": _treat,
    "propose": _propose,
    "check": _check,
    "blanks": _paths,
    "sheet": _sheet,
    "record": _record,
    "build": _build,
    "figures": _figures,
    "explain": _explain,
    "manual": _manual,
    "trace": _trace,
    "store": _store,
    "history": _history,
    "ledger": _ledger,
    "verify": _verify,
    "compare": _compare,
    "watch": _watch,
    "completion": _completion,
}
"""What each verb takes."""
