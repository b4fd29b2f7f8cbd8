"""One pass over a file: binds it to the typed record and finds what its fields do not allow.

The declarations of the model are all that it goes by; the JSON Schema in ``schema/``, for editors
and other programs, is written from the same ones, and a test holds the two to each other with a
validator of JSON Schema. Such a validator is not run here: it knows neither the place in the file
nor what to do, and whatever it has read must be read once more to be bound.

What is required and cannot be read makes its whole entry unreadable (None); what is optional is
left out, so that the rest can still be checked.
"""

from __future__ import annotations

import functools
import itertools
import math
import re
import typing
from collections.abc import Collection, Iterator
from collections.abc import Mapping as MappingOf
from typing import Any, NamedTuple, TypeVar

from reportgen.record.describe import MISSING, NAME, bare, hints
from reportgen.record.fields import About, Entry
from reportgen.record.finding import Finding, Position
from reportgen.record.kinds import out_of_bounds, read_quantity
from reportgen.record.rules import finding_of
from reportgen.record.source import Source
from reportgen.record.suggest import did_you_mean, nearest
from reportgen.record.unit_table import WITH_SAMPLE
from reportgen.record.units import (
    Quantity,
    UnitError,
    parse_clock,
    parse_date,
    parse_moment,
    without_comma,
)
from reportgen.record.values import (
    NOT_DONE,
    NOT_RECORDED,
    Clock,
    Day,
    Initials,
    Moment,
    Reading,
    State,
    Text,
    When,
)
from reportgen.record.yamlnode import below
from reportgen.record.yamltree import Mapping, Node, Scalar, Sequence

E = TypeVar("E", bound=Entry)

FORMAT = "1"
"""The format of files that this version reads. See DEVELOPERS.md for what is promised of it."""

WHERE = {
    "malts": "the malts of stock.yaml",
    "sugars": "the sugars of stock.yaml",
    "hops": "the hops of stock.yaml",
    "yeasts": "the yeasts of stock.yaml",
    "salts": "the salts of stock.yaml",
    "acids": "the acids of stock.yaml",
    "finings": "the finings of stock.yaml",
    "items": "what stock.yaml lists",
    "addable": "what stock.yaml lists and the liquors of brewery.yaml",
    "kits": "the kits of brewery.yaml",
    "instruments": "the instruments of brewery.yaml",
    "liquors": "the liquors of brewery.yaml",
    "containers": "the containers of brewery.yaml",
    "batches": "the batches of this archive",
    "checks": "the checks",
}
"""What each table of names is called in a message."""

LONGEST_SHOWN = 40
"""Letters of a text that is written out again in a remedy."""

WATER = {"water", "liquor", "brewingwater", "brewingliquor", "hotwater", "hotliquor", "coldwater",
         "boilingwater", "mashliquor", "spargeliquor"}  # fmt: skip
"""What liquor is called by one who does not say which."""

Tables = MappingOf[str, Collection[str]]
"""The names that are known, by table. A table that is absent is not looked into."""


class Slot(NamedTuple):
    """A field of a mapping: its name in Python, its key, its type without None, what is declared.

    ``always``: required even where a mapping states only what differs from another.
    """

    name: str
    key: str
    hint: Any
    said: About
    always: bool = False


_SLOTS: dict[type[Entry], tuple[Slot, ...]] = {}


def slots(cls: type[Entry]) -> tuple[Slot, ...]:
    """Return the fields of a model class with their resolved types; computed once a class."""
    if cls not in _SLOTS:
        _SLOTS[cls] = tuple(
            Slot(name, field.key, bare(hints(cls)[name]), field.about)
            for name, field in cls.fields.items()
        )
    return _SLOTS[cls]


def _slot(name: str, hint: Any, key: str = "", **said: Any) -> Slot:
    declared = About("", "", (), **said)
    return Slot(name, key or name, hint, declared, always=declared.required)


@functools.cache
def _of_reading(kind: str) -> tuple[Slot, ...]:
    """Return what a reading that is written with its circumstances may say."""
    sample = _slot("sample_temperature", Quantity, "sample", kind="temperature")
    return (
        _slot("value", Quantity, "read", kind=kind, required=True),
        _slot("at", When),
        *((sample,) if kind in WITH_SAMPLE else ()),
        _slot("again", Quantity, kind=kind),
        _slot("instrument", Text, names="instruments"),
        _slot("by", Initials),
        _slot("was", Quantity, kind=kind),
        _slot("amended_by", Initials),
        _slot("amended_on", Day),
        _slot("because", Text),
    )


_SINCE = (_slot("from", Day, required=True), _slot("because", Text))
"""What each entry of ``since`` says beside what changed."""

_OF_NO_SAMPLE = "delete it: only a gravity, a pH or a volume is corrected for a sample"

_VESSELS = ("mash_tun", "kettle", "fermenter")
_IN_BRACES = "within braces a comma ends the text; put all of it in quotes: `{}`"
_OF_SINCE = "write it below the kit: `since: [{{from: 2026-07-01, {0}: {{...}}}}]`"


_SHAPES = {Mapping: "a mapping of keys", Sequence: "a list", Scalar: "a single value"}
_NUMBER = re.compile(r"^[-+]?(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?$")
_BEHIND_COMMA = re.compile(r"[0-9]+( ?[A-Za-z%/][A-Za-z%/ 0-9]*)?")


class _At(NamedTuple):
    """Where a node stands: the key that it or its list stands under, and the path from the top.

    ``path`` is None within lists and tables, whose entries are always whole.
    """

    key: Scalar | None = None
    is_item: bool = False
    path: str | None = ""

    @property
    def named(self) -> str:
        return "the file" if self.key is None else f"`{self.key.text}`"

    def spot(self, node: Node) -> Position:
        """Return where it is said that something is missing in a node."""
        return node.position if self.key is None or self.is_item else self.key.position

    def below(self, key: Scalar) -> _At:
        path = None if self.path is None else f"{self.path}{key.text}: "
        return _At(key, path=path)

    def within(self) -> _At:
        return self._replace(is_item=True, path=None)


class Wrong(NamedTuple):
    """What is wrong at a place, before it is a finding of a file."""

    rule: str
    position: Position
    message: str
    expected: str = ""
    remedy: str | None = ""


class Binder:
    """Binds the files of an archive, with the names that are known and the gallon that is meant.

    A value is read once, however many plans it is laid into.
    """

    def __init__(self, tables: Tables | None = None, gallon: str | None = None) -> None:
        self._tables, self._gallon = tables or {}, gallon
        self._read: dict[tuple[int, str], tuple[Scalar, Any, Wrong | None]] = {}
        self._wrong: list[Wrong] = []
        self._missing: list[tuple[str, Position]] = []
        self._whole = False
        self._root: type[Entry] = Entry

    def file(self, tree: Node, cls: type[E], source: Source) -> tuple[E | None, list[Finding]]:
        """Bind a file as it is written, and return everything that its fields do not allow.

        A plan that starts from another need not be whole.
        """
        if (other := _other_format(tree)) is not None:
            wrong = [other]
            entry = None
        else:
            entry, wrong, _ = self._pass(tree, cls, whole=False)
        return entry, [finding_of(*fault, source.line(fault.position.line)) for fault in wrong]

    def whole(self, tree: Node | None, cls: type[E]) -> E | None:
        """Bind a tree whose files have been looked at before; None where it is not whole."""
        return None if tree is None else self._pass(tree, cls, whole=True)[0]

    def missing(self, tree: Node, cls: type[E]) -> list[tuple[str, Position]]:
        """Return the path of each required key that a tree lacks, and where it is missed."""
        return self._pass(tree, cls, whole=True)[2]

    def _pass(
        self, tree: Node, cls: type[E], whole: bool
    ) -> tuple[E | None, list[Wrong], list[tuple[str, Position]]]:
        self._wrong, self._missing, self._whole = [], [], whole
        self._root = cls
        entry = self._entry(tree, cls, _At(), False)
        return entry, self._wrong, self._missing

    def _say(self, rule: str, position: Position, message: str, *more: str | None) -> None:
        self._wrong.append(Wrong(rule, position, message, *more))  # type: ignore[arg-type]

    # ---- mappings

    def _entry(self, node: Node, cls: type[E], at: _At, part: bool) -> E | None:
        """Bind one mapping. ``part``: it states only what differs, so that no key is required."""
        own = slots(cls)
        if not isinstance(node, Mapping):
            self._misshapen(node, at, "a mapping of keys")
            return None
        dated = not part and getattr(cls, "is_dated", False)
        if not self._whole and any(slot.key == "like" for slot in own):
            part = part or node.get("like") is not None
        values = self._fields(node, own, at, part, ("since",) if dated else ())
        if dated and (listed := node.get("since")) is not None:
            for item, place in self._changes(node, listed, at):
                self._fields(item, (*_SINCE, *own), place, True)
        return None if values is None else cls(position=node.position, **values)

    def _fields(
        self, node: Mapping, own: tuple[Slot, ...], at: _At, part: bool, also: tuple[str, ...] = ()
    ) -> dict[str, Any] | None:
        """Bind the fields of a mapping; None when one that is required cannot be had."""
        given = {key.text: (key, value) for key, value in reversed(node.entries)}
        known = {slot.key for slot in own}
        strange = [key for key, _ in node.entries if key.text not in known and key.text not in also]
        lacking = [
            slot.key for slot in own
            if slot.key not in given and slot.said.required and (slot.always or not part)
        ]
        # The only key that nobody knows stands for the only one that is missed.
        meant = lacking if len(strange) == len(lacking) == 1 else []
        free = [slot for slot in own if slot.key not in given]
        right = {key.text: self._right(key, given[key.text][1], free, at, part) for key in strange}
        cut = self._strange(strange, node, [*(slot.key for slot in own), *also], meant, right, at)
        for key in strange:
            # What stands under a mistyped key is read: it is not missed as well.
            if (key_ := right[key.text]) and key not in cut:
                given[key_] = given[key.text]
        values: dict[str, Any] = {}
        is_whole = True
        for slot in own:
            read = None
            if slot.key in given:
                key, value = given[slot.key]
                read = None if key in cut else self._value(value, slot, at.below(key), part)
            elif slot.key in lacking:
                self._lacks(slot.key, strange, node, at, bool(meant) and not cut)
            if read is None and self._whole and slot.said.words:
                # An entry without its words is there all the same: only they are missed.
                read = Text("", node.position)
            if read is not None:
                values[slot.name] = read
            elif slot.said.required:
                is_whole = False
        return values if is_whole else None

    def _right(
        self, typed: Scalar, value: Node, free: list[Slot], at: _At, part: bool
    ) -> str:
        """Return the key that a mistyped one was meant to be; empty for none.

        Of two alike it is that under which its value is right. Of a single value that none can
        read, only the key is told.
        """
        keys = {slot.key: slot for slot in free}
        alike: list[str] = []
        while len(alike) < 2 and (near := nearest(typed.text, [k for k in keys if k not in alike])):
            alike.append(near)
        for key in alike:
            wrong, missing = len(self._wrong), len(self._missing)
            self._value(value, keys[key], at.below(typed), part)
            is_right = len(self._wrong) == wrong
            del self._wrong[wrong:], self._missing[missing:]
            if is_right:
                return key
        return alike[0] if alike and not isinstance(value, Scalar) else ""

    def _lacks(
        self, key: str, strange: list[Scalar], node: Mapping, at: _At, is_meant: bool = False
    ) -> None:
        if at.path is not None:
            self._missing.append((f"{at.path}{key}", node.position))
        # A key that is evidently the mistyped one beside it is not said to be missing as well.
        if not is_meant and not any(nearest(other.text, [key]) for other in strange):
            self._say(
                "missing-key", at.spot(node), f"{at.named} has no `{key}`",
                f"a line `{key}: ...` below it",
            )  # fmt: skip

    def _strange(
        self, strange: list[Scalar], node: Mapping, known: list[str], meant: list[str],
        right: dict[str, str], at: _At,
    ) -> list[Scalar]:
        """Say which keys no field has; return those whose value a comma has cut in two.

        Those of another section too. ``right`` are the keys that they were meant to be.
        """
        cut = []
        named = [key.text for key in strange]
        head = node.get(named[0]) if named else None
        if len(named) > 2 and head is not None and _is_blank(head):
            # The line with the name of a section, level with the lines that belong below it.
            named = named[1:] if _elsewhere(named[1:], at.path, self._root) else named
        elsewhere = _elsewhere(named, at.path, self._root)
        if elsewhere and len(strange) > 1:
            # One slip: the line with the name of their section is missing, or stands elsewhere.
            first, others = strange[0].text, ", ".join(f"`{key.text}`" for key in strange[1:])
            self._say(
                "unknown-key", strange[0].position,
                f"`{first}` and {others} are not keys of {at.named} but of `{elsewhere}`",
                f"keys of {at.named}: {', '.join(known)}",
                f"move them below `{elsewhere}:`, or write that line above `{first}`; "
                "look at how far the lines are moved in",
            )  # fmt: skip
            return strange
        places = {id(key): number for number, (key, _) in enumerate(node.entries)}
        for key in strange:
            if (comma := _decimal_comma(key, node)) is not None:
                owner, wrong = comma
                cut.append(owner)
                self._wrong.append(wrong)
                continue
            text = _text_cut(places[id(key)], node)
            if text == "":
                continue
            self._say(
                "unknown-key", key.position, f"`{key.text}` is not a key of {at.named}",
                "one of " + ", ".join(known),
                _OF_NO_SAMPLE if key.text == "sample" and "read" in known else
                _OF_SINCE.format(part) if key.text == "since"
                and (part := at.named.strip("`")) in _VESSELS else
                did_you_mean(key.text, [right[key.text]] if right[key.text] else known)
                or (_IN_BRACES.format(text) if text else "")
                or (f"did you mean `{meant[0]}`?" if meant else "")
                or (f"it is a key of `{elsewhere}`: move it there" if elsewhere else "")
                or "delete it, or move the text to `notes` or `remarks`",
            )  # fmt: skip
        return cut

    def _changes(self, node: Mapping, listed: Node, at: _At) -> Iterator[tuple[Mapping, _At]]:
        """Yield the entries of ``since``, each with its place."""
        key = node.key("since")
        assert key is not None
        place = at.below(key)
        for item in self._items(listed, place, needed=True) or ():
            if isinstance(item, Mapping):
                yield item, place.within()
            else:
                self._misshapen(item, place.within(), "a mapping of keys")

    def _table(self, node: Node, slot: Slot, at: _At) -> dict[Text, Any] | None:
        """Bind entries by their names."""
        if not isinstance(node, Mapping):
            self._misshapen(node, at, "a mapping of keys")
            return None
        inner = typing.get_args(slot.hint)[1]
        of_entry = Slot("", "", inner, About("", "", (), kind=slot.said.kind))
        table = {}
        for key, value in node.entries:
            if slot.said.dated and key.text == "since":
                for item, place in self._changes(node, value, at):
                    self._dated_part(item, of_entry, place)
                continue
            read = self._named(key, value, of_entry, at)
            if read is not None:
                table[Text(key.text, key.position)] = read
        return table

    def _dated_part(self, item: Mapping, of_entry: Slot, at: _At) -> None:
        own = {slot.key for slot in _SINCE}
        beside = tuple(pair for pair in item.entries if pair[0].text in own)
        self._fields(Mapping(beside, item.position), _SINCE, at, True)
        for key, value in item.entries:
            if key.text not in own:
                self._named(key, value, of_entry, at)

    def _named(self, key: Scalar, value: Node, of_entry: Slot, at: _At) -> Any:
        # A quantity stands under a word or a key of ours, which its check looks up.
        is_named = of_entry.hint is not Quantity
        if is_named and (not re.search(NAME, key.text) or key.text.endswith("\n")):
            joined = "_".join(key.text.split())
            self._say(
                "form", key.position, f"`{key.text}` cannot be a name",
                "at most 60 letters A-Z, figures, dots, hyphens and underscores",
                f"write `{joined}`" if re.search(NAME, joined) else None,
            )  # fmt: skip
        return self._value(value, of_entry, at.below(key)._replace(path=None), False)

    # ---- values

    def _value(self, node: Node, slot: Slot, at: _At, part: bool) -> Any:
        hint = slot.hint
        if hint is Reading:
            return self._reading(node, slot.said.kind, at)
        if _is_blank(node):
            self._blank(node, at)
            return None
        origin = typing.get_origin(hint)
        if origin is tuple:
            of_item = Slot("", "", bare(typing.get_args(hint)[0]), slot.said)
            remedy = _as_list(node, of_item)
            items = self._items(node, at, slot.said.required or slot.said.filled, remedy)
            read = [self._value(item, of_item, at.within(), False) for item in items or ()]
            return None if items is None else tuple(value for value in read if value is not None)
        if origin is dict:
            return self._table(node, slot, at)
        if isinstance(hint, type) and issubclass(hint, Entry):
            return self._entry(node, hint, at, part)
        if not isinstance(node, Scalar):
            self._misshapen(node, at, "a value")
            return None
        return self._scalar(node, slot, at)

    def _items(
        self, node: Node, at: _At, needed: bool, remedy: str = ""
    ) -> tuple[Node, ...] | None:
        if not isinstance(node, Sequence):
            self._misshapen(node, at, "a list", remedy)
            return None
        if needed and not node.items:
            self._say("empty", node.position, f"{at.named} is empty", "", None)
        return node.items

    def _misshapen(self, node: Node, at: _At, wanted: str, remedy: str = "") -> None:
        if _is_blank(node):
            self._blank(node, at)
        else:
            shape = _SHAPES[type(node)]
            if isinstance(node, Scalar) and node.text.startswith((NOT_RECORDED, NOT_DONE)):
                remedy = remedy or (
                    "leave it out: what is not written is not recorded; say why in `remarks`"
                )
            self._say("shape", node.position, f"{at.named} holds {shape}", wanted, remedy or "")

    def _blank(self, node: Node, at: _At) -> None:
        said = f"an item of {at.named} is empty" if at.is_item else (
            f"nothing is written after {at.named}")  # fmt: skip
        self._say("empty", at.spot(node), said, "", None)

    def _reading(self, node: Node, kind: str, at: _At) -> Reading | None:
        if _is_blank(node):
            return None
        if isinstance(node, Scalar):
            if re.match(r"(?i)not\b", node.text) or not re.search(r"\d|^\s*$", node.text):
                return self._missing_reading(node)
            value = self._scalar(node, _of_reading(kind)[0], at)
            return None if value is None else Reading(State.READ, value, position=node.position)
        if not isinstance(node, Mapping):
            both = [item.text for item in node.items if isinstance(item, Scalar)]
            twice = f"write {{read: {both[0]}, again: {both[1]}}}" if len(both) == 2 else ""
            self._misshapen(node, at, "a value", twice)
            return None
        if len(node.entries) == 1 and _is_valued_key(*node.entries[0]):
            self._misshapen(node, at, "a value", f"write {node.entries[0][0].text} without braces")
            return None
        values = self._fields(node, _of_reading(kind), at._replace(path=None), False)
        if node.get("was") is not None and node.get("amended_by") is None:
            keys = [key for key, _ in node.entries if key.text != "amended_on"]
            self._lacks("amended_by", keys, node, at._replace(path=None))
        # How warm a sample was decides what it says: one that cannot be read says nothing.
        sampled = self._whole and any(nearest(key.text, ["sample"]) for key, _ in node.entries)
        if values is None or (sampled and "sample_temperature" not in values):
            return None
        return Reading(State.READ, **values, position=values["value"].position)

    def _missing_reading(self, node: Scalar) -> Reading | None:
        if not re.search(MISSING, node.text):
            self._say(
                "form", node.position,
                f"`{node.text}` is neither a value nor a way to write a missing one",
                "a value, `NOT RECORDED` or `not done because ...`",
                "write NOT RECORDED, in capitals, if it was not read",
            )  # fmt: skip
            return None
        if node.text == NOT_RECORDED:
            return Reading(State.NOT_RECORDED, position=node.position)
        reason = node.text[len(NOT_DONE) :]
        return Reading(State.NOT_DONE, reason=reason, position=node.position)

    def _scalar(self, node: Scalar, slot: Slot, at: _At) -> Any:
        """Return what a text means in its field, read once; None when it is wrong."""
        # The node is kept with what was read from it, so that its id is no other node's.
        place = id(node), slot.said.kind
        if place not in self._read:
            wrong: Wrong | None = None
            value = None
            try:
                value = self._meaning(node, slot, at)
            except _Refused as refused:
                wrong = refused.wrong
            self._read[place] = node, value, wrong
        _, value, wrong = self._read[place]
        if wrong is not None:
            self._wrong.append(wrong)
        return value

    def _meaning(self, node: Scalar, slot: Slot, at: _At) -> Any:
        text, position, said, hint = node.text, node.position, slot.said, slot.hint
        if hint is Quantity:
            return self._quantity(text, said, position)
        if hint in (Day, Clock, Moment) or hint == When:
            return _time_of(text, hint, position)
        if said.choices:
            if text not in said.choices:
                raise _Refused(
                    "word", position, f"`{text}` is not a value of {at.named}",
                    "one of " + ", ".join(said.choices), did_you_mean(text, said.choices),
                )  # fmt: skip
            return Text(text, position)
        if not text.strip():
            raise _Refused("empty", position, f"{at.named} is empty", "", None)
        # To Python a $ also stands before a last line feed; in JSON Schema it does not.
        if said.pattern and (not re.search(said.pattern, text) or text.endswith("\n")):
            raise _Refused("form", position, f"`{text}` has not the form wanted", said.shape)
        if said.names in self._tables and text not in self._tables[said.names]:
            raise _Refused("unknown-name", position, *self._unknown(text, said.names))
        return Initials(text, position) if hint is Initials else Text(text, position)

    def _quantity(self, text: str, said: About, position: Position) -> Quantity:
        try:
            read = read_quantity(text, said.kind or "count", position, self._gallon)
        except UnitError as error:
            raise _Refused(
                "quantity", position, error.message, error.expected, error.remedy
            ) from None
        if said.positive and read.value <= 0:
            message = f"`{text}` is nothing; there must be some"
            raise _Refused("quantity", position, message, "more than 0")
        if said.whole and not read.value.is_integer():
            expected = f"a whole number, e.g. {math.ceil(read.value)}"
            message = f"`{text}` is not a whole number"
            raise _Refused("quantity", position, message, expected, "count again")
        if said.bounds and (wrong := out_of_bounds(read, said.bounds)):
            raise _Refused("quantity", position, *wrong)
        return read

    def _unknown(self, name: str, table: str) -> tuple[str, str, str]:
        known = sorted(self._tables[table])
        listed = ", ".join(known[:12]) + (" ..." if len(known) > 12 else "")
        ours = sorted(self._tables.get("liquors", ())) if table in ("liquors", "addable") else []
        if ours and "".join(name.casefold().replace("_", " ").split()) in WATER:
            remedy = "write " + " or ".join(f"`{liquor}`" for liquor in ours)
            return f"`{name}` does not say which liquor", "its name in brewery.yaml", remedy
        missing = "stock.yaml" if table in ("items", "addable") else WHERE[table]
        own = "`reportgen explain` lists them" if table == "checks" else f"add it to {missing}"
        remedy = did_you_mean(name, known) or own
        expected = f"one of {listed}" if known else ""
        return f"`{name}` is not among {WHERE[table]}", expected, remedy


def _as_list(node: Node, of_item: Slot) -> str:
    """Return how what stands alone is written as a list of one; empty where that is no help."""
    is_entry = isinstance(of_item.hint, type) and issubclass(of_item.hint, Entry)
    if isinstance(node, Mapping):
        return "begin the first key of each with `- `" if is_entry else ""
    if isinstance(node, Scalar) and not is_entry and len(node.text) <= LONGEST_SHOWN:
        return f"write [{node.text}]"
    return ""


_SECTIONS: dict[type[Entry], MappingOf[str, frozenset[str]]] = {}


def _sections(root: type[Entry]) -> MappingOf[str, frozenset[str]]:
    """Return the paths of the sections of a file that have a key, by the key; empty for its top."""
    if root in _SECTIONS:
        return _SECTIONS[root]
    by_key: dict[str, set[str]] = {}

    def go(cls: type[Entry], path: str) -> None:
        for slot in slots(cls):
            by_key.setdefault(slot.key, set()).add(path)
            if isinstance(slot.hint, type) and issubclass(slot.hint, Entry):
                go(slot.hint, f"{path}{slot.key}.")

    go(root, "")
    _SECTIONS[root] = {key: frozenset(paths) for key, paths in by_key.items()}
    return _SECTIONS[root]


def _elsewhere(keys: Collection[str], path: str | None, root: type[Entry]) -> str:
    """Return the one section that has all of some keys, where they do not stand; empty for none."""
    if path is None or not keys:
        return ""
    owners = frozenset.intersection(*(_sections(root).get(k, frozenset()) for k in keys))
    # Of several the one nearest by: in the same part of the file, else of what was done.
    sections = [own for own in owners if own]
    if len(sections) > 1:
        here = path.split(".")[0]
        sections = [own for own in sections if own.split(".")[0] == here] or (
            [own for own in sections if not own.startswith("plan.")]
        )
    return sections[0].rstrip(".").replace(".", ": ") if len(sections) == 1 else ""


class _Refused(Exception):
    """A text that its field does not allow."""

    def __init__(self, rule: str, position: Position, message: str, *more: str | None) -> None:
        super().__init__(message)
        self.wrong = Wrong(rule, position, message, *more)  # type: ignore[arg-type]


def _time_of(text: str, hint: Any, position: Position) -> Day | Clock | Moment:
    # The time of a reading has its day only when it is not the day of its section.
    if hint == When:
        hint = Moment if "-" in text else Clock
    try:
        if hint is Day:
            return Day(parse_date(text), text, position)
        if hint is Clock:
            return Clock(parse_clock(text), text, position)
        return Moment(parse_moment(text), text, position)
    except UnitError as error:
        rule = "time" if hint is Clock else "date"
        raise _Refused(rule, position, error.message, error.expected, error.remedy) from None


def _is_valued_key(key: Scalar, value: Node) -> bool:
    """Whether a value stands where a key belongs, as in ``{18.4 C}``."""
    return _is_blank(value) and re.search(r"\d", key.text) is not None


def _is_blank(node: Node) -> bool:
    return isinstance(node, Scalar) and node.text == "" and node.style == ""


def _other_format(tree: Node) -> Wrong | None:
    """Return what is said of a file of another format; nothing else in it can be judged."""
    node = below(tree, "format")
    if not isinstance(node, Scalar) or node.text in ("", FORMAT):
        return None
    later = node.text.isascii() and node.text.isdigit() and len(node.text) < 6
    return Wrong(
        "format",
        node.position,
        f"`{node.text}` is not a format that this version reads",
        f"format: {FORMAT}",
        "the file was written for a later reportgen: use that one, or write the file anew by "
        "schema/ and put format: 1" if later and int(node.text) > int(FORMAT) else None,
    )


def _text_cut(at: int, node: Mapping) -> str | None:
    """Return the text that ``{note: warm, foam high}`` cuts in two, with its key, in quotes.

    It is empty where an earlier piece of it was named, and None where no text is cut.
    """
    key, _ = node.entries[at]
    pieces = [key.text]
    while at and _is_blank(node.entries[at][1]):
        at -= 1
        owner, value = node.entries[at]
        if owner.position.line != key.position.line:
            return None
        if isinstance(value, Scalar) and value.style == "" and re.match(r"[^\W\d]", value.text):
            if len(pieces) > 1:
                return ""
            behind = node.entries[at + 1 :]
            cut = [k.text for k, _ in itertools.takewhile(lambda e: _is_blank(e[1]), behind)]
            return f'{owner.text}: "{", ".join([value.text, *cut])}"'
        pieces.append(owner.text)
    return None


def _decimal_comma(key: Scalar, node: Mapping) -> tuple[Scalar, Wrong] | None:
    """Answer for ``{amount: 0,35 kg}``: within braces the comma ends the value.

    The key of the value that was cut comes with it.
    """
    if not _BEHIND_COMMA.fullmatch(key.text):
        return None
    at = next(n for n, (entry_key, _) in enumerate(node.entries) if entry_key is key)
    owner, value = node.entries[at - 1] if at else (key, node)
    if not isinstance(value, Scalar) or not _NUMBER.match(value.text):
        return None
    start, end = value.position, key.position
    if start.line != end.line or start.end_column + 1 != end.column:
        return None
    ways = without_comma(value.text, key.text)
    # A gravity, which has no unit, has no thousands.
    ways = ways[:1] if key.text.isdigit() and value.text == "1" else ways
    return owner, Wrong(
        "quantity",
        Position(start.file, start.line, start.column, end.end_column),
        f"`{value.text},{key.text}` has a decimal comma, and within braces a comma ends the value",
        "a decimal point",
        "write " + " or ".join(ways),
    )
