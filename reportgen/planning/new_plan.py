"""The amounts of a new plan: such that the first kit holds them and no check has anything to say.

A start is written, looked over by the checks as the brewer will, and changed by what they found,
a few times over. Nothing here knows the beer: the forecast and the checks do.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from reportgen.assessment.assess import Assessment, assess
from reportgen.loading import load_archive
from reportgen.record.load import Archive
from reportgen.record.model.brewery import Kit
from reportgen.record.model.stock import Yeast
from reportgen.record.printed import convert

TRIES = 16
"""Changes after which the best start so far is taken."""

GRIST = 0.18
"""Malt of a beer of about 1.045, kg for each L into the fermenter (common practice, no source)."""

CALCIUM, MASH_PH = 80.0, 5.4
"""What the liquor is treated for where it needs it, mg/L and pH; as the manual's example."""

LESS = ("kettle-overfull", "fermenter-overfull", "tun-overfull", "mash-too-thick")
THINNER = ("over-sparged", "mash-too-thick", "first-wort-too-strong")
TREATED = ("calcium-in-mash", "mash-ph-off", "sparge-alkaline", "alkalinity-missing")


class Start(Struct, frozen=True):
    """What a new plan starts from: volumes in L, grist in kg for each L, liquor in L for each kg.

    ``treatment`` is YAML for the liquor; empty for none.
    """

    volume: float
    malt: float = GRIST
    liquor: float = 2.8
    sparge: str = "continuous"
    treatment: str = ""

    @property
    def grist(self) -> float:
        """Malt, kg."""
        return self.malt * self.volume

    @property
    def mash(self) -> float:
        """Liquor for the mash, L."""
        return self.liquor * self.grist


def first_start(kit: Kit) -> Start:
    """Return the start for a kit: as much as kettle and fermenter seem to hold."""
    tun, kettle = kit.tun, kit.kettle
    one_vessel = abs(tun.volume.value - kettle.volume.value) < 0.01 * kettle.volume.value
    # Without a false bottom in a tun of its own there is nothing to sparge through.
    bag = one_vessel and (tun.dead_space is None or tun.dead_space.value == 0)
    volume = min(0.68 * kettle.volume.value, 0.82 * kit.fermenter.volume.value)
    return Start(volume, sparge="bag" if bag else "continuous", liquor=4.0 if bag else 2.8)


def suited(
    archive: Archive,
    path: Path,
    kit: Kit,
    text_of: Callable[[Start], str],
    volume: float | None = None,
) -> str:
    """Return the text of a new record whose own check finds nothing, or as little as can be.

    ``volume`` is the wort wanted, L; else what the kit makes well.
    """
    name = path.relative_to(archive.root).as_posix()
    start, best, least = first_start(kit), "", 0
    if volume is not None:
        start = replace(start, volume=volume)
    for _ in range(TRIES):
        text = text_of(start)
        rules, batch = _looked_over(archive.root, name, text)
        if not best or len(rules) < least:
            best, least = text, len(rules)
        if not rules or batch is None:
            break
        changed = _changed(start, set(rules), batch)
        if changed == start:
            break
        start = changed
    return best


def _looked_over(root: Path, name: str, text: str) -> tuple[list[str], Assessment | None]:
    """Return the rules by which something is found in a record, and its assessment."""
    from reportgen.checks.base import names, run_checks

    archive = load_archive(root, names(), {name: text.encode()}, only=[name])
    rules = [f.rule for f in archive.findings if f.position.file == name]
    own = (b for b in archive.batches.values() if b.file == name)
    batch = next((assess(archive, b) for b in own), None)
    return rules + ([f.rule for f in run_checks(batch)] if batch is not None else []), batch


def _changed(start: Start, rules: set[str], batch: Assessment) -> Start:
    if rules & set(LESS):
        start = replace(start, volume=0.93 * start.volume)
    if rules & set(THINNER):
        start = replace(start, liquor=min(1.1 * start.liquor, 5.0))
    if "over-sparged" in rules:
        start = replace(start, malt=1.04 * start.malt)
    if rules & set(TREATED) and not rules & {*LESS, *THINNER}:
        start = replace(start, treatment=_treatment(batch, "both"))
    elif "dose-below-scale" in rules:
        # What is shared out over two liquors is too little of each for this scale.
        start = replace(start, treatment=_treatment(batch, "mash"))
    return start


def _treatment(batch: Assessment, where: str) -> str:
    """Return what ``treat`` proposes, as YAML; empty where it has nothing to propose."""
    from reportgen.planning.treatment_text import advise, as_text
    from reportgen.record.failure import Misuse

    ph = MASH_PH if batch.stock.acids else None
    try:
        said = as_text(batch, advise(batch, {"calcium": CALCIUM}, ph, where))
    except Misuse:
        return ""
    lines = [line for line in said.splitlines() if line[0] != "#" and not line.endswith("[]")]
    return textwrap.indent("\n".join(lines), "    ")


def fermentation_temperature(yeast: Yeast) -> float:
    """Return a temperature for a yeast, degC: low in its range; 19 where that is not known."""
    low, high = yeast.lowest_temperature, yeast.highest_temperature
    if low is None or high is None:
        return 19.0
    return min(low.value + 3.0, (low.value + high.value) / 2)


_VOLUMES = {"US": "US gal", "imperial": "imp gal"}


class HouseUnits(Struct, frozen=True):
    """Amounts as a brewer of a house writes them: ``metric``, ``US`` or ``imperial``.

    Values in the base unit. Rounded to what is measured out: litres, quarters of a gallon or pound.
    """

    system: str

    def volume(self, litres: float) -> str:
        """Return a volume of liquor or wort."""
        unit = _VOLUMES.get(self.system)
        if unit is None:
            return f"{litres:.0f} L" if litres >= 10 else f"{litres:.1f} L"
        return f"{round(convert(litres, 'volume', unit) * 4) / 4:g} {unit}"

    def malt(self, kilograms: float) -> str:
        """Return a mass of malt."""
        if self.system == "metric":
            return f"{kilograms:.1f} kg"
        return f"{round(convert(kilograms, 'mass', 'lb') * 4) / 4:g} lb"

    def hops(self, grams: float) -> str:
        """Return a mass of hops."""
        if self.system == "metric":
            return f"{grams:.0f} g"
        # In quarters, as hops are weighed; less than two ounces in tenths.
        ounces = convert(grams / 1000, "mass", "oz")
        per = 4 if ounces >= 2 else 10
        return f"{round(ounces * per) / per:g} oz"

    def slurry(self, litres: float) -> str:
        """Return a volume of yeast: litres, or quarts to the quarter."""
        if self.system == "metric":
            return f"{litres:g} L"
        unit = "US qt" if self.system == "US" else "imp pt"
        return f"{round(convert(litres, 'volume', unit) * 4) / 4:g} {unit}"

    @property
    def colour(self) -> str:
        """A colour, in the scale that is read."""
        return "7 SRM" if self.system == "US" else "14 EBC"

    def temperature(self, celsius: float, decimals: int = 0) -> str:
        """Return a temperature."""
        unit = "F" if self.system == "US" else "C"
        return f"{convert(celsius, 'temperature', unit):.{decimals}f} {unit}"

    def pressure(self, bar: float) -> str:
        """Return a gauge pressure."""
        if self.system == "metric":
            return f"{bar:.1f} bar"
        return f"{convert(bar, 'pressure', 'psi'):.0f} psi"
