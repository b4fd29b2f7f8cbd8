"""What has changed in an archive since the last look, by content and not by the clock."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from msgspec import Struct

from reportgen.archive.build import digest
from reportgen.photos import ENDINGS
from reportgen.record.listing import OUTPUT, SUFFIXES, paths_below, right_name

WATCHED = (*SUFFIXES, *ENDINGS)
"""Endings of the files of an archive that a document can be made from."""


class Seen(Struct, frozen=True):
    """A file as last seen: what the file system says of it, and the digest of its bytes."""

    stamp: tuple[int, int, int]
    sha256: str


NO_FILE = Seen((0, 0, 0), "no file")


def look(root: Path, before: Mapping[str, Seen]) -> dict[str, Seen]:
    """Return every watched file below an archive, by its path in it.

    Those in ``templates`` are watched whatever their ending; hidden folders and the output are
    not. A file whose size, inode and time of change are as before is not read again. A link to
    nothing, or a folder, with the name of a record is seen too: it is told as a fault.
    """
    files: dict[str, Seen] = {}
    for path in paths_below(root, (OUTPUT,)):
        parts = path.relative_to(root).parts
        named = path.suffix.lower() in WATCHED or right_name(path.name)
        if not named and parts[0] != "templates":
            continue
        name = "/".join(parts)
        try:
            if not path.is_file():
                if path.suffix in SUFFIXES and (path.is_symlink() or path.is_dir()):
                    files[name] = NO_FILE
                continue
            state = path.stat()
            stamp = (state.st_mtime_ns, state.st_size, state.st_ino)
            known = before.get(name)
            same = known is not None and known.stamp == stamp
            files[name] = known if same and known else Seen(stamp, digest(path.read_bytes()))
        except OSError:
            # Gone or locked in this moment, as when an editor saves; the next look will tell.
            continue
    return files


def changed(before: Mapping[str, Seen], now: Mapping[str, Seen]) -> list[str]:
    """Return the files that are new, gone or of other content, sorted."""
    names = sorted({*before, *now})

    def content(seen: Mapping[str, Seen], name: str) -> str | None:
        return seen[name].sha256 if name in seen else None

    return [name for name in names if content(before, name) != content(now, name)]
