"""The fermentability of malt extract is that of a hydrometer.

Makers mostly state by how much the hydrometer falls: an apparent attenuation of 75 %. Of the extract
itself yeast then ferments 61 %. Typed as `fermentability` 75 % would dry the beer out to some 91 % by
the hydrometer: the final gravity expected is far too low, and a beer that is done looks stuck. Without
the key the yeast attenuates the extract as it does wort.

Fix: delete `fermentability`, or write the share that is fermented: 0.82 times the apparent attenuation
Source: real and apparent extract after Balling, as in alcohol.real_attenuation; what is plausible: common
    practice, no source
Passes:
    stock: {sugars: {dry_malt: {extract: 96 %, allergens: [barley (gluten)]}}}
Fails:
    stock: {sugars: {dry_malt: {extract: 96 %, fermentability: 75 %, allergens: [barley (gluten)]}}}
"""

import re

from reportgen.checks.base import Group, Remark, Remarks, Severity
from reportgen.record.load import Archive

GROUP = Group.MASH
SEVERITY = Severity.MINOR

MOST = 0.68
"""Share of malt extract that is fermented at most; an apparent attenuation of 83 %."""
SUGAR = 0.92
"""From here on it is stated of a sugar."""
MALT = re.compile(r"malt|barley|wheat|gluten", re.IGNORECASE)


def check_house(archive: Archive) -> Remarks:
    """Look at the sugars that are made of malt."""
    for name, sugar in archive.stock.sugars.items() if archive.stock is not None else ():
        words = " ".join(map(str, (name, sugar.name or "", *sugar.allergens)))
        stated = sugar.fermentability
        if stated is not None and MOST < stated.value < SUGAR and MALT.search(words):
            yield Remark(
                stated.position,
                f"{name}: fermentability {stated.text} of an extract of malt",
                f"at most {MOST:.0%}, or none".replace("%", " %"),
            )
