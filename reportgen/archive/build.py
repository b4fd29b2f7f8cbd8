"""What must be built, by content and never by clock, and the manifest of what was.

Each output has a key: the SHA-256 of everything that it is made from. The keys of the last build
stand in ``.built.json`` in the output folder, with the names of the record files behind each; an
output with the same key and unchanged bytes is not made again, and whether it has the same key is
told from the bytes of those files without reading any record.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterable, Mapping
from functools import lru_cache
from pathlib import Path, PurePosixPath
from sys import intern

from msgspec import Struct
from msgspec.json import decode, encode
from msgspec.structs import replace

from reportgen import __version__
from reportgen.archive.write import write_atomic
from reportgen.photos import PART, photo_part
from reportgen.record.listing import BREWERY, STOCK, Listing, record_names
from reportgen.record.source import content_digest
from reportgen.resources import templates_dir

STATE = ".built.json"
MANIFEST = "SHA256SUMS"


class Built(Struct, frozen=True, omit_defaults=True):
    """One output of an earlier build: the key it was made from and the SHA-256 of its bytes.

    ``files`` are the record files it was made from, its own first; empty for what is made from
    the whole archive. ``content`` is the digest of what stands in it: a record may change without
    changing all of its documents.
    """

    key: str
    sha256: str
    files: tuple[str, ...] = ()
    content: str = ""


def digest(data: bytes) -> str:
    """Return the SHA-256 of some bytes, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def key_of(parts: Mapping[str, str]) -> str:
    """Return the key of an output from what it is made from, each part by its name."""
    return digest(json.dumps(dict(sorted(parts.items()))).encode())


def tree_digest(*folders: Path) -> str:
    """Return one digest of all files below some folders, by relative name and content."""
    total = hashlib.sha256()
    for folder in folders:
        for path in sorted(p for p in folder.rglob("*") if p.is_file()):
            if "__pycache__" in path.parts or not path.resolve().is_relative_to(folder.resolve()):
                continue
            total.update(path.relative_to(folder).as_posix().encode())
            total.update(digest(path.read_bytes()).encode())
    return total.hexdigest()


@lru_cache(maxsize=1)
def tool_digest() -> str:
    """Return a digest of the tool's own code: another version computes anew."""
    return tree_digest(Path(__file__).parents[1])


def common_parts(root: Path, paper: str | None) -> dict[str, str]:
    """Return what all outputs of an archive are made from, besides its records."""
    folders = [folder for folder in (templates_dir(), root / "templates") if folder.is_dir()]
    return {
        "version": __version__,
        "paper": paper or "of the house",
        "tool": tool_digest(),
        "templates": tree_digest(*folders),
        **{name: _digest_of(root / name) for name in (BREWERY, STOCK)},
    }


def record_digests(root: Path, listing: Listing | None = None) -> dict[str, str]:
    """Return the content digest of each record file of an archive, by its name.

    ``listing`` is that of the archive, where the caller has it.
    """
    names, known = (listing.names, listing.digests) if listing else (record_names(root), {})
    return {name: known.get(name) or _digest_of(root / name) for name in names}


def _digest_of(path: Path) -> str:
    """Return the content digest of a file, or ``unreadable``; who reads it says what is wrong."""
    try:
        return content_digest(path.read_bytes())
    except OSError:
        return "unreadable"


def read_state(output: Path) -> dict[str, Built]:
    """Return what the last build left; empty when there is none or it cannot be read."""
    try:
        state = decode((output / STATE).read_bytes(), type=dict[str, Built])
    except (OSError, ValueError, RecursionError):
        return {}
    inside = _Inside(output)
    # Few files stand behind many outputs.
    return {
        name: replace(built, key=intern(built.key), files=tuple(map(intern, built.files)))
        for name, built in state.items()
        if name in inside
    }


class _Inside:
    """Tells whether a name can be that of an output: the state may come from anywhere.

    What it names may be removed one day, so it must not lead out of the folder. Each folder in
    it is followed once, since thousands of outputs lie in a few.
    """

    def __init__(self, output: Path) -> None:
        self._output = output
        self._root = output.resolve()
        self._folders: dict[str, bool] = {}

    def __contains__(self, name: str) -> bool:
        parts = PurePosixPath(name).parts
        if not parts or name.startswith("/") or ".." in parts or "\\" in name or "\0" in name:
            return False
        folder = "/".join(parts[:-1])
        if folder not in self._folders:
            self._folders[folder] = self._leads_in(self._output / folder)
        if not self._folders[folder]:
            return False
        path = os.path.join(self._output, name)
        return not os.path.islink(path) or self._leads_in(Path(path))

    def _leads_in(self, path: Path) -> bool:
        try:
            return path.resolve().is_relative_to(self._root)
        except (OSError, RuntimeError):
            # A link in a circle leads nowhere.
            return False


def is_current(output: Path, name: str, key: str, state: Mapping[str, Built]) -> bool:
    """Whether an output was made from the same parts and still has the bytes it had."""
    built = state.get(name)
    return built is not None and built.key == key and is_whole(output, name, built)


def is_whole(output: Path, name: str, built: Built) -> bool:
    """Whether an output is there with the bytes it was built with."""
    try:
        with open(os.path.join(output, name), "rb") as file:
            return digest(file.read()) == built.sha256
    except OSError:
        return False


def of_record(state: Mapping[str, Built]) -> dict[str, dict[str, Built]]:
    """Return the outputs of each record file, by file and name."""
    outputs: dict[str, dict[str, Built]] = {}
    for name, built in state.items():
        if built.files:
            outputs.setdefault(built.files[0], {})[name] = built
    return outputs


def stands(
    root: Path,
    output: Path,
    outputs: Mapping[str, Built],
    common: Mapping[str, str],
    hashes: Mapping[str, str],
) -> bool:
    """Whether all outputs of one record would be made from the same parts again and are there.

    ``common`` are the parts that all documents share, ``hashes`` the content digests of the record
    files as they are now.
    """
    if not outputs:
        return False
    keys: dict[tuple[str, ...], str] = {}
    for name, built in outputs.items():
        # The documents of a record are made from the same files, all but never from others.
        if built.files not in keys:
            parts = parts_now(root, built.files, hashes)
            if parts is None:
                return False
            keys[built.files] = key_of({**common, **parts})
        if not is_current(output, name, keys[built.files], outputs):
            return False
    return True


def parts_now(
    root: Path, files: Iterable[str], hashes: Mapping[str, str]
) -> dict[str, str] | None:
    """Return what an output is made from as it is now; None when a record of it is not there.

    A photograph may be missing: that is for a check to say, and what was made goes without it.
    """
    digests: dict[str, str] = {}
    for file in files:
        if file.startswith(PART):
            digests |= photo_part(root, file.removeprefix(PART))
        elif file not in hashes:
            return None
        else:
            digests[file] = hashes[file]
    return digests


def write_state(output: Path, state: Mapping[str, Built]) -> None:
    """Write the state and the manifest, in the form that ``sha256sum -c`` reads."""
    ordered = dict(sorted(state.items()))
    lines = "".join(f"{built.sha256}  {name}\n" for name, built in ordered.items())
    write_atomic(output / MANIFEST, lines.encode())
    write_atomic(output / STATE, encode(ordered))


def stale(output: Path, state: Mapping[str, Built], wanted: set[str]) -> list[Path]:
    """Return outputs of earlier builds that are wanted no more and nobody has changed since."""
    stale_files = []
    for name, built in state.items():
        path = output / name
        if name in wanted or not path.is_file() or path.is_symlink():
            continue
        if digest(path.read_bytes()) == built.sha256:
            stale_files.append(path)
    return stale_files
