"""``treat`` proposes something sensible whatever salts the stock holds."""

from __future__ import annotations

import itertools
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from reportgen.assessment.assess import Assessment, assess
from reportgen.cli import main
from reportgen.loading import load_archive
from reportgen.planning.treatment_text import advise, as_text
from reportgen.record.model.stock import SALTS
from reportgen.science.salts import SULFITES
from reportgen.science.treatment import treat

EXAMPLE = Path(__file__).parents[1] / "example"
WISH = {"calcium": 80.0, "sulfate": 120.0}


@cache
def _files() -> tuple[Any, dict[str, bytes]]:
    names = ("brewery.yaml", "stock.yaml", "2026/2026-01.yaml")
    given = {name: (EXAMPLE / name).read_bytes() for name in names}
    return yaml.load(given["stock.yaml"], yaml.BaseLoader), given


def _batch_with(salts: tuple[str, ...], folder: Path, *acids: str) -> Assessment:
    stock, given = _files()
    own = {f"own_{number}": {"is": kind} for number, kind in enumerate(salts)}
    sour = {f"sour_{kind}": {"is": kind, "strength": STRENGTH[kind]} for kind in acids}
    more = {"salts": own, **({"acids": sour} if acids else {})}
    text = yaml.safe_dump({**stock, **more}, sort_keys=False).encode()
    plan = given["2026/2026-01.yaml"].decode()
    head, _, tail = plan.partition("    salts:\n")
    after = tail.partition("    acids:\n")[2]
    plan = head + (after.partition("\n")[2] if acids else "    acids:\n" + after)
    for name, content in {**given, "stock.yaml": text, "2026/2026-01.yaml": plan.encode()}.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(content)
    archive = load_archive(folder)
    assert archive.findings == (), archive.findings
    found = assess(archive, next(iter(archive.batches.values())))
    assert found is not None
    return found


STRENGTH = {
    "lactic": "80 %", "phosphoric": "10 %", "hydrochloric": "31 %", "sulfuric": "96 %",
    "citric": "50 %",
}  # fmt: skip
PAIRS = [*((salt,) for salt in SALTS), *itertools.pairwise((*SALTS, SALTS[0]))]


@pytest.mark.parametrize("salts", PAIRS, ids="+".join)
@pytest.mark.parametrize("where", ["mash", "both"])
def test_any_salt_in_stock(salts: tuple[str, ...], where: str, tmp_path: Path) -> None:
    batch = _batch_with(salts, tmp_path)
    found = advise(batch, WISH, 5.4, where)
    assert all(grams >= 0 for grams in found.doses.values())
    assert not set(SULFITES) & set(found.doses), "sulfite is no source of sulfate"
    assert found.mash_ph is not None and 4.5 < found.mash_ph < 6.5
    text = as_text(batch, found)
    assert yaml.safe_load(text), "what is printed can be pasted"


@pytest.mark.parametrize("salt", SALTS)
@pytest.mark.parametrize("ph", [None, 5.2, 5.6])
def test_the_solver_takes_any_salt(salt: str, ph: float | None) -> None:
    """A salt that uses alkalinity up is an acid to the mash: it lowers the pH, and no more."""
    from reportgen.science.mash_ph import MaltAcidity

    malts = (MaltAcidity(7.0, 5.72, 40.0),)
    liquor = {"calcium": 20.0, "sulfate": 20.0, "alkalinity": 1.5}
    found = treat(
        liquor, 20.0, 20.0, {"sulfate": 200.0}, (salt,), "mash", acid="lactic",
        target_ph=ph, malts=malts,
    )  # fmt: skip
    assert (found.mash_ph is None) == (ph is None)
    if found.mash_ph is not None:
        assert 4.5 < found.mash_ph < 6.5


def test_every_salt_at_once(tmp_path: Path) -> None:
    batch = _batch_with(tuple(SALTS), tmp_path)
    found = advise(batch, {"calcium": 80.0}, 5.4, "mash")
    assert found.mash_ph == pytest.approx(5.4, abs=0.05)


ACIDS = [*((acid,) for acid in STRENGTH), *itertools.combinations(STRENGTH, 2)]


@pytest.mark.parametrize("acids", ACIDS, ids="+".join)
@pytest.mark.parametrize("salt", ["gypsum", "slaked_lime", "potassium_metabisulfite"])
def test_any_acid_in_stock(acids: tuple[str, ...], salt: str, tmp_path: Path) -> None:
    batch = _batch_with((salt,), tmp_path, *acids)
    found = advise(batch, WISH, 5.3, "both")
    assert found.mash_ph == pytest.approx(5.3, abs=0.05)
    poured = [d["acid"] for d in yaml.safe_load(as_text(batch, found))["acids"]]
    assert poured and set(poured) <= {f"sour_{acid}" for acid in acids}


@pytest.mark.parametrize("salt", SALTS)
def test_a_stock_of_one_salt_and_no_acid(salt: str, tmp_path: Path) -> None:
    batch = _batch_with((salt,), tmp_path)
    text = as_text(batch, advise(batch, WISH, None, "mash"))
    assert yaml.safe_load(text)["acids"] == []


@pytest.mark.parametrize(
    ("option", "value", "said"),
    [
        ("--calcium", "5000", "more than 2000 mg/L"),
        ("--calcium", "-5", "negative"),
        ("--mash-ph", "5,4", "decimal comma; write 5.4"),
        ("--mash-ph", "54", "not a pH"),
    ],
)
def test_what_nobody_can_want_is_refused(
    option: str, value: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit, match="2"):
        main(["treat", "2026-01", option, value])
    assert said in capsys.readouterr().err


def test_what_is_pasted_keeps_what_the_plan_has_for_other_places(
    capsys: pytest.CaptureFixture[str],
) -> None:
    plan = str(EXAMPLE.parents[1] / "batches/2026/2026-10.yaml")
    assert main(["treat", plan, "--calcium", "80"]) == 0
    assert "acids:" not in capsys.readouterr().out
    assert main(["treat", plan, "--calcium", "80", "--mash-ph", "5.4"]) == 0
    given = yaml.load(capsys.readouterr().out, yaml.BaseLoader)["acids"]
    assert [(acid["to"], acid["amount"]) for acid in given[1:]] == [
        ("sparge", "0.5 mL"), ("kettle", "0.3 mL")
    ]
