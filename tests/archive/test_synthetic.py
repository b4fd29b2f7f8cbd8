"""Thirty batches whose kit and yeasts have known true values: found again, and in bounded time."""

from __future__ import annotations

import json
import math
import time
from pathlib import Path

import pytest
from houses import reportgen
from synthetic_archive import TRUTH, make_archive

COUNT = 30
SECONDS = 400
"""Longest that one command may take; a machine busy with other tests is allowed for."""


def test_the_same_seed_gives_the_same_archive(tmp_path: Path) -> None:
    for name in ("a", "b"):
        make_archive(tmp_path / name, 12, seed=5)
    for path in (tmp_path / "a").rglob("*.yaml"):
        other = tmp_path / "b" / path.relative_to(tmp_path / "a")
        assert path.read_bytes() == other.read_bytes()
    make_archive(tmp_path / "c", 12, seed=6)
    assert (tmp_path / "c/2020/2020-001.yaml").read_bytes() != (
        tmp_path / "a/2020/2020-001.yaml"
    ).read_bytes()


@pytest.mark.usefixtures("every_core")
def test_thirty_batches_are_checked_built_and_tell_the_truth(tmp_path: Path) -> None:
    folder = tmp_path / "house"
    ids = make_archive(folder, COUNT, seed=1)
    # What the first run finds of each batch is kept for the next.
    (folder / "build").mkdir()
    done = reportgen("check", "--format", "json", cwd=folder, seconds=SECONDS)
    rules = {json.loads(line)["rule"] for line in done.stdout.splitlines()}
    # The archive is sound: at most a batch that scattered beyond its limits without a review.
    assert rules <= {"off-plan-without-review"}, rules

    done = reportgen("ledger", cwd=folder, seconds=SECONDS)
    assert done.returncode == 0, done.stderr
    assert all((folder / f"build/ledger/batch/{batch}.html").is_file() for batch in ids)
    start = time.monotonic()
    done = reportgen("ledger", cwd=folder, seconds=SECONDS)
    assert f"0 written, {COUNT + 11} unchanged" in done.stderr
    assert time.monotonic() - start < 60

    done = reportgen("history", "--format", "json", cwd=folder, seconds=SECONDS)
    series = {(s["measure"], s["name"]): s for s in json.loads(done.stdout)}
    truth = {
        ("conversion", "main"): TRUTH.conversion,
        ("grain_absorption", "main"): TRUTH.shortfall,
        ("evaporation", "main"): TRUTH.evaporation,
        ("heat_loss", "main"): TRUTH.heat_loss,
        **{("attenuation", yeast): value for yeast, value in TRUTH.attenuation.items()},
    }
    for key, (mean, spread) in truth.items():
        found = series[key]
        # Three standard errors of the mean: one in four hundred would lie outside by chance.
        within = 3 * spread / math.sqrt(found["count"])
        assert found["mean"] == pytest.approx(mean, abs=within), key
        assert found["warning"][0] < mean < found["warning"][1]
    # The house states other values of all but one, and is told so.
    proposed = {key for key in truth if series[key]["proposed"] is not None}
    assert proposed == set(truth) - {("attenuation", "ale_south")}

    words = reportgen("history", "--compare", "ale_north", "ale_south", cwd=folder, seconds=SECONDS)
    attenuation, _, fruity = words.stdout.partition("Tasted: fruity")
    assert "A difference is shown" in attenuation
    # 4.0 against 3.0 in the truth; bitter is the same in all.
    assert "A difference is shown" in fruity and "all values are the same" in words.stdout
