"""Earlier revisions of an archive, read from git where there is git; nothing in git is changed.

Only this module runs git. Every call is bounded in time, asks nothing, takes no lock, and gives
git no text that it could take for an option.
"""

from __future__ import annotations

import io
import os
import posixpath
import shlex
import subprocess
import tarfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from msgspec import Struct

from reportgen.record.failure import Refused
from reportgen.record.source import content_digest

SECONDS = 60
"""Longest time that one call of git may take."""

LARGEST = 200 * 1024 * 1024
"""Largest archive that is taken out of git whole, bytes."""


LOCAL = (
    "GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_PREFIX", "GIT_COMMON_DIR", "GIT_NAMESPACE",
    "GIT_OBJECT_DIRECTORY", "GIT_ALTERNATE_OBJECT_DIRECTORIES", "GIT_CEILING_DIRECTORIES",
)  # fmt: skip
"""Variables that would have git look at another repository than that of the archive."""


class NoRevision(Refused):
    """A revision that cannot be read; the message says why and what to do."""


class Revision(Struct, frozen=True):
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
        # A hook of git tells its programs of one repository, which need not be that of the archive.
        **{k: v for k, v in os.environ.items() if k not in LOCAL},
        "LC_ALL": "C",
        # No sign in a name stands for several files.
        "GIT_LITERAL_PATHSPECS": "1",
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
        raise NoRevision(_why(root, arguments[0], done.stderr.decode("utf-8", "replace").strip()))
    return done.stdout


ABSENT = ("does not exist in", "exists on disk, but not in")
"""What git says of a file that a revision does not have."""


def _why(root: Path, verb: str, said: str) -> str:
    """Return in words what kept git from answering: what is known, and what to do about it."""
    if "dubious ownership" in said:
        top = _marked(root) or root
        return (
            "git does not read this repository, since its folder belongs to another user; "
            f"fix: git config --global --add safe.directory {shlex.quote(str(top))}"
        )
    if "not a git repository" in said:
        marked = _marked(root)
        if marked is None:
            return "the archive is not kept in git, so it has no earlier revision"
        return (
            f"git cannot read the repository in {marked}, which is damaged or not whole; "
            "fix: look at it with `git fsck`, or clone it again"
        )
    if any(words in said for words in ABSENT) or not said:
        return said or f"git {verb} failed"
    return f"git cannot read the history here: {said.splitlines()[-1]}"


def _marked(root: Path) -> Path | None:
    """Return the nearest folder at or above that should be a repository."""
    start = root.resolve()
    return next((f for f in (start, *start.parents) if (f / ".git").exists()), None)


def resolve(root: Path, name: str) -> Revision:
    """Return the commit that a name such as ``HEAD~2`` or ``a1b2c3d`` stands for.

    :class:`NoRevision` when there is none, no repository, or no git.
    """
    inside = _git(root, "rev-parse", "--is-inside-work-tree")
    if inside.strip() != b"true":
        raise NoRevision(
            "the archive lies inside the repository's own data or in a bare one, so git has no "
            "revision of these files"
        )
    try:
        hash_line = _git(root, "rev-parse", "--verify", "--quiet", "--end-of-options",
                     f"{name}^{{commit}}")
    except NoRevision as error:
        if not _has_commit(root):
            raise NoRevision("nothing has been committed yet, so there is no revision") from error
        more = f"; {SHALLOW}" if is_shallow(root) else ""
        raise NoRevision(f"git knows no revision `{name}` here{more}") from error
    commit = hash_line.decode("ascii", "replace").strip()
    return _described(root, commit)


SHALLOW = (
    "this clone is shallow and has only the latest part of the history; "
    "fix: git fetch --unshallow"
)
"""What is said where the answer may lie in the part that was not fetched."""


def is_shallow(root: Path) -> bool:
    """Whether the history was fetched in part only, as CI does by default."""
    try:
        return _git(root, "rev-parse", "--is-shallow-repository").strip() == b"true"
    except NoRevision:
        return False


def _has_commit(root: Path) -> bool:
    try:
        return bool(_git(root, "rev-list", "-n", "1", "--all").strip())
    except NoRevision:
        # It cannot even be listed, so something is there that cannot be read.
        return True


def _described(root: Path, commit: str) -> Revision:
    shown = _git(root, "show", "--no-patch", "--format=%cs%x00%s", commit, "--")
    day, _, subject = shown.decode("utf-8", "replace").strip("\n").partition("\0")
    return Revision(commit, day, subject)


def text_at(root: Path, revision: Revision, file: str) -> bytes | None:
    """Return the bytes of a file of the archive in a revision; None when it was not there.

    :class:`NoRevision` when the revision cannot be read: that says nothing of the file.
    """
    try:
        return _git(root, "show", f"{revision.commit}:./{file}")
    except NoRevision as error:
        if any(words in str(error) for words in ABSENT):
            return None
        raise


def names_of(root: Path, file: str) -> list[str]:
    """Return the names that a file has had, seen from the archive's folder, the latest first.

    Git finds a file again that was renamed or moved with little change.
    """
    names = [file]
    try:
        prefix = _git(root, "rev-parse", "--show-prefix").decode("utf-8", "replace").strip()
        listed = _git(root, "log", "--follow", "-z", "--name-only", "--format=", "--", file)
    except NoRevision:
        return names
    for name in listed.decode("utf-8", "replace").split("\0"):
        if name := name.strip("\n"):
            names.append(posixpath.relpath(name, prefix or "."))
    return list(dict.fromkeys(names))


def text_under(root: Path, revision: Revision, names: Sequence[str]) -> bytes | None:
    """Return the bytes of a file under the first of its names that a revision has."""
    texts = (text_at(root, revision, name) for name in names)
    return next((text for text in texts if text is not None), None)


def revisions_of(root: Path, files: Sequence[str], most: int) -> list[Revision]:
    """Return the revisions that changed one of some files, the latest first, ``most`` of them.

    :class:`NoRevision` when there is no repository, or no git.
    """
    listed = _git(root, "log", "--format=%H%x00%cs%x00%s", "-n", str(most), "--", *files)
    revisions = []
    for line in listed.decode("utf-8", "replace").splitlines():
        commit, day, subject = line.split("\0", 2)
        revisions.append(Revision(commit, day, subject))
    return revisions


def revision_with(root: Path, file: str, data: bytes) -> Revision | None:
    """Return the latest revision in which a file had these bytes; None when none had, or no git."""
    names = names_of(root, file)
    try:
        listed = _git(root, "log", "--format=%H", "-n", "500", "--", *names)
    except NoRevision:
        return None
    for line in listed.decode("ascii", "replace").split():
        try:
            revision = _described(root, line)
            then = text_under(root, revision, names)
        except NoRevision:
            return None
        if then is not None and content_digest(then) == content_digest(data):
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
