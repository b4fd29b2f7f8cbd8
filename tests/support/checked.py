"""What the checks find in the example archive with a patch laid over it.

A mapping is laid over a mapping, anything else replaces. The keys ``brewery`` and ``stock`` patch
those files, ``others`` adds records by batch id, the rest patches the example record.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import yaml
from houses import EXAMPLE, NAMES, laid_over, parsed

from reportgen.archive.summaries import summarised
from reportgen.archive.summary import Summary
from reportgen.assessment.assess import assess
from reportgen.checks.base import house_findings, run_checks
from reportgen.loading import load_archive
from reportgen.record.finding import Finding, once
from reportgen.record.load import Archive, Batch


def summarise(archive: Archive, batch: Batch) -> Summary | None:
    made = summarised(archive, batch)
    return None if made is None else made[0]


def archive_with(patch: str, folder: Path, units: str = "metric") -> Archive:
    shutil.copytree(EXAMPLE, folder)
    parts = yaml.load(patch, yaml.BaseLoader) or {}
    parts["brewery"] = {"units": units, **parts.get("brewery", {})}
    others = parts.pop("others", {})
    files = {
        "brewery.yaml": parts.pop("brewery", {}),
        "stock.yaml": parts.pop("stock", {}),
        "2026/2026-01.yaml": parts,
    }
    base = parsed("2026/2026-01.yaml")
    for name, over in files.items():
        whole = laid_over(parsed(name), over)
        (folder / name).write_text(yaml.safe_dump(whole, allow_unicode=True, sort_keys=False))
    for batch, over in others.items():
        whole = laid_over({**base, "batch": batch}, over)
        path = folder / "2026" / f"{batch}.yaml"
        path.write_text(yaml.safe_dump(whole, allow_unicode=True, sort_keys=False))
    archive = load_archive(folder, NAMES)
    assert archive.findings == (), archive.findings
    return archive


def findings_with(patch: str, folder: Path, units: str = "metric") -> list[Finding]:
    archive = archive_with(patch, folder, units)
    found = house_findings(archive)
    for batch in archive.batches.values():
        assessment = assess(archive, batch)
        assert assessment is not None
        found += run_checks(assessment)
    return once(found)
