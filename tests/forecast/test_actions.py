"""Every row of the what-to-do tables, confirmed by running the balance with the action taken."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from reportgen.assessment.assess import Assessment, assess
from reportgen.forecast.actions import MOST_ROWS, ActionTable, Entry, Phrase, TableNumber, tables
from reportgen.forecast.mash import MALT_HEAT_CAPACITY, ROOM, grist_acidity
from reportgen.forecast.walk import walk
from reportgen.loading import load_archive
from reportgen.record.printed import Units
from reportgen.report.tables import todo_of
from reportgen.science.acid import acid_normality, ionised_equivalents
from reportgen.science.atmosphere import boiling_point_at
from reportgen.science.carbonation import co2_volumes
from reportgen.science.extract import extract_mass, gravity_from_extract_mass
from reportgen.science.heat import liquor_mass
from reportgen.science.number import nominal

EXAMPLE = Path(__file__).parents[1] / "example"
METRIC = re.compile(r"\b(litres?|kelvins?|grams?)\b|\d\s?(°C|K|L|kg|g|bar)\b|°C")


def batch(folder: Path, edit: tuple[str, str] = ("", "")) -> Assessment:
    shutil.copytree(EXAMPLE, folder)
    path = folder / "2026" / "2026-01.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace(*edit), encoding="utf-8")
    archive = load_archive(folder)
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found


@pytest.fixture(scope="module")
def keg(tmp_path_factory: pytest.TempPathFactory) -> Assessment:
    return batch(tmp_path_factory.mktemp("keg") / "a")


@pytest.fixture(scope="module")
def bottle(tmp_path_factory: pytest.TempPathFactory) -> Assessment:
    keg = "into: keg, carbonation: 2.2 vol, beer_temperature: 6 C"
    edit = (keg, "into: bottle, carbonation: 2.4 vol")
    return batch(tmp_path_factory.mktemp("bottle") / "a", edit)


def table(found: Assessment, figure: str, words: str = "") -> ActionTable:
    every = tables(found.case, found.planned)
    return next(t for t in every if t.figure == figure and words in t.title)


def cells(row: tuple[Entry, ...]) -> list[float]:
    return [cell.value for cell in row if isinstance(cell, TableNumber)]


def test_there_is_a_table_for_each_trouble(keg: Assessment, bottle: Assessment) -> None:
    figures = [t.figure for t in tables(keg.case, keg.planned)]
    assert figures == [
        "malt_temperature", "mash_temperature", "mash_ph", "kettle_volume", "kettle_gravity",
        "cast_out_volume", "original_gravity", "pitch_temperature", "final_gravity",
        "apparent_attenuation", "pressure",
    ]  # fmt: skip
    assert "priming_sugar" in [t.figure for t in tables(bottle.case, bottle.planned)]


def test_no_table_is_longer_than_the_eye_takes_in_and_each_ends_in_an_action(
    keg: Assessment, bottle: Assessment
) -> None:
    """Who brews alone has nobody to ask, so the last row says what to do."""
    for one in (*tables(keg.case, keg.planned), *tables(bottle.case, bottle.planned)):
        assert 1 <= len(one.rows) <= MOST_ROWS
        last = todo_of(one, "T1", Units()).last_row
        assert last.startswith("Not listed: ") and len(last) > 20 and "ask" not in last


@pytest.mark.parametrize(("system", "step"), [("metric", 1.0), ("US", 2.0), ("imperial", 1.0)])
def test_readings_in_a_table_are_whole_steps_of_the_house(
    keg: Assessment, system: str, step: float
) -> None:
    units = Units(system)
    every = {t.figure: t for t in tables(keg.case, keg.planned, system)}
    for figure in ("malt_temperature", "mash_temperature"):
        for row in every[figure].rows:
            assert isinstance(row[0], TableNumber)
            shown = units.converted(row[0].value, "temperature") / step
            assert shown == pytest.approx(round(shown), abs=1e-6)
    for figure in ("kettle_volume", "cast_out_volume"):
        for row in every[figure].rows:
            assert isinstance(row[0], TableNumber)
            shown = units.converted(row[0].value, "volume") / (0.5 if system == "metric" else 0.25)
            assert shown == pytest.approx(round(shown), abs=1e-6)


def test_strike_by_the_malt_is_the_heat_balance(keg: Assessment) -> None:
    """Mixing hot liquor, malt and tun without loss must give the mash temperature."""
    case = keg.case
    grist, rest = nominal(case.grist), case.rests[0].temperature
    water = nominal(liquor_mass(nominal(case.mash_liquor), ROOM))
    rows = table(keg, "malt_temperature").rows
    assert len(rows) == 5
    for row in rows:
        malt, strike = cells(row)
        heat = grist * MALT_HEAT_CAPACITY * malt + case.tun_heat_capacity * case.tun_temperature
        capacity = grist * MALT_HEAT_CAPACITY + case.tun_heat_capacity + water * 4.19
        assert (heat + water * 4.19 * strike) / capacity == pytest.approx(rest, abs=0.1)


def test_original_gravity_rows_keep_the_extract(keg: Assessment) -> None:
    volume = nominal(keg.planned["fermenter_volume"])
    gravity = nominal(keg.planned["original_gravity"])
    rate = nominal(keg.case.evaporation)
    for row in table(keg, "original_gravity").rows:
        reads, how_much, then = cells(row)
        before = nominal(extract_mass(volume, reads))
        assert nominal(extract_mass(then, gravity)) == pytest.approx(before, rel=0.002)
        boiled = volume - then
        expected = boiled / rate * 60 if reads < gravity else -boiled
        assert how_much == pytest.approx(expected, abs=1e-6)


def test_no_words_of_a_table_bear_a_unit_of_their_own(keg: Assessment, bottle: Assessment) -> None:
    """A quantity among the words is a number of its own, so that it is printed in any unit."""
    for found in (keg, bottle):
        for one in tables(found.case, found.planned):
            every = [one.title, *one.columns, *(e for row in one.rows for e in row), one.note]
            for entry in every:
                words = entry.words if isinstance(entry, Phrase) else entry
                if isinstance(words, str):
                    assert not METRIC.search(words), words


def test_a_house_in_us_units_has_them_in_every_word_of_the_tables(
    keg: Assessment, bottle: Assessment
) -> None:
    printed = []
    for found in (keg, bottle):
        for number, one in enumerate(tables(found.case, found.planned)):
            todo = todo_of(one, f"T{number}", Units("US", short=True))
            printed += [todo.title, *todo.columns, todo.note]
            printed += [cell.text for row in todo.rows for cell in row]
    assert "liquor of 68\u202f°F" in printed
    assert "above 104\u202f°F" in printed
    assert "warm by 4\u202f°F, rouse gently" in printed
    # Acid is dosed by the millilitre in every house.
    metric = [text for text in printed if METRIC.search(text) and "mL" not in text]
    assert metric == []


def test_mash_temperature_rows_bring_the_mash_back(keg: Assessment) -> None:
    case = keg.case
    grist = nominal(case.grist)
    water = nominal(liquor_mass(nominal(case.mash_liquor), ROOM))
    hot = nominal(boiling_point_at(case.air)) - 1.0
    for row in table(keg, "mash_temperature").rows:
        reads, litres = cells(row)
        added = hot if reads < case.rests[0].temperature else ROOM
        mass = nominal(liquor_mass(litres, added))
        capacity = grist * MALT_HEAT_CAPACITY + water * 4.19 + case.tun_heat_capacity
        after = (capacity * reads + mass * 4.19 * added) / (capacity + mass * 4.19)
        assert after == pytest.approx(case.rests[0].temperature, abs=0.05)


def test_mash_ph_rows_bring_the_ph_down(keg: Assessment) -> None:
    """The acid of a row, spread over the grist's buffering, is the step of that row."""
    buffering = sum(m.mass * m.buffering for m in grist_acidity(keg.case))
    wanted = round(nominal(keg.planned["mash_ph"]), 2)
    for row in table(keg, "mash_ph").rows[:4]:
        reads, litres = cells(row)
        given = 1000 * litres * nominal(acid_normality("lactic", 0.80))
        down = given * nominal(ionised_equivalents("lactic", wanted)) / buffering
        assert reads - down == pytest.approx(wanted, abs=0.02)


def test_short_kettle_rows_lose_just_the_missing_extract(keg: Assessment) -> None:
    full = nominal(keg.planned["kettle_volume"])
    planned = nominal(extract_mass(full, nominal(keg.planned["kettle_gravity"])))
    thin = max(nominal(keg.planned["last_runnings_gravity"]), keg.case.cut_off_gravity)
    for row in table(keg, "kettle_volume").rows:
        holds, liquor, gravity, original = cells(row)
        assert holds + liquor == pytest.approx(full, abs=1e-9)
        lost = nominal(extract_mass(liquor, thin))
        follows = nominal(gravity_from_extract_mass(planned - lost, full))
        assert gravity == pytest.approx(follows, abs=0.00012)
        book, problems = walk(keg.case, {"kettle_volume": full, "kettle_gravity": gravity})
        assert not problems
        assert nominal(book["original_gravity"]) == pytest.approx(original, abs=1e-9)


def test_kettle_gravity_rows_reach_the_planned_gravity(keg: Assessment) -> None:
    full = nominal(keg.planned["kettle_volume"])
    rate = nominal(keg.case.evaporation)
    for row in table(keg, "kettle_gravity").rows:
        reads, how_much, wort = cells(row)
        mass = nominal(extract_mass(full, reads))
        if "boil longer; gives" in row:
            after = full - rate * (keg.case.boil_minutes + how_much) / 60
            reached = nominal(gravity_from_extract_mass(mass, after))
            assert reached == pytest.approx(nominal(keg.planned["cast_out_gravity"]), abs=0.0002)
            assert wort == pytest.approx(-rate * how_much / 60, abs=0.01)
        else:
            reached = nominal(gravity_from_extract_mass(mass, full + how_much))
            assert reached == pytest.approx(nominal(keg.planned["kettle_gravity"]), abs=0.0002)


def test_cast_out_rows_make_up_the_volume(keg: Assessment) -> None:
    planned = nominal(keg.planned["cast_out_volume"])
    hot = nominal(keg.planned["cast_out_volume_hot"]) / planned
    mass = nominal(extract_mass(planned, nominal(keg.planned["cast_out_gravity"])))
    rate = nominal(keg.case.evaporation)
    for row in table(keg, "cast_out_volume").rows:
        reads, how_much, gravity = cells(row)
        cold = reads / hot
        change = how_much if cold < planned else -rate * how_much / 60
        assert cold + change == pytest.approx(planned, abs=0.05)
        assert gravity == pytest.approx(nominal(gravity_from_extract_mass(mass, cold)), abs=0.0003)


def test_no_pressure_above_the_rating_of_the_keg_is_printed(tmp_path: Path) -> None:
    """The rating of the maker's plate is never to be set at the regulator (see the caution)."""
    folder = tmp_path / "a"
    shutil.copytree(EXAMPLE, folder)
    house = folder / "brewery.yaml"
    text = house.read_text(encoding="utf-8")
    house.write_text(
        text + "containers: {keg_19: {is: keg, pressure_rating: 0.8 bar}}\n", encoding="utf-8"
    )
    archive = load_archive(folder)
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    *within, last = table(found, "pressure").rows
    assert within and all(cells(row)[1] <= 0.8 for row in within)
    todo = todo_of(table(found, "pressure"), "T1", Units())
    assert todo.rows[-1][1].text.endswith("cool it first")
    assert not cells(last)


def test_pressure_rows_hold_the_gas_wanted(keg: Assessment) -> None:
    rows = [row for row in table(keg, "pressure").rows if cells(row)]
    assert len(rows) >= 4
    for row in rows:
        temperature, pressure = cells(row)
        if pressure > 0:
            held = nominal(co2_volumes(pressure, temperature, keg.case.air))
            assert held == pytest.approx(keg.case.carbonation, abs=0.01)


def test_priming_rows_make_the_gas_wanted(bottle: Assessment) -> None:
    """1 g of sucrose gives 0.5143 g CO2 by stoichiometry; 1 volume is 1.9768 g/L."""
    rows = table(bottle, "priming_sugar").rows
    warm = bottle.case.highest_temperature
    for row in rows:
        litres, *sugar = cells(row)
        warmest = (warm + beside for beside in range(-2, 7, 2))
        for temperature, kilograms in zip(warmest, sugar, strict=True):
            made = 1000 * kilograms * 0.5143 / litres / 1.9768
            total = made + nominal(co2_volumes(0.0, temperature, bottle.case.air))
            assert total == pytest.approx(bottle.case.carbonation, abs=0.03)
