"""``blanks``: the readings still missing, as YAML to paste, in the order of the sheet."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from reportgen.assessment.assess import Assessment, assess
from reportgen.assessment.fillings import pairs
from reportgen.assessment.issued_numbers import issued_line
from reportgen.assessment.readings import WORT_STAGES, reading_at
from reportgen.forecast.figures import READ, Figure, Stage
from reportgen.forecast.resolve import rinses
from reportgen.record.bind import slots
from reportgen.record.failure import Misuse
from reportgen.record.kinds import KINDS
from reportgen.record.load import Batch
from reportgen.record.model.batch import Record
from reportgen.record.model.brewery import Brewery
from reportgen.record.printed import Units
from reportgen.report.rows import can_be_read
from reportgen.verbs.proposed_blanks import cause_lines, clock_lines, remedy_lines
from reportgen.verbs.where import loaded, say_in_part, say_unread, unread, wanted

PLAIN = {"gravity": "SG, ", "ph": ""}
"""What stands beside a blank of a kind that is typed without a unit, before an example."""

AMOUNTS = {"US": "US fl oz or oz", "imperial": "imp fl oz or oz"}
"""What an amount is measured in where it is not in litres or grams."""


def unit_beside(figure: Figure, system: str) -> str:
    """Return the unit that belongs in a blank, in the units of the house; small for a weight.

    Where there is none it is an example, the one declared of the field: a final gravity is another
    than that of a wort.
    """
    kind = figure.kind
    if KINDS[kind].is_either:
        return AMOUNTS.get(system, "L or g")
    if kind in PLAIN:
        return f"{PLAIN[kind]}e.g. {_example(figure)}"
    small = "small_mass" if kind == "mass" else kind
    return Units(system).label(small).replace("°", "")


def _example(figure: Figure) -> str:
    """Return the first example declared of the field that a figure is read in."""
    at: Any = Record
    for step in figure.path:
        slot = next(slot for slot in slots(at) if slot.name == step)
        at = slot.hint
    return str(slot.said.examples[0])


def missing(record: Record) -> list[Figure]:
    """Return the figures that have no reading yet, in the order of the work."""
    return [f for f in READ if reading_at(record, f) is None and _is_wanted(f, record)]


def _is_wanted(figure: Figure, record: Record) -> bool:
    """Whether a batch of this plan has such a figure."""
    plan, packed = record.plan, record.packaging
    if figure.into and plan.packaging.into not in figure.into:
        return False
    if not plan.grist and figure.stage in (Stage.LIQUOR, Stage.MASH):
        return False
    if record.wort_from is not None and figure.stage in WORT_STAGES:
        return False
    by_itself = {
        "priming_sugar": packed is None or packed.sugar_each is None,
        "sparge_ph": any(acid.to == "sparge" for acid in plan.liquor.acids),
        "top_up_liquor": not plan.grist or plan.liquor.top_up_liquor is not None,
        "dilution_liquor": plan.liquor.dilution_liquor is not None,
    }
    return by_itself.get(figure.key, not figure.of_sparge or rinses(plan))


DATED = "# the cellar sheet can now be printed with its dates: reportgen sheet"


def as_yaml(
    record: Record,
    figures: list[Figure],
    system: str = "metric",
    batch: Assessment | None = None,
) -> str:
    """Return the blanks as YAML, nested as in the record, each with what belongs there.

    Readings stand as blanks, to be filled in; what may be left out (times, weights, additions)
    stands behind a mark, to be taken off. ``system`` names the units of the house: ``metric``,
    ``US`` or ``imperial``. With ``batch`` what its readings call for is proposed as well.
    """
    tree: dict[str, Any] = {}
    due = list(remedy_lines(batch, system)) if batch is not None else []
    clocks = dict(clock_lines(batch)) if batch is not None else {}
    for path, line in _sections(record, due, clocks, batch.brewery if batch is not None else None):
        _at(tree, path)[line] = None
    for figure in figures:
        _at(tree, figure.path[:-1])[figure.path[-1]] = figure
    causes = list(cause_lines(batch)) if batch is not None else []
    if causes:
        head = "# deviations:                  # one entry a cause"
        _at(tree, ("review",)).update(dict.fromkeys((head, *(f"#   {c}" for c in causes))))
    sections = ["brew_day", "fermentation", "packaging", "review"]
    if record.is_scrapped and record.packaging is None:
        sections.remove("packaging")
    ordered: dict[str, Any] = {key: tree[key] for key in sections if key in tree}
    return "\n".join(_lines(ordered, 0, system)) + "\n"


def _at(tree: dict[str, Any], path: Iterable[str]) -> dict[str, Any]:
    for step in path:
        tree = tree.setdefault(step, {})
    return tree


_Line = tuple[tuple[str, ...], str]
_Clocks = Mapping[tuple[str, ...], str]


def _sections(
    record: Record, due: list[str], clocks: _Clocks, brewery: Brewery | None = None
) -> Iterator[_Line]:
    """Yield (place, line) of what is missing beside readings, in the order of the sheet.

    ``due`` are additions and ``clocks`` times that the tables of the sheet call for.
    """
    day = record.brew_day
    if day is None:
        yield ("brew_day",), "date:                          # day of brewing, e.g. 2026-03-14"
    if day is None or not day.brewers:
        yield ("brew_day",), "# brewers: [AB, CD]            # initials"
    if record.wort_from is None:
        yield from ((("brew_day",), line) for line in _weights(record))
        yield from _times(record, clocks)
    yield from ((("brew_day",), line) for line in _put_in_and_out(record, due))
    yield from ((("fermentation",), line) for line in _of_fermentation(record))
    yield from ((("packaging",), line) for line in _of_packaging(record, brewery))


def _times(record: Record, clocks: _Clocks) -> Iterator[_Line]:
    for part, key, words in CLOCKS:
        if part in ("mash", "run_off") and not record.plan.grist:
            continue
        called = clocks.get(("brew_day", part, key))
        written = getattr(getattr(record.brew_day, part, None), key, None)
        if written is None:
            yield ("brew_day", part), f"# {key + ':':<29}# {called or f'{words}, e.g. 09:10'}"
        elif called:
            yield ("brew_day", part), f"# {key + ':':<29}# {called}, in place of {written}"


def _put_in_and_out(record: Record, due: list[str]) -> Iterator[str]:
    day, is_packed = record.brew_day, record.packaging is not None
    if due:
        yield "# added:                       # by the tables of the sheet"
        yield from (f"#   - {line}" for line in due)
    elif not is_packed and (day is None or not day.added):
        yield "# added:                       # what the plan does not have"
        yield f"#   - {{what: {_liquor(record)}, amount: , to: kettle}}  # at: 12:30"
    if not is_packed and (day is None or not day.taken):
        yield "# taken:                       # spilt, drawn off, for a starter"
        yield "#   - {amount: , from: kettle, because: starter}  # at: 12:10"
    if not is_packed and (day is None or day.rinse_ph is None):
        yield "# rinse_ph:                    # last rinse, e.g. 7.0"


def _of_fermentation(record: Record) -> Iterator[str]:
    made = record.fermentation
    if made is None or not made.log:
        yield "# log:                         # one line per reading"
        yield "#   - {at: , temperature: , gravity: , by: , note: }  # at: 2026-03-15 18:00"
    if (made is None or made.harvest is None) and not record.is_scrapped:
        yield "# harvest:                     # of yeast for another batch"
        yield "#   {at: , amount: , stored_at: , viability: , cells: }  # at: 2026-03-22 10:00"
    if made is None or made.finished is None:
        yield "# finished:                    # readings steady, e.g. 2026-03-21"


def _of_packaging(record: Record, brewery: Brewery | None) -> Iterator[str]:
    packed, into = record.packaging, record.plan.packaging.into
    if packed is None:
        yield "date:                          # day of packaging"
    if packed is None or packed.containers is None:
        yield "# containers:                  # how many, e.g. 2"
        yield f"# container_size:              # {into}, e.g. {_container(record, brewery)}"
    if into != "keg" and (packed is None or not packed.added):
        yield "# added:                       # liquor that dissolved the sugar"
        yield f"#   - {{what: {_liquor(record)}, amount: , to: container}}"
    yield from _others(record)
    if packed is None or packed.label is None:
        yield "# label:                       # its words"


def _others(record: Record) -> Iterator[str]:
    """Yield a line for each kind of other containers that is planned and not written."""
    left = [kind for kind, entry in pairs(record) if kind is not None and entry is None]
    if not left:
        return
    is_first = record.packaging is None or not record.packaging.also
    head = "# also:" if is_first else "# also, still missing:"
    yield f"{head:<31}# other containers, of the same beer"
    for kind in left:
        keys = ["containers", "container_size"]
        if kind.is_apart:
            keys += [figure.key for figure in READ if kind.into in figure.into]
        inner = "".join(f", {key}: " for key in keys)
        yield f"#   - {{into: {kind.into}{inner}}}  # {kind.volume.text} planned"


CLOCKS = (
    ("mash", "started", "liquor and grist together"),
    ("run_off", "started", "first wort drawn"),
    ("boil", "started", "rolling boil"),
    ("boil", "ended", "heat off"),
    ("pitch", "at", "yeast in"),
)
"""Times that the sheet asks for."""

ORDER = ("malts", "salts", "acids", "sugars", "hops", "finings")
"""Tables of stock.yaml in the order in which things are weighed out."""


def _weights(record: Record) -> Iterator[str]:
    """Yield a line for each planned weight that nobody has written down."""
    plan = record.plan
    written = {str(entry.item) for entry in record.all_weighed}
    missing_ = [
        item for item in plan.ingredients if not item.of_fermenter and str(item.name) not in written
    ]
    if not missing_:
        return
    head = "# weighed:" if not written else "# weighed, still missing:"
    yield f"{head:<31}# as the scale showed"
    said: list[str] = []
    for item in sorted(missing_, key=lambda one: ORDER.index(one.table)):
        of = f", lot: {item.lot}" if item.lot is not None else ""
        time = getattr(item.entry, "time", None) if item.table != "finings" else None
        when = f" at {time.text}" if time is not None else ""
        line = f"#   - {{item: {item.name}, amount: {of}}}  # {item.amount.text} planned{when}"
        said.append(line)
        again = said.count(line)
        yield line if again == 1 else f"{line}, {again} of the same"


def _container(record: Record, brewery: Brewery | None) -> str:
    """Return the size of what the beer is packed in as an example; that of the house first."""
    into = str(record.plan.packaging.into)
    named = record.plan.packaging.container
    if brewery is not None:
        for name, own in brewery.containers.items():
            if str(own.is_) == into and named in (None, name) and own.volume is not None:
                return own.volume.text
    return "0.5 L" if into == "bottle" else "19 L"


def _liquor(record: Record) -> str:
    return str(record.plan.liquor.blend[0].liquor)


def _lines(tree: dict[str, Any], depth: int, system: str) -> list[str]:
    lines = []
    for key, value in tree.items():
        indent = "  " * depth
        if value is None:
            lines.append(f"{indent}{key}".rstrip())
        elif isinstance(value, dict):
            lines.append(f"{indent}{key}:")
            lines += _lines(value, depth + 1, system)
        else:
            blank = f"{indent}{key}:"
            lines.append(f"{blank:<32}# {value.title}, {unit_beside(value, system)}")
    return lines


def issued_blank(batch: Batch, assessed: Assessment | None) -> str:
    """Return the blank for the sheet used, of a batch that was brewed without one; else nothing.

    Plan and numbers of now stand in a comment: only the sheet itself can say that it has them.
    """
    if batch.record is None or batch.record.brew_day is None or batch.record.issued is not None:
        return ""
    line = f"issued: {{plan: {batch.plan_hash}}}" if assessed is None else issued_line(assessed, 1)
    return f"# {line}\n# of now: take off the # above if the foot of the sheet used has the same\n"


def run(arguments: argparse.Namespace) -> int:
    """Print the blanks of one batch."""
    archive, paths = loaded(arguments.path)
    batches = wanted(archive, paths)
    faulty = unread(archive, paths) or [b.file for b in batches if b.record is None]
    if faulty:
        say_unread(archive, faulty[0])
        return 1
    record = batches[0].record if len(batches) == 1 else None
    if record is None:
        raise Misuse("blanks takes the file of one batch")
    assessed = assess(archive, batches[0])
    figures = [f for f in missing(record) if assessed is None or can_be_read(f, assessed)]
    issued = issued_blank(batches[0], assessed)
    house = archive.brewery
    system = "metric" if house is None else house.system
    blanks = issued + as_yaml(record, figures, system, assessed)
    day, log = record.brew_day, record.fermentation and record.fermentation.log
    if day is not None and day.pitch is not None and day.pitch.at is not None and not log:
        blanks = f"{DATED}\n{blanks}"
    print(blanks if blanks.strip() else "# nothing is missing\n", end="", flush=True)
    return say_in_part(archive.findings)
