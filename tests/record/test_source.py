"""Files of every kind, read as text or refused."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.record import source as module
from reportgen.record.finding import Finding
from reportgen.record.source import LIMIT, read_source, source_from_bytes, source_from_text


def _only(findings: list[Finding], rule: str) -> Finding:
    assert [f.rule for f in findings] == [rule]
    return findings[0]


def test_a_file_is_read_as_it_stands(tmp_path: Path) -> None:
    data = "name: Weißbier\r\nplace: Aldermoss\r\n".encode()
    (tmp_path / "a.yaml").write_bytes(data)
    source, findings = read_source(tmp_path / "a.yaml", "2026/a.yaml")
    assert findings == [] and source is not None
    assert source.file == "2026/a.yaml"
    assert source.data == data
    assert source.sha256 == hashlib.sha256(data).hexdigest()
    assert source.text == "name: Weißbier\nplace: Aldermoss\n"
    assert source.lines == ("name: Weißbier", "place: Aldermoss")
    assert [source.line(n) for n in (-1, 0, 1, 2, 3)] == [
        "", "", "name: Weißbier", "place: Aldermoss", "",
    ]  # fmt: skip


@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
def test_line_ends_do_not_change_the_text(ends: str) -> None:
    source, findings = source_from_bytes(f"a: 1{ends}{ends}b: 2{ends}".encode(), "a")
    assert findings == [] and source is not None
    assert source.text == "a: 1\n\nb: 2\n"
    assert source.lines == ("a: 1", "", "b: 2")


def test_a_byte_order_mark_shifts_nothing() -> None:
    source, findings = source_from_bytes(b"\xef\xbb\xbfa: 1\n", "a")
    assert findings == [] and source is not None
    assert source.lines == ("a: 1",)
    assert source.data.startswith(b"\xef\xbb\xbf")


def test_a_missing_file_suggests_its_neighbour(tmp_path: Path) -> None:
    (tmp_path / "brewery.yaml").write_text("")
    source, findings = read_source(tmp_path / "brewrey.yaml", "brewrey.yaml")
    assert source is None
    assert "`brewery.yaml`" in _only(findings, "missing-file").remedy
    alone = _only(read_source(tmp_path / "x" / "stock.yaml", "stock.yaml")[1], "missing-file")
    assert "`git checkout -- stock.yaml`" in alone.remedy
    (tmp_path / "2026-01.yaml").symlink_to("nowhere.yaml")
    link = _only(read_source(tmp_path / "2026-01.yaml", "2026-01.yaml")[1], "missing-file")
    assert "a link to nowhere.yaml" in link.message and "brewery" not in link.remedy


def test_a_folder_a_pipe_and_an_impossible_name_are_refused(tmp_path: Path) -> None:
    assert "folder" in _only(read_source(tmp_path, "a")[1], "not-a-file").message
    os.mkfifo(tmp_path / "pipe")
    _only(read_source(tmp_path / "pipe", "a")[1], "not-a-file")
    _only(read_source(tmp_path / "a\0b", "a")[1], "unreadable")
    _only(read_source(tmp_path / ("x" * 5000), "a")[1], "unreadable")


def test_a_file_that_may_not_be_read_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.yaml"
    path.write_text("a: 1")

    def forbidden(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(module, "open", forbidden, raising=False)
    assert "may not be read" in _only(read_source(path, "a")[1], "unreadable").message

    def broken(*_: object) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(module, "open", broken, raising=False)
    assert "Input/output error" in _only(read_source(path, "a")[1], "unreadable").message


def test_the_limit_of_size_is_exact(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_bytes(b"#" * LIMIT)
    assert read_source(path, "a")[1] == []
    path.write_bytes(b"#" * (LIMIT + 1))
    source, findings = read_source(path, "a")
    assert source is None and "2,097,153" in _only(findings, "too-large").message
    assert source_from_bytes(b"#" * (LIMIT + 1), "a")[0] is None


def test_a_file_in_latin_1_is_told_so_with_the_letter_meant() -> None:
    source, findings = source_from_bytes("name: Dünkel\n".encode("latin-1"), "a")
    found = _only(findings, "not-utf-8")
    assert source is None
    assert (found.position.line, found.position.column) == (1, 8)
    assert "FC" in found.message and "`ü`" in found.message
    assert "UTF-8" in found.remedy


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be", "utf-32-le", "utf-32-be"])
@pytest.mark.parametrize("mark", [False, True])
def test_other_encodings_are_told_how_to_save(encoding: str, mark: bool) -> None:
    data = (("\ufeff" if mark else "") + "name: Weir Mild\nplace: Aldermoss\n").encode(encoding)
    source, findings = source_from_bytes(data, "a")
    found = _only(findings, "encoding")
    assert source is None and "save the file as UTF-8" in found.remedy
    assert encoding[:6].upper() in found.message


def test_what_cannot_be_shown_is_replaced_so_that_the_rest_keeps_its_place() -> None:
    source, findings = source_from_bytes("a: \u202eb\u202c c\x07\nd: e\n".encode(), "a")
    assert [(f.rule, f.position.column) for f in findings] == [
        ("bidi-control", 4),
        ("bidi-control", 6),
        ("control-character", 9),
    ]
    assert source is not None
    assert source.lines == ("a: \ufffdb\ufffd c\ufffd", "d: e")
    assert "\u202e" in findings[0].line


def test_letters_signs_and_scripts_of_every_kind_are_accepted() -> None:
    text = "a: °C µ ½ ≤ – “quoted” 麦芽 الشعير שעורה 🍺👩\u200d🍳 e\u0301 \u00a0x\n"
    source, findings = source_from_bytes(text.encode(), "a")
    assert findings == [] and source is not None and source.text == text


def test_a_tab_after_the_indent_is_accepted_and_an_empty_line_of_tabs() -> None:
    assert source_from_bytes(b"a:\t1\n\t\n  \t\nb: 2\t# c\n", "a")[1] == []


def test_an_underlined_heading_is_no_merge_conflict() -> None:
    assert source_from_bytes(b"a: |\n  Heading\n=======\n", "a")[1] == []


def test_a_long_run_of_faults_is_cut_short() -> None:
    findings = source_from_bytes(b"\ta: 1\n" * 50, "a")[1]
    assert len(findings) == 20
    assert "more like it" in findings[-1].message and "more" not in findings[-2].message


def test_a_text_that_is_in_no_file() -> None:
    source = source_from_text("a: 1\r\nb: \ud800\x00\n", "typed")
    assert source.lines == ("a: 1", "b: \ufffd\ufffd")
    assert source.file == "typed"


@settings(deadline=None)
@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    source, findings = source_from_bytes(data, "a")
    assert source is not None or findings
    for finding in findings:
        position = finding.position
        assert position.line >= 1
        assert 1 <= position.column <= position.end_column
        assert position.column <= len(finding.line) + 1
    if source is not None and not findings:
        assert source.text.replace("\n", "") == data.decode("utf-8-sig").replace("\r", "").replace(
            "\n", ""
        )


@settings(deadline=None)
@given(st.text(max_size=200))
def test_lines_and_text_agree(text: str) -> None:
    source = source_from_text(text, "a")
    assert "\n".join(source.lines) == source.text.removesuffix("\n")
    assert "\r" not in source.text
