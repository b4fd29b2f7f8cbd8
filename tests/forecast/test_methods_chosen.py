"""Each choice among published models changes the figure it is about, and the record names it."""

from __future__ import annotations

import importlib
import shutil
from pathlib import Path

import pytest
from msgspec.structs import replace

from reportgen.assessment.assess import Assessment, assess
from reportgen.checks.base import each_by_itself
from reportgen.forecast.walk import walk
from reportgen.loading import load_archive
from reportgen.record.describe import hints
from reportgen.record.model.brewery import Methods
from reportgen.report.manual_methods import reason_of
from reportgen.science import alcohol, bitterness, colour, mash_ph, refractometer

EXAMPLE = Path(__file__).parents[1] / "example"

MODELS = {
    "mash_ph": mash_ph.MODELS,
    "bitterness": bitterness.MODELS,
    "hop_stand": bitterness.MODELS,
    "refractometer": refractometer.MODELS,
    "alcohol": alcohol.MODELS,
    "colour": colour.MODELS,
}
STEEP = """  boil:
    hop_stand: {temperature: 85 C, time: 25 min, hops: [{hop: goldings, amount: 90 g}]}
"""
DAY = """
brew_day:
  date: 2026-03-14
  pitch: {original_gravity: 1.049}
fermentation: {final_gravity: 6.6 Bx}
"""


def batch(folder: Path, methods: str, where: str = "plan", day: str = DAY) -> Assessment:
    """Return the example with a steep, a reading by refractometer and methods chosen."""
    shutil.copytree(EXAMPLE, folder)
    record, house = folder / "2026" / "2026-01.yaml", folder / "brewery.yaml"
    text = record.read_text(encoding="utf-8").replace("  boil:\n", STEEP) + day
    if where == "plan":
        text = text.replace("plan:\n", f"plan:\n  methods: {methods}\n", 1)
    else:
        kept = house.read_text(encoding="utf-8")
        assert "methods:" not in kept
        house.write_text(f"{kept}\nmethods: {methods}\n", encoding="utf-8")
    record.write_text(text, encoding="utf-8")
    archive = load_archive(folder)
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None and found.problems == ()
    return found


def figure(found: Assessment, choice: str) -> float:
    """Return the figure that a choice is about."""
    if choice == "refractometer":
        value = found.actuals["final_gravity"].value
        assert value is not None
        return value
    return found.planned.expected["bitterness" if choice == "hop_stand" else choice].value


def choices_of(choice: str) -> tuple[str, ...]:
    return Methods.fields[choice].about.choices


@pytest.mark.parametrize("choice", MODELS)
def test_the_schema_offers_just_the_models_there_are(choice: str) -> None:
    assert choice in hints(Methods)
    assert len(MODELS[choice]) >= 2
    assert choices_of(choice) == tuple(MODELS[choice])


@pytest.mark.parametrize("choice", MODELS)
def test_the_first_that_is_offered_is_the_default(choice: str) -> None:
    topic = "bitterness" if choice == "hop_stand" else choice
    module = importlib.import_module(f"reportgen.science.{topic}")
    assert choices_of(choice)[0] == module.DEFAULT
    assert len(reason_of(module)) > 100, "the manual has to say why"


@pytest.mark.parametrize("where", ["plan", "house"])
@pytest.mark.parametrize("choice", MODELS)
def test_each_choice_changes_its_figure(choice: str, where: str, tmp_path: Path) -> None:
    values = {
        name: figure(batch(tmp_path / name, f"{{{choice}: {name}}}", where), choice)
        for name in choices_of(choice)
    }
    assert len(set(values.values())) == len(values), values


def test_the_choice_of_the_plan_goes_before_that_of_the_house(tmp_path: Path) -> None:
    house = tmp_path / "a" / "brewery.yaml"
    shutil.copytree(EXAMPLE, tmp_path / "a")
    house.write_text(house.read_text() + "\nmethods: {colour: power_law}\n")
    record = tmp_path / "a" / "2026" / "2026-01.yaml"
    plan = "plan:\n  methods: {colour: additive}\n"
    record.write_text(record.read_text().replace("plan:\n", plan, 1))
    archive = load_archive(tmp_path / "a")
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None and found.case.colour_method == "additive"


def test_the_steep_goes_by_the_model_of_the_boil_unless_it_is_chosen(tmp_path: Path) -> None:
    boiled = batch(tmp_path / "a", "{bitterness: isomerisation}")
    same = batch(tmp_path / "b", "{bitterness: isomerisation, hop_stand: isomerisation}")
    other = batch(tmp_path / "c", "{bitterness: isomerisation, hop_stand: time_and_gravity}")
    assert figure(boiled, "hop_stand") == figure(same, "hop_stand") != figure(other, "hop_stand")


def test_what_was_used_is_named_with_the_figure(tmp_path: Path) -> None:
    chosen = "{hop_stand: isomerisation, refractometer: lager_line, alcohol: measured_brews}"
    found = batch(tmp_path / "a", chosen)
    note = found.planned.expected["bitterness"].note
    assert note == "utilisation by time and gravity, in the steep by isomerisation"
    assert found.actuals["final_gravity"].method == "refractometer.present_gravity_lager_line"
    assert found.planned.expected["alcohol"].method.startswith("alcohol.")


def test_a_steeped_hop_is_known_half_as_well_as_a_boiled_one(tmp_path: Path) -> None:
    """±U 20 % of what is boiled, 40 % of what is steeped, as the methods say, and 8 % of alpha."""
    case = batch(tmp_path / "a", "{colour: additive}").case
    shares = []
    for in_hop_stand in (False, True):
        hops = tuple(hop for hop in case.hops if (hop.minutes is None) == in_hop_stand)
        bitter = walk(replace(case, hops=hops))[0].expected["bitterness"]
        shares.append(bitter.uncertainty / bitter.value)
    boiled, steeped = shares
    assert 0.20 < boiled < 0.23 and 0.40 < steeped < 0.43


def test_one_trouble_of_the_forecast_is_one_finding(tmp_path: Path) -> None:
    """The walk with readings meets the same trouble with other figures in it."""
    folder = tmp_path / "a"
    shutil.copytree(EXAMPLE, folder)
    house, record = folder / "brewery.yaml", folder / "2026" / "2026-01.yaml"
    text = house.read_text(encoding="utf-8")
    assert "evaporation: 4.5 L/h" in text
    house.write_text(text.replace("evaporation: 4.5 L/h", "evaporation: 55 L/h"), encoding="utf-8")
    day = "\nbrew_day: {date: 2026-03-14, run_off: {kettle_volume: 47 L}}\n"
    record.write_text(record.read_text(encoding="utf-8") + day, encoding="utf-8")
    archive = load_archive(folder)
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    said = [f.message for f in each_by_itself(found) if f.rule == "forecast-stops"]
    assert len(said) == 1 and said[0].startswith("the boil cannot be forecast in full"), said
