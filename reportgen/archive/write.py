"""Writing files so that a killed or failed run leaves the old file or the new one, never a part.

The standard library has the pieces (a file beside it, flushing, taking the name) and not the whole,
nor words for a full disk or a name that is taken.
"""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from reportgen.record.failure import Refused, reason

PART = ".part-"
"""What the name of a file begins with while it is being written."""


class CannotWrite(Refused):
    """An output that cannot be written: what is said of it, or its name and the system's error."""

    def __init__(self, what: str, error: OSError | None = None) -> None:
        super().__init__(what, error)

    def told(self, elsewhere: bool) -> str:
        """Return the message, with the way out that the verb has."""
        what, error = self.args
        return f"{what}: {reason(error, elsewhere)}" if error else what

    def __str__(self) -> str:
        return self.told(elsewhere=False)


def write_atomic(path: Path, data: bytes) -> None:
    """Write a file as :func:`whole_or_not` does."""
    with whole_or_not(path) as file:
        file.write(data)


@contextlib.contextmanager
def whole_or_not(path: Path) -> Iterator[BinaryIO]:
    """Give a file to write by way of a temporary one beside it.

    It is made durable before it takes the name, which it does when nothing was raised. Raises
    :class:`CannotWrite` when the folder cannot be written, the disk is full or the name is taken
    by something that is not a plain file. The old file then stands as it was.
    """
    if path.is_symlink() or (path.exists() and not path.is_file()):
        raise CannotWrite(f"{path}: not a plain file; it is left as it is")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=PART, dir=path.parent)
    except OSError as error:
        raise CannotWrite(str(path), error) from error
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        temporary.chmod(0o644)
        os.replace(temporary, path)
    except OSError as error:
        with contextlib.suppress(OSError):
            temporary.unlink()
        raise CannotWrite(str(path), error) from error
    except BaseException:
        with contextlib.suppress(OSError):
            temporary.unlink()
        raise


def remove(path: Path) -> None:
    """Remove an output. :class:`CannotWrite` when it cannot be; no fault when it is gone."""
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        raise CannotWrite(str(path), error) from error


def create_new(path: Path, text: str) -> None:
    """Create a file that must not exist yet. :class:`CannotWrite` if it does, or cannot be."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError as error:
        raise CannotWrite(f"{path}: is there already; it is left as it is") from error
    except OSError as error:
        raise CannotWrite(str(path), error) from error
