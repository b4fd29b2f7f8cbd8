"""The command line: arguments in, exit code out. Each verb is imported only when it is asked for.

Exit codes: 0 clean, 1 findings, 2 misuse or an output that cannot be written.
"""

from __future__ import annotations

import importlib
import io
import os
import sys
from collections.abc import Sequence

from reportgen.commandline import options_of, parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A terminal that cannot show a letter is shown its number.
            stream.reconfigure(errors="backslashreplace")
    top = parser()
    arguments, unknown = top.parse_known_args(argv)
    if unknown:
        top.error(_unknown(unknown, arguments.verb))
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
        from reportgen.report.template_fault import fault_of

        print(f"reportgen {arguments.verb}: {fault_of(error)}", file=sys.stderr)
        return 2


def _unknown(words: Sequence[str], verb: str) -> str:
    """Say what of a command line is not known, and the option of the verb that comes nearest."""
    from reportgen.record.suggest import did_you_mean

    said = f"unrecognized arguments: {' '.join(words)}"
    option = next((word.split("=")[0] for word in words if word.startswith("--")), "")
    hint = did_you_mean(option, options_of(verb)) if option else ""
    return f"{said}; {hint}" if hint else said


if __name__ == "__main__":
    sys.exit(main())
