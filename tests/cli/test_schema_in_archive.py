"""The schema travels with the archive: clone, move, upgrade, and what does not hang on its line."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from houses import plain_pages

from reportgen.archive import schemas
from reportgen.archive.build import record_digests
from reportgen.cli import main
from reportgen.record.describe import FILES
from reportgen.record.source import content_digest
from reportgen.resources import schema_dir

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "tests" / "example"
LINE = "# yaml-language-server: $schema="


@pytest.fixture
def house(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """An archive as it is begun, with one record, stood in."""
    monkeypatch.delenv("PRE_COMMIT", raising=False)
    assert main(["start", str(tmp_path / "house")]) == 0
    monkeypatch.chdir(tmp_path / "house")
    assert main(["new", "2026-01"]) == 0
    yield tmp_path / "house"


def heads(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): path.read_text(encoding="utf-8").splitlines()[0]
        for path in sorted(folder.rglob("*.yaml"))
    }


def names(folder: Path, table: str) -> list[object]:
    data = json.loads((folder / ".reportgen/names.json").read_text(encoding="utf-8"))
    found: list[object] = data["$defs"][table]["enum"]
    return found


def test_every_first_line_leads_into_the_archive(house: Path) -> None:
    assert heads(house) == {
        "2026/2026-01.yaml": f"{LINE}../.reportgen/record.json",
        "brewery.yaml": f"{LINE}.reportgen/brewery.json",
        "stock.yaml": f"{LINE}.reportgen/stock.json",
    }
    assert {path.name for path in (house / ".reportgen").iterdir()} == {
        *(f"{kind}.json" for kind in FILES), "names.json"
    }  # fmt: skip


def test_the_schema_is_the_tools_but_for_the_names(house: Path) -> None:
    def bare(schema: object) -> object:
        """Leave out what differs on purpose."""
        if isinstance(schema, list):
            return [bare(item) for item in schema]
        if not isinstance(schema, dict):
            return schema
        if "x-names" in schema:
            return schema["x-names"]
        if schema.get("title") == "Lot":
            return "lot"
        if "x-people" in schema:
            return "people"
        return {k: bare(v) for k, v in schema.items() if k not in ("$comment", "x-reportgen")}

    for kind in FILES:
        own = json.loads((schema_dir() / f"{kind}.json").read_text(encoding="utf-8"))
        kept = json.loads((house / f".reportgen/{kind}.json").read_text(encoding="utf-8"))
        assert bare(kept) == bare(own)


def test_no_name_of_a_table_is_missing_that_a_schema_refers_to(house: Path) -> None:
    known = json.loads((house / ".reportgen/names.json").read_text(encoding="utf-8"))["$defs"]
    text = (house / ".reportgen/record.json").read_text(encoding="utf-8")
    referred = {part.partition('"')[0] for part in text.split("names.json#/$defs/")[1:]}
    assert referred and referred <= set(known)


def test_a_moved_record_is_told_and_fixed(
    house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (house / "old").mkdir()
    shutil.move(house / "2026", house / "old" / "2026")
    capsys.readouterr()
    code = main(["check", "--fail-on", "error"])
    said = capsys.readouterr().err
    assert code == 0
    assert "the first line of old/2026/2026-01.yaml names a schema that is not there" in said
    assert "reportgen schema" in said
    assert main(["schema"]) == 0
    assert capsys.readouterr().out.splitlines() == ["old/2026/2026-01.yaml"]
    assert heads(house)["old/2026/2026-01.yaml"] == f"{LINE}../../.reportgen/record.json"
    main(["check"])
    assert "editor" not in capsys.readouterr().err


@pytest.mark.parametrize(
    ("version", "told"),
    [("0.0.1", "fix: run `reportgen schema`"), ("99.0.0", "fix: upgrade reportgen")],
)
def test_a_schema_of_another_version_is_told(
    house: Path, capsys: pytest.CaptureFixture[str], version: str, told: str
) -> None:
    path = house / ".reportgen/record.json"
    path.write_text(path.read_text(encoding="utf-8").replace("0.1.0", version), encoding="utf-8")
    capsys.readouterr()
    main(["check"])
    said = capsys.readouterr().err
    assert f"version {version} of reportgen" in said and told in said
    # No finding, so nothing that counts findings changes.
    main(["check", "--format", "json"])
    out = capsys.readouterr()
    assert "schema" not in out.out and out.err == ""


@pytest.mark.parametrize("broken", ["", "{", "<<<<<<< ours\n{}\n"])
def test_a_damaged_or_conflicting_schema_is_told_and_renewed(
    house: Path, capsys: pytest.CaptureFixture[str], broken: str
) -> None:
    for name in ("stock.json", "names.json"):
        (house / ".reportgen" / name).write_text(broken, encoding="utf-8")
    capsys.readouterr()
    main(["check"])
    assert "another state of reportgen" in capsys.readouterr().err
    # The names are kept by check itself.
    assert "pale" in names(house, "malts")
    assert main(["schema"]) == 0
    assert capsys.readouterr().out.splitlines() == [".reportgen/stock.json"]


def test_names_follow_the_files(house: Path) -> None:
    stock = house / "stock.yaml"
    text = stock.read_text(encoding="utf-8")
    stock.write_text(text.replace("  crystal:", "  brown_2026:"), encoding="utf-8")
    main(["check"])
    assert "brown_2026" in names(house, "malts") and "crystal" not in names(house, "malts")
    assert "brown_2026" in names(house, "items")
    main(["new", "2026-02", "--like", "2026-01"])
    assert names(house, "batches") == ["2026-01", "2026-02"]


def test_a_file_that_cannot_be_read_marks_no_name(house: Path) -> None:
    (house / "stock.yaml").write_text("malts: [\n", encoding="utf-8")
    main(["check"])
    defs = json.loads((house / ".reportgen/names.json").read_text(encoding="utf-8"))["$defs"]
    assert defs["malts"] == {} and defs["items"] == {}
    assert defs["kits"] == {"enum": ["main"]}


def test_a_name_of_digits_is_known_to_the_editor_as_a_number_too() -> None:
    made = json.loads(schemas.names_text({"malts": ["80", "1.5", "pale"]}, "0" * 64))
    assert made["$defs"]["malts"]["enum"] == ["80", 80, "1.5", 1.5, "pale"]


def test_a_hook_and_a_program_write_nothing(
    house: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = house / ".reportgen/names.json"
    path.unlink()
    main(["check", "--format", "json"])
    assert not path.exists()
    monkeypatch.setenv("PRE_COMMIT", "1")
    main(["check"])
    assert not path.exists()


def test_an_archive_that_cannot_be_written_is_checked_all_the_same(
    house: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    outside = house.parent / "outside"
    outside.mkdir()
    shutil.move(house / ".reportgen", outside / "schemas")
    (house / ".reportgen").symlink_to(outside / "schemas")
    (outside / "schemas" / "names.json").unlink()
    capsys.readouterr()
    assert main(["check", "--fail-on", "error"]) == 0
    # Through a link nothing is written.
    assert not (outside / "schemas" / "names.json").exists()
    assert main(["schema"]) == 2
    assert "left as it is" in capsys.readouterr().err


LINES = [
    b"# yaml-language-server: $schema=/usr/lib/python3/site-packages/reportgen/x.json\n",
    b"\xef\xbb\xbf# yaml-language-server: $schema=..\\..\\x.json\r\n",
    b"# A note before it.\n\n#yaml-language-server: $schema=x.json trailing\n",
]


@pytest.mark.parametrize("line", LINES)
def test_renewing_changes_no_other_byte(house: Path, line: bytes) -> None:
    path = house / "2026/2026-01.yaml"
    path.chmod(0o600)
    rest = path.read_bytes().partition(b"\n")[2]
    path.write_bytes(line + rest)
    before = record_digests(house)
    assert main(["schema"]) == 0
    data = path.read_bytes()
    assert data.endswith(rest) and b"$schema=../.reportgen/record.json" in data
    lead = line.partition(b"#")[0]
    assert data.startswith(lead)
    assert path.stat().st_mode & 0o777 == 0o600
    # What is made from the record has the same key: nothing is built again.
    assert record_digests(house) == before


def test_only_the_line_is_left_out_of_what_counts() -> None:
    one = b"# yaml-language-server: $schema=a.json\nformat: 1\n"
    assert content_digest(one) == content_digest(one.replace(b"a.json", b"../b.json"))
    assert content_digest(one) != content_digest(one.replace(b"1", b"2"))
    # Deeper in the file it is a text like any other.
    late = b"format: 1\n" + one
    assert content_digest(late) != content_digest(late.replace(b"a.json", b"b.json"))


def test_an_archive_with_dead_lines_gets_its_own_schema(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Begun by a version whose lines pointed at the tool's own folder, and cloned since."""
    folder = tmp_path / "far" / "house"
    shutil.copytree(EXAMPLE, folder)
    monkeypatch.chdir(folder)
    assert main(["new", "2026-02", "--like", "2026-01"]) == 0
    assert capsys.readouterr().out == "2026/2026-02.yaml\n"
    assert heads(folder)["2026/2026-02.yaml"] == f"{LINE}../.reportgen/record.json"
    assert main(["schema"]) == 0
    assert all(".reportgen/" in line for line in heads(folder).values())
    for name, line in heads(folder).items():
        assert (folder / name).parent.joinpath(line.partition("=")[2]).is_file()


def test_a_verified_record_holds_whatever_the_line_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "house"
    shutil.copytree(ROOT / "tests" / "report" / "archive", folder)
    plain_pages(folder)
    monkeypatch.chdir(folder)
    record = "2026/2026-01.yaml"
    for name in (record, "brewery.yaml", "stock.yaml"):
        text = (folder / name).read_text(encoding="utf-8")
        (folder / name).write_text(f"{LINE}../gone.json\n{text}", encoding="utf-8")
    assert main(["build", record]) == 0
    assert main(["schema"]) == 0
    capsys.readouterr()
    assert main(["verify", "build/records/2026-01.pdf"]) == 0
    assert "has the same record" in capsys.readouterr().out
    assert main(["build", record]) == 0
    assert capsys.readouterr().err.startswith("0 built")


def test_initials_of_two_are_taken_and_those_of_people_offered(house: Path) -> None:
    """A pair that did one thing is written `RB, TM`, so a list of initials alone would be wrong."""
    record = json.loads((house / ".reportgen/record.json").read_text(encoding="utf-8"))
    by = record["$defs"]["Deviation"]["properties"]["closed_by"]
    assert {"$ref": "names.json#/$defs/people"} in by["anyOf"] and len(by["anyOf"]) == 2
    assert names(house, "people") == ["AB"]
