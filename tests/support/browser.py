"""A headless browser for the tests: a page is opened from the file system and asked questions."""

from __future__ import annotations

import html
import json
import re
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
SECONDS = 180


def browser() -> str:
    """Return the browser's path; the test is skipped when there is none."""
    for name in NAMES:
        found = shutil.which(name)
        if found is not None:
            return found
    pytest.skip(f"no Chromium is installed (none of {', '.join(NAMES)} on the path)")


def run(address: Path, *flags: str) -> str:
    """Open a file with the browser and return what it prints."""
    with tempfile.TemporaryDirectory(prefix="reportgen-browser-") as profile:
        done = subprocess.run(
            [browser(), *FLAGS, f"--user-data-dir={profile}", *flags, address.as_uri()],
            capture_output=True,
            text=True,
            timeout=SECONDS,
            stdin=subprocess.DEVNULL,
        )
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout


def ask(
    pages: dict[str, Path], folder: Path, question: str, width: int, library: Path | None = None,
    flags: Sequence[str] = (),
) -> dict[str, Any]:  # fmt: skip
    """Open pages side by side in frames of a width and return the answer of each to a question.

    ``question`` is the body of a function of JavaScript, run in each page after its own script;
    what it returns, at once or as a promise, comes back through JSON. ``library`` is a script that
    the question needs, ``flags`` further ones of the browser. A copy of each page is asked, beside
    the page itself, so that its links to style and script hold.
    """
    copies = []
    frames = []
    for name, path in pages.items():
        # What is asked is a script of ours, which the policy of a page would not let run.
        text = re.sub(r"<meta http-equiv=[^>]*>", "", path.read_text(encoding="utf-8"))
        needed = f'<script src="{library.as_uri()}"></script>' if library is not None else ""
        asking = (
            f"{needed}<script>addEventListener('load', function () {{"
            f"Promise.resolve((function () {{{question}}})()).then(function (answer) {{"
            f"parent.postMessage([{json.dumps(name)}, answer], '*');"
            "});});</script>"
        )
        copy = path.with_name(f"asked-{path.name}")
        copy.write_text(text.replace("</body>", f"{asking}</body>"), encoding="utf-8")
        copies.append(copy)
        frames.append(f'<iframe src="{copy.as_uri()}" width="{width}" height="800"></iframe>')
    harness = folder / "harness.html"
    harness.write_text(
        "<!DOCTYPE html><meta charset='utf-8'><pre id='answers'></pre><script>"
        "var answers = {}; addEventListener('message', function (event) {"
        "answers[event.data[0]] = event.data[1];"
        "document.getElementById('answers').textContent = JSON.stringify(answers);});</script>"
        + "".join(frames),
        encoding="utf-8",
    )
    try:
        printed = run(harness, "--dump-dom", "--virtual-time-budget=20000", *flags)
    finally:
        for copy in (*copies, harness):
            copy.unlink()
    match = re.search(r"<pre id=['\"]answers['\"]>(.*?)</pre>", printed, re.DOTALL)
    assert match and match[1], "the pages did not answer"
    answers: dict[str, Any] = json.loads(html.unescape(match[1]))
    assert set(answers) == set(pages), "a page did not answer"
    return answers
