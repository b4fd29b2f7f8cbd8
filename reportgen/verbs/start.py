"""``start``: begins an archive, with files to fill in; touches nothing that is there."""

from __future__ import annotations

import argparse
import json
import re
from pathlib import Path, PurePosixPath

from reportgen.archive.schemas import line_of, write_schemas
from reportgen.archive.write import create_new
from reportgen.record.failure import Misuse
from reportgen.record.listing import BREWERY, STOCK, find_root
from reportgen.resources import templates_dir
from reportgen.verbs.where import shown

WORKFLOW = ".github/workflows/batches.yml"

MOST_JOBS = 64
"""Jobs that a build may be shared over."""

_PART = re.compile(r"^#: ([a-z-]+)\n", re.MULTILINE)
"""The line that begins a part of the workflow's template."""

IGNORED = "# What reportgen writes; it can always be made again.\nbuild/\n"


def run(arguments: argparse.Namespace) -> int:
    """Write the files and print the path of each. Misuse when there is an archive already."""
    root = Path(arguments.folder)
    if root.exists() and not root.is_dir():
        raise Misuse(f"{arguments.folder}: not a folder")
    around = find_root(root if root.is_dir() else root.resolve().parent)
    if around is not None:
        raise Misuse(f"{arguments.folder}: an archive is there already, in {around}")
    if not arguments.ci and (arguments.publish or arguments.jobs != 1):
        raise Misuse("--publish and --jobs belong to --ci")
    if not 1 <= arguments.jobs <= MOST_JOBS:
        raise Misuse(f"--jobs is a number of jobs, 1 to {MOST_JOBS}")
    files = files_for()
    if arguments.ci:
        place, folder = workflow_place(root.resolve())
        files[place] = workflow(folder, arguments.jobs, arguments.publish)
    taken = [name for name in files if (root / name).resolve().exists()]
    if taken:
        raise Misuse(f"{arguments.folder}: there already: {', '.join(taken)}")
    for name, text in files.items():
        create_new((root / name).resolve(), text)
        print(shown((root / name).resolve()))
    for name in write_schemas(root):
        print(shown(root.resolve() / name))
    return 0


def files_for() -> dict[str, str]:
    """Return the text of each file of a new archive, by its name in the folder."""
    return {
        BREWERY: _headed(BREWERY),
        STOCK: _headed(STOCK),
        ".gitignore": IGNORED,
    }


def workflow_place(root: Path) -> tuple[str, str]:
    """Return where the workflow lies, seen from the archive, and the archive from there.

    A code host looks for it where the repository begins; without one that is the archive itself.
    """
    top = next((folder for folder in (root, *root.parents) if (folder / ".git").exists()), root)
    below = root.relative_to(top).as_posix()
    up = "../" * (0 if below == "." else len(PurePosixPath(below).parts))
    return f"{up}{WORKFLOW}", below


def workflow(folder: str, jobs: int = 1, publish: bool = False) -> str:
    """Return a workflow for an archive in a folder of its repository.

    ``jobs`` is how many share the build, ``publish`` whether the pages are put on the web.
    """
    parts = ["", "one", "tool", "build", "keep"]
    if jobs > 1:
        parts = ["", "shares", "tool", "build-share", "tool", "take", "keep"]
    text = _text("ci.yml")
    pieces = dict(zip(["", *_PART.findall(text)], _PART.sub("\0", text).split("\0"), strict=True))
    made = "".join(pieces[part] for part in (*parts, *(["publish"] if publish else [])))
    if jobs > 1:
        # The second job has its own head, which stands at the end of the first one's steps.
        head, _, rest = made.partition("  build:\n    needs: share")
        made = f"{head}\n  build:\n    needs: share{rest}"
    shares = ", ".join(str(number) for number in range(1, jobs + 1))
    output = "build" if folder == "." else f"{folder}/build"
    for mark, value in (("FOLDER/build", output), ("FOLDER", folder)):
        made = made.replace(mark, value if re.fullmatch(r"[\w./-]+", value) else json.dumps(value))
    made = made.replace("SHARES", shares).replace("/JOBS", f"/{jobs}")
    if publish:
        made = made.replace(
            "# nothing is published; who may read this repository may read what is built.",
            "# the pages show them to everybody who can see the pages.",
        ).replace(
            "Records hold names:\n# the pages", "Records hold names, and\n# the pages"
        )
    return made


def _text(name: str) -> str:
    return (templates_dir() / "start" / name).read_text(encoding="utf-8")


def _headed(name: str) -> str:
    """Return a file of the house under the line that tells an editor where its schema is."""
    return f"{line_of(name)}\n{_text(name)}"
