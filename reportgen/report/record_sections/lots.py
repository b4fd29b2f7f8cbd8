"""Lots: each ingredient planned and weighed, its lot, and the yeast pitched."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.record.model.brewery import Liquor
from reportgen.record.model.stock import TABLES
from reportgen.record.printed import BLANK, Units, generation_words
from reportgen.record.units import Quantity
from reportgen.report.plan_text import acid_name, dose_text, sentence, yeast_text


class LotLine(NamedTuple):
    """One ingredient: planned, weighed, lot, when, by whom."""

    item: str
    planned: str
    weighed: str
    lot: str
    note: str
    when: str
    by: str


def lot_lines(assessment: Assessment, units: Units) -> tuple[LotLine, ...]:
    """Return what was weighed, then what was planned and not written down, then the yeast."""
    planned = {
        key: " + ".join(_dose(q, units, key, assessment) for q in quantities)
        for key, quantities in _planned_amounts(assessment).items()
    }
    record = assessment.record
    weighed = {str(w.item) for w in record.all_weighed}
    forgotten = (
        LotLine(
            _item_name(assessment, key), text, BLANK, BLANK,
            "among what was added" if record.put_in_later(key) else "not written down", "", "",
        )
        for key, text in planned.items()
        if key not in weighed
    )
    return (
        *_weighed_lines(assessment, units, planned),
        *forgotten,
        _yeast_line(assessment, units),
    )


def _weighed_lines(
    assessment: Assessment, units: Units, planned: Mapping[str, str]
) -> Iterator[LotLine]:
    """Return what was weighed; where it was weighed in parts, the plan stands at the first."""
    seen = set()
    for weighed in assessment.record.all_weighed:
        key = str(weighed.item)
        reading = weighed.amount
        amount = reading.state.value
        if reading.value is not None:
            amount = _dose(reading.value, units, key, assessment)
        if reading.was is not None:
            amount += " †"
        yield LotLine(
            _item_name(assessment, key),
            "" if key in seen else planned.get(key, "not planned"),
            amount,
            str(weighed.lot or BLANK),
            _lot_note(assessment, key, str(weighed.lot or "")),
            str(weighed.at or reading.at or ""),
            ", ".join(str(i) for i in (weighed.by or reading.by, weighed.checked_by) if i),
        )
        seen.add(key)


def _yeast_line(assessment: Assessment, units: Units) -> LotLine:
    pitch, day = assessment.record.plan.pitch, assessment.record.brew_day
    pitched = day.pitch if day else None
    amount = pitched.yeast_amount if pitched else None
    origin = f"from {pitch.harvested_from}" if pitch.harvested_from else ""
    if pitch.generation is not None:
        words = generation_words(pitch.generation.value)
        origin = ", ".join(p for p in (origin, words) if p)
    return LotLine(
        _item_name(assessment, str(pitch.yeast)),
        yeast_text(pitch.yeast_amount, units) if pitch.yeast_amount else "",
        yeast_text(amount.value, units) if amount and amount.value else BLANK,
        str((pitched.lot if pitched else None) or pitch.lot or BLANK),
        origin,
        str(pitched.at or "") if pitched else "",
        "",
    )


def _item_name(assessment: Assessment, key: str) -> str:
    stock = assessment.stock
    if key in stock.acids:
        return sentence(acid_name(assessment, key))
    for table in (stock.malts, stock.sugars, stock.hops, stock.yeasts, stock.finings):
        if key in table:
            item = table[key]
            return str(getattr(item, "name", None) or sentence(key.replace("_", " ")))
    return sentence(key.replace("_", " "))


def _planned_amounts(assessment: Assessment) -> dict[str, list[Quantity]]:
    amounts: dict[str, list[Quantity]] = {}
    planned = assessment.record.plan.ingredients
    for item in sorted(planned, key=lambda one: one.table == "hops" and one.later):
        amounts.setdefault(str(item.name), []).append(item.amount)
    return amounts


def _dose(quantity: Quantity, units: Units, key: str, assessment: Assessment) -> str:
    stock = assessment.stock
    if key in stock.salts:
        units = Units()
    small = key in stock.hops or key in stock.salts or key in stock.acids or key in stock.finings
    return dose_text(quantity, units, small)


def _lot_note(assessment: Assessment, key: str, lot: str) -> str:
    if not lot:
        return ""
    for table in (getattr(assessment.stock, name) for name in TABLES):
        if key in table and lot in table[key].lots:
            known = table[key].lots[lot]
            notes = [f"best before {known.best_before}"] if known.best_before else []
            if known.supplier:
                notes.insert(0, str(known.supplier))
            if known.analysed:
                notes.append(f"analysed {known.analysed}")
            if known.note:
                notes.append(str(known.note).rstrip("."))
            return ", ".join(notes)
    return "not in stock.yaml"


class UsedLine(NamedTuple):
    """What a batch was made with beside its ingredients: what it is, and each in its own words."""

    title: str
    words: str


def used_lines(assessment: Assessment) -> tuple[UsedLine, ...]:
    """Return the kit, the liquors with their analyses, and the container that the beer is in."""
    liquors = (
        _with(
            f"{str(part.liquor).replace('_', ' ')} {part.share.text}",
            assessment.brewery.liquors[part.liquor],
        )
        for part in assessment.record.plan.liquor.blend
    )
    kit = assessment.record.plan.kit
    told = (kit.replace("_", " "), str(assessment.kit.description or ""))
    lines = [
        UsedLine("Kit", ", ".join(filter(None, told)).rstrip(".")),
        UsedLine("Liquor", "; ".join(liquors)),
    ]
    names = [kind.case.container.name for kind in assessment.filled_kinds]
    for key, known in assessment.brewery.containers.items():
        name = key if key in names else key.replace("_", " ")
        if name in names:
            words = f", {known.description}" if known.description is not None else ""
            lines.append(UsedLine("Container", f"{name}{words}"))
    changed = "; ".join(_changed(assessment))
    return (*lines, UsedLine("Changed", changed)) if changed else tuple(lines)


def _changed(assessment: Assessment) -> Iterator[str]:
    """Say which figures of what was used had changed by the day that the batch goes by, and why."""
    record, plan = assessment.record, assessment.record.plan
    used = {
        *_planned_amounts(assessment), str(plan.kit), str(plan.pitch.yeast),
        *(str(part.liquor) for part in plan.liquor.blend),
        *(kind.case.container.name.replace(" ", "_") for kind in assessment.packed_as),
        *(kind.case.container.name for kind in assessment.packed_as),
        *(a.instrument for a in assessment.actuals.values() if a.instrument),
    }  # fmt: skip
    for change in assessment.archive.changed(record.goes_by):
        name = change.place[1] if len(change.place) > 1 else ""
        if name and name not in used:
            continue
        what = ", ".join(key.replace("_", " ").replace(".", " ") for key in change.keys)
        of = (name or change.place[0] if change.place else "").replace("_", " ")
        yield f"{of} {what} since {change.begins}, {change.because}".strip().rstrip(".")


def _with(name: str, liquor: Liquor) -> str:
    analysis = [f"analysed {liquor.analysed}"] if liquor.analysed is not None else []
    if liquor.report is not None:
        analysis.append(f"report {liquor.report}")
    words = [str(liquor.description)] if liquor.description is not None else []
    told = ", ".join((*words, *analysis))
    return f"{name} ({told})" if told else name
