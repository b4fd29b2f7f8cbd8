"""A plan with some values changed, read again as if it stood in the file; no file is touched.

What ``--set`` changes and what is proposed goes through the same loader as every record, so that a
value that could not be written into the file cannot be computed with either.
"""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from reportgen.loading import load_archive
from reportgen.record.finding import Finding, Severity
from reportgen.record.load import Archive, Batch
from reportgen.record.suggest import did_you_mean

Path_ = tuple[str | int, ...]
"""A place in a plan: keys, and numbers of entries of a list, from 0."""

_STEP = re.compile(r"([A-Za-z_][A-Za-z0-9_-]*)((?:\[\d{1,4}\])*)")


class NoSuchPlace(ValueError):
    """A place that a plan does not have; the message says what is there instead."""


def place_of(text: str) -> Path_:
    """Read ``mash.rests[0].temperature`` as a place. :class:`NoSuchPlace` for another form."""
    path: list[str | int] = []
    for part in text.strip().removeprefix("plan.").split("."):
        step = _STEP.fullmatch(part)
        if step is None:
            raise NoSuchPlace(
                f"`{text}` is not a place in a plan; write one like mash.rests[0].temperature"
            )
        path.append(step[1])
        path += [int(number) for number in re.findall(r"\d+", step[2])]
    return tuple(path)


def place_text(place: Path_) -> str:
    """Return a place as it is written."""
    text = ""
    for step in place:
        text += f"[{step}]" if isinstance(step, int) else f".{step}"
    return text.removeprefix(".")


def value_at(plan: Mapping[str, Any], place: Path_) -> Any:
    """Return what stands at a place of a plan; None where nothing does."""
    here: Any = plan
    for step in place:
        if isinstance(step, int):
            here = here[step] if isinstance(here, list) and step < len(here) else None
        else:
            here = here.get(step) if isinstance(here, Mapping) else None
    return here


def with_values(plan: Mapping[str, Any], values: Mapping[Path_, Any]) -> dict[str, Any]:
    """Return a copy of a plan with other values at some places.

    A key that the plan does not have yet is added, with the mappings above it; an entry of a list
    must be there, save the next one. None takes a key or an entry away. :class:`NoSuchPlace`.
    """
    new: dict[str, Any] = copy.deepcopy(dict(plan))
    for place, value in values.items():
        _put(new, place, value)
    return new


def _put(plan: dict[str, Any], place: Path_, value: Any) -> None:
    here: Any = plan
    for number, (step, after) in enumerate(zip(place, (*place[1:], None), strict=True)):
        last = number == len(place) - 1
        above = place_text(place[:number]) or "the plan"
        if isinstance(step, int):
            if not isinstance(here, list):
                raise NoSuchPlace(f"{above} is not a list: leave [{step}] away")
            if step > len(here):
                many = f"{len(here)} {'entry' if len(here) == 1 else 'entries'}"
                raise NoSuchPlace(f"{above} has {many}, counted from [0]: there is no [{step}]")
            if last and value is None:
                if step < len(here):
                    del here[step]
                return
            if step == len(here):
                here.append({})
        elif not isinstance(here, dict):
            hint = "write [0] for its first entry" if isinstance(here, list) else "it is one value"
            raise NoSuchPlace(f"{above} has no `{step}`: {hint}")
        elif last and value is None:
            here.pop(step, None)
            return
        elif not last and step not in here:
            if isinstance(after, int) and after > 0:
                raise NoSuchPlace(f"{above} has no `{step}`: {did_you_mean(step, list(here))}")
            here[step] = [] if isinstance(after, int) else {}
        if last:
            here[step] = value
        else:
            here = here[step]


def record_bytes(batch: str, name: str, plan: Mapping[str, Any], **more: Any) -> bytes:
    """Return a record of one whole plan, as YAML in its JSON form."""
    whole = {key: value for key, value in plan.items() if key != "like"}
    record = {"format": "1", "batch": batch, "name": name, **more, "plan": whole}
    return json.dumps(record, ensure_ascii=False).encode()


def replanned(
    root: Path, file: str, batch: str, name: str, plan: Mapping[str, Any], **more: Any
) -> tuple[Archive, Batch | None, tuple[Finding, ...]]:
    """Load an archive as if a record had another plan and nothing else yet.

    Returns what is wrong with it, too: its lines are those of no file, so only the words count.
    """
    given = {file: record_bytes(batch, name, plan, **more)}
    archive = load_archive(root, given=given, only=[file])
    wrong = tuple(
        f for f in archive.findings if f.position.file == file and f.severity is Severity.ERROR
    )
    bound = archive.batches.get(batch)
    return archive, None if bound is None or bound.record is None else bound, wrong


def more_of(batch: Batch) -> dict[str, Any]:
    """Return what of a record its plan cannot be forecast without: whose wort it ferments."""
    wort = batch.record.wort_from if batch.record is not None else None
    if wort is None:
        return {}
    return {"wort_from": {"batch": str(wort.batch), "volume": wort.volume.text}}


def assignments(texts: Sequence[str]) -> dict[Path_, str | None]:
    """Read ``PLACE=VALUE`` texts; an empty value, or ``null``, takes the key away."""
    values: dict[Path_, str | None] = {}
    for text in texts:
        place, sign, value = text.partition("=")
        if not sign:
            raise NoSuchPlace(f"`{text}` has no =; write PLACE=VALUE, e.g. volume=38L")
        value = value.strip()
        values[place_of(place)] = None if value in ("", "null", "~") else value
    return values
