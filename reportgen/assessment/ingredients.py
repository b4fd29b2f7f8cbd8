"""What a beer is made of, by the names of stock.yaml: what the plan has, and what really went in.

Who cannot eat something is told by what went in, whether the plan has it or not.
"""

from __future__ import annotations

from collections import Counter

from reportgen.record.fields import Entry
from reportgen.record.model.batch import Record
from reportgen.record.model.brew_day import Added
from reportgen.record.model.stock import Stock
from reportgen.record.values import State


def ingredients(record: Record) -> tuple[str, ...]:
    """Return each item once: those of the plan in the order of brewing, then what was weighed or
    added beside it.

    What nobody weighed counts as the plan has it. An item of which every planned addition is
    written as ``not done`` is left out.
    """
    planned = Counter(str(item.name) for item in record.plan.ingredients)
    weighed: dict[str, list[bool]] = {}
    for entry in record.all_weighed:
        weighed.setdefault(str(entry.item), []).append(entry.amount.state is State.NOT_DONE)
    left_out = {
        item for item, ways in weighed.items() if all(ways) and len(ways) >= planned[item]
    }
    added = [
        str(entry.what) for _, entry in record.added_and_taken()
        if isinstance(entry, Added) and entry.amount.state is not State.NOT_DONE
    ]  # fmt: skip
    used = [item for item in (*planned, *weighed) if item not in left_out]
    return tuple(dict.fromkeys((*used, *added)))


def stocked(record: Record, stock: Stock) -> dict[str, Entry]:
    """Return what stock.yaml says of each item that went in and of the yeast, by its name."""
    names = dict.fromkeys((str(record.plan.pitch.yeast), *ingredients(record)))
    tables = {name: stock.table_of(name) for name in names}
    return {name: getattr(stock, table)[name] for name, table in tables.items() if table}


def allergens_in(record: Record, stock: Stock) -> tuple[str, ...]:
    """Return the allergens that stock.yaml names for what the beer is made of, each once."""
    allergens = []
    for item in ingredients(record):
        for table in (stock.malts, stock.sugars, stock.finings):
            if item in table:
                allergens += [str(allergen) for allergen in table[item].allergens]
    return tuple(dict.fromkeys(allergens))


