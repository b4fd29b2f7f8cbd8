"""``new``: starts a record, from nothing or like another batch; prints its path."""

from __future__ import annotations

import argparse
import os
import re
from pathlib import Path

from reportgen.archive.write import create_new
from reportgen.record.load import Archive, load_archive
from reportgen.record.model.batch import ID
from reportgen.record.suggest import did_you_mean
from reportgen.verbs.new_record import LATER, LIKE, PLAN
from reportgen.verbs.where import Misuse, root_of


def run(arguments: argparse.Namespace) -> int:
    """Create the record and print its path."""
    root = root_of([])
    if not ID.fullmatch(arguments.batch):
        raise Misuse(f"`{arguments.batch}` cannot be a batch id; write one like 2026-07")
    archive = load_archive(root)
    if arguments.batch in archive.batches:
        raise Misuse(f"batch {arguments.batch} is there: {archive.batches[arguments.batch].file}")
    year = re.match(r"\d{4}", arguments.batch)
    path = root / (year.group() if year else "records") / f"{arguments.batch}.yaml"
    create_new(path, text_of(archive, arguments.batch, arguments.name, arguments.like, path))
    print(os.path.relpath(path))
    return 0


def text_of(archive: Archive, batch: str, name: str | None, like: str | None, path: Path) -> str:
    """Return the text of a new record. Misuse when there is nothing to start it from."""
    schema = schema_path(archive, path)
    if like is not None:
        if like not in archive.batches:
            hint = did_you_mean(like, list(archive.batches))
            raise Misuse(f"no batch {like} in this archive. {hint}".strip())
        other = archive.batches[like].record
        title = name or (str(other.name) if other else batch)
        return LIKE.format(schema=schema, batch=batch, name=quoted(title), like=like)
    brewery, stock = archive.brewery, archive.stock
    if brewery is None or stock is None:
        raise Misuse("brewery.yaml or stock.yaml cannot be read; run reportgen check")
    tables = {
        "kits": brewery.kits, "liquors": brewery.liquors, "malts": stock.malts,
        "hops": stock.hops, "yeasts": stock.yeasts,
    }
    for table, entries in tables.items():
        if not entries:
            raise Misuse(f"there are no {table} yet: write at least one first")
    kit = next(iter(brewery.kits))
    volume = round(0.7 * brewery.kits[kit].kettle.volume.value)
    grist = 0.18 * volume
    return (PLAN + LATER).format(
        schema=schema, batch=batch, name=quoted(name or "New beer"), kit=kit, volume=volume,
        malt=next(iter(stock.malts)), grist=grist, liquor=next(iter(brewery.liquors)),
        mash=2.8 * grist, hop=next(iter(stock.hops)), hops=1.2 * volume,
        yeast=next(iter(stock.yeasts)), person=next(iter(brewery.people), "AB"),
        salt=next(iter(stock.salts), "gypsum"), acid=next(iter(stock.acids), "lactic"),
        fining=next(iter(stock.finings), "carrageenan"), kettle=1.17 * volume, packed=0.95 * volume,
    )  # fmt: skip


def schema_path(archive: Archive, path: Path) -> str:
    """Return the schema that the other records point their editor to, else the installed one."""
    for batch in archive.batches.values():
        first = batch.source.lines[0] if batch.source.lines else ""
        match = re.match(r"# yaml-language-server: \$schema=(\S+)", first)
        if match and (archive.root / batch.file).parent == path.parent:
            return match.group(1)
    from reportgen.resources import schema_dir

    return Path(os.path.relpath(schema_dir() / "record.json", path.parent)).as_posix()


def quoted(text: str) -> str:
    """Return a text as a YAML value, quoted when it needs to be."""
    plain = re.match(r"^[A-Za-z][\w .,'()-]*$", text) and not text.endswith(" ")
    return text if plain else '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
