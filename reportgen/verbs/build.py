"""``build``: everything that changed, and a manifest of all there is."""

from __future__ import annotations

import argparse
import re
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from reportgen.archive.build import (
    Built,
    common_parts,
    is_whole,
    of_record,
    read_state,
    record_digests,
    stale,
    stands,
    write_state,
)
from reportgen.archive.build_ledger import is_part
from reportgen.archive.write import remove, write_atomic
from reportgen.record.failure import EXIT, Misuse, say
from reportgen.record.finding import Finding
from reportgen.record.listing import OUTPUT, lies_in, listing_of
from reportgen.verbs.building import done, jobs_of
from reportgen.verbs.ledger import ledger_of
from reportgen.verbs.produce import alone, say_not_printed
from reportgen.verbs.progress import progress
from reportgen.verbs.where import named_below, records_named, root_of, shown

NOTED_EVERY = 20.0
"""Seconds after which a long build writes down what it has made so far."""


def run(arguments: argparse.Namespace) -> int:
    """Build what changed; 1 when a batch cannot be read, 3 when the tool failed on one."""
    return build(arguments)


@alone
def build(
    arguments: argparse.Namespace, is_stale: Callable[[], bool] = lambda: False
) -> int:
    """Build what changed and return the exit code.

    When ``is_stale`` says that a file was saved meanwhile, what is made so far is noted, and the
    rest is left to the next build.
    """
    root = root_of(arguments.path)
    output = root / OUTPUT
    state = read_state(output)
    for folder in arguments.take:
        state |= taken_over(Path(folder), output)
    listing = listing_of(root)
    digests = record_digests(root, listing)
    common = common_parts(root, arguments.paper)
    known = of_record(state)
    asked = _share(_asked(root, arguments.path), arguments.share)
    # Of two records of one number one is refused, though it be as it was when its number was free.
    twins = {file for files in listing.ids.files.values() if len(files) > 1 for file in files}
    due = [
        file for file in asked
        if file in twins or not stands(root, output, known.get(file, {}), common, digests)
    ]  # fmt: skip
    standing = set(asked).difference(due)
    outputs = {name: built for file in standing for name, built in known[file].items()}
    made: set[str] = set()
    lost: dict[str, tuple[str, ...]] = {}
    failures: dict[Finding, None] = {}
    jobs = jobs_of(root, output, due, arguments.paper, common, known)
    tell = progress("done")
    noted = time.monotonic()
    for count, result in enumerate(done(jobs, listing), 1):
        tell(count, len(jobs))
        outputs |= result.outputs
        made.update(result.made)
        lost.update(result.lost)
        failures.update(dict.fromkeys(result.failures))
        if time.monotonic() - noted > NOTED_EVERY:
            # A long build that is ended from outside goes on from here the next time.
            write_state(output, {**state, **outputs})
            noted = time.monotonic()
        if count < len(jobs) and is_stale():
            write_state(output, {**state, **outputs})
            print("saved meanwhile: the rest is built with it", file=sys.stderr)
            return 0
    failed_on = {failure.position.file for failure in failures}
    say_not_printed({file: lost[file] for file in lost.keys() - failed_on})
    say(failures)
    # What was made of a record that can no longer be read stays until it can.
    kept = {name: built for file in lost for name, built in known.get(file, {}).items()}
    new = kept | outputs
    removed: list[Path] = []
    if arguments.share or set(asked) < set(digests):
        new = {**state, **new}
    else:
        # The ledger is about all batches, so it is built when all are.
        ledger = ledger_of(root, arguments.paper, state, common, digests)
        new |= ledger.entries if ledger else {n: b for n, b in state.items() if is_part(n)}
        if ledger:
            outputs |= ledger.entries
            made.update(ledger.written)
        removed = stale(output, state, set(new))
    if new != state:
        write_state(output, new)
    for path in removed:
        remove(path)
    for name in sorted(made):
        print(shown(output / name))
    print(
        f"{len(made)} built, {len(outputs) - len(made)} unchanged, {len(removed)} removed, "
        f"in {shown(output)}",
        file=sys.stderr,
    )
    return EXIT if failures else 1 if lost else 0


def taken_over(folder: Path, output: Path) -> dict[str, Built]:
    """Copy what another build made into this output, and return it; damaged files are left out.

    Whether it still stands is looked at afterwards, as with what was built here.
    """
    if not folder.is_dir():
        raise Misuse(f"{folder}: no folder with a build")
    kept = {n: b for n, b in read_state(folder).items() if is_whole(folder, n, b)}
    for name, built in kept.items():
        if not is_whole(output, name, built):
            write_atomic(output / name, (folder / name).read_bytes())
    return kept


def _share(files: list[str], share: str | None) -> list[str]:
    """Return the K-th of N parts of some files, written ``K/N``. Misuse for anything else."""
    if share is None:
        return files
    match = re.fullmatch(r"(\d{1,4})/(\d{1,4})", share)
    if not match or not 1 <= int(match[1]) <= int(match[2]):
        raise Misuse(f"--share {share}: write it as K/N with K from 1 to N, such as 2/4")
    return files[int(match[1]) - 1 :: int(match[2])]


def _asked(root: Path, paths: Sequence[str]) -> list[str]:
    """Return the record files that the paths name; all for no path. Misuse for none."""
    files = records_named(root, paths)
    for text in paths:
        below = named_below(root, [text])
        if not any(below is None or lies_in(name, below) for name in files):
            raise Misuse(f"{text}: no batch record")
    return files
