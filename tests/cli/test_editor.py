"""A record in an editor: the YAML language server is asked over its protocol, as an editor asks.

The server is fetched by nobody but you: DEVELOPERS.md has the command. Without it, skipped.
"""

from __future__ import annotations

import json
import os
import queue
import re
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
RECORD = ROOT / "batches" / "2026" / "2026-01.yaml"
SECONDS = 60


class Server:
    """A language server that is talked to in JSON-RPC over its standard streams."""

    def __init__(self, command: list[str]) -> None:
        self.process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
        )
        self.inbox: queue.Queue[dict[str, Any]] = queue.Queue()
        self.last = 0
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        stream = self.process.stdout
        assert stream is not None
        while head := stream.readline():
            length = re.match(rb"Content-Length: (\d+)", head)
            if length is None:
                continue
            while stream.readline().strip():
                pass
            data = stream.read(int(length[1]))
            if len(data) == int(length[1]):  # less when the server has been ended
                self.inbox.put(json.loads(data))

    def send(self, **message: Any) -> None:
        data = json.dumps({"jsonrpc": "2.0", **message}).encode()
        assert self.process.stdin is not None
        self.process.stdin.write(b"Content-Length: %d\r\n\r\n" % len(data) + data)
        self.process.stdin.flush()

    def wait(self, wanted: Any) -> dict[str, Any]:
        """Return the next message that is wanted; what the server asks meanwhile is answered."""
        until = time.monotonic() + SECONDS
        while time.monotonic() < until:
            try:
                message = self.inbox.get(timeout=0.5)
            except queue.Empty:
                assert self.process.poll() is None, "the server ended"
                continue
            if "id" in message and "method" in message:
                asked = message.get("params", {}).get("items", [])
                self.send(id=message["id"], result=[{} for _ in asked] or None)
            elif wanted(message):
                return message
        raise AssertionError("no answer came")

    def ask(self, method: str, **params: Any) -> Any:
        self.last += 1
        number = self.last
        self.send(id=number, method=method, params=params)
        answer = self.wait(lambda m: m.get("id") == number)
        assert "error" not in answer, answer
        return answer["result"]


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    folder = os.environ.get("REPORTGEN_NODE")
    if not folder:
        pytest.skip("REPORTGEN_NODE names no folder with the language server; see DEVELOPERS.md")
    node = shutil.which("node")
    if node is None:
        pytest.skip("node is not installed")
    program = Path(folder) / "node_modules/yaml-language-server/bin/yaml-language-server"
    assert program.is_file(), f"REPORTGEN_NODE is set, but there is no {program}"
    one = Server([node, str(program), "--stdio"])
    try:
        one.ask(
            "initialize", processId=os.getpid(), rootUri=ROOT.as_uri(),
            capabilities={"textDocument": {"hover": {"contentFormat": ["markdown"]}}},
        )  # fmt: skip
        one.send(method="initialized", params={})
        wished = ("completion", "hover", "validate")
        yaml = {**dict.fromkeys(wished, True), "schemaStore": {"enable": False}}
        one.send(
            method="workspace/didChangeConfiguration", params={"settings": {"yaml": yaml}}
        )
        yield one
    finally:
        one.process.kill()
        one.process.wait(timeout=30)


class Open:
    """A text open in the editor under the address of a record."""

    def __init__(self, server: Server, text: str, name: str, folder: Path = RECORD.parent) -> None:
        self.server, self.text = server, text
        self.uri = (folder / name).as_uri()
        server.send(
            method="textDocument/didOpen",
            params={
                "textDocument": {
                    "uri": self.uri, "languageId": "yaml", "version": 1, "text": text
                }
            },
        )  # fmt: skip

    def at(self, words: str) -> dict[str, Any]:
        """Return the position right after words that stand once in the text."""
        before, found, _ = self.text.partition(words)
        assert found, words
        line = (before + words).count("\n")
        character = len((before + words).rpartition("\n")[2])
        position = {"line": line, "character": character}
        return {"textDocument": {"uri": self.uri}, "position": position}

    def said(self) -> list[str]:
        """Return what the server finds wrong, with the number of the line."""
        message = self.server.wait(
            lambda m: m.get("method") == "textDocument/publishDiagnostics"
            and m["params"]["uri"] == self.uri
        )
        return [
            f"{d['range']['start']['line'] + 1}: {d['message']}"
            for d in message["params"]["diagnostics"]
        ]


@pytest.fixture(scope="module")
def text() -> str:
    return RECORD.read_text(encoding="utf-8")


def test_every_record_of_the_demo_is_right_for_the_editor(server: Server) -> None:
    for path in sorted((ROOT / "batches").glob("20*/*.yaml")):
        whole = path.read_text(encoding="utf-8")
        found = Open(server, whole, f"../{path.parent.name}/{path.name}").said()
        assert found == [], path.name


def test_a_mistyped_key_and_a_missing_unit_are_marked_as_they_are_typed(
    server: Server, text: str
) -> None:
    wrong = text.replace("mash_liquor:", "mash_liqour:", 1)
    found = Open(server, wrong, "mistyped.yaml").said()
    line = wrong[: wrong.index("mash_liqour")].count("\n") + 1
    assert any(said.startswith(f"{line}: ") and "mash_liqour" in said for said in found), found
    found = Open(server, text.replace("into: keg", "into: kegg"), "choice.yaml").said()
    assert any("keg" in said for said in found), found


def test_keys_and_choices_are_completed(server: Server, text: str) -> None:
    typed = text.replace("  mash:\n    malt_temperature: 9 C\n", "  mash:\n    m\n", 1)
    one = Open(server, typed, "completed.yaml")
    answer = server.ask("textDocument/completion", **one.at("  mash:\n    m"))
    items = {item["label"]: item for item in answer["items"]}
    assert {"malt_temperature", "rests"} <= set(items), sorted(items)
    told = items["malt_temperature"].get("documentation", "")
    assert told, "no explanation beside the completion"
    one = Open(server, text.replace("into: keg", "into: "), "choices.yaml")
    answer = server.ask("textDocument/completion", **one.at("packaging:\n    into: "))
    assert {"keg", "bottle", "cask"} <= {item["label"] for item in answer["items"]}


def test_a_key_is_explained_where_the_pointer_rests(server: Server, text: str) -> None:
    one = Open(server, text, "hover.yaml")
    answer = server.ask("textDocument/hover", **one.at("sparge_temper"))
    told = answer["contents"]["value"]
    assert "Sparge temperature" in told
    # The description with its unit and the example, not only the title.
    assert " C" in told or "temperature" in told.partition("\n")[2], told


@pytest.fixture(scope="module")
def clone(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A clone, in another place, of an archive begun with ``start`` and kept in git."""
    if shutil.which("git") is None:
        pytest.skip("git is not installed")
    place = tmp_path_factory.mktemp("elsewhere")
    environment = {
        **os.environ, "PYTHONPATH": str(ROOT), "GIT_CONFIG_GLOBAL": os.devnull,
        "GIT_AUTHOR_NAME": "A", "GIT_AUTHOR_EMAIL": "a@example.org",
        "GIT_COMMITTER_NAME": "A", "GIT_COMMITTER_EMAIL": "a@example.org",
    }  # fmt: skip

    def run(*command: str, cwd: Path) -> None:
        subprocess.run(command, cwd=cwd, env=environment, check=True, capture_output=True)

    tool = (sys.executable, "-m", "reportgen")
    run(*tool, "start", "house", cwd=place)
    house = place / "house"
    run(*tool, "new", "2026-01", cwd=house)
    run("git", "init", "-q", cwd=house)
    run("git", "add", "-A", cwd=house)
    run("git", "commit", "-q", "-m", "begun", cwd=house)
    run("git", "clone", "-q", str(house), str(place / "far" / "away"), cwd=place)
    shutil.rmtree(house)
    return place / "far" / "away"


def test_in_a_clone_elsewhere_every_file_has_its_schema(server: Server, clone: Path) -> None:
    for name in ("brewery.yaml", "stock.yaml", "2026/2026-01.yaml"):
        text = (clone / name).read_text(encoding="utf-8")
        assert Open(server, text, name, clone).said() == [], name
        wrong = Open(server, text + "nonsense: 1\n", name.replace(".yaml", "-b.yaml"), clone).said()
        assert any("nonsense" in said for said in wrong), (name, wrong)


NAMED = {
    "malt": ("{malt: pale,", "{malt: ", {"pale", "crystal"}),
    "hop": ("{hop: goldings,", "{hop: ", {"goldings"}),
    "yeast": ("    yeast: ale\n", "    yeast: ", {"ale"}),
    "kit": ("kit: main", "kit: ", {"main"}),
    "liquor": ("{liquor: tap,", "{liquor: ", {"tap"}),
}


@pytest.mark.parametrize("kind", NAMED)
def test_names_of_the_stock_are_completed_and_an_unknown_one_is_marked(
    server: Server, clone: Path, kind: str
) -> None:
    found, key, names = NAMED[kind]
    text = (clone / "2026/2026-01.yaml").read_text(encoding="utf-8")
    assert found in text
    bare = re.sub(rf"({re.escape(key)})[a-z]+", r"\1", text, count=1)
    one = Open(server, bare, f"bare-{kind}.yaml", clone / "2026")
    answer = server.ask("textDocument/completion", **one.at(key))
    labels = {item["label"].strip() for item in answer["items"]}
    # Nothing that a schema has as an example is offered beside them.
    assert labels == names
    wrong = re.sub(rf"({re.escape(key)})[a-z]+", r"\1unheard", text, count=1)
    line = wrong[: wrong.index("unheard")].count("\n") + 1
    said = Open(server, wrong, f"wrong-{kind}.yaml", clone / "2026").said()
    assert any(one.startswith(f"{line}: ") for one in said), said


@pytest.mark.parametrize(
    ("lines", "wanted"),
    [
        ("review:\n  decided_by: ", "AB"),
        ("review:\n  deviations:\n    - instrument: ", "thermometer"),
        ("packaging:\n  container: ", "keg_19"),
    ],
)
def test_people_instruments_and_vessels_are_completed(
    server: Server, clone: Path, lines: str, wanted: str
) -> None:
    text = (clone / "2026/2026-01.yaml").read_text(encoding="utf-8") + "\n" + lines
    one = Open(server, text, f"people-{wanted}.yaml", clone / "2026")
    answer = server.ask("textDocument/completion", **one.at(lines))
    assert wanted in {item["label"].strip() for item in answer["items"]}
    # Two people may have done a thing, so initials that are not listed alone are no mistake here.
    pair = Open(server, text + "AB, CD\n", f"pair-{wanted}.yaml", clone / "2026").said()
    assert "decided_by" not in lines or pair == []
