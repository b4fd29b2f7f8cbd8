"""What cannot be done, and what the tool itself got wrong: told apart, and each said once.

A :class:`Refused` has its own words for the user. Any other exception is a fault of the tool. It
becomes a finding that names the record it was met on and where in the code, without any word or
number of the record, so that it can be sent to anyone; the other records go on.
"""

from __future__ import annotations

import contextlib
import errno
import sys
import traceback
from collections.abc import Iterable, Iterator
from pathlib import Path

from reportgen import __version__
from reportgen.record.finding import Finding, Position, render_text
from reportgen.record.rules import finding_of

RULE = "internal-failure"
"""Rule of the finding that a fault of the tool becomes."""

EXIT = 3
"""Exit code of a run in which the tool itself failed."""

MOST_FRAMES = 8

WAYS_OUT = {
    errno.ENOSPC: ("free some space, then run it again", False),
    errno.EDQUOT: ("free some space, then run it again", False),
    errno.EROFS: ("copy the archive to where you may write", True),
    errno.EACCES: ("allow writing there (its permissions)", True),
    errno.EPERM: ("allow writing there (its permissions)", True),
    errno.ENAMETOOLONG: ("use a shorter name or folder", False),
    errno.ENOTDIR: ("remove the file that is in the place of a folder", True),
    errno.EEXIST: ("remove the file that is in the place of a folder", True),
}
"""What to do about the errors of a file system that a user can do something about, and whether
writing to another folder would do as well."""


class Refused(Exception):
    """Something that cannot be done as asked; the message says all there is to say."""

    code = 2
    """Exit code."""

    def told(self, elsewhere: bool) -> str:
        """Return the message; ``elsewhere``: the verb can be told another folder to write to."""
        return str(self)


class Misuse(Refused):
    """A command that cannot be carried out as written; the message says how to write it."""


class Failed(Exception):
    """A fault of the tool that ends the run, as the finding it becomes. It can be handed over."""

    def __init__(self, finding: Finding) -> None:
        super().__init__(finding)
        self.finding = finding


def reason(error: OSError, elsewhere: bool = False) -> str:
    """Return why the system refused something, and the way out where there is one.

    ``elsewhere``: the verb can be told another folder to write to.
    """
    why = error.strerror or type(error).__name__
    way, by_folder = WAYS_OUT.get(error.errno or 0, ("", False))
    if elsewhere and by_folder:
        way = f"name another folder with --output, or {way}"
    return f"{why}; {way}" if way else why


def speaks_for_itself(error: BaseException) -> bool:
    """Whether an exception is meant for the user: refused, refused by the system, a library that is
    not installed, or a template of the archive's own that is wrong."""
    jinja2 = sys.modules.get("jinja2")
    if isinstance(error, ModuleNotFoundError):
        return not (error.name or "").startswith("reportgen")
    return isinstance(error, (Refused, Failed, OSError)) or (
        jinja2 is not None and isinstance(error, jinja2.TemplateError)
    )


def failure_of(fault: BaseException, file: str) -> Finding:
    """Return the finding that a fault of the tool becomes; ``file`` is the record it was met on."""
    if isinstance(fault, Failed):
        return fault.finding
    version = sys.version.split()[0]
    return finding_of(
        RULE,
        Position(file, 1, 1, 1),
        f"reportgen itself failed here: {type(fault).__name__} in "
        f"{' < '.join(_frames(fault))} (reportgen {__version__}, Python {version}, {sys.platform})",
    )


def _frames(error: BaseException) -> Iterator[str]:
    """Yield the places of an error, the innermost first: file, line and function, no values."""
    package = Path(__file__).parent
    frames = [f for f in traceback.extract_tb(error.__traceback__) if f.filename != __file__]
    own = [f for f in frames if Path(f.filename).is_relative_to(package)]
    if frames and frames[-1] not in own:
        own.append(frames[-1])
    for frame in own[: -MOST_FRAMES - 1 : -1]:
        path = Path(frame.filename)
        place = path.relative_to(package).as_posix() if path.is_relative_to(package) else path.name
        yield f"{place}:{frame.lineno} {frame.name}"


@contextlib.contextmanager
def noted(file: str, failures: list[Finding]) -> Iterator[None]:
    """Do something with one record; a fault of the tool in it is noted, and the run goes on."""
    try:
        yield
    except Exception as error:
        if speaks_for_itself(error) and not isinstance(error, Failed):
            raise
        failures.append(failure_of(error, file))


def say(failures: Iterable[Finding]) -> bool:
    """Print failures for a person; return whether there were any."""
    failed = list(failures)
    for failure in failed:
        print(render_text(failure), file=sys.stderr)
    return bool(failed)
