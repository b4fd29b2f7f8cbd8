"""The tree: texts as written, at their places; nothing guessed, nothing that unfolds."""

from __future__ import annotations

import time

import pytest
import yaml
from hypothesis import example, given, settings
from hypothesis import strategies as st

from reportgen.record import yamlreader
from reportgen.record.finding import Finding, Position
from reportgen.record.source import source_from_text
from reportgen.record.yamlreader import DEEPEST, LARGEST, LONGEST
from reportgen.record.yamltree import (
    Mapping,
    Node,
    Scalar,
    Sequence,
    core,
    parse,
)


def _parse(text: str) -> tuple[Node | None, list[Finding]]:
    return parse(source_from_text(text, "a.yaml"))


def _tree(text: str) -> Node:
    tree, findings = _parse(text)
    assert findings == [] and tree is not None
    return tree


def _mapping(text: str) -> Mapping:
    tree = _tree(text)
    assert isinstance(tree, Mapping)
    return tree


def _scalars(node: Node) -> list[Scalar]:
    if isinstance(node, Scalar):
        return [node]
    if isinstance(node, Sequence):
        return [found for item in node.items for found in _scalars(item)]
    return [found for pair in node.entries for part in pair for found in _scalars(part)]


def _plain(node: Node) -> object:
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, Sequence):
        return [_plain(item) for item in node.items]
    return {key.text: _plain(value) for key, value in node.entries}


RECORD = """\
# the whole of it
name: Weir Mild   # a beer
mash:
  - rest: 65.4 C
    "pH": '5.40'
  -   [a, "b c"]
remarks: |
  Ran slow
  at first.
note: >-
  folded
  text
empty:
long: plain text that
  goes on
ü: {x: 1, y: }
"""


def test_every_scalar_is_kept_as_written_and_in_its_place() -> None:
    found = [
        (s.text, s.style, s.position.line, s.position.column, s.position.end_column)
        for s in _scalars(_tree(RECORD))
    ]
    assert found == [
        ("name", "", 2, 1, 5),
        ("Weir Mild", "", 2, 7, 16),
        ("mash", "", 3, 1, 5),
        ("rest", "", 4, 5, 9),
        ("65.4 C", "", 4, 11, 17),
        ("pH", '"', 5, 5, 9),
        ("5.40", "'", 5, 11, 17),
        ("a", "", 6, 8, 9),
        ("b c", '"', 6, 11, 16),
        ("remarks", "", 7, 1, 8),
        ("Ran slow\nat first.\n", "|", 7, 10, 11),
        ("note", "", 10, 1, 5),
        ("folded text", ">", 10, 7, 9),
        ("empty", "", 13, 1, 6),
        ("", "", 13, 7, 7),
        ("long", "", 14, 1, 5),
        ("plain text that goes on", "", 14, 7, 22),
        ("ü", "", 16, 1, 2),
        ("x", "", 16, 5, 6),
        ("1", "", 16, 8, 9),
        ("y", "", 16, 11, 12),
        ("", "", 16, 13, 13),
    ]


def test_mappings_and_lists_have_places_too() -> None:
    tree = _mapping(RECORD)
    mash = tree.get("mash")
    assert tree.position == Position("a.yaml", 2, 1, 1)
    assert isinstance(mash, Sequence) and (mash.position.line, mash.position.column) == (4, 3)
    first, second = mash.items
    assert isinstance(first, Mapping) and (first.position.line, first.position.column) == (4, 5)
    assert isinstance(second, Sequence) and (second.position.line, second.position.column) == (6, 7)


def test_a_mapping_answers_by_key() -> None:
    tree = _mapping("name: Weir\nplace: Aldermoss\n")
    key, value = tree.key("place"), tree.get("place")
    assert key is not None and key.position.line == 2
    assert isinstance(value, Scalar) and value.text == "Aldermoss"
    assert tree.get("kit") is None and tree.key("kit") is None


def test_the_tree_cannot_be_changed() -> None:
    tree = _mapping("a: 1\n")
    with pytest.raises(AttributeError, match="immutable"):
        tree.entries = ()  # type: ignore[misc]
    assert isinstance(tree.entries, tuple) and hash(tree) == hash(_mapping("a: 1\n"))


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        # YAML 1.2.2, example 10.3 of chapter 10.3.2 (core schema).
        ("", None), ("null", None), ("~", None), ("Null", None), ("NULL", None),
        ("true", True), ("True", True), ("false", False), ("FALSE", False),
        ("0", 0), ("0o7", 7), ("0x3A", 58), ("-19", -19),
        ("0.", 0.0), ("-0.0", -0.0), (".5", 0.5), ("+12e03", 12000.0), ("-2E+05", -200000.0),
        # Not numbers for a record: there is no finite value.
        (".inf", ".inf"), ("-.Inf", "-.Inf"), ("+.INF", "+.INF"), (".NAN", ".NAN"),
        ("1e400", "1e400"), ("-1e400", "-1e400"), ("9" * 65, "9" * 65), ("1e-400", "1e-400"),
        # What YAML 1.1 would have guessed.
        ("yes", "yes"), ("no", "no"), ("on", "on"), ("off", "off"), ("y", "y"),
        ("09:20", "09:20"), ("190:20:30", "190:20:30"), ("2026-03-14", "2026-03-14"),
        ("1_000", "1_000"), ("0b11", "0b11"), ("0x", "0x"), ("0o8", "0o8"), ("1.2.3", "1.2.3"),
        ("nULL", "nULL"), ("=", "="), ("007", 7), ("+1", 1), ("1.040", 1.04), ("1e3", 1000.0),
        ("e3", "e3"), (".", "."), ("-", "-"), ("٣", "٣"), ("65.4 C", "65.4 C"),
    ],
)  # fmt: skip
def test_core_schema(written: str, meant: object) -> None:
    value = core(Scalar(written, "", Position("a", 1, 1, 1)))
    assert value == meant and type(value) is type(meant)


@pytest.mark.parametrize("style", ["'", '"', "|", ">"])
@pytest.mark.parametrize("text", ["1", "true", "null", "", "1.5"])
def test_quoted_is_text(style: str, text: str) -> None:
    assert core(Scalar(text, style, Position("a", 1, 1, 1))) == text


def _nested(levels: int) -> str:
    return "[" * levels + "x" + "]" * levels


def test_the_limit_of_depth_is_exact() -> None:
    assert _parse(_nested(DEEPEST))[1] == []
    tree, findings = _parse(_nested(DEEPEST + 1))
    assert tree is None
    assert [(f.rule, f.position.column) for f in findings] == [("too-deep", DEEPEST + 1)]


def test_the_limit_of_number_is_exact() -> None:
    # One list and its items.
    assert _parse("[" + "1," * (LARGEST - 1) + "]")[1] == []
    tree, findings = _parse("[" + "1," * LARGEST + "]")
    assert tree is None and [f.rule for f in findings] == ["too-many-values"]


@pytest.mark.parametrize("quote", ["", '"', "'"])
def test_the_limit_of_length_is_exact(quote: str) -> None:
    assert _parse(f"a: {quote}{'x' * LONGEST}{quote}\n")[1] == []
    findings = _parse(f"a: {quote}{'x' * (LONGEST + 1)}{quote}\nb: @\n")[1]
    assert [(f.rule, f.position.line) for f in findings] == [
        ("long-text", 1),
        ("start-character", 2),
    ]


def test_a_tree_comes_with_findings_that_leave_it_whole() -> None:
    tree, findings = _parse("a: 1\na: 2\nb: !!str 3\nc: &x 4\n")
    assert [f.rule for f in findings] == ["duplicate-key", "tag", "anchor"]
    assert tree is not None and _plain(tree) == {"a": "1", "b": "3", "c": "4"}
    assert "line 1" in findings[0].message


@pytest.mark.parametrize(
    "text", ["a: *x\n", "<<: {a: 1}\n", "? [a]\n: b\n", "a: 1\n---\nb: 2\n", "a: 'b\n", "", "#\n"]
)
def test_no_tree_comes_when_a_part_would_be_missing(text: str) -> None:
    tree, findings = _parse(text)
    assert tree is None and findings


def test_a_quoted_merge_sign_is_a_key() -> None:
    assert _plain(_tree('"<<": 1\n')) == {"<<": "1"}


def test_what_looks_like_a_fault_and_is_none() -> None:
    text = (
        "---\n"
        "web: https://example.org/a:b\n"
        "at: 09:20\n"
        "ratio: 2:1\n"
        "temperature: -1.5 C\n"
        "list:\n"
        "  - -5\n"
        "  - a:b\n"
        "  - '#1'\n"
        "hash: a#b\n"
        "text:\n"
        "  https://example.org\n"
        "comment: x #\n"
        "other: y ## z\n"
        'quote: it\'s "so"\n'
        "signs: 100 % & more * ! @ `\n"
        "dash: a - b\n"
    )
    assert _plain(_tree(text)) == {
        "web": "https://example.org/a:b",
        "at": "09:20",
        "ratio": "2:1",
        "temperature": "-1.5 C",
        "list": ["-5", "a:b", "#1"],
        "hash": "a#b",
        "text": "https://example.org",
        "comment": "x",
        "other": "y",
        "quote": 'it\'s "so"',
        "signs": "100 % & more * ! @ `",
        "dash": "a - b",
    }


def test_a_bomb_of_aliases_takes_no_time() -> None:
    rows = ["a0: &a0 [x]"] + [
        f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 40)
    ]
    started = time.perf_counter()
    tree, findings = _parse("\n".join(rows))
    assert tree is None and {f.rule for f in findings} == {"anchor", "alias"}
    assert time.perf_counter() - started < 1


@pytest.mark.parametrize(
    "text",
    [
        "[" * 200_000, "{" * 200_000, "- " * 100_000, "? " * 100_000, "!" * 200_000,
        "'" * 200_001, '"' * 200_001, "a:\n" * 60_000, "a: @\n" * 50_000, "- a: '\n" * 30_001,
        "&a " * 60_000, "a: &a\n" * 30_000, ": " * 100_000, "|\n" * 100_000, "%a\n" * 60_000,
        "a: [\n" * 40_000, "'\n" * 100_000,
    ],
)  # fmt: skip
def test_hostile_files_take_a_few_seconds_at_most(text: str) -> None:
    started = time.perf_counter()
    findings = _parse(text)[1]
    assert findings and len(findings) < 100
    assert time.perf_counter() - started < 10


@pytest.fixture
def plain_parser(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(yamlreader, "_PARSER", yamlreader._PlainParser)


def test_both_parsers_give_the_same_tree(monkeypatch: pytest.MonkeyPatch) -> None:
    fast = _tree(RECORD)
    monkeypatch.setattr(yamlreader, "_PARSER", yamlreader._PlainParser)
    assert _tree(RECORD) == fast


def test_without_the_c_extension_the_plain_parser_is_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    import sys

    assert yamlreader._fast_parser() is not yamlreader._PlainParser
    monkeypatch.setitem(sys.modules, "yaml._yaml", None)
    assert yamlreader._fast_parser() is yamlreader._PlainParser


NOISE = st.text(alphabet="ab0:-[]{}'\"|>#&*!%@`,?<=.\\ \n\t\u00a0é", max_size=60)


@settings(deadline=None, max_examples=500)
@given(st.one_of(st.text(max_size=80), NOISE))
@example("!\n0")
def test_any_text_gives_a_tree_or_findings(text: str) -> None:
    source = source_from_text(text, "a.yaml")
    tree, findings = parse(source)
    assert tree is not None or findings
    assert findings == sorted(findings)
    for finding in findings:
        position = finding.position
        assert 1 <= position.line <= max(len(source.lines), 1)
        assert 1 <= position.column <= len(source.line(position.line)) + 1
        assert position.column <= position.end_column <= len(source.line(position.line)) + 1
        assert finding.line == source.line(position.line)
    for scalar in _scalars(tree) if tree is not None else ():
        position = scalar.position
        written = source.line(position.line)[position.column - 1 : position.end_column - 1]
        if scalar.style == "" and "\n" not in scalar.text and len(written) == len(scalar.text):
            assert written == scalar.text


@settings(deadline=None, max_examples=300)
@given(st.one_of(st.text(max_size=80), NOISE))
def test_any_text_gives_a_tree_or_findings_with_the_plain_parser(text: str) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(yamlreader, "_PARSER", yamlreader._PlainParser)
        tree, findings = _parse(text)
    assert tree is not None or findings


# Letters, signs and breaks that are in texts; what source.py refuses is not among them.
WORDS = st.text(
    st.characters(exclude_categories=["Cc", "Cf", "Cs", "Cn", "Co", "Zl", "Zp"]), max_size=20
)
TREES = st.recursive(
    WORDS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4), st.dictionaries(WORDS.filter(bool), inner, max_size=4)
    ),
    max_leaves=12,
)


@settings(deadline=None)
@given(TREES, st.booleans(), st.booleans())
def test_what_a_library_writes_is_read_back(tree: object, flow: bool, quoted: bool) -> None:
    text = yaml.safe_dump(
        tree, default_flow_style=flow, allow_unicode=True, default_style='"' if quoted else None
    )
    read, findings = _parse(text)
    if {f.rule for f in findings} - {"comment"}:
        # A text of one word on a line of its own may look like a key without its space.
        assert {f.rule for f in findings} <= {"colon-space", "dash-space", "comment", "tag"}
        return
    assert read is not None and _plain(read) == tree
