"""The text of a new record, from nothing or like another batch."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from pathlib import Path

from reportgen.archive.schemas import has_schemas, line_of, write_schemas
from reportgen.planning.harvests import offered
from reportgen.planning.new_plan import HouseUnits, Start, fermentation_temperature, suited
from reportgen.planning.new_record import LATER, LIKE, PLAN, TREATED, TREATMENT
from reportgen.record.failure import Misuse
from reportgen.record.finding import Severity
from reportgen.record.load import Archive, Batch
from reportgen.record.model.plan import KINDS_PACKED
from reportgen.record.model.stock import Stock
from reportgen.record.source import EDITOR_LINE
from reportgen.record.suggest import did_you_mean
from reportgen.record.units import UnitError, parse_quantity


def other_of(archive: Archive, like: str) -> Batch:
    if like not in archive.batches:
        hint = did_you_mean(like, list(archive.batches))
        raise Misuse(f"no batch {like} in this archive. {hint}".strip())
    return archive.batches[like]


def text_of(
    archive: Archive, batch: str, name: str | None, like: str | None, path: Path,
    on_kit: str | None = None, of_volume: str | None = None,
) -> str:
    """Return the text of a new record. Misuse when there is nothing to start it from.

    What is like no other starts from a brewery and a stock that can be read.
    """
    line = editor_line(archive, path.relative_to(archive.root).as_posix())
    if like is not None:
        other = other_of(archive, like).record
        title = name or (str(other.name) if other else batch)
        text = LIKE.format(line=line, batch=batch, name=quoted(title), like=like)
        harvests = _harvests(archive, str(other.plan.pitch.yeast) if other else "")
        return f"{text}  # pitch:\n{harvests}" if harvests else text
    brewery, stock = archive.brewery, archive.stock
    assert brewery is not None and stock is not None
    tables = {
        "kits": brewery.kits, "liquors": brewery.liquors, "malts": stock.malts,
        "hops": stock.hops, "yeasts": stock.yeasts,
    }
    for table, entries in tables.items():
        if not entries:
            if any(f.severity is Severity.ERROR for f in archive.findings):
                raise Misuse(f"no {table} can be read; run reportgen check")
            raise Misuse(f"there are no {table} yet: write at least one first")
    kit = str(on_kit or next(iter(brewery.kits)))
    if kit not in brewery.kits:
        hint = did_you_mean(kit, list(map(str, brewery.kits)))
        raise Misuse(f"no kit `{kit}` in brewery.yaml. {hint}".strip())
    litres = None
    if of_volume is not None:
        try:
            litres = parse_quantity(of_volume, "volume", brewery.bare_gallon).value
        except UnitError as error:
            raise Misuse(f"--volume: {error}") from error
    names = {
        "line": line, "batch": batch, "name": quoted(name or "New beer"), "kit": kit,
        "liquor": next(iter(brewery.liquors)), "yeast": next(iter(stock.yeasts)),
        "person": next(iter(brewery.people), "AB"), "salt": next(iter(stock.salts), "gypsum"),
        "acid": next(iter(stock.acids), "lactic"),
        "fining": next(iter(stock.finings), "carrageenan"),
        "harvests": _harvests(archive, str(next(iter(stock.yeasts)))),
    }  # fmt: skip
    units = HouseUnits(brewery.system)
    # What the house lists first is what it fills.
    into = next((str(c.is_) for c in brewery.containers.values()), KINDS_PACKED[0])
    size = next((c.volume.text for c in brewery.containers.values()
                 if c.volume is not None and str(c.is_) == into), units.volume(19))
    others = ", ".join(kind for kind in KINDS_PACKED if kind != into)
    names |= {"container": size, "into": into, "other_kinds": others, "some_salt": units.hops(5)}

    def written(start: Start) -> str:
        return (PLAN + LATER).format(**names, **_amounts(start, units, stock, names))

    return suited(archive, path, brewery.kits[kit], written, litres)


def _amounts(
    start: Start, units: HouseUnits, stock: Stock, names: Mapping[str, str]
) -> dict[str, str]:
    """Return the amounts of a new plan, and those its comments show, in its units."""
    malt, hop = next(iter(stock.malts)), next(iter(stock.hops))
    ferment = fermentation_temperature(stock.yeasts[names["yeast"]])
    grams = BITTERNESS * start.volume / (1000 * stock.hops[hop].alpha.value * UTILISATION)
    treatment = TREATED + start.treatment + "\n" if start.treatment else TREATMENT.format(**names)
    others = [how for how in ("continuous", "batch", "none", "bag") if how != start.sparge]
    degrees = units.temperature
    return {
        "malt": malt, "malt_lot": _lot(stock.malts[malt].lots),
        "hop": hop, "hop_lot": _lot(stock.hops[hop].lots),
        "allergens": _allergens(stock, malt), "treatment": treatment,
        "volume": units.volume(start.volume), "grist": units.malt(start.grist),
        "some_fining": units.hops(4), "some_sugar": units.hops(180), "some_colour": units.colour,
        "some_yeast": f"{units.hops(22)}, {units.slurry(0.8)}", "some_slurry": units.slurry(1.0),
        "some_malt": units.malt(0.5), "mash": units.volume(start.mash),
        "hops": units.hops(grams), "some_hops": units.hops(20),
        "kettle": units.volume(1.17 * start.volume), "packed": units.volume(0.95 * start.volume),
        "sparge": start.sparge, "other_sparges": ", ".join(others),
        "room": degrees(18), "rest": degrees(66), "sparging": degrees(76),
        "ferment": degrees(ferment), "cool": degrees(ferment - 1), "sample": degrees(20),
        "hot": degrees(65), "cold": degrees(3), "cellar": degrees(6), "gauge": units.pressure(0.9),
        "read_strike": degrees(72.1, 1), "read_mash": degrees(65.8, 1),
        "read_sparge": degrees(75.8, 1), "read_pitch": degrees(ferment - 0.5, 1),
    }  # fmt: skip


BITTERNESS = 25.0
"""Bitterness that a new plan starts from, IBU."""

UTILISATION = 0.24
"""Share of the alpha acids that an hour's boil of a usual wort brings into it (common practice)."""


def _harvests(archive: Archive, yeast: str) -> str:
    """Return the harvests of a yeast that a plan may take, as lines to take the mark off."""
    return "".join(f"    {line}\n" for line in offered(archive, yeast))


def _lot(lots: Mapping[str, object]) -> str:
    """Return the first lot of an item as a further key of its line; empty when it has none."""
    return f", lot: {next(iter(lots))}" if lots else ""


def _allergens(stock: Stock, malt: str) -> str:
    """Return the allergens of the malt and the fining of a new plan, for its label."""
    words = [*stock.malts[malt].allergens]
    for fining in list(stock.finings.values())[:1]:
        words += fining.allergens
    return f"; contains {', '.join(dict.fromkeys(map(str, words)))}" if words else ""


def editor_line(archive: Archive, file: str) -> str:
    """Return the line for the editor of a new record: to the schema that the archive has.

    An archive that goes by schemas kept elsewhere, which are there, goes on doing so. One without
    any gets its own.
    """
    root = archive.root
    if not has_schemas(root):
        for batch in archive.batches.values():
            match = EDITOR_LINE.search(batch.source.data)
            if match is None:
                continue
            path = (root / batch.file).parent / match[2].decode("utf-8", "replace")
            if path.is_file():
                here = os.path.relpath(path, (root / file).parent)
                return f"# yaml-language-server: $schema={Path(here).as_posix()}"
        write_schemas(root)
    return line_of(file)


def quoted(text: str) -> str:
    """Return a text as a YAML value, quoted when it needs to be."""
    plain = re.match(r"^[A-Za-z][\w .,'()-]*$", text) and not text.endswith(" ")
    return text if plain else '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
