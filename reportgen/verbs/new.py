"""``new``: starts a record, from nothing or like another batch; prints its path."""

from __future__ import annotations

import argparse
import re
import sys
from pathlib import Path

from reportgen.archive.schemas import keep_names
from reportgen.archive.write import create_new
from reportgen.loading import load_archive
from reportgen.planning.new_text import editor_line, other_of, quoted, text_of
from reportgen.record.failure import Misuse
from reportgen.record.finding import render_text
from reportgen.record.load import Archive
from reportgen.record.model.batch import ID
from reportgen.record.suggest import did_you_mean
from reportgen.verbs.progress import progress
from reportgen.verbs.where import Unread, root_of, shown


def run(arguments: argparse.Namespace) -> int:
    """Create the record and print its path."""
    root = root_of([])
    if not ID.fullmatch(arguments.batch):
        raise Misuse(f"`{arguments.batch}` cannot be a batch id; write one like 2026-07")
    archive = load_archive(root)
    if arguments.batch in archive.batches:
        raise Misuse(f"batch {arguments.batch} is there: {archive.batches[arguments.batch].file}")
    same = next(
        (known for known in archive.batches if _plain(known) == _plain(arguments.batch)), None
    )
    if same is not None:
        raise Misuse(f"`{arguments.batch}` is too like batch {same}, {archive.batches[same].file}")
    year = re.match(r"\d{4}", arguments.batch)
    path = root / (year.group() if year else "records") / f"{arguments.batch}.yaml"
    if arguments.like is not None and (arguments.kit or arguments.volume):
        text = _resized(archive, arguments, path)
        if text is None:
            return 1
    elif arguments.like is None and (archive.brewery is None or archive.stock is None):
        raise Unread(archive)
    else:
        text = text_of(
            archive, arguments.batch, arguments.name, arguments.like, path, arguments.kit,
            arguments.volume,
        )  # fmt: skip
    create_new(path, text)
    keep_names(root)
    print(shown(path))
    return 0


def _plain(batch: str) -> str:
    """Return an id without the zeros that its numbers may be filled up with: 2026-1 is 2026-01."""
    return re.sub(r"(?<!\d)0+(?=\d)", "", batch).casefold()


def _resized(archive: Archive, arguments: argparse.Namespace, path: Path) -> str | None:
    """Return the text of a record like another for another kit or volume; None if it cannot be.

    Then it has been said what binds, and nothing is written.
    """
    from reportgen.forecast.propose import NothingToChange
    from reportgen.planning.aims_missed import findings_of
    from reportgen.planning.proposing import Unreadable, plan_of
    from reportgen.planning.resized import as_lines, resized

    like = arguments.like
    other = other_of(archive, like)
    if other.record is None or archive.brewery is None or archive.stock is None:
        raise Unread(archive, other.file)
    kits = list(archive.brewery.kits) if archive.brewery is not None else []
    if arguments.kit and arguments.kit not in kits:
        hint = did_you_mean(arguments.kit, list(map(str, kits)))
        raise Misuse(f"no kit `{arguments.kit}` in brewery.yaml. {hint}".strip())
    try:
        base = plan_of(archive, other)
        resized_plan = resized(base, arguments.kit, arguments.volume, progress("searches"))
    except Unreadable as error:
        raise Misuse(f"--volume: {error}") from error
    except NothingToChange as error:
        print(f"{other.file}: {error}", file=sys.stderr)
        return None
    missed = findings_of(resized_plan, other, archive)
    for finding in missed:
        print(render_text(finding), file=sys.stderr)
    if missed:
        return None
    ratio = (
        resized_plan.after.record.plan.fermenter_volume.value
        / base.record.plan.fermenter_volume.value
    )
    title = quoted(arguments.name or str(other.record.name))
    line = editor_line(archive, path.relative_to(archive.root).as_posix())
    head = f"{line}\nformat: 1\nbatch: {arguments.batch}\nname: {title}\n\nplan:\n"
    return head + "\n".join(as_lines(resized_plan, like, ratio)) + "\n"
