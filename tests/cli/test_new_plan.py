"""What `new` writes suits the house: its own check finds nothing, whatever kit and units."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from reportgen.cli import main
from reportgen.record.load import load_archive

ROOT = Path(__file__).parents[2]
START = ROOT / "templates" / "start"

SMALL_FERMENTER = ("    fermenter:\n      volume: 55 L", "    fermenter:\n      volume: 30 L")
BAG = (
    "    mash_tun:\n      volume: 60 L\n      heat_capacity: 7 kJ/K     # about 0.5 kJ/K for each"
    " kg of steel\n      dead_space: 0.5 L         # what stays under the false bottom\n",
    "    mash_tun:\n      volume: 64 L\n      heat_capacity: 4 kJ/K\n      dead_space: 0 L\n",
)
NO_DEAD_SPACE = BAG[0], BAG[1].replace("      dead_space: 0 L\n", "")
SMALL_TUN = ("    mash_tun:\n      volume: 60 L", "    mash_tun:\n      volume: 28 L")
FINER = (
    "dipstick: {reads: volume_gauge, resolution: 0.5 L, uncertainty: 0.5 L}",
    "dipstick: {reads: volume_gauge, resolution: 0.1 L, uncertainty: 0.1 L}",
)
"""What a small kit is measured with: half a litre would leave every volume too close to call."""
BOTTLES = (
    ("  keg_19: {is: keg, volume: 19 L, number: 4} ", "  bottle: {is: bottle, volume: 0.5 L} "),
    ("  gauge: {reads: pressure_gauge, resolution: 0.02 bar, uncertainty: 0.05 bar}\n", ""),
)
LARGE = ("64 L", "640 L"), ("60 L", "700 L"), ("55 L", "600 L"), ("4.5 L/h", "30 L/h")

HOUSES = {
    "as it starts": (),
    "a fermenter smaller than the kettle": (SMALL_FERMENTER, FINER),
    "a bag in the kettle": (BAG,),
    "a bag in the kettle, no dead space written": (NO_DEAD_SPACE,),
    "a small tun": (SMALL_TUN, FINER),
    "ten times as large": LARGE,
    "bottles alone": BOTTLES,
}


@pytest.mark.parametrize("units", ["metric", "US", "imperial"])
@pytest.mark.parametrize("kit", HOUSES)
def test_its_own_check_finds_nothing(
    kit: str, units: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    for file in ("brewery.yaml", "stock.yaml"):
        shutil.copy(START / file, tmp_path)
    house = tmp_path / "brewery.yaml"
    text = house.read_text(encoding="utf-8").replace("units: metric", f"units: {units}")
    for old, new in HOUSES[kit]:
        assert old in text, old
        text = text.replace(old, new)
    house.write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert main(["new", "2026-01"]) == 0
    capsys.readouterr()
    main(["check"])
    assert capsys.readouterr().out.strip() == "", kit
    plan = (tmp_path / "2026" / "2026-01.yaml").read_text(encoding="utf-8").partition("brew_day")[0]
    foreign = {"metric": (" lb", " gal", " F,", " F\n"), "US": (" kg", " L ", " C,", " C\n"),
               "imperial": (" kg", " L ", " F,")}[units]  # fmt: skip
    assert [unit for unit in foreign if unit in plan] == []
    record = load_archive(tmp_path).batches["2026-01"].record
    assert record is not None
    # The kit is used, and not to the brim.
    house_read = load_archive(tmp_path).brewery
    assert house_read is not None
    fermenter = house_read.kits["main"].fermenter.volume.value
    assert 0.4 * fermenter <= record.plan.fermenter_volume.value <= 0.9 * fermenter
