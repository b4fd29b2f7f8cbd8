"""``store``: what is left, which lot first, what the plans need, what to buy, what beer cost."""

from __future__ import annotations

import argparse
import datetime
import json
from pathlib import Path
from typing import Any

from reportgen.archive.lock import output_lock
from reportgen.archive.register import Register, read_register
from reportgen.archive.write import write_atomic
from reportgen.record.failure import Misuse
from reportgen.record.finding import in_error, visible
from reportgen.record.kinds import KINDS
from reportgen.record.listing import OUTPUT
from reportgen.report.printed_list import list_pdf, view_of
from reportgen.report.store_list import StoreWords, as_text, lead_of, tables, words_of
from reportgen.store.balance import Store
from reportgen.store.cost import cost_of
from reportgen.verbs.produce import paper_of
from reportgen.verbs.progress import progress
from reportgen.verbs.where import Unread, root_named, say_in_part, shown

FILE = "store/store.pdf"


def run(arguments: argparse.Namespace) -> int:
    """Print the store; 1 when a planned batch lacks something or a lot is below nought."""
    root = root_named(arguments)
    register = read_register(root, progress=progress("looked at"))
    if register.stock is None or register.brewery is None:
        raise Unread(register)
    day = _day(arguments.on)
    store = register.store_on(day)
    words = words_of(register.brewery, store, day)
    if arguments.format == "json":
        print(json.dumps(as_data(store, words), ensure_ascii=False, indent=1))
    elif arguments.pdf:
        print(shown(_printed(root, register, store, words, arguments.paper)))
    else:
        print(visible(lead_of(store, words)))
        if store.items:
            print()
            print("\n".join(visible(line) for line in as_text(tables(store, words))))
    short = any(lot.is_short for lot in store.lots.values())
    in_part = say_in_part(register.findings)
    return 1 if in_part or store.needs or short else 0


def _day(text: str | None) -> datetime.date | None:
    if text is None:
        return None
    try:
        return datetime.date.fromisoformat(text)
    except ValueError as error:
        raise Misuse(f"--on: `{text}` is not a day; write one like 2026-12-05") from error


def _printed(
    root: Path, register: Register, store: Store, words: StoreWords, paper: str | None
) -> Path:
    brewery = register.brewery
    assert brewery is not None
    view = view_of(
        brewery, "Store", lead_of(store, words), tables(store, words) if store.items else (),
        "Weigh what is there, and enter a count where it differs.",
        _noted(register, words),
    )  # fmt: skip
    path = root / OUTPUT / FILE
    with output_lock(root / OUTPUT):
        write_atomic(path, list_pdf(view, paper_of(brewery, paper), root, words.day))
    return path


def _noted(register: Register, words: StoreWords) -> str:
    """Return the small print of the list: its day, and that something of the files is not in it."""
    wrong = in_error(register.findings)
    parts = [f"As of {words.day}."] if words.day else []
    parts += [f"Not counted in full: {', '.join(wrong)} cannot be read in full."] if wrong else []
    return " ".join(parts)


def as_data(store: Store, words: StoreWords) -> dict[str, Any]:
    """Return the store as plain data for JSON: amounts in kg or L."""
    return {
        "day": str(words.day) if words.day else None,
        "items": [
            {
                "kind": item.table, "item": item.name, "unit": KINDS[item.kind].base,
                "left": round(item.left, 6),
                "used_without_lot": round(item.used_without_lot, 6),
                "planned": round(item.promised, 6),
                "first": first.number if (first := item.first(words.day)) else None,
                "to_buy": round(store.to_buy.get((item.table, item.name), 0.0), 6),
                "pack": item.pack,
                "lots": [
                    {
                        "lot": lot.number, "received": lot.received, "used": round(lot.used, 6),
                        "lost": round(lot.lost, 6), "left": round(lot.left, 6),
                        "planned": round(lot.promised, 6),
                        "best_before": str(lot.best_before) if lot.best_before else None,
                        "price": lot.price,
                    }
                    for lot in item.lots
                ],
            }
            for item in store.items
        ],
        "missing": [
            {
                "batch": need.use.batch.batch, "item": need.item.name,
                "lot": need.use.taking.lot or None, "needed": round(need.wanted, 6),
                "there": round(need.there, 6), "taken_before_by": list(need.before),
            }
            for need in store.needs
        ],
        "costs": [
            {
                "batch": cost.batch, "total": round(cost.total, 2), "litres": cost.litres,
                "packaged": cost.is_packed,
                "each_litre": round(cost.each_litre, 4) if cost.each_litre is not None else None,
                "currency": words.currency or None, "without_price": list(cost.without_price),
            }
            for cost in (cost_of(store, batch) for batch in store.batches) if cost is not None
        ],
    }  # fmt: skip
