"""A trace as plain data, for a program."""

from __future__ import annotations

from typing import Any

from reportgen.archive.links import Links, LotStory, YeastLink
from reportgen.archive.reached import revisions_of_batch
from reportgen.archive.register import Register
from reportgen.archive.ties import LotInBatch, LotName
from reportgen.archive.trace import BatchTrace, LotTrace, Trace
from reportgen.store.takings import BatchTakings


def history_data(register: Register, traced: Trace) -> dict[str, Any]:
    """Return what git knows of a batch's record, for JSON; nothing for other traces."""
    if not isinstance(traced, BatchTrace):
        return {}
    return {
        "revisions": [
            {"commit": r.commit, "day": r.day, "subject": r.subject}
            for r in revisions_of_batch(register, traced.batch)
        ]
    }


def sent_data(batches: list[BatchTakings]) -> list[dict[str, Any]]:
    return [
        {
            "batch": batch.batch, "number": sent.number, "of": sent.of, "litres": sent.litres,
            "on_gas_since": sent.on_gas_since or None, "went_to": sent.went_to or None,
            "went_on": sent.went_on or None, "back_on": sent.back_on or None,
            "empty": sent.is_empty,
        }
        for batch in batches for sent in batch.sent
    ]  # fmt: skip


def as_data(traced: Trace, links: Links) -> dict[str, Any]:
    """Return a trace as plain data for JSON."""
    if isinstance(traced, BatchTrace):
        return {
            "batch": traced.batch,
            "yeast_line": [_yeast_data(link) for link in traced.line],
            "lots": [
                {**_lot_data(story), "uses": [_use_data(u) for u in story.uses
                                              if u.batch == traced.batch]}
                for _, story in traced.lots
            ],
            "yeast_to": list(traced.children),
            "descendants": list(traced.descendants),
            "plan_from": traced.like or None,
            "plans": list(traced.plans),
            "in_common": [
                {"what": s.what, "name": s.name, "batches": list(s.batches)} for s in traced.shared
            ],
            "problems": list(traced.problems),
        }
    if isinstance(traced, LotTrace):
        return {
            **_lot_data(traced.story),
            "uses": [_use_data(use) for use in traced.story.uses],
            "carried_on_with_yeast": list(traced.carried_on),
            "problems": list(traced.problems),
        }
    return {
        "item": traced.item,
        "kind": traced.kind,
        "lots": [
            {**_lot_data(s), "uses": [_use_data(u) for u in s.uses]} for s in traced.lots
        ],
        "batches": list(traced.batches),
        "yeast": [_yeast_data(links.yeast[b]) for b in traced.batches if traced.kind == "yeasts"],
        "problems": list(traced.problems),
    }


def _lot_data(story: LotStory) -> dict[str, Any]:
    name: LotName = story.name
    known = story.known
    return {
        "lot": name.lot,
        "item": name.item,
        "kind": name.kind or None,
        "received": str(known.received) if known and known.received else None,
        "best_before": str(known.best_before) if known and known.best_before else None,
        "supplier": str(known.supplier) if known and known.supplier else None,
    }


def _use_data(use: LotInBatch) -> dict[str, Any]:
    return {
        "batch": use.batch,
        "brewed": use.brewed.isoformat() if use.brewed else None,
        "planned": list(use.planned),
        "weighed": list(use.weighed),
        "used_instead": list(use.instead),
        "left_out": list(use.left_out),
        "used": use.was_used,
    }


def _yeast_data(link: YeastLink) -> dict[str, Any]:
    living = link.living
    return {
        "batch": link.batch,
        "yeast": link.yeast,
        "generation": link.generation,
        "generation_counted": link.counted,
        "harvested_from": link.parent or None,
        "lot": link.lot or None,
        "pitched": link.pitched.isoformat() if link.pitched else None,
        "age_days": link.age,
        "living": None if living is None else {
            "expected": round(living.expected, 3),
            "low": round(living.low, 3),
            "high": round(living.high, 3),
        },
        "harvested": link.harvest.when if link.harvest else None,
        "problems": list(link.problems),
    }
