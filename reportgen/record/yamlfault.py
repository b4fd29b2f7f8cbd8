"""What the YAML parser says about a fault of syntax, in plain words and at the right place.

The parser names the place where it could not go on, which is often not the place of the fault;
the line itself tells more. Each case below is a mistake that people make.
"""

from __future__ import annotations

import re
from typing import Any

import yaml
from msgspec import Struct

from reportgen.record.finding import Finding, Position
from reportgen.record.rules import finding_of
from reportgen.record.source import Source

_KEY = re.compile(r"^(?P<lead>\s*(?:- +)*)(?P<key>[^\s#'\"\[\]{}&*!|>%@`,][^#'\"]*?):(?: |$)")
GLUED = re.compile(r"^\s*(?:- +)*(?P<key>[A-Za-z_][\w-]*):(?!//)(?P<value>[^\s:].*)$")
"""A key and its value written without a space between; an address of the web is none."""

_ODD_SPACE = re.compile(r"^\s*(?:- +)*(?P<key>[A-Za-z_][\w-]*):(?P<space>[^\S \t])")
GLUED_DASH = re.compile(r"^\s*-(?=[^\s\d.-])")
"""A list item without a space after its dash; a negative number is none."""

_BLOCK = re.compile(r":\s+[|>][-+0-9]*\s*(#.*)?$")
_STARTS = "%@`|>"
_QUOTE_REMEDY = "put the whole text in quotes"
_LONG_TEXT = "or write | after the colon and the text on the lines below, indented"


class Fault(Struct, frozen=True):
    """What is said, and where (line and columns counted from 1)."""

    rule: str
    line: int
    column: int
    end: int
    message: str
    expected: str = ""
    remedy: str | None = None


def glued_key(number: int, match: re.Match[str]) -> Fault:
    """Return what is said of a match of GLUED on a line."""
    column = match.end("key") + 1
    return Fault(
        "colon-space",
        number,
        column,
        column + 1,
        f"there is no space after the colon of `{match['key']}`",
        f"{match['key']}: {match['value'].strip()}",
    )


def glued_dash(number: int, match: re.Match[str]) -> Fault:
    """Return what is said of a match of GLUED_DASH on a line."""
    return Fault(
        "dash-space",
        number,
        match.end(),
        match.end() + 1,
        "there is no space after the dash",
        "a dash and a space before each item of a list",
    )


def explain(
    error: yaml.YAMLError, source: Source, last: Any, open_at: Position | None
) -> tuple[Finding, int]:
    """Return the finding for a parser's error, and the line below which to look for more.

    ``last`` is the last event before the error, ``open_at`` the place of the innermost mapping or
    list that was open then.
    """
    fault, reached = _fault(error, source, last, open_at)
    text = source.line(fault.line)
    end = max(min(fault.end, len(text) + 1), fault.column)
    position = Position(source.file, fault.line, fault.column, end)
    finding = finding_of(
        fault.rule, position, fault.message, fault.expected, fault.remedy, text
    )
    # What was never closed swallowed the rest of the file: look on right below where it opened.
    open_end = fault.rule in ("open-quote", "bracket")
    return finding, fault.line if open_end else max(reached, fault.line)


def _fault(
    error: yaml.YAMLError, source: Source, last: Any, open_at: Position | None
) -> tuple[Fault, int]:
    if not isinstance(error, yaml.MarkedYAMLError) or error.problem_mark is None:
        return Fault("yaml-syntax", 1, 1, 1, f"this is not YAML: {_first_line(error)}"), 1
    mark = error.problem_mark
    line, column = mark.line + 1, mark.column + 1
    if line > len(source.lines):
        line = max(len(source.lines), 1)
        column = len(source.line(line)) + 1
    context = error.context_mark
    problem = f"{error.context or ''}: {error.problem or ''}".lower()
    opened = (context.line + 1, context.column + 1) if context is not None else (line, column)
    case = _Case(source, problem, line, column, opened, last, open_at)
    return case.fault(), line


def _first_line(error: yaml.YAMLError) -> str:
    return (str(error).splitlines() or ["unreadable"])[0]


class _Case(Struct, frozen=True):
    source: Source
    problem: str
    line: int
    column: int
    opened: tuple[int, int]
    last: Any
    open_at: Position | None

    def fault(self) -> Fault:
        return (
            self._directive()
            or self._document()
            or self._tag_or_anchor()
            or self._open_quote()
            or self._escape()
            or self._placeholder()
            or self._start_character()
            or self._tab()
            or self._block_header()
            or self._bracket()
            or self._after_quote()
            or self._after_bracket()
            or self._after_alias()
            or self._short_block_text()
            or self._glued()
            or self._list_on_line()
            or self._colon()
            or self._no_colon()
            or self._no_key()
            or self._indent()
            or self._left_of_root()
            or self._other()
        )

    @property
    def text(self) -> str:
        return self.source.line(self.line)

    def _here(
        self, rule: str, message: str, expected: str = "", remedy: str | None = None
    ) -> Fault:
        return Fault(rule, self.line, self.column, self.column + 1, message, expected, remedy)

    def _directive(self) -> Fault | None:
        number = self.line if self.text.startswith("%") else self.opened[0]
        text = self.source.line(number)
        if "directive" not in self.problem and "document start" not in self.problem:
            return None
        if not text.startswith("%"):
            return None
        return Fault(
            "directive",
            number,
            1,
            len(text.rstrip()) + 1,
            "a line that begins with % instructs the parser and is not read here",
        )

    def _document(self) -> Fault | None:
        if "document start" in self.problem and self._marked(self.line - 1):
            return self._here(
                "several-documents",
                "there is text after the end of the document",
                "one document in a file",
                "delete the line of ... or put the second part into a file of its own",
            )
        if "document indicator" in self.problem or "document separator" in self.problem:
            return self._unclosed(*self.opened)
        return None

    def _left_of_root(self) -> Fault | None:
        if "document start" not in self.problem or self.column - 1 != _indent(self.text):
            return None
        return self._uneven()

    def _marked(self, number: int) -> bool:
        """Tell whether the last line with anything on it, up to a line, ends a document."""
        while number > 0 and not self.source.line(number).strip():
            number -= 1
        return self.source.line(number).startswith("...")

    def _tag_or_anchor(self) -> Fault | None:
        line, column = self.opened
        text = self.source.line(line)
        sign = text[column - 1 : column]
        if "tag" in self.problem and "start any token" not in self.problem:
            match = re.compile(r"![^\s,\[\]{}]*").search(text, column - 1)
            if match:
                column, end = match.start() + 1, match.end() + 1
                return Fault(
                    "tag",
                    line,
                    column,
                    end,
                    f"`{match[0]}` is a YAML tag; tags are not read here",
                    "a value as it is to be read",
                )
        if "anchor" in self.problem or "alias" in self.problem:
            if sign not in ("&", "*"):
                line, column = self.line, self.column
            return self._first_sign(line, column, sign or "*")
        return None

    def _first_sign(self, line: int, column: int, sign: str) -> Fault:
        return Fault(
            "start-character",
            line,
            column,
            column + 1,
            f"unquoted text cannot begin with {sign}",
            "a letter, a digit, or quotes",
            f"{_QUOTE_REMEDY}, {_LONG_TEXT}",
        )

    def _open_quote(self) -> Fault | None:
        if "quoted scalar" in self.problem and "end of stream" in self.problem:
            return self._unclosed(*self.opened)
        return None

    def _unclosed(self, line: int, column: int) -> Fault:
        text = self.source.line(line)
        quote = text[column - 1 : column]
        doubled = " (inside single quotes an apostrophe is written twice: '')" * (quote == "'")
        return Fault(
            "open-quote",
            line,
            column,
            column + 1,
            "the quotes that open here are never closed",
            f"a closing {quote} at the end of the text",
            f"close the quotes{doubled}",
        )

    def _escape(self) -> Fault | None:
        if not re.search("escape|hexdecimal|hexadecimal", self.problem):
            return None
        column = self.text.rfind("\\", 0, self.column) + 1 or self.column
        return Fault(
            "escape",
            self.line,
            column,
            column + 2,
            f"`{self.text[column - 1 : column + 1]}` cannot be written this way",
            "in double quotes a backslash begins a special character, such as \\n",
        )

    def _block_header(self) -> Fault | None:
        if "block scalar" not in self.problem:
            return None
        return self._here(
            "block-text",
            "the text begins on the line of | or >",
            "nothing after the | or >",
            "begin the text on the next line, indented",
        )

    def _placeholder(self) -> Fault | None:
        """Answer for a sign in place of a value that is not known."""
        sign = self.text[self.column - 1 :].partition("#")[0].strip(" }]")
        if sign not in ("?", "-") or not re.search("mapping keys|sequence entries", self.problem):
            return None
        return self._here(
            "start-character",
            f"`{sign}` alone is not a value",
            "a value",
            "write NOT RECORDED if it was not read, or delete the line",
        )

    def _start_character(self) -> Fault | None:
        if "start any token" not in self.problem:
            return None
        sign = self.text[self.column - 1 : self.column]
        if sign in _STARTS and sign:
            return self._first_sign(self.line, self.column, sign)
        return None

    def _tab(self) -> Fault | None:
        at_tab = self.text[self.column - 1 : self.column] == "\t"
        if not (at_tab or "tab character" in self.problem or "'\\t'" in self.problem):
            return None
        return self._here("tab", "a tab stands where a space is wanted", "spaces only")

    def _bracket(self) -> Fault | None:
        if "flow" not in self.problem or self.open_at is None:
            return None
        line, column = self.open_at.line, self.open_at.column
        sign = self.source.line(line)[column - 1 : column]
        closing = {"[": "]", "{": "}"}.get(sign)
        if closing is None:
            return None
        return Fault(
            "bracket",
            line,
            column,
            column + 1,
            f"the {sign} that opens here is not closed, or a comma is missing",
            f"{sign}one, two{closing}" if sign == "[" else "{key: value, key: value}",
            f"close it with {closing}; text that begins with {sign} is put in quotes",
        )

    def _after_bracket(self) -> Fault | None:
        if not isinstance(self.last, yaml.CollectionEndEvent):
            return None
        end = self.last.end_mark
        if end is None or end.line + 1 != self.line or end.column == 0:
            return None
        sign = self.text[end.column - 1]
        rest = self.text[end.column : self.column]
        if sign not in "]}" or rest.strip() == "" or self.text[self.column - 1] in "]},":
            return None
        return self._here(
            "after-bracket",
            f"there is text after the closing {sign}",
        )

    def _after_quote(self) -> Fault | None:
        """Text after a closing quote, or a quote that ended lines below where it should have."""
        event = self.last
        if not isinstance(event, yaml.ScalarEvent) or event.style not in ("'", '"'):
            return None
        start, end = event.start_mark, event.end_mark
        assert start is not None and end is not None
        if end.line != start.line and end.line + 1 == self.line:
            return self._unclosed(start.line + 1, start.column + 1)
        if end.line + 1 != self.line or self.text[end.column : self.column - 1].strip():
            return None
        if self.text[self.column - 1 : self.column] in ("", ":"):
            return None
        inside = (
            "write the apostrophe twice ('') or use double quotes"
            if event.style == "'"
            else 'write \\" for a quote within the text, or use single quotes'
        )
        return self._here(
            "after-quote",
            "there is text after the closing quote",
            "the whole value in quotes, or none of it",
            f"put the closing quote at the end; {inside}",
        )

    def _after_alias(self) -> Fault | None:
        """Text that begins with a star; the alias the parser saw in it is already answered."""
        if not isinstance(self.last, yaml.AliasEvent) or self.last.start_mark is None:
            return None
        start = self.last.start_mark
        if start.line + 1 != self.line:
            return None
        return Fault(
            "alias",
            self.line,
            start.column + 1,
            start.column + 2,
            "unquoted text cannot begin with *",
            "a letter, a digit, or quotes",
        )

    def _above(self, number: int) -> int:
        """Return the last line above one that has anything on it but a comment; 0 for none."""
        number -= 1
        while number > 0:
            text = self.source.line(number).strip()
            if text and not text.startswith("#"):
                return number
            number -= 1
        return 0

    def _short_block_text(self) -> Fault | None:
        for number in dict.fromkeys((self.opened[0], self.line)):
            above = self._above(number)
            text = self.source.line(number)
            if not above or not _BLOCK.search(self.source.line(above)):
                continue
            lead = _indent(self.source.line(above))
            if _indent(text) > lead or _KEY.match(text):
                continue
            return Fault(
                "block-text",
                number,
                _indent(text) + 1,
                len(text.rstrip()) + 1,
                "the text under | or > is not indented",
                f"at least {lead + 2} spaces before it",
                "indent every line of the text",
            )
        return None

    def _glued(self) -> Fault | None:
        """A space left out after a colon or a dash, here or on the line above."""
        for number in dict.fromkeys((self.line, self.opened[0], self._above(self.line))):
            text = self.source.line(number)
            if match := GLUED.match(text):
                return glued_key(number, match)
            if match := _ODD_SPACE.match(text):
                column = match.start("space") + 1
                return Fault(
                    "colon-space",
                    number,
                    column,
                    column + 1,
                    f"the space after the colon of `{match['key']}` is a special one "
                    f"(U+{ord(match['space']):04X})",
                    "a plain space",
                    "delete it and type a space",
                )
            if match := GLUED_DASH.match(text):
                return glued_dash(number, match)
        return None

    def _list_on_line(self) -> Fault | None:
        if "sequence entries" not in self.problem:
            return None
        return self._here(
            "list-place",
            "a list cannot begin here",
            "each item on a line of its own, below the key",
        )

    def _colon(self) -> Fault | None:
        if not re.search("mapping values|unexpected ':'", self.problem):
            return None
        key = _KEY.match(self.text)
        first = key is not None and key.end("key") + 1 == self.column
        if first and self._above(self.line):
            return self._too_deep_line()
        return self._here(
            "colon-in-text",
            "a colon followed by a space stands inside unquoted text",
        )

    def _too_deep_line(self) -> Fault:
        """A key where no key can stand: the line above has a value, or is text without a key."""
        above = self._above(self.line)
        lead = _indent(self.text)
        begun = above
        while begun and not _KEY.match(self.source.line(begun)):
            begun = self._above(begun)
        end = len(self.text.rstrip()) + 1
        if begun != above and (not begun or _indent(self.source.line(begun)) >= lead):
            return self._line_without_colon(above)
        if begun != above:
            return Fault(
                "colon-in-text",
                self.line,
                lead + 1,
                end,
                f"this line goes on with the unquoted text begun on line {begun}, "
                "so it can hold no key",
                "",
                "move the key to the left to where it belongs, or begin the text with |",
            )
        wanted = _indent(self.source.line(above))
        if lead <= wanted:
            return self._uneven()
        return Fault(
            "indent",
            self.line,
            1,
            lead + 1,
            f"the line is indented below line {above}, which already has a value",
            f"{_spaces(wanted)} before it, as on line {above}",
            "move it to the left, or take the value off the line above",
        )

    def _line_without_colon(self, number: int) -> Fault:
        text = self.source.line(number)
        wide = "\uff1a" in text
        return Fault(
            "no-colon",
            number,
            _indent(text) + 1,
            len(text.rstrip()) + 1,
            "the colon on this line is a wide one (U+FF1A)" if wide else "the line has no colon",
            "a key, a colon, a space and a value",
            "type a plain colon and a space" if wide else None,
        )

    def _no_colon(self) -> Fault | None:
        if "could not find expected ':'" not in self.problem:
            return None
        return self._line_without_colon(self.opened[0])

    def _no_key(self) -> Fault | None:
        if not self.text.lstrip().startswith(":"):
            return None
        column = _indent(self.text) + 1
        return Fault(
            "key-shape",
            self.line,
            column,
            column + 1,
            "there is no key before the colon",
            "a word followed by a colon",
        )

    def _indent(self) -> Fault | None:
        if not re.search("block (mapping|collection|sequence)", self.problem):
            return None
        if self.column - 1 != _indent(self.text):
            return None
        if self.text.lstrip().startswith(("]", "}", ",")):
            return None
        return self._uneven()

    def _uneven(self) -> Fault:
        lead = _indent(self.text)
        levels = self._levels()
        fitting = ", ".join(f"{n} (line {levels[n]})" for n in sorted(levels) if n != lead)
        in_list = self.text.lstrip().startswith("- ")
        remedy = None
        if lead in levels:
            other = self.source.line(levels[lead])[lead:].startswith("- ")
            if in_list and not other:
                message = "a list item stands among keys"
                remedy = "put the list under a key that has no value, and line its items up"
            elif other and not in_list:
                message = "a key stands among the items of a list"
                remedy = "indent it to belong to the item above, or move it left of the list"
            else:
                message = "the line does not belong where it stands"
        else:
            message = "the line does not line up with any line above it"
        return Fault(
            "indent",
            self.line,
            1 if lead else self.column,
            lead + 1 if lead else self.column + 1,
            message,
            f"as many spaces as one of: {fitting}" if fitting else "",
            remedy,
        )

    def _levels(self) -> dict[int, int]:
        """Return the indents that a line here could have, each with the line that set it."""
        levels: dict[int, int] = {}
        least = 10**9
        number = self._above(self.line)
        while number and least > 0:
            # A dash opens a level where it stands and another where the text after it stands.
            for lead in reversed(_starts(self.source.line(number))):
                if lead < least:
                    levels[lead] = number
                    least = lead
            number = self._above(number)
        return levels

    def _other(self) -> Fault:
        said = self.problem.split(": ", 1)[-1].strip() or "unreadable"
        sign = self.text[self.column - 1 : self.column]
        if sign and sign in "]},[{":
            return self._here(
                "bracket",
                f"`{sign}` does not belong here",
                "",
                f"delete it; text that has {sign} at its beginning is put in quotes",
            )
        return self._here(
            "yaml-syntax",
            f"this cannot be read as YAML ({said})",
        )


def _indent(text: str) -> int:
    return len(text) - len(text.lstrip(" "))


def _starts(text: str) -> list[int]:
    """Return the indent of a line, and of what follows each dash at its beginning."""
    starts = [_indent(text)]
    while match := re.compile(r"- +(?=\S)").match(text, starts[-1]):
        starts.append(match.end())
    return starts


def _spaces(count: int) -> str:
    return "no spaces" if count == 0 else f"{count} space" + "s" * (count != 1)
