"""The command line: arguments in, exit code out. Each verb is imported only when it is asked for.

Exit codes: 0 clean, 1 findings, 2 usage error or an output that cannot be written, 3 the tool
itself failed.
"""

from __future__ import annotations

import importlib
import io
import os
import sys
from collections.abc import Sequence
from typing import TextIO

from reportgen.commandline import misplaced, options_of, parser
from reportgen.verbs.progress import cleared, wants_colour


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code."""
    _open_streams()
    if sys.flags.optimize > 1:
        _say(
            "reportgen: it reads the ranges of its formulas from docstrings, which -OO removes; "
            "run it without -OO, or with PYTHONOPTIMIZE unset"
        )
        return 2
    top = parser()
    words = list(sys.argv[1:] if argv is None else argv)
    if said := misplaced(words):
        top.error(said)
    arguments, unknown = top.parse_known_args(words)
    if unknown:
        top.error(_unknown(unknown, arguments.verb))
    if getattr(arguments, "colour", False) is None:
        arguments.colour = wants_colour(sys.stdout)
    from reportgen.record.failure import EXIT, Refused, failure_of, reason

    try:
        from reportgen.verbs.named import with_files

        with_files(arguments)
        verb = importlib.import_module(f"reportgen.verbs.{arguments.verb}")
        with cleared():
            code = verb.run(arguments)
        sys.stdout.flush()
        return int(code)
    except Refused as error:
        _say(f"reportgen {arguments.verb}: {error.told(elsewhere='output' in arguments)}")
        return error.code
    except BrokenPipeError:
        # The reader of our output has had enough, e.g. `| head`; it may be of both streams.
        _nowhere(sys.stdout)
        _nowhere(sys.stderr)
        return 0
    except ModuleNotFoundError as error:
        from reportgen.missing import library_words

        install = library_words(error.name, arguments.verb)
        if install is None and (error.name or "").startswith("reportgen"):
            raise
        if install is None:
            way = "run `python3 -m reportgen.bootstrap demo` in a clone, or `pip install .`"
            install = f"the library {error.name} is not installed; {way}"
        print(f"reportgen {arguments.verb}: {install}", file=sys.stderr)
        return 2
    except OSError as error:
        from reportgen.missing import pango_words

        if install := pango_words(error):
            print(f"reportgen {arguments.verb}: {install}", file=sys.stderr)
            return 2
        # What is printed may go to a full disk, and a folder may vanish under us.
        where = f"{error.filename}: " if error.filename else ""
        _say(f"reportgen {arguments.verb}: {where}{reason(error, elsewhere='output' in arguments)}")
        _nowhere(sys.stdout)
        return 2
    except KeyboardInterrupt:
        return 130
    except Exception as error:
        # A template of the archive's own is the user's: it is said what is wrong with it.
        jinja2 = sys.modules.get("jinja2")
        if jinja2 is not None and isinstance(error, jinja2.TemplateError):
            from reportgen.report.template_fault import fault_of

            _say(f"reportgen {arguments.verb}: {fault_of(error)}")
            return 2
        failure = failure_of(error, "")
        _say(f"reportgen {arguments.verb}: {failure.message}\n  fix: {failure.remedy}")
        return EXIT


def _open_streams() -> None:
    """Make the three streams fit to print anything.

    One that the caller closed goes nowhere: otherwise the next file opened would take its number.
    """
    for number, name in enumerate(("stdin", "stdout", "stderr")):
        if getattr(sys, name) is None:
            opened = os.open(os.devnull, os.O_RDWR)
            if opened != number:
                os.dup2(opened, number)
                os.close(opened)
            stream = os.fdopen(number, "w" if number else "r", encoding="utf-8")
            setattr(sys, name, stream)
    for printed in (sys.stdout, sys.stderr):
        if isinstance(printed, io.TextIOWrapper):
            # A terminal that cannot show a letter is shown its number.
            printed.reconfigure(errors="backslashreplace")


def _say(text: str) -> None:
    """Print to standard error, whose reader may have gone as well."""
    try:
        print(text, file=sys.stderr, flush=True)
    except OSError:
        _nowhere(sys.stderr)


def _nowhere(stream: TextIO) -> None:
    """Send what is still to be written nowhere."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _unknown(words: Sequence[str], verb: str) -> str:
    """Say what of a command line is not known, and the option of the verb that comes nearest."""
    from reportgen.record.suggest import did_you_mean

    said = f"unrecognized arguments: {' '.join(words)}"
    option = next((word.split("=")[0] for word in words if word.startswith("--")), "")
    hint = did_you_mean(option, options_of(verb)) if option else ""
    return f"{said}; {hint}" if hint else said


if __name__ == "__main__":
    sys.exit(main())
