"""``watch``: checks and builds again whenever a file of the archive is saved with other content."""

from __future__ import annotations

import argparse
import signal
import sys
import threading
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from types import FrameType

from reportgen.archive.build import STATE
from reportgen.archive.changes import Seen, changed, look
from reportgen.archive.checked import checked
from reportgen.archive.schemas import keep_names
from reportgen.archive.write import CannotWrite
from reportgen.record.failure import Misuse
from reportgen.record.finding import render_text
from reportgen.record.listing import OUTPUT
from reportgen.verbs.build import build
from reportgen.verbs.check import screen_width, summary
from reportgen.verbs.progress import progress, wants_colour
from reportgen.verbs.where import named_below, root_of

MOST_NAMED = 5
"""Changed files named in one line; of more only the number is told."""


def run(arguments: argparse.Namespace) -> int:
    """Check and build, then again after each change, until interrupted; 0 then.

    An interrupt while building lets the build come to its end, so that no output is left behind
    half done; a second one stops at once.
    """
    if not 0.05 <= arguments.interval <= 3600:
        raise Misuse("the interval is 0.05 to 3600 seconds")
    root = root_of(arguments.path)
    stop = threading.Event()

    def interrupted(number: int, frame: FrameType | None) -> None:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
        stop.set()

    before_us = signal.signal(signal.SIGINT, interrupted)
    try:
        _watch(root, arguments, stop)
    finally:
        signal.signal(signal.SIGINT, before_us)
    print("stopped", file=sys.stderr)
    return 0


def _watch(root: Path, arguments: argparse.Namespace, stop: threading.Event) -> None:
    seen: dict[str, Seen] = {}
    state = root / OUTPUT / STATE
    first, was_built = True, False
    while not stop.is_set():
        now = look(root, seen)
        what = changed(seen, now)
        if was_built and not state.exists():
            what.append(f"{OUTPUT}/, which was taken away")
        seen = now
        if what or first:
            if not first:
                _announce(what)
            _cycle(root, arguments, partial(_is_stale, root, now))
            first, was_built = False, state.exists()
            print(f"watching {root}; Ctrl-C stops", file=sys.stderr, flush=True)
        stop.wait(arguments.interval)


def _is_stale(root: Path, seen: Mapping[str, Seen]) -> bool:
    return bool(changed(seen, look(root, seen)))


def _announce(what: list[str]) -> None:
    named = ", ".join(what) if len(what) <= MOST_NAMED else f"{len(what)} files"
    print(f"\nchanged: {named}", file=sys.stderr, flush=True)


def _cycle(
    root: Path, arguments: argparse.Namespace, is_stale: Callable[[], bool]
) -> None:
    """Print what is wrong, then build; nothing that a file can hold ends the watching."""
    from reportgen.report.render import environment

    # The archive's own templates may have been changed; they are kept between documents.
    environment.cache_clear()
    try:
        named = named_below(root, arguments.path)
    except Misuse:
        # What was named is gone: all of it is told until it is back.
        named = None
    outcome = checked(root, named, keep=True, progress=progress("looked at"))
    for finding in outcome.findings:
        print(render_text(finding, colour=wants_colour(sys.stdout), width=screen_width()))
        print()
    print(summary(outcome.findings, outcome.batches), file=sys.stderr)
    keep_names(root)
    sys.stdout.flush()
    if gone := [text for text in arguments.path if root.is_dir() and not Path(text).exists()]:
        print(
            f"reportgen watch: {', '.join(gone)}: not there; it is built when it is back. For "
            "another file: Ctrl-C, then `reportgen watch FILE`",
            file=sys.stderr,
        )
        return
    try:
        given = {"path": arguments.path, "paper": arguments.paper, "share": None, "take": []}
        build(argparse.Namespace(**given), is_stale)
    except (CannotWrite, Misuse) as error:
        print(f"reportgen watch: {error}", file=sys.stderr)
    except Exception as error:  # a template being edited may raise anything
        print(f"reportgen watch: nothing built: {type(error).__name__}: {error}", file=sys.stderr)
    sys.stdout.flush()

