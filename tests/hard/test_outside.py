"""Nothing outside the archive is read or written, and nothing is fetched, whatever it says."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from houses import plain_pages
from processes import environment, reportgen, small_archive, tree

from reportgen.archive.build import Built, read_state, stale
from reportgen.archive.lock import output_lock
from reportgen.archive.write import CannotWrite
from reportgen.loading import load_archive
from reportgen.record.model.batch import ID

WATCHED = """
import sys
seen = []
def watch(event, arguments):
    if event == "open":
        seen.append(str(arguments[0]))
    elif event.startswith(("socket.", "urllib.", "http.", "ftplib.")):
        seen.append("NETWORK " + event + repr(arguments))
sys.addaudithook(watch)
from reportgen.cli import main
code = main(sys.argv[1:])
print("\\n".join(seen), file=open("seen.txt", "w"))
sys.exit(code)
"""

PAGE = """<!DOCTYPE html><html lang="en"><head><title>t</title><style>
@import url(http://x.invalid/a.css); @import url(file:///etc/passwd);
p { background: url(http://x.invalid/b.png) }
</style></head><body><h1>{{ view.identity.name }}</h1>
<p><img alt="a" src="file:///etc/passwd"><img alt="b" src="http://x.invalid/c.png">
<img alt="c" src="archive:/../secret.png"><img alt="d" src="archive:/%2e%2e/secret.png">
<img alt="e" src="link.png"><img alt="f" src="2026/2026-01.yaml"><img alt="g" src="bomb.png">
<object data="file:///etc/passwd"></object></p></body></html>"""


def bomb() -> bytes:
    """Return a PNG of a few hundred kilobytes that says it is 60 000 by 60 000 pixels."""
    import struct
    import zlib

    def chunk(kind: bytes, data: bytes) -> bytes:
        check = struct.pack(">I", zlib.crc32(kind + data))
        return struct.pack(">I", len(data)) + kind + data + check

    head = struct.pack(">IIBBBBB", 60_000, 60_000, 1, 0, 0, 0, 0)
    rows = zlib.compressobj(9)
    packed = b"".join(rows.compress(b"\0" * 7501 * 600) for _ in range(100)) + rows.flush()
    parts = (chunk(b"IHDR", head), chunk(b"IDAT", packed), chunk(b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def test_a_hostile_template_reads_nothing_outside_and_fetches_nothing(tmp_path: Path) -> None:
    root = small_archive(tmp_path / "archive")
    secret = tmp_path / "secret.png"
    secret.write_bytes(b"secret")
    (root / "link.png").symlink_to(secret)
    (root / "bomb.png").write_bytes(bomb())
    # The other sheets are set by a line, so that nothing hides what this one does.
    page = plain_pages(root) / "templates" / "tasting_sheet" / "page.html.j2"
    page.write_text(PAGE, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-c", WATCHED, "sheet"],
        cwd=root, capture_output=True, text=True, timeout=300, env=environment(),
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    seen = (root / "seen.txt").read_text(encoding="utf-8").splitlines()
    assert [line for line in seen if line.startswith("NETWORK")] == []
    assert not [line for line in seen if "secret" in line or line.endswith("passwd")]
    made = (root / "build" / "sheets" / "2026-01-tasting.pdf").read_bytes()
    assert made.startswith(b"%PDF") and b"secret" not in made


@pytest.mark.parametrize(
    "page",
    [
        "{{ view.__class__.__mro__ }}",
        "{{ ''.__class__.__base__.__subclasses__() }}",
        "{% include '../../brewery.yaml' %}",
        "{% include '/etc/passwd' %}",
        "{{ nothing }}",
    ],
)
def test_a_template_cannot_leave_its_sandbox(page: str, tmp_path: Path) -> None:
    from jinja2 import TemplateError

    from reportgen.report.render import html

    folder = tmp_path / "templates" / "tasting_sheet"
    folder.mkdir(parents=True)
    (folder / "page.html.j2").write_text(page, encoding="utf-8")
    with pytest.raises(TemplateError):
        html("tasting_sheet", object(), "A4", tmp_path)


def test_a_template_is_not_read_through_a_link_out(tmp_path: Path) -> None:
    from jinja2 import TemplateError

    from reportgen.report.render import html

    folder = tmp_path / "archive" / "templates" / "tasting_sheet"
    folder.mkdir(parents=True)
    (tmp_path / "secret").write_text("secret", encoding="utf-8")
    (folder / "page.html.j2").symlink_to(tmp_path / "secret")
    with pytest.raises(TemplateError):
        html("tasting_sheet", object(), "A4", tmp_path / "archive")


def test_a_template_that_is_wrong_is_one_sentence(tmp_path: Path) -> None:
    root = small_archive(tmp_path / "archive")
    folder = plain_pages(root) / "templates" / "brew_day_sheet"
    (folder / "page.html.j2").write_text("{{ view.nothing_such }}", encoding="utf-8")
    done = reportgen("sheet", cwd=root)
    assert done.returncode == 2 and "nothing_such" in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_links_out_of_the_archive_are_not_read(tmp_path: Path) -> None:
    root = small_archive(tmp_path / "archive")
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "2026-07.yaml").write_text("batch: secret\n", encoding="utf-8")
    (root / "2026" / "2026-07.yaml").symlink_to(outside / "2026-07.yaml")
    (root / "2027").symlink_to(outside)
    (root / "2026" / "round.yaml").symlink_to("round.yaml")
    (root / "2026" / "gone.yaml").symlink_to("nowhere.yaml")
    loaded = load_archive(root)
    assert "secret" not in str(loaded.sources)
    assert sorted((f.rule, f.position.file) for f in loaded.findings) == [
        ("link-out", "2026/2026-07.yaml"),
        ("missing-file", "2026/gone.yaml"),
        ("unreadable", "2026/round.yaml"),
    ]


def test_the_house_file_may_not_be_a_link_out(tmp_path: Path) -> None:
    root = small_archive(tmp_path / "archive")
    (root / "stock.yaml").rename(tmp_path / "stock.yaml")
    (root / "stock.yaml").symlink_to(tmp_path / "stock.yaml")
    assert [f.rule for f in load_archive(root).findings] == ["link-out"]


@pytest.mark.parametrize(
    "name",
    ["../2026/2026-01.yaml", "/etc/passwd", "sheets/../../2026/2026-01.yaml", "", ".", "back/x",
     "link", "circle", "round/x"],
)
def test_the_list_of_what_was_built_cannot_name_a_file_outside(name: str, tmp_path: Path) -> None:
    """An output wanted no more is removed, so a list from elsewhere must not name a record."""
    root = small_archive(tmp_path / "archive")
    output = root / "build"
    output.mkdir()
    (output / "back").symlink_to(root / "2026")
    (root / "2026" / "x").write_bytes(b"x")
    (output / "link").symlink_to(root / "2026" / "x")
    for circle in ("circle", "round"):
        (output / circle).symlink_to(circle)
    entry = {"key": "k", "sha256": "0" * 64}
    (output / ".built.json").write_text(json.dumps({name: entry, "good": entry}), encoding="utf-8")
    assert read_state(output) == {"good": Built("k", "0" * 64)}
    assert stale(output, read_state(output), set()) == []


@pytest.mark.parametrize("text", ["[" * 100_000, "{", "null", "7", '{"a": 3}', "\0", '{"a": {}}'])
def test_a_spoilt_list_of_what_was_built_is_as_none(text: str, tmp_path: Path) -> None:
    (tmp_path / ".built.json").write_text(text, encoding="utf-8")
    assert read_state(tmp_path) == {}


def test_an_output_folder_that_is_a_link_is_refused(tmp_path: Path) -> None:
    root = small_archive(tmp_path / "archive")
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    for link in (root / "build", root / "build" / "sheets"):
        link.parent.mkdir(exist_ok=True)
        link.symlink_to(elsewhere)
        done = reportgen("sheet", cwd=root)
        assert done.returncode == 2 and str(link) in done.stderr
        assert "Traceback" not in done.stderr and tree(elsewhere) == {}
        link.unlink()


def test_an_output_that_is_a_folder_or_a_link_is_left(tmp_path: Path) -> None:
    output = tmp_path / "build"
    output.write_text("mine", encoding="utf-8")
    with pytest.raises(CannotWrite), output_lock(output):
        raise AssertionError
    assert output.read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("name", ["../evil", "/tmp/evil", "a/b", "a\n", ".a", "x" * 41, ""])
def test_a_batch_id_is_a_plain_file_name(name: str) -> None:
    assert ID.fullmatch(name) is None and ID.fullmatch("2026-07")
