"""Events of the YAML parser to nodes, refusing what a record has no need of.

The loader of the YAML library gives values without their places, takes words for something else
(``no``, ``1.10``) and unfolds aliases; so only its parser is used.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from typing import Any, NoReturn

import yaml
from msgspec import Struct
from yaml.parser import Parser
from yaml.reader import Reader
from yaml.scanner import Scanner

from reportgen.record import yamlfault
from reportgen.record.finding import Finding, Position
from reportgen.record.rules import finding_of
from reportgen.record.source import MOST, Source, has_strange, without_strange
from reportgen.record.yamlnode import Mapping, Node, Scalar, Sequence


class _PlainParser(Reader, Scanner, Parser):
    """PyYAML's own parser, without resolver and constructor: slower, the same events."""

    def __init__(self, text: str) -> None:
        Reader.__init__(self, text)
        Scanner.__init__(self)
        Parser.__init__(self)


def _fast_parser() -> Any:
    try:
        from yaml._yaml import CParser
    except ImportError:  # PyYAML was built without its C extension.
        return _PlainParser
    return CParser


_PARSER: Any = _fast_parser()

DEEPEST = 20
"""Levels of nesting read."""

LARGEST = 50_000
"""Mappings, lists, keys and values read in one file."""

LONGEST = 64 * 1024
"""Characters read in one scalar."""


_GLUED_COMMENT = re.compile(r"\s+#(?=[^\s#!])")
_TAG = re.compile(r"![^\s,\[\]{}]*")


class _Stop(Exception):
    """Reading further makes no sense; the finding that says why is already noted."""


class _Level(Struct):
    """A mapping or list that is still open."""

    position: Position
    mapping: bool
    items: list[Node]
    entries: list[tuple[Scalar, Node]]
    seen: dict[str, Scalar]
    key: Scalar | None = None
    repeated: bool = False


class _Reader:
    """Builds the tree from the parser's events, on a stack of its own (no recursion)."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.findings: list[Finding] = []
        self.levels: list[_Level] = []
        self.root: Node | None = None
        self.whole = True
        self.count = 0
        self.documents = 0
        self.last: Any = None
        self.said: Counter[str] = Counter()

    @property
    def open_at(self) -> Position | None:
        """Place of the innermost mapping or list that is still open."""
        return self.levels[-1].position if self.levels else None

    def refuse(
        self, rule: str, position: Position, message: str, expected: str = "",
        remedy: str | None = None,
    ) -> None:
        self.said[rule] += 1
        if self.said[rule] > MOST:
            return
        if self.said[rule] == MOST:
            message += " (there may be more like it below)"
        line = self.source.line(position.line)
        self.findings.append(
            finding_of(rule, position, message, expected, remedy, line)
        )

    def stop(self, rule: str, position: Position, message: str, *more: str) -> NoReturn:
        self.refuse(rule, position, message, *more)
        self.whole = False
        raise _Stop

    def position(self, event: Any) -> Position:
        start, end = event.start_mark, event.end_mark
        number, column = start.line + 1, start.column + 1
        if end.line == start.line:
            return Position(self.source.file, number, column, end.column + 1)
        last = len(self.source.line(number).rstrip()) + 1
        return Position(self.source.file, number, column, max(last, column))

    def take(self, event: Any) -> None:
        self.last = event
        kind = type(event)
        if kind is yaml.ScalarEvent:
            self.scalar(event)
        elif kind is yaml.MappingStartEvent or kind is yaml.SequenceStartEvent:
            self.open(event)
        elif kind is yaml.MappingEndEvent or kind is yaml.SequenceEndEvent:
            self.close()
        elif kind is yaml.AliasEvent:
            self.alias(event)
        elif kind is yaml.DocumentStartEvent:
            self.document(event)

    def document(self, event: Any) -> None:
        self.documents += 1
        position = self.position(event)
        if self.documents > 1:
            line = self.source.line(position.line)
            self.stop(
                "several-documents",
                Position(position.file, position.line, position.column, len(line.rstrip()) + 1),
                "a second document begins here",
                "one document in a file",
                "delete the line of --- or put the second part into a file of its own",
            )
        if event.version or event.tags:
            # The mark of the event is at the directives' first line.
            start = event.start_mark.line
            number = next(
                (
                    n
                    for n in range(start, len(self.source.lines))
                    if self.source.lines[n][:1] == "%"
                ),
                start,
            )
            end = len(self.source.line(number + 1).rstrip()) + 1
            self.refuse(
                "directive",
                Position(self.source.file, number + 1, 1, end),
                "a line that begins with % instructs the parser and is not read here",
                "",
                "delete the line",
            )

    def count_node(self, position: Position) -> None:
        self.count += 1
        if self.count > LARGEST:
            self.stop(
                "too-many-values",
                position,
                f"the file holds more than {LARGEST:,} keys and values",
                "",
                "check that it is the file you meant, or divide it",
            )

    def properties(self, event: Any, at: Position) -> None:
        """Refuse a tag and an anchor; the value itself can be read without them."""
        line = self.source.line(at.line)
        if event.tag is not None:
            word = _TAG.search(line, at.column - 1)
            column, end = (word.start() + 1, word.end() + 1) if word else (at.column, at.end_column)
            self.refuse(
                "tag",
                Position(at.file, at.line, column, end),
                f"`{word[0] if word else '!'}` is a YAML tag; tags are not read here",
                "a value as it is to be read",
                "delete it; text that begins with ! is put in quotes",
            )
        if event.anchor is not None:
            column = line.find("&" + event.anchor, at.column - 1) + 1 or at.column
            self.refuse(
                "anchor",
                Position(at.file, at.line, column, column + 1 + len(event.anchor)),
                f"`&{event.anchor}` is a YAML anchor; anchors are not read here",
                "a value as it is to be read",
                "delete it; text that begins with & is put in quotes",
            )

    def behind_properties(self, event: Any, at: Position) -> Position:
        """Return where a plain value of one line stands itself; the marks begin at its tag."""
        line, end = event.end_mark.line + 1, event.end_mark.column
        start = end - len(event.value)
        if event.style or start < 0 or self.source.line(line)[start:end] != event.value:
            return at
        return Position(at.file, line, start + 1, end + 1)

    def alias(self, event: Any) -> None:
        position = self.position(event)
        self.whole = False
        self.refuse(
            "alias",
            position,
            f"`*{event.anchor}` is a YAML alias; aliases are not read here",
            "the value itself",
            "write the value again; text that begins with * is put in quotes",
        )
        self.count_node(position)
        self.place(Scalar("", "", position))

    def scalar(self, event: Any) -> None:
        position = self.position(event)
        self.count_node(position)
        if event.tag is not None or event.anchor is not None:
            self.properties(event, position)
            position = self.behind_properties(event, position)
        if not event.style and self.worth_a_look(event):
            self.check_plain(event)
        text = event.value
        if event.style == '"' and has_strange(text):
            self.refuse(
                "control-character",
                position,
                "an escape in the quotes stands for a character that cannot be seen or turns "
                "the text",
                "",
                "delete the escape",
            )
            text = without_strange(text)
        if len(text) > LONGEST:
            self.refuse(
                "long-text",
                position,
                f"the text has {len(text):,} characters",
                f"at most {LONGEST:,} characters",
                "keep long texts in a file beside the record",
            )
            text = text[:LONGEST]
        if not text and not event.style:
            position = self.after_colon(position)
        # The plain parser gives None for a plain scalar, the C parser ''.
        self.place(Scalar(text, event.style or "", position))

    def open(self, event: Any) -> None:
        position = self.position(event)
        self.count_node(position)
        if event.tag is not None or event.anchor is not None:
            self.properties(event, position)
        if len(self.levels) >= DEEPEST:
            self.stop(
                "too-deep",
                position,
                f"the nesting is deeper than {DEEPEST} levels",
                "",
                "flatten it",
            )
        above = self.levels[-1] if self.levels else None
        mapping = isinstance(event, yaml.MappingStartEvent)
        if above is not None and above.mapping and above.key is None:
            self.whole = False
            shape = "a mapping" if mapping else "a list"
            self.refuse(
                "key-shape",
                position,
                f"{shape} stands where a key is wanted",
                "a word followed by a colon",
                "text that begins with { or [ is put in quotes",
            )
        self.levels.append(_Level(position, mapping, [], [], {}))

    def close(self) -> None:
        level = self.levels.pop()
        if level.mapping:
            self.place(Mapping(tuple(level.entries), level.position))
        else:
            self.place(Sequence(tuple(level.items), level.position))

    def place(self, node: Node) -> None:
        """Put a finished node where it belongs."""
        if not self.levels:
            self.root = node
            return
        level = self.levels[-1]
        if not level.mapping:
            level.items.append(node)
        elif level.key is None:
            level.key = self.as_key(level, node)
        else:
            if not level.repeated:
                level.entries.append((level.key, node))
            level.key = None
            level.repeated = False

    def after_colon(self, position: Position) -> Position:
        """Return the place of an empty value: the parsers differ in where they put it."""
        key = self.levels[-1].key if self.levels else None
        if key is None or key.position.line != position.line:
            return position
        line = self.source.line(position.line)
        column = line.find(":", key.position.end_column - 1) + 2
        if column < 2 or column > position.column:
            return position
        return Position(position.file, position.line, column, column)

    def worth_a_look(self, event: Any) -> bool:
        """Tell whether an unquoted text is other than a key or a value on the line of its key."""
        first, last = event.start_mark.line, event.end_mark.line
        return first != last or "#" in self.source.line(last + 1) or self.value_on_own_line(event)

    def check_plain(self, event: Any) -> None:
        """Say what an unquoted text lost, or took in, that was not meant so."""
        first, last = event.start_mark.line + 1, event.end_mark.line + 1
        if event.value and self.value_on_own_line(event):
            self.check_glued(first, last)
        for number in range(first + 1, last + 1) if event.value else ():
            line = self.source.line(number)
            lead = len(line) - len(line.lstrip(" "))
            if line[lead : lead + 2] == "- ":
                self.refuse(
                    "indent",
                    Position(self.source.file, number, lead + 1, lead + 2),
                    f"this line is read as part of the text that began on line {first}, "
                    "not as an item of a list",
                    "items of a list in line with each other",
                    "line the dash up with the other items, or take away the value above the list",
                )
        line = self.source.line(last)
        rest = _GLUED_COMMENT.match(line, event.end_mark.column)
        if rest is not None:
            self.findings.append(
                finding_of(
                    "comment",
                    Position(self.source.file, last, rest.end(), len(line.rstrip()) + 1),
                    "from the # on this is a comment and is not read",
                    line=line,
                )
            )

    def check_glued(self, first: int, last: int) -> None:
        """Refuse lines of ``key:value`` or ``-item``, which YAML reads as one text."""
        lines = [(number, self.source.line(number)) for number in range(first, last + 1)]
        keys = [(n, match) for n, line in lines if (match := yamlfault.GLUED.match(line))]
        dashes = [(n, match) for n, line in lines if (match := yamlfault.GLUED_DASH.match(line))]
        if len(keys) == len(lines):
            for number, match in keys:
                self.refuse_fault(yamlfault.glued_key(number, match))
        elif len(dashes) == len(lines):
            for number, match in dashes:
                self.refuse_fault(yamlfault.glued_dash(number, match))

    def refuse_fault(self, fault: yamlfault.Fault) -> None:
        position = Position(self.source.file, fault.line, fault.column, fault.end)
        self.refuse(fault.rule, position, fault.message, fault.expected, fault.remedy)

    def value_on_own_line(self, event: Any) -> bool:
        if not self.levels:
            return True
        level = self.levels[-1]
        if not level.mapping or level.key is None:
            return False
        return bool(level.key.position.line != event.start_mark.line + 1)

    def as_key(self, level: _Level, node: Node) -> Scalar:
        if not isinstance(node, Scalar):
            # Refused when it was opened; a placeholder keeps keys and values in step.
            return Scalar("", "", node.position)
        first = level.seen.setdefault(node.text, node)
        if first is not node and node.text:
            level.repeated = True
            self.refuse(
                "duplicate-key",
                node.position,
                f"`{node.text}` stands here a second time; the first is on line "
                f"{first.position.line}",
                "each key once",
                "delete one of the two, or correct its name",
            )
        if node.text == "<<" and node.style == "":
            self.whole = False
            self.refuse(
                "merge-key",
                node.position,
                "`<<` merges another mapping into this one; that is not read here",
                "the keys and values themselves",
                "write them again",
            )
        elif node.text == "" and not level.repeated and node.style == "":
            self.whole = False
            self.refuse(
                "key-shape",
                node.position,
                "there is no key before the colon",
                "a word followed by a colon",
                "write the key, or put the text in quotes",
            )
        return node


def read(source: Source, text: str) -> tuple[Node | None, list[Finding], int]:
    """Read one text; the third value is the line of a fault of syntax, 0 when there is none."""
    reader = _Reader(source)
    broken_at = 0
    try:
        for event in _events(text):
            reader.take(event)
    except _Stop:
        pass
    except yaml.YAMLError as fault:
        finding, broken_at = yamlfault.explain(fault, source, reader.last, reader.open_at)
        reader.findings.append(finding)
        reader.whole = False
    if reader.root is None and reader.whole and not reader.findings:
        house = source.file in ("brewery.yaml", "stock.yaml")
        reader.refuse(
            "empty-file",
            Position(source.file, 1, 1, 1),
            "nothing is written in this file",
            "a line `format: 1`, then the fields of the file",
            f"copy the {source.file} that `reportgen start FOLDER` writes and fill it in"
            if house
            else "delete it, then begin the record with `reportgen new ID`",
        )
    return (reader.root if reader.whole else None), reader.findings, broken_at


def _events(text: str) -> Iterator[Any]:
    parser = _PARSER(text)
    try:
        while parser.check_event():
            yield parser.get_event()
    finally:
        parser.dispose()
