"""A headless browser for the tests: a page is opened from the file system and asked questions.

One browser serves all pages of a process. Each is opened as if nothing had been open before.
"""

from __future__ import annotations

import base64
import contextlib
import fcntl
import functools
import json
import os
import re
import select
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
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


class _Browser:
    """One browser for all pages of a process, told what to do through a pair of pipes."""

    def __init__(self) -> None:
        self.profile = tempfile.TemporaryDirectory(prefix="reportgen-browser-")
        pipes = [*os.pipe(), *os.pipe()]
        # Out of the way of the two numbers that the browser has them by.
        theirs, self.to, self.of, answers = (fcntl.fcntl(n, fcntl.F_DUPFD, 10) for n in pipes)

        def as_expected() -> None:
            os.dup2(theirs, 3)
            os.dup2(answers, 4)

        self.process = subprocess.Popen(
            [browser(), *FLAGS, "--remote-debugging-pipe", f"--user-data-dir={self.profile.name}"],
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            pass_fds=(3, 4), preexec_fn=as_expected,
        )  # fmt: skip
        for number in (*pipes, theirs, answers):
            os.close(number)
        self.asked = 0
        self.rest = b""

    def ask(self, method: str, session: str = "", **given: Any) -> Any:
        """Return what the browser answers to one call of its protocol."""
        self.asked += 1
        call = {"id": self.asked, "method": method, "params": given}
        call |= {"sessionId": session} if session else {}
        data = json.dumps(call).encode() + b"\0"
        while data:
            data = data[os.write(self.to, data) :]
        while True:
            told = json.loads(self._next())
            if told.get("id") == self.asked:
                return told.get("result", {})

    def _next(self) -> bytes:
        pieces = [self.rest]
        while b"\0" not in pieces[-1]:
            assert select.select([self.of], [], [], SECONDS)[0], "the browser does not answer"
            piece = os.read(self.of, 1 << 20)
            assert piece, "the browser has ended"
            pieces.append(piece)
        told, _, self.rest = b"".join(pieces).partition(b"\0")
        return told

    @contextlib.contextmanager
    def page(self, address: Path, scheme: str) -> Iterator[Callable[..., Any]]:
        """Open a file by itself, with nothing kept of what was open before; yield how to ask it."""
        context = self.ask("Target.createBrowserContext")["browserContextId"]
        target = self.ask("Target.createTarget", url="about:blank", browserContextId=context)
        session = self.ask("Target.attachToTarget", targetId=target["targetId"], flatten=True)
        asked = functools.partial(self.ask, session=session["sessionId"])
        try:
            feature = {"name": "prefers-color-scheme", "value": scheme}
            asked("Emulation.setEmulatedMedia", features=[feature])
            asked("Page.navigate", url=address.as_uri())
            yield asked
        finally:
            self.ask("Target.disposeBrowserContext", browserContextId=context)

    def close(self) -> None:
        """End the browser, and take away what it kept."""
        with contextlib.suppress(AssertionError, OSError):
            self.ask("Browser.close")
        try:
            self.process.wait(30)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        os.close(self.to)
        os.close(self.of)
        self.profile.cleanup()


@functools.cache
def _started() -> _Browser:
    return _Browser()


def close() -> None:
    """End the browser of this process, if one was started."""
    if _started.cache_info().currsize:
        _started().close()
        _started.cache_clear()


def _answer(asked: Callable[..., Any], expression: str) -> str:
    """Return the text that an expression has as soon as it has any."""
    until = time.monotonic() + SECONDS
    while time.monotonic() < until:
        found = asked("Runtime.evaluate", expression=expression).get("result", {}).get("value")
        if found:
            return str(found)
        time.sleep(0.02)
    raise AssertionError(f"the page did not answer: {expression}")


def answered(address: Path, mark: str, scheme: str = "light") -> Any:
    """Open a page and return the JSON that it writes into the element with an id, once it does."""
    with _started().page(address, scheme) as asked:
        return json.loads(_answer(asked, f"(document.getElementById('{mark}')||{{}}).textContent"))


def as_pdf(address: Path) -> bytes:
    """Return a page as it is printed from the browser."""
    with _started().page(address, "light") as asked:
        _answer(asked, "document.readyState === 'complete' && location.href !== 'about:blank'")
        printed = asked("Page.printToPDF", printBackground=True, preferCSSPageSize=True)
    return base64.b64decode(printed["data"])


def ask(
    pages: dict[str, Path], folder: Path, question: str, width: int, library: Path | None = None,
    scheme: str = "light",
) -> dict[str, Any]:  # fmt: skip
    """Open pages side by side in frames of a width and return the answer of each to a question.

    ``question`` is the body of a function of JavaScript, run in each page after its own script;
    what it returns, at once or as a promise, comes back through JSON. ``library`` is a script that
    the question needs, ``scheme`` the colours that the reader has chosen. A copy of each page is
    asked, beside the page itself, so that its links to style and script hold.
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
        f"if (Object.keys(answers).length === {len(pages)})"
        "document.getElementById('answers').textContent = JSON.stringify(answers);});</script>"
        + "".join(frames),
        encoding="utf-8",
    )
    try:
        answers: dict[str, Any] = answered(harness, "answers", scheme)
    finally:
        for copy in (*copies, harness):
            copy.unlink()
    assert set(answers) == set(pages), "a page did not answer"
    return answers
