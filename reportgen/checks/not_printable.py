r"""A text has characters that the documents cannot print.

The documents are set in one typeface, so that they look the same everywhere. It has the Latin,
Greek and Cyrillic alphabets. Any other character is printed as its code in brackets, such as
U+6C34: the record keeps what was typed, but nobody can read the name on the sheet.

Fix: write it in Latin, Greek or Cyrillic letters as well
Source: the character table of the typeface
Passes:
    name: Плотинное Тёмное, Μπύρα, Bière № 2
Fails:
    name: "\u6c34\u8f66 Mild"
"""

import unicodedata
from collections.abc import Iterator, Mapping

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.record.each_value import member_names, parts_in
from reportgen.record.values import Text
from reportgen.typeface import lacking

GROUP = Group.RECORD
SEVERITY = Severity.NOTE
HOUSE = ("brewery.yaml", "stock.yaml")
MOST = 3
"""Characters that are named; of more it is only said how many there are."""


def check(batch: Assessment) -> Remarks:
    """Look at each text of the record, and at what of the stock and the brewery it prints."""
    sources = (batch.batch.source, *map(batch.archive.sources.get, HOUSE))
    if not any(lacking(source.text) for source in sources if source is not None):
        return
    texts = list(_texts(batch.record))
    named = set(texts)
    stock = batch.stock
    for table in (getattr(stock, name) for name in member_names(stock)):
        if isinstance(table, Mapping):
            for key, item in table.items():
                if key in named:
                    texts += _texts(item)
    brewery = batch.brewery
    texts += _texts((brewery.name, brewery.place, tuple(brewery.people.values())))
    for text in texts:
        missing = lacking(text)
        if missing:
            yield Remark(
                text.position,
                f"the documents cannot print {_listed(missing)}",
                "letters of the Latin, Greek or Cyrillic alphabet",
            )


def _listed(characters: tuple[str, ...]) -> str:
    named = [f"U+{ord(c):04X} ({unicodedata.name(c, 'no name').lower()})" for c in characters[:MOST]]
    rest = len(characters) - len(named)
    more = f" and {rest} more" if rest else ""
    return f"{', '.join(named)}{more}"


def _texts(value: object) -> Iterator[Text]:
    """Yield each text in a part of a file, in order."""
    return (text for _, _, text in parts_in(value) if isinstance(text, Text))
