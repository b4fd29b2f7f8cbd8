"""``trace``: a lot, a yeast, an item of the stock, an instrument or a batch, forward and back."""

from __future__ import annotations

import argparse
import datetime
import json
import re
from collections.abc import Sequence
from pathlib import Path

from msgspec import to_builtins

from reportgen.archive.links import Links, links_of
from reportgen.archive.lock import output_lock
from reportgen.archive.reached import reached_by
from reportgen.archive.read_with import read_with
from reportgen.archive.register import Register, read_register
from reportgen.archive.trace import Trace, Unknown, trace
from reportgen.archive.write import write_atomic
from reportgen.record.failure import Misuse
from reportgen.record.finding import visible
from reportgen.record.listing import OUTPUT, record_names
from reportgen.report.printed_list import list_pdf, view_of
from reportgen.report.recall_list import PRIVATE, lead_of, recall_table
from reportgen.report.trace_data import as_data, history_data, sent_data
from reportgen.report.trace_lines import instrument_lines, lines
from reportgen.verbs.produce import paper_of
from reportgen.verbs.progress import progress
from reportgen.verbs.where import Unread, root_named, say_in_part, say_unread, shown


def run(arguments: argparse.Namespace) -> int:
    """Print the trace of a name; 1 when a link is missing or goes round in a circle."""
    root = root_named(arguments)
    register = read_register(root, progress=progress("looked at"))
    if register.stock is None:
        raise Unread(register)
    if register.brewery is not None and arguments.name in register.brewery.instruments:
        return _instrument(register, arguments)
    links = links_of(register)
    if arguments.recall and arguments.format == "json":
        raise Misuse("--recall writes a PDF; the JSON has the containers as well")
    try:
        traces = trace(register, links, arguments.name)
    except Unknown as error:
        # What gives no batch, for faults in it, is there all the same.
        if file := next((n for n in record_names(root) if Path(n).stem == arguments.name), ""):
            say_unread(register, file)
            return 1
        raise Misuse(str(error)) from error
    if arguments.recall:
        print(shown(_recall(register, links, arguments.name, traces, arguments.paper)))
    elif arguments.format == "json":
        data = [
            {
                **as_data(traced, links), **history_data(register, traced),
                "containers": sent_data(reached_by(register, links, [traced])),
            }
            for traced in traces
        ]
        print(json.dumps(data, ensure_ascii=False, indent=1))
    else:
        told = (
            "\n".join(visible(line) for line in lines(register, links, traced)) for traced in traces
        )
        print("\n\n".join(told))
    in_part = say_in_part(register.findings)
    return 1 if in_part or any(traced.problems for traced in traces) else 0


def _instrument(register: Register, arguments: argparse.Namespace) -> int:
    """Print what an instrument read; 1 when some of it is in doubt."""
    if arguments.recall:
        raise Misuse("--recall is for a lot, an item or a batch, not for an instrument")
    batches = read_with(register.root, arguments.name)
    if arguments.format == "json":
        data = {"instrument": arguments.name, "batches": [to_builtins(b) for b in batches]}
        print(json.dumps([data], ensure_ascii=False, indent=1))
    else:
        told = instrument_lines(register, arguments.name, batches)
        print("\n".join(visible(line) for line in told))
    in_part = say_in_part(register.findings)
    return 1 if in_part or any(batch.doubted for batch in batches) else 0


def _recall(
    register: Register, links: Links, name: str, traces: Sequence[Trace], paper: str | None
) -> Path:
    """Write the recall list of a lot, an item or a batch and return its path."""
    brewery = register.brewery
    if brewery is None:
        raise Unread(register)
    batches = reached_by(register, links, traces)
    sent = [to for batch in batches for to in batch.sent]
    every = [day for to in sent for day in (to.went_on, to.back_on) if day]
    known = register.store.last_day
    days = [*map(datetime.date.fromisoformat, every), *([known] if known is not None else [])]
    day = max(days, default=None)
    view = view_of(
        brewery, f"Recall {name}", lead_of(register, links, name, traces, batches),
        (recall_table(batches, brewery.system),), PRIVATE,
        f"As of {day}." if day else "",
    )  # fmt: skip
    # A lot that a record names may have anything in it, also what leads out of the folder. Written
    # so, `M/1` is another file than `M-1`.
    file = re.sub(r"^\.|[^\w.-]", lambda sign: "".join(f"%{b:02X}" for b in sign[0].encode()), name)
    path = register.root / OUTPUT / "recall" / f"{file}.pdf"
    with output_lock(register.root / OUTPUT):
        write_atomic(path, list_pdf(view, paper_of(brewery, paper), register.root, day))
    return path
