"""A finding as a person and as a program see it."""

from __future__ import annotations

import json
import random
import re
import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.archive.published import FINDINGS_FORMAT, finding_line
from reportgen.commandline import SEVERITIES
from reportgen.record.finding import Finding, Position, Severity, render_text


def _finding(
    line: str, column: int, end: int, message: str = "this is wrong", **more: str
) -> Finding:
    return Finding(
        more.get("rule", "a-rule"),
        Severity.ERROR,
        Position(more.get("file", "2026/2026-07.yaml"), 3, column, end),
        message,
        more.get("expected", ""),
        more.get("remedy", ""),
        line,
    )


def _marked(rendered: str) -> tuple[str, str]:
    """Return the shown line and the mark below it."""
    rows = rendered.split("\n")
    return rows[1], rows[2]


def _columns(text: str) -> int:
    return sum(
        0
        if unicodedata.combining(c) or unicodedata.category(c) in ("Mn", "Me", "Cf")
        else 2
        if unicodedata.east_asian_width(c) in "WF"
        else 1
        for c in text
    )


def _under(rendered: str) -> str:
    """Return what stands above the mark, column by column as a terminal shows it."""
    line, mark = _marked(rendered)
    first, last = mark.index("^"), mark.rindex("^")
    shown, at = "", 0
    for character in line:
        width = _columns(character)
        if first <= at <= last and (width or shown):
            shown += character
        at += width
    return shown


def test_the_whole_of_a_finding() -> None:
    finding = _finding(
        "  mash_ph: 542", 12, 15, "`542` is not a pH", expected="0 to 14", remedy="write 5.42"
    )
    assert render_text(finding) == (
        "2026/2026-07.yaml:3:12: error: `542` is not a pH [a-rule]\n"
        "      mash_ph: 542\n"
        "               ^^^\n"
        "  expected: 0 to 14\n"
        "  fix: write 5.42"
    )


def test_without_line_expectation_and_remedy_there_is_one_row() -> None:
    assert "\n" not in render_text(_finding("", 1, 1))


@pytest.mark.parametrize(
    ("line", "column", "end", "above"),
    [
        ("a: bc", 4, 6, "bc"),
        ("a:\tbc", 4, 6, "bc"),
        ("麦芽: bc", 5, 7, "bc"),
        ("麦芽: bc", 1, 3, "麦芽"),
        ("e\u0301: bc", 5, 7, "bc"),
        ("🍺: bc", 4, 6, "bc"),
        ("a\u202e: bc", 5, 7, "bc"),
        ("a: \x1b[31m", 4, 5, "\\u001b"),
        ("a\u00a0: bc", 5, 7, "bc"),
    ],
)
def test_the_mark_stands_under_what_it_means(line: str, column: int, end: int, above: str) -> None:
    assert _under(render_text(_finding(line, column, end))) == above


def test_the_end_of_a_line_can_be_marked() -> None:
    line, mark = _marked(render_text(_finding("a:", 3, 3)))
    assert mark.index("^") == len(line) == 6


@pytest.mark.parametrize("width", [40, 60, 100, None])
@pytest.mark.parametrize("at", [0, 10, 250, 490])
def test_a_long_line_is_cut_around_the_mark(width: int | None, at: int) -> None:
    line = "x" * at + "HERE" + "y" * (500 - at)
    rendered = render_text(_finding(line, at + 1, at + 5), width=width)
    shown, mark = _marked(rendered)
    assert _under(rendered) == "HERE"
    assert len(shown) <= (width or 100)
    assert len(mark) <= len(shown)
    assert ("…" in shown[:5]) == (at > 10)


def test_a_long_line_of_wide_letters_keeps_within_the_width() -> None:
    line = "麦" * 200 + "A" + "麦" * 200
    rendered = render_text(_finding(line, 201, 202), width=50)
    assert _under(rendered) == "A"
    assert _columns(_marked(rendered)[0]) <= 50


@pytest.mark.parametrize(
    "control", ["\x1b", "\x07", "\r", "\n", "\u202e", "\u2066", "\x9b", "\x00"]
)
def test_nothing_in_a_record_can_steer_the_terminal(control: str) -> None:
    text = f"a{control}b"
    finding = _finding(
        text, 1, 2, f"`{text}` is wrong", expected=text, remedy=text, file=f"{text}.yaml"
    )
    rows = render_text(finding).split("\n")
    assert len(rows) == 5
    assert all(control not in row for row in rows)
    assert f"\\u{ord(control):04x}" in rows[0]


def test_colour_adds_codes_and_nothing_else() -> None:
    finding = _finding("a: bc", 4, 6, expected="x", remedy="y")
    coloured = render_text(finding, colour=True)
    assert coloured != render_text(finding)
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == render_text(finding)
    assert "\x1b" not in render_text(finding)


def test_json_has_the_agreed_keys_on_one_line() -> None:
    finding = _finding("a: ü\u2028", 4, 5, "`ü`\u2028 is\nwrong", expected="x", remedy="y")
    rendered = finding_line(finding)
    assert len(rendered.splitlines()) == 1 and rendered.isascii()
    assert json.loads(rendered) == {
        "format": FINDINGS_FORMAT,
        "file": "2026/2026-07.yaml",
        "line": 3,
        "column": 4,
        "end_line": 3,
        "end_column": 5,
        "rule": "a-rule",
        "severity": "error",
        "message": "`ü`\u2028 is\nwrong",
        "expected": "x",
        "remedy": "y",
    }


def test_severities_are_ordered() -> None:
    rising = [Severity.NOTE, Severity.MINOR, Severity.MAJOR, Severity.CRITICAL, Severity.ERROR]
    assert sorted(reversed(rising)) == rising
    assert [s.value for s in rising] == ["note", "minor", "major", "critical", "error"]
    assert Severity.MAJOR >= Severity.MAJOR > Severity.MINOR <= Severity.MINOR < Severity.MAJOR
    assert max(rising) is Severity.ERROR


def test_findings_sort_by_file_line_column_rule() -> None:
    places = [
        ("a", 1, 2, "z"), ("a", 2, 1, "a"), ("a", 2, 10, "a"), ("a", 10, 1, "b"), ("b", 1, 1, "a"),
        ("b", 1, 1, "b"),
    ]  # fmt: skip
    findings = [
        Finding(rule, Severity.NOTE, Position(file, line, column, column), "")
        for file, line, column, rule in places
    ]
    shuffled = findings[:]
    random.Random(1).shuffle(shuffled)
    assert sorted(shuffled) == findings


@settings(deadline=None)
@given(st.text(max_size=300), st.integers(-5, 400), st.integers(-5, 400), st.integers(1, 200))
def test_any_line_can_be_rendered_within_the_width(
    line: str, column: int, end: int, width: int
) -> None:
    rows = render_text(_finding(line, column, end), width=width).split("\n")
    assert len(rows) in (1, 3)
    if len(rows) == 3:
        # One letter may be a long escape, which is never cut.
        assert _columns(rows[1]) <= max(width, 14) + 10
        assert set(rows[2]) <= {" ", "^"} and "^" in rows[2]


def test_what_can_be_typed_are_the_severities_there_are() -> None:
    """The command line is read before the tool is imported, so it has a list of its own."""
    assert tuple(Severity) == SEVERITIES
