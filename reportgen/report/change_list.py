"""The changes of a record since it was first committed, from git where there is git.

This is a document of its own and no part of the batch record: the record's bytes follow from its
text alone, so that committing the same text, or losing the repository, changes nothing in it, and
an archived record can be made again from its source. The list grows with every commit.
"""

from __future__ import annotations

import difflib
from pathlib import Path

from msgspec import Struct

from reportgen.archive.revisions import (
    Revision,
    is_shallow,
    names_of,
    resolve,
    revisions_of,
    text_under,
)
from reportgen.assessment.assess import Assessment
from reportgen.report.parts import Identity
from reportgen.report.plan_text import identity_of

TITLE = "Change list"
MOST = 200
"""Revisions listed, the latest of them."""


class LineChange(Struct, frozen=True):
    """One line of the record: its number afterwards, as it was and as it is; empty where none."""

    line: str
    was: str
    now: str


class RevisionView(Struct, frozen=True):
    """One revision: day, hash, what was said of it, and the lines that it changed."""

    day: str
    commit: str
    subject: str
    changes: tuple[LineChange, ...]
    note: str


class ChangeListView(Struct, frozen=True):
    """The change list, ready to be set."""

    identity: Identity
    file: str
    revisions: tuple[RevisionView, ...]
    uncommitted: tuple[LineChange, ...]


def line_changes(before: str, after: str) -> tuple[LineChange, ...]:
    """Return the lines that differ between two texts; blank lines are no change."""
    one, two = before.splitlines(), after.splitlines()
    changes = []
    matcher = difflib.SequenceMatcher(None, one, two, autojunk=False)
    for kind, a0, a1, b0, b1 in matcher.get_opcodes():
        if kind == "equal":
            continue
        gone = [text.strip() for text in one[a0:a1] if text.strip()]
        for number, text in enumerate(two[b0:b1], b0 + 1):
            now = text.strip()
            if not now:
                continue
            was = next((old for old in gone if _key(old) == _key(now)), "")
            if was:
                # What stood before the line that this one replaces was taken away.
                place = gone.index(was)
                changes += [LineChange("", old, "") for old in gone[:place]]
                gone = gone[place + 1 :]
            changes.append(LineChange(str(number), was, now))
        changes += [LineChange("", old, "") for old in gone]
    return tuple(changes)


def _key(line: str) -> str:
    """Return what a line is about: its key, or the whole of a line that has none."""
    return line.partition(":")[0]


def change_list(assessment: Assessment, paper: str) -> ChangeListView:
    """Return the change list of a batch.

    :class:`~reportgen.archive.revisions.NoRevision` when the archive is not kept in git.
    """
    root, file = Path(assessment.archive.root), assessment.batch.file
    views = []
    before: str | None = None
    # Asked first, since it says in plain words when there is no repository.
    resolve(root, "HEAD")
    names = names_of(root, file)
    shallow = is_shallow(root)
    for revision in reversed(revisions_of(root, names, MOST)):
        data = text_under(root, revision, names)
        text = "" if data is None else data.decode("utf-8", "replace")
        views.append(_view(revision, before, text, data is None, shallow))
        before = text
    now = assessment.batch.source.data.decode("utf-8", "replace")
    return ChangeListView(
        identity_of(assessment, TITLE, paper, None),
        file,
        tuple(views),
        line_changes(before, now) if before is not None else (),
    )


def _view(
    revision: Revision, before: str | None, text: str, gone: bool, shallow: bool
) -> RevisionView:
    note = ""
    changes: tuple[LineChange, ...] = ()
    if gone:
        note = "The record was taken away."
    elif before is None:
        first = "As far as this shallow clone goes back" if shallow else "First committed"
        note = f"{first}, {len(text.splitlines())} lines."
    else:
        changes = line_changes(before, text)
        note = "" if changes else "No line changed."
    return RevisionView(revision.day, revision.short, revision.subject, changes, note)
