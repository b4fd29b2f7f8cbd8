"""One writer at a time in an output folder.

The lock is a POSIX record lock on ``.lock`` in the folder. The system takes it away with the
process that holds it, however that ends, so the file that stays behind means nothing. Worker
processes do not inherit it.
"""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterator
from pathlib import Path

from reportgen.archive.write import PART, CannotWrite

LOCK = ".lock"


@contextlib.contextmanager
def output_lock(output: Path) -> Iterator[None]:
    """Hold an output folder while writing into it; waits for another run that does.

    Makes the folder, and takes away what killed runs left half written. :class:`CannotWrite` when
    the folder or one in it is a link or no folder, since files would then land elsewhere.
    """
    _check_inside(output)
    try:
        output.mkdir(parents=True, exist_ok=True)
        flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0)
        handle = os.open(output / LOCK, flags, 0o644)
    except OSError as error:
        raise CannotWrite(str(output / LOCK), error) from error
    try:
        _take(handle, output)
        _sweep(output)
        yield
    finally:
        # Closing gives the lock back.
        os.close(handle)


def _take(handle: int, output: Path) -> None:
    try:
        import fcntl
    except ImportError:  # Windows: every file is still written whole, only two runs may both work.
        return
    try:
        fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        print(f"waiting: another reportgen is writing into {output}", file=sys.stderr)
        fcntl.lockf(handle, fcntl.LOCK_EX)
    except OSError:
        # A file system without locks, as some network shares are.
        return


def _check_inside(output: Path) -> None:
    if output.is_symlink() or (output.exists() and not output.is_dir()):
        raise CannotWrite(f"{output}: not a plain folder; it is left as it is")
    for folder, inside, _ in os.walk(output):
        for name in inside:
            if os.path.islink(path := os.path.join(folder, name)):
                raise CannotWrite(f"{path}: a link to a folder; nothing is written through it")


def _sweep(output: Path) -> None:
    for path in output.rglob(f"{PART}*"):
        with contextlib.suppress(OSError):
            path.unlink()
