"""Earlier revisions of an archive, read from git where there is git; nothing in git is changed.

Only this module runs git. Every call is bounded in time, asks nothing, takes no lock, and gives
git no text that it could take for an option.
"""

from __future__ import annotations

import io
import os
import subprocess
import tarfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from reportgen.failure import Refused

SECONDS = 60
"""Longest time that one call of git may take."""

LARGEST = 200 * 1024 * 1024
"""Largest archive that is taken out of git whole, bytes."""


class NoRevision(Refused):
    """A revision that cannot be read; the message says why and what to do."""


@dataclass(frozen=True)
class Revision:
    """A commit: its full hash, and the day and the subject as git has them."""

    commit: str
    day: str
    subject: str

    @property
    def short(self) -> str:
        """The first ten characters of the hash."""
        return self.commit[:10]


def _git(root: Path, *arguments: str) -> bytes:
    environment = {
        **os.environ,
        "LC_ALL": "C",
        "GIT_OPTIONAL_LOCKS": "0",
        "GIT_TERMINAL_PROMPT": "0",
        "GIT_PAGER": "cat",
    }
    command = ["git", "-c", "core.fsmonitor=false", "-C", str(root), *arguments]
    try:
        done = subprocess.run(
            command,
            capture_output=True,
            timeout=SECONDS,
            env=environment,
            stdin=subprocess.DEVNULL,
            check=False,
        )
    except FileNotFoundError as error:
        raise NoRevision("git is not installed, so no earlier revision can be read") from error
    except subprocess.TimeoutExpired as error:
        raise NoRevision(f"git did not answer within {SECONDS} s") from error
    if done.returncode != 0:
        said = done.stderr.decode("utf-8", "replace").strip().splitlines()
        raise NoRevision(said[-1] if said else f"git {arguments[0]} failed")
    return done.stdout


def resolve(root: Path, name: str) -> Revision:
    """Return the commit that a name such as ``HEAD~2`` or ``a1b2c3d`` stands for.

    :class:`NoRevision` when there is none, no repository, or no git.
    """
    try:
        _git(root, "rev-parse", "--is-inside-work-tree")
    except NoRevision as error:
        if "not a git repository" in str(error):
            message = "the archive is not kept in git, so it has no earlier revision"
            raise NoRevision(message) from error
        raise
    try:
        found = _git(root, "rev-parse", "--verify", "--quiet", "--end-of-options",
                     f"{name}^{{commit}}")
    except NoRevision as error:
        raise NoRevision(f"git knows no revision `{name}` here") from error
    commit = found.decode("ascii", "replace").strip()
    return _described(root, commit)


def _described(root: Path, commit: str) -> Revision:
    shown = _git(root, "show", "--no-patch", "--format=%cs%x00%s", commit, "--")
    day, _, subject = shown.decode("utf-8", "replace").strip("\n").partition("\0")
    return Revision(commit, day, subject)


def text_at(root: Path, revision: Revision, file: str) -> bytes | None:
    """Return the bytes of a file of the archive in a revision; None when it was not there."""
    try:
        return _git(root, "show", f"{revision.commit}:./{file}")
    except NoRevision:
        return None


def revisions_of(root: Path, files: Sequence[str], most: int) -> list[Revision]:
    """Return the revisions that changed one of some files, the latest first, ``most`` of them.

    :class:`NoRevision` when there is no repository, or no git.
    """
    listed = _git(root, "log", "--format=%H%x00%cs%x00%s", "-n", str(most), "--", *files)
    found = []
    for line in listed.decode("utf-8", "replace").splitlines():
        commit, day, subject = line.split("\0", 2)
        found.append(Revision(commit, day, subject))
    return found


def revision_with(root: Path, file: str, data: bytes) -> Revision | None:
    """Return the latest revision in which a file had these bytes; None when none had, or no git."""
    try:
        listed = _git(root, "log", "--format=%H", "-n", "500", "--", file)
    except NoRevision:
        return None
    for line in listed.decode("ascii", "replace").split():
        try:
            revision = _described(root, line)
        except NoRevision:
            return None
        if text_at(root, revision, file) == data:
            return revision
    return None


def _lay_out(tar: tarfile.TarFile, folder: Path) -> None:
    """Write the plain files of a tar; no link, no device, no path that leads out of the folder."""
    for member in tar:
        path = (folder / member.name).resolve()
        if not member.isfile() or not path.is_relative_to(folder):
            continue
        stream = tar.extractfile(member)
        assert stream is not None
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(stream.read())


@contextmanager
def exported(root: Path, revision: Revision) -> Iterator[Path]:
    """Lay the archive of a revision out in a folder that is deleted afterwards.

    :class:`NoRevision` when the archive was not there yet, or is too large.
    """
    data = _git(root, "archive", "--format=tar", revision.commit, "--", ".")
    if len(data) > LARGEST:
        raise NoRevision(f"the archive of {revision.short} is larger than {LARGEST} bytes")
    with TemporaryDirectory(prefix="reportgen-") as name:
        folder = Path(name).resolve()
        with tarfile.open(fileobj=io.BytesIO(data)) as tar:
            _lay_out(tar, folder)
        yield folder
