"""The pieces that documents are made of: frozen, already formatted, nothing left to compute."""

from __future__ import annotations

from markupsafe import Markup
from msgspec import Struct

from reportgen.report.cautions import Caution


class Identity(Struct, frozen=True):
    """What stands at the head and foot of every page."""

    document: str
    batch: str
    name: str
    house: str
    place: str
    revision: str
    plan_hash: str
    numbers: str
    copy: str
    date: str
    language: str
    paper: str
    deference: str

    @property
    def is_long(self) -> bool:
        """Whether the name is too long for one line of the largest type."""
        return len(self.name) > 32


class Labelled(Struct, frozen=True):
    """A label and what is said under it; a blank to fill in where that is empty."""

    label: str
    value: str
    note: str = ""


class Note(Struct, frozen=True):
    """A heading and Markdown already turned into safe HTML."""

    title: str
    html: Markup


class Raw(Struct, frozen=True):
    """The numbers behind a row, in the base unit of the figure, for what goes on with them.

    ``kind`` is the kind it is printed as and ``decimals`` those printed in the base unit; ``low``
    and ``high`` are the limits before the U of any instrument narrows them, both None where no
    verdict is given.
    """

    kind: str
    decimals: int
    expected: float | None = None
    low: float | None = None
    high: float | None = None
    critical: bool = False


class ReadingRow(Struct, frozen=True):
    """One reading to take: what is expected, the range that is fine, the blank.

    ``todo`` names the what-to-do table for a reading outside (``T2``), empty when there is none.
    ``lead`` is printed at the left of the blank (the ``1`` of a gravity), ``point`` is the number
    of figures after the pre-printed decimal point, -1 for no point. ``sample`` asks for the
    temperature of the sample as well. ``offset`` says what the instrument shows too much; what is
    expected and the range are then what it shows, ``true`` is the true value, and the row has a
    dagger. ``coarse`` says, instead of the range and in two lines, that the instrument cannot tell.
    ``twice`` asks for a second reading. ``raw`` has the numbers of the row. ``within`` is the entry
    of the record that it is of, where there are several of its kind (``packaging.also.1``).
    """

    key: str
    number: str
    title: str
    todo: str
    expect_label: str
    expect: str
    ok: str
    unit: str
    lead: str = ""
    point: int = -1
    sample: bool = False
    note: str = ""
    offset: str = ""
    true: str = ""
    coarse: tuple[str, ...] = ()
    twice: bool = False
    raw: Raw | None = None
    within: str = ""

    @property
    def at(self) -> str:
        """What the row is called on the page."""
        return f"{self.within}.{self.key}" if self.within else self.key


class WeighRow(Struct, frozen=True):
    """One thing to weigh out: what, where it goes, how much, the lot that is planned.

    ``long`` asks for a line more, where the name or the lot would run into the blanks. ``offset``
    says what the scale shows too much: ``plan`` is then what it shows, ``true`` the true amount.
    """

    number: str
    name: str
    use: str
    plan: str
    unit: str
    lot: str
    point: int
    long: bool = False
    offset: str = ""
    true: str = ""


class Blank(Struct, frozen=True):
    """A blank that belongs to no row: ``size`` is one of reading, time, sample, initials.

    ``place`` is the field of the record that it fills (``fermentation.harvest.stored_at``; a list
    has the number of its entry in it: ``brew_day.run_off.runnings.1.volume``). In the log of the
    fermentation it is an event, noted with its moment. Empty for what only helps on paper: a sum
    of times, a temperature that the page asks for beside each reading. ``fixed`` are keys of its
    entry with what always stands there.
    """

    label: str
    size: str
    unit: str = ""
    place: str = ""
    fixed: tuple[tuple[str, str], ...] = ()

    @property
    def at(self) -> str:
        """What the blank is called on the page: its place; an event of a log by its words too."""
        return f"{self.place} {self.label}" if self.place.endswith(".log") else self.place


class WeighGroup(Struct, frozen=True):
    """Things weighed out together: grist, liquor treatment, hops.

    ``twice``: a second person reads the scale and signs too.
    """

    title: str
    rows: tuple[WeighRow, ...]
    cautions: tuple[Caution, ...] = ()
    twice: bool = False


class Lookup(Struct, frozen=True):
    """A table of two columns beside the blanks it serves: find the first, use the second.

    ``serves`` is the figure whose reading it is for.
    """

    title: str
    columns: tuple[str, str]
    rows: tuple[tuple[str, str], ...]
    serves: str = ""


NOT_LISTED = "Not listed:"
"""How the last row of a what-to-do table begins."""


class TodoCell(Struct, frozen=True):
    """A cell of a what-to-do table; ``rows`` is how many rows down its words hold."""

    text: str
    rows: int = 1


class Todo(Struct, frozen=True):
    """A what-to-do table, its mark (``T2``), what to mind with it, and its last row.

    ``across`` is one whose rows stand side by side.

    ``entry`` is what its rows put in and ``entry_to`` where, as the record names them; empty for
    rows that put nothing in. ``clock`` is the time that its rows move, as the sheet calls it.
    """

    mark: str
    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[TodoCell, ...], ...]
    note: str
    otherwise: str
    entry: str = ""
    entry_to: str = ""
    clock: str = ""
    across: bool = False

    @property
    def last_row(self) -> str:
        """What to do with a reading that the table does not list."""
        return f"{NOT_LISTED} {self.otherwise}."


class HoldPoint(Struct, frozen=True):
    """A hold_point: stop, and confirm these together before going on."""

    title: str
    items: tuple[str, ...]


class Addition(Struct, frozen=True):
    """Something added by the clock: what, how much, when, and the sum to fill in.

    ``long`` asks for a line more, where the name would run into the blanks. ``until`` is when it
    is over, for a second blank in its row.
    """

    what: str
    amount: str
    when: str
    plus: str
    long: bool = False
    until: str = ""


class SheetStep(Struct, frozen=True):
    """A stage of the work on a sheet: its cautions first, then what is done and read.

    ``remarks`` is the field of the record for them.
    """

    number: str
    title: str
    doing: tuple[str, ...]
    cautions: tuple[Caution, ...] = ()
    rows: tuple[ReadingRow, ...] = ()
    additions: tuple[Addition, ...] = ()
    lookups: tuple[Lookup, ...] = ()
    todos: tuple[Todo, ...] = ()
    hold_point: HoldPoint | None = None
    blanks: tuple[Blank, ...] = ()
    after: tuple[Blank, ...] = ()
    call: str = ""
    remarks: str = ""

    @property
    def entries(self) -> tuple[tuple[str, str, str], ...]:
        """What the tables of a side put in, each once: marks of the tables, what, and where."""
        entries: dict[tuple[str, str], list[str]] = {}
        for todo in self.todos:
            if todo.entry:
                entries.setdefault((todo.entry, todo.entry_to), []).append(todo.mark)
        return tuple((", ".join(marks), *entry) for entry, marks in entries.items())

    @property
    def clocks(self) -> tuple[tuple[str, str], ...]:
        """The times that the tables of a side move, each once: marks of the tables, and which."""
        clocks: dict[str, list[str]] = {}
        for todo in self.todos:
            if todo.clock:
                clocks.setdefault(todo.clock, []).append(todo.mark)
        return tuple((", ".join(marks), clock) for clock, marks in clocks.items())

    @property
    def notes(self) -> tuple[Todo, ...]:
        """The tables that have something to mind."""
        return tuple(todo for todo in self.todos if todo.note)

    @property
    def not_listed(self) -> str:
        """How the line of the last rows begins."""
        return NOT_LISTED


class Signature(Struct, frozen=True):
    """A line to sign: who signs, and what the signature means."""

    who: str
    meaning: str
