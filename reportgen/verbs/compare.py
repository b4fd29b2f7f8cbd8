"""``compare``: batches, or revisions of one: only what differs beyond U, and what it did."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct, to_builtins
from msgspec.structs import replace

from reportgen.archive.changed_lines import changed_lines
from reportgen.archive.issued import as_issued
from reportgen.archive.lock import output_lock
from reportgen.archive.revisions import NoRevision, Revision, exported, resolve
from reportgen.archive.write import write_atomic
from reportgen.assessment.assess import Assessment
from reportgen.forecast.figures import FIGURES
from reportgen.history.difference import Difference, PlanEffect, difference_of
from reportgen.loading import load_archive
from reportgen.record.finding import visible
from reportgen.record.listing import OUTPUT, listing_of
from reportgen.record.model.batch import Record
from reportgen.record.model.flavours import term_words
from reportgen.record.printed import BLANK, Units
from reportgen.record.suggest import did_you_mean
from reportgen.report.comparison import (
    apart_lines,
    common_line,
    only_lines,
    result_columns,
    result_lines,
    results_title,
    triangle_lines,
    within_line,
)
from reportgen.report.figure_text import figure_difference, figure_number, figure_title
from reportgen.report.ledger import DISPOSITIONS
from reportgen.report.text_table import text_table, wrapped
from reportgen.verbs.produce import paper_of
from reportgen.verbs.where import Misuse, Unread, root_named, say_in_part, shown

if TYPE_CHECKING:
    from reportgen.report.comparison import ComparisonPage

SHOWN_LINES = 40
"""Changed lines of a record that are shown."""


class ComparedSide(Struct, frozen=True):
    """One of the two: the assessment, and the revision it was read from, if any."""

    assessment: Assessment
    revision: Revision | None

    @property
    def title(self) -> str:
        """The batch with its name, brew day and revision."""
        record = self.assessment.record
        day = f"brewed {record.brew_day.date}" if record.brew_day else "not brewed yet"
        words = f"{record.batch}  {record.name}, {day}{_became(record)}"
        if self.revision is None:
            return words
        return f"{words}, at {self.revision.short} ({self.revision.day}, {self.revision.subject})"

    @property
    def label(self) -> str:
        """A short name for a column."""
        batch = str(self.assessment.record.batch)
        return batch if self.revision is None else f"{batch}@{self.revision.commit[:7]}"


def _became(record: Record) -> str:
    """Say what became of a batch that is not to be drunk as planned; nothing of a sound one."""
    decided = str(record.review.disposition or "") if record.review is not None else ""
    return f", {DISPOSITIONS[decided]}" if decided not in ("", "release") else ""


def run(arguments: argparse.Namespace) -> int:
    """Print what differs; 0 whether something does or not, 1 when a side is not read in full."""
    root = root_named(arguments)
    sides = [side_of(root, text) for text in (arguments.a, arguments.b, *arguments.more)]
    _print(root, sides, arguments)
    sys.stdout.flush()
    return say_in_part(f for side in sides for f in side.assessment.archive.findings)


def _print(root: Path, sides: list[ComparedSide], arguments: argparse.Namespace) -> None:
    """Print what differs, or write it."""
    if arguments.more:
        _several(sides, arguments)
        return
    difference = difference_of(sides[0].assessment, sides[1].assessment)
    if arguments.format == "json":
        print(json.dumps(_data(sides, difference), ensure_ascii=False, indent=1))
        return
    if arguments.page or arguments.pdf:
        if arguments.page:
            data, ending = _page(root, sides, difference), ".html"
            print(shown(_written(root, sides, ending, data, arguments.output)))
        if arguments.pdf:
            data, ending = _pdf(root, sides, difference, arguments.paper), ".pdf"
            print(shown(_written(root, sides, ending, data, arguments.output)))
        return
    units = Units(sides[1].assessment.brewery.system)
    print("\n".join(visible(line) for line in lines(sides, difference, units)))


def _several(sides: list[ComparedSide], arguments: argparse.Namespace) -> None:
    """Print what differs among three batches or more."""
    from reportgen.report.several import data_of, several_lines

    if arguments.page or arguments.pdf:
        raise Misuse("a page puts two side by side; leave out --page and --pdf for more")
    batches = [side.assessment for side in sides]
    labels = [side.label for side in sides]
    if arguments.format == "json":
        print(json.dumps(data_of(batches, labels), ensure_ascii=False, indent=1))
        return
    for side in sides:
        print(visible(side.title))
    print("\n".join(visible(line) for line in several_lines(batches, labels)))


def _page(root: Path, sides: list[ComparedSide], difference: Difference) -> bytes:
    """Return the comparison as a page."""
    from reportgen.report.render import environment

    template = environment(root / "templates").get_template("ledger/compare.html.j2")
    text = str(template.render(view=_page_of(sides, difference)))
    return (text.rstrip("\n") + "\n").encode()


def _pdf(root: Path, sides: list[ComparedSide], difference: Difference, paper: str | None) -> bytes:
    """Return the comparison as PDF."""
    from reportgen.report.comparison import comparison_pdf
    from reportgen.report.make import date_of

    last = sides[1].assessment
    date = max(date_of(side.assessment.record) for side in sides)
    return comparison_pdf(
        _page_of(sides, difference), paper_of(last.archive.brewery, paper), date, root
    )


def _page_of(sides: list[ComparedSide], difference: Difference) -> ComparisonPage:
    from reportgen.report.comparison import comparison_page

    a, b = sides
    from reportgen.report.step_difference import difference_chart

    labels = (a.label, b.label)
    chart = difference_chart(a.assessment, b.assessment, labels)
    return comparison_page(difference, (a.title, b.title), labels, b.assessment.brewery, chart)


def _written(
    root: Path, sides: list[ComparedSide], ending: str, data: bytes, chosen: str | None
) -> Path:
    """Write the comparison into the folder chosen, else of the archive, and return its path."""
    name = "_".join(side.label for side in sides).replace("@", "-at-") + ending
    if chosen:
        write_atomic(Path(chosen) / name, data)
        return Path(chosen) / name
    path = root / OUTPUT / "compare" / name
    with output_lock(root / OUTPUT):
        write_atomic(path, data)
    return path


def side_of(root: Path, text: str) -> ComparedSide:
    """Return one side: a batch id or the path of a record, with ``@REV`` for an earlier revision.

    Of the archive only what the record hangs on is read. :class:`Misuse` when there is no such
    batch or revision, :class:`Unread` when it gives no batch.
    """
    name, at, rev = text.partition("@")
    if not at:
        return ComparedSide(_assessed(root, root, name), None)
    try:
        revision = resolve(root, rev or "HEAD")
        with exported(root, revision) as folder:
            where = f" in revision {revision.short}"
            return ComparedSide(_assessed(root, folder, name, where), revision)
    except NoRevision as error:
        raise Misuse(f"{text}: {error}") from error


def _assessed(root: Path, folder: Path, name: str, where: str = "") -> Assessment:
    """Assess one batch of an archive as it lies in a folder; ``root`` is where it belongs."""
    ids = listing_of(folder).ids
    path = Path(name).resolve()
    inside = path.relative_to(root).as_posix() if path.is_relative_to(root) else ""
    files = [file for group in ids.files.values() for file in group]
    file = next(iter(ids.files_of(name)), inside if inside in files else "")
    if not file:
        hint = did_you_mean(name, sorted(ids.known))
        raise Misuse(f"no batch `{name}`{where or ' in this archive'}{hint and f'; {hint}'}")
    archive = replace(load_archive(folder, only=[file]), root=root)
    batch = next((b for b in archive.batches.values() if b.file == file), None)
    assessment = as_issued(archive, batch) if batch is not None else None
    if assessment is None:
        raise Unread(archive, file, where)
    return assessment


def lines(sides: list[ComparedSide], difference: Difference, units: Units) -> Iterator[str]:
    """Yield the comparison as text."""
    yield f"A  {sides[0].title}"
    yield f"B  {sides[1].title}"
    yield ""
    if difference.is_none:
        text = list(_text_lines(sides))
        yield "No value of the plan, no figure, no score differs." if text else "Nothing differs."
        yield from text
        return
    for line in (*triangle_lines(difference), *apart_lines(difference), common_line(difference)):
        if line:
            yield from wrapped(line, "")
    if difference.scores:
        yield ""
        yield f"Tasted together, mean scores of {', '.join(difference.evenings)}"
        for score in difference.scores:
            one, two = (BLANK if s is None else f"{s:.1f}" for s in (score.first, score.second))
            yield f"  {term_words(score.attribute):<16} {one:>5} → {two:>5}"
    yield from _step_lines(sides, units)
    yield from _result_lines(difference, units)
    if difference.within:
        yield ""
        yield from wrapped(within_line(difference), "")
    for line in only_lines(difference, "A", "B"):
        yield ""
        yield from wrapped(line, "  ")
    yield from _effect_lines(difference, units)
    yield ""
    yield "Plan, A → B" if difference.plan else "Plan: no difference"
    for change in difference.plan:
        yield from wrapped(
            f"  {change.place}: {change.before or 'none'} → {change.after or 'none'}"
        )
    yield from _text_lines(sides)


def _step_lines(sides: list[ComparedSide], units: Units) -> Iterator[str]:
    """Yield what explains the difference of two batches that share a plan, stage by stage."""
    from reportgen.report.step_difference import share_a_plan, step_difference

    a, b = (side.assessment for side in sides)
    if not share_a_plan(a, b):
        return
    steps = step_difference(a, b)
    yield ""
    yield "From A to B: what explains the difference"
    for key, start in steps.planned.items():
        parts = [
            f"{stage.value[:1].lower()}{stage.value[1:]} {figure_difference(units, key, size)}"
            for stage, size in steps.by_stage(key)
            if abs(size) >= 0.5 * 10 ** -FIGURES[key].decimals
        ]
        rest = steps.unexplained(key)
        if rest is not None and abs(rest.size) >= 0.5 * 10 ** -FIGURES[key].decimals:
            parts.append(f"not explained {figure_difference(units, key, rest.size)}")
        ends = " → ".join(figure_number(units, key, v) for v in (start, steps.brewed[key]))
        because = f" ({'; '.join(parts)})" if parts else ""
        yield from wrapped(f"  {figure_title(key)}: {ends}{because}")


def _text_lines(sides: list[ComparedSide]) -> Iterator[str]:
    """Yield the lines that differ in the text of a record, when both sides are of the same."""
    one, two = (side.assessment.batch for side in sides)
    if one.id != two.id or one.source.data == two.source.data:
        return
    changed = changed_lines(one.source.data, two.source.data, SHOWN_LINES)
    yield ""
    yield f"Text of the record, {changed.count} lines differ (- A, + B)"
    for line in changed.shown:
        yield f"  {line}"


def _effect_lines(difference: Difference, units: Units) -> Iterator[str]:
    if not difference.plan and not difference.together:
        return
    yield ""
    if not difference.together:
        yield "What this does, by the forecast: nothing that shows in a figure"
        return
    yield "What this does, by the forecast of the plans, B less A"
    for effect in difference.together:
        parts = _parts(difference, effect, units)
        yield from wrapped(f"  {figure_title(effect.figure)}: {_effect(effect, units)}{parts}")


def _effect(effect: PlanEffect, units: Units) -> str:
    return figure_difference(units, effect.figure, effect.change)


def _parts(difference: Difference, whole: PlanEffect, units: Units) -> str:
    """Return which sections of the plan make up an effect; empty when only one does."""
    parts = [e for e in difference.effects if e.figure == whole.figure]
    if not parts:
        return ""
    named = "; ".join(f"{e.section.replace('_', '-')} {_effect(e, units)}" for e in parts)
    if len(parts) == 1 and len(difference.sections) == 1:
        return f" (all from {parts[0].section.replace('_', '-')})"
    return f" ({named})"


def _result_lines(difference: Difference, units: Units) -> Iterator[str]:
    if not difference.results:
        return
    yield ""
    yield results_title(all(difference.brewed))
    words = [
        "B less A" if word == "difference" else f"{word} {'AB'[side]}"
        for word, side in result_columns(difference)
    ]
    rows: list[tuple[str, ...]] = [("", "unit", *words)]
    for line in result_lines(difference, units):
        rows.append((line.title, line.unit, *(cell or BLANK for cell in line.cells)))
    yield from text_table(rows, range(2, len(rows[0])))


def _data(sides: list[ComparedSide], difference: Difference) -> dict[str, Any]:
    return {
        "a": _side_data(sides[0]),
        "b": _side_data(sides[1]),
        "plan": [to_builtins(c) for c in difference.plan],
        "sections": list(difference.sections),
        "effects": [to_builtins(e) for e in difference.effects],
        "together": [to_builtins(e) for e in difference.together],
        "results": [
            {**to_builtins(r), "difference": r.difference, "can_be_told": r.can_be_told}
            for r in difference.results
        ],
        "deviations": [list(d) for d in difference.deviations],
        "scores": [to_builtins(s) for s in difference.scores],
        "evenings": list(difference.evenings),
        "triangles": [to_builtins(t) for t in difference.triangles],
        "within": [{"figure": pair.figure, "of": pair.of} for pair in difference.within],
        "common": list(difference.common),
    }


def _side_data(side: ComparedSide) -> dict[str, Any]:
    record = side.assessment.record
    return {
        "batch": str(record.batch),
        "name": str(record.name),
        "file": side.assessment.batch.file,
        "plan_hash": side.assessment.batch.plan_hash,
        "revision": side.revision.commit if side.revision else None,
    }
