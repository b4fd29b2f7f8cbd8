"""Balances over the whole day: what is added or taken counts once, and nothing comes from nowhere.

Metamorphic tests: what must follow when an entry is halved, doubled, moved or written elsewhere.
"""

from __future__ import annotations

import random
import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reportgen.assessment.assess import Assessment, assess
from reportgen.assessment.balance import closures, extract_steps
from reportgen.assessment.carried import carried
from reportgen.checks.base import run_checks
from reportgen.forecast.aims import contradiction, read_aim
from reportgen.forecast.figures import OUTCOMES
from reportgen.forecast.mash import grist_acidity
from reportgen.forecast.pack import alcohol_of_planned_priming
from reportgen.loading import load_archive
from reportgen.science.extract import extract_mass
from reportgen.science.number import nominal

EXAMPLE = Path(__file__).parents[1] / "example"
RECORD = "2026/2026-01.yaml"
FEW = settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    copy = tmp_path_factory.mktemp("balances") / "house"
    shutil.copytree(EXAMPLE, copy)
    return copy


def brewed(folder: Path, day: str, later: str = "", into: str = "keg") -> Assessment:
    """Return the example brewed with these lines of its brew day."""
    text = (folder / RECORD).read_text(encoding="utf-8").replace("into: keg", f"into: {into}")
    text += f"\nbrew_day:\n  date: 2026-03-14\n{day}\n{later}"
    archive = load_archive(folder, given={RECORD: text.encode()})
    assert archive.findings == (), archive.findings
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found


def value(found: Assessment, key: str) -> float:
    return nominal(found.now[key])


def rules(found: Assessment) -> list[str]:
    return [f.rule for f in run_checks(found)]


BOIL = "  boil: {started: 12:00, ended: 13:00, cast_out_volume: {read: 41.6 L, at: 13:02}"
# 1 kg of sugar in the kettle. By the sucrose table of ICUMSA SPS-4 46 L of 1.0420 hold 5.02 kg of
# extract, which is 41.6 L of 1.0463; 6.02 kg are 41.6 L of 1.0554.
SUGAR = "  added: [{{what: white_sugar, amount: 1 kg, to: kettle, at: {}}}]\n"
READ = "  run_off: {{kettle_volume: {{read: 46 L, at: 11:30}}, kettle_gravity: {}}}\n"


@pytest.mark.parametrize(
    "at, kettle, cast_out, is_told",
    [
        ("11:00", "1.0420", "1.0463", False),
        ("11:45", "1.0420", "1.0554", False),
        ("12:30", "1.0420", "1.0554", False),
        ("11:00", "1.0420", "1.0554", True),
        ("12:30", "1.0420", "1.0463", True),
        ("13:10", "1.0420", "1.0463", False),
        ("13:10", "1.0420", "1.0554", True),
    ],
)
def test_sugar_is_in_the_readings_taken_after_it_and_in_no_other(
    folder: Path, at: str, kettle: str, cast_out: str, is_told: bool
) -> None:
    day = READ.format(kettle) + f"{BOIL}, cast_out_gravity: {cast_out}}}\n" + SUGAR.format(at)
    found = brewed(folder, day)
    assert ("boil-changes-extract" in rules(found)) is is_told
    if not is_told:
        steps = {s.title: s.mass for s in extract_steps(found)}
        assert steps["Kettle full"] == pytest.approx(steps["Cast-out"], rel=0.01)


def test_sugar_that_is_in_the_kettles_reading_is_no_work_of_the_mash(folder: Path) -> None:
    early, late = (
        brewed(folder, READ.format("1.0420") + BOIL + "}\n" + SUGAR.format(at))
        for at in ("11:00", "12:30")
    )
    less = value(late, "mash_efficiency") - value(early, "mash_efficiency")
    assert less == pytest.approx(1.0 / nominal(early.brewed.grist * early.brewed.extract))
    forecast = brewed(folder, BOIL + "}\n" + SUGAR.format("11:00"))
    plain = brewed(folder, BOIL + "}\n")
    gained = [
        nominal(extract_mass(b.now["kettle_volume"], b.now["kettle_gravity"]))
        for b in (forecast, plain)
    ]
    assert gained[0] - gained[1] == pytest.approx(1.0, abs=1e-6)


def test_sugar_after_cast_out_was_read_reaches_the_fermenter(folder: Path) -> None:
    day = BOIL + ", cast_out_gravity: 1.0463}\n"
    plain, sweet = brewed(folder, day), brewed(folder, day + SUGAR.format("13:10"))
    assert value(sweet, "cast_out_gravity") == value(plain, "cast_out_gravity")
    # 41.6 L of 1.0463 with 1 kg of sucrose: 42.2 L of 1.0547 by masses (the same table).
    assert value(sweet, "original_gravity") == pytest.approx(1.0547, abs=2e-4)
    assert value(sweet, "fermenter_volume") - value(plain, "fermenter_volume") == pytest.approx(
        0.62, abs=0.02
    )


@pytest.mark.parametrize(
    "at, in_boil, in_fermenter",
    [("11:00", 0.0, 0.0), ("11:45", 2.0, 2.0), ("12:30", 2.0, 2.0), ("13:01", 2.0, 2.0),
     ("13:10", 0.0, 2.0)],
)  # fmt: skip
def test_liquor_counts_after_the_reading_that_it_is_not_in(
    folder: Path, at: str, in_boil: float, in_fermenter: float
) -> None:
    day = READ.format("1.0420") + "  boil: {started: 12:00, ended: 13:00}\n"
    # 13:01 is after the boil and before the volume was read; only that is written of cast-out.
    liquor = f"  added: [{{what: reservoir, amount: 2 L, to: kettle, at: {at}}}]\n"
    if at.startswith("13"):
        day = READ.format("1.0420") + BOIL + "}\n"
        in_boil, in_fermenter = 0.0, in_fermenter - in_boil
    plain, more = brewed(folder, day), brewed(folder, day + liquor)
    for key, wanted in (("cast_out_volume", in_boil), ("fermenter_volume", in_fermenter)):
        assert value(more, key) - value(plain, key) == pytest.approx(wanted, abs=1e-6), key


PITCH = "  pitch: {fermenter_volume: 40 L, original_gravity: 1.050, at: 14:00}\n"
PACKED = """
fermentation: {final_gravity: 1.010}
packaging:
  date: 2026-03-24
  packaged_volume: 38 L
"""
FOUND = "analysis: {date: 2026-04-02, alcohol: 5.10 %, bitterness: 24 IBU}\n"


def test_what_an_analysis_finds_closes_the_balances_of_alcohol_and_bitterness(
    folder: Path,
) -> None:
    found = brewed(folder, PITCH, PACKED + FOUND)
    alcohol, bitter = carried(found)
    assert alcohol.measured and bitter.measured
    assert alcohol.came_out == pytest.approx(0.0510 * 38)
    # 60 g and 30 g of 5.0 % alpha acids; 24 mg in each of 38 L.
    assert 1000 * bitter.went_in == pytest.approx(4.5)
    assert 1000 * bitter.came_out == pytest.approx(0.912)
    for one in (alcohol, bitter):
        rest = one.went_in - one.came_out - one.known_loss
        assert one.unexplained == pytest.approx(rest)
        assert one.uncertainty > 0
    # Two gravities alone say how strong it is; nothing but an analysis how bitter.
    assert [c.measured for c in carried(brewed(folder, PITCH, PACKED))] == [True, False]


def test_liquor_in_the_containers_leaves_the_alcohol_and_thins_the_beer(folder: Path) -> None:
    plain = brewed(folder, PITCH, PACKED)
    added = "  added: [{what: reservoir, amount: 2 L, to: container, at: 10:00}]\n"
    thin = brewed(folder, PITCH, PACKED.replace("38 L", "40 L") + added)
    for key in ("alcohol", "bitterness", "colour"):
        assert value(thin, key) == pytest.approx(value(plain, key) * 38 / 40), key
    for before, after in zip(carried(plain), carried(thin), strict=True):
        assert after.came_out == pytest.approx(before.came_out), after.title
    volumes = [c for c in closures(thin) if c.title == "Fermenter to packed"]
    assert volumes[0].unexplained == pytest.approx(0.5)
    assert "packed-more-than-fermented" not in rules(thin)


def test_beer_from_liquor_in_the_fermenter_is_not_beer_from_nowhere(folder: Path) -> None:
    packed = PACKED.replace("38 L", "42 L")
    assert "packed-more-than-fermented" in rules(brewed(folder, PITCH, packed))
    liquor = "  added: [{what: reservoir, amount: 4 L, to: fermenter, at: 14:30}]\n"
    assert "packed-more-than-fermented" not in rules(brewed(folder, PITCH + liquor, packed))


def test_sugar_in_the_bottles_beyond_the_plan_raises_their_pressure(folder: Path) -> None:
    plain = brewed(folder, PITCH, PACKED, "bottle")
    sweet = "  added: [{what: white_sugar, amount: 228 g, to: container, at: 10:00}]\n"
    primed = brewed(folder, PITCH, PACKED + sweet, "bottle")
    # 6 g/L of sucrose give 4 × 44.01 / 342.3 of carbon dioxide, 3.09 g/L. Water of 30 degC takes up
    # 0.0297 mol/kg, 1.31 g/L, for each bar (CRC Handbook): 2.36 bar. Beer dissolves a little less.
    rise = value(primed, "highest_pressure") - value(plain, "highest_pressure")
    assert rise == pytest.approx(2.36, rel=0.08)


PASTEUR = 0.511 / 7.8924
"""% vol from 1 g/L of cane sugar: L. Pasteur 1860, 51.1 g of alcohol from 100 g; 789.24 g/L."""


@pytest.mark.parametrize("into", ["bottle", "cask", "keg"])
@pytest.mark.parametrize(
    "sugar", ["priming_sugar: 228 g", "added: [{what: white_sugar, amount: 228 g, to: container}]"]
)
def test_sugar_in_the_containers_brings_alcohol(folder: Path, into: str, sugar: str) -> None:
    """228 g in 38 L are 6 g/L. What the hydrometer saw was the beer before."""
    plain = brewed(folder, PITCH, PACKED + "  priming_sugar: 0 g\n", into)
    dry = "" if "priming" in sugar else "  priming_sugar: 0 g\n"
    sweet = brewed(folder, PITCH, f"{PACKED}{dry}  {sugar}\n", into)
    more = 100 * (value(sweet, "alcohol") - value(plain, "alcohol"))
    assert more == pytest.approx(6 * PASTEUR, rel=0.06)
    assert value(sweet, "final_gravity") == value(plain, "final_gravity")
    gas = value(sweet, "highest_pressure") - value(plain, "highest_pressure")
    assert gas > 1.5 if into != "keg" else gas >= 0


def test_priming_not_yet_weighed_is_as_planned_and_a_keg_under_gas_has_none(folder: Path) -> None:
    bottles, keg = brewed(folder, PITCH, PACKED, "bottle"), brewed(folder, PITCH, PACKED)
    grams = 1000 * value(bottles, "priming_sugar")
    more = 100 * (value(bottles, "alcohol") - value(keg, "alcohol"))
    assert more == pytest.approx(grams / 38 * PASTEUR, rel=0.06)
    balance = carried(bottles)[0]
    assert balance.went_in > carried(keg)[0].went_in
    assert abs(balance.unexplained) == pytest.approx(abs(carried(keg)[0].unexplained), abs=1e-3)


def test_the_label_is_held_to_the_beer_in_the_glass(folder: Path) -> None:
    """13 g/L of sugar bring 0.85 % vol, more than a label may be off."""
    wort = PITCH.replace("1.050", "1.040")
    label = "  label: 'Bitter, 4.1 % vol, contains barley'\n"
    assert "label-strength-wrong" not in rules(brewed(folder, wort, PACKED + label, "bottle"))
    more = label + "  added: [{what: white_sugar, amount: 500 g, to: container}]\n"
    assert "label-strength-wrong" in rules(brewed(folder, wort, PACKED + more, "bottle"))


def test_aims_of_a_primed_beer_are_those_of_the_glass(folder: Path) -> None:
    aims = "original_gravity: 1.048, final_gravity: 1.010, alcohol: {} %"
    found = brewed(folder, PITCH, PACKED, "bottle")
    primed = 100 * nominal(alcohol_of_planned_priming(found.case))
    for strength, is_right in ((5.0 + primed, True), (5.0 - 0.4, False)):
        given = {k: read_aim(f"{k}={v}") for k, v in (
            part.split(": ") for part in aims.format(f"{strength:.2f}").split(", ")
        )}
        assert (contradiction(given, found.case) is None) is is_right


def test_sugar_in_a_keg_counts_with_the_gas_still_dissolved_not_with_that_wanted(
    folder: Path,
) -> None:
    """A keg is primed or gassed: 228 g are about what its 2.2 volumes need, and no danger."""
    sweet = "  added: [{{what: white_sugar, amount: {}, to: container, at: 10:00}}]\n"
    primed = brewed(folder, PITCH, PACKED + sweet.format("190 g"))
    assert "pressure-over-limit" not in rules(primed)
    burst = brewed(folder, PITCH, PACKED + sweet.format("2 kg"))
    # One finding, which says of the pressure too.
    assert "too-much-priming-sugar" in rules(burst) and "pressure-over-limit" not in rules(burst)


@given(st.floats(0.3, 1.0))
@FEW
def test_half_the_malt_weighed_is_half_the_extract_weighed_in(folder: Path, share: float) -> None:
    def of(part: float) -> float:
        malts = f"{{item: pale, amount: {7 * part:.6f} kg}}, "
        found = brewed(
            folder, f"  weighed: [{malts}{{item: crystal, amount: {0.35 * part:.6f} kg}}]"
        )
        (first, *_) = extract_steps(found)
        assert first.mass is not None
        return first.mass

    assert of(share / 2) == pytest.approx(of(share) / 2, rel=1e-4)


@given(st.floats(5.0, 60.0))
@FEW
def test_twice_the_hops_of_one_addition_are_twice_its_bitterness(
    folder: Path, grams: float
) -> None:
    def of(first: float) -> float:
        hops = f"{{item: goldings, amount: {first:.4f} g}}, {{item: goldings, amount: 30 g}}"
        return value(brewed(folder, f"  weighed: [{hops}]"), "bitterness")

    # The late addition alone, and what the first brings once and twice beside it.
    alone = value(
        brewed(
            folder,
            "  weighed: [{item: goldings, amount: not done because none},"
            " {item: goldings, amount: 30 g}]",
        ),
        "bitterness",
    )
    assert of(2 * grams) - alone == pytest.approx(2 * (of(grams) - alone), rel=1e-3)


@given(st.floats(0.2, 8.0), st.sampled_from(["12:50", "13:20", "fermenter"]))
@FEW
def test_water_late_leaves_the_extract(folder: Path, litres: float, when: str) -> None:
    day = READ.format("1.0420") + "  boil: {started: 12:00, ended: 13:00}\n"
    to, at = ("fermenter", "14:30") if when == "fermenter" else ("kettle", when)
    entry = f"  added: [{{what: reservoir, amount: {litres:.4f} L, to: {to}, at: {at}}}]\n"
    plain, more = brewed(folder, day), brewed(folder, day + entry)

    def extract(found: Assessment, loss: float) -> float:
        """Of all the wort, what stays in the kettle counted on."""
        start = "starting" if "starting_gravity" in found.now else "fermenter"
        gravity = found.now[
            "starting_gravity" if start == "starting" else "original_gravity"
        ]
        litres = found.now[f"{start}_volume"]
        return nominal(extract_mass(litres, gravity)) + loss

    left = [
        nominal(extract_mass(b.case.kettle_loss, b.now["original_gravity"]))
        for b in (plain, more)
    ]
    assert extract(more, left[1]) == pytest.approx(extract(plain, left[0]), rel=2e-4)


ENTRIES = {
    "weighed": [
        "{item: pale, amount: 6.8 kg, at: 08:00}", "{item: crystal, amount: 0.4 kg, at: 08:05}",
        "{item: gypsum, amount: 4 g, at: 08:10}", "{item: lactic_80, amount: 4 mL, at: 08:11}",
    ],
    "added": [
        "{what: reservoir, amount: 2 L, to: kettle, at: 12:10}",
        "{what: goldings, amount: 10 g, to: kettle, at: 12:20}",
        "{what: white_sugar, amount: 300 g, to: kettle, at: 11:40}",
        "{what: reservoir, amount: 1 L, to: mash, at: 09:30}",
    ],
    "taken": [
        "{amount: 0.5 L, from: kettle, at: 12:30}", "{amount: 0.3 L, from: fermenter, at: 15:00}",
    ],
}  # fmt: skip


def _day(entries: dict[str, list[str]], boil: str = "12:00") -> str:
    lists = "".join(f"  {key}: [{', '.join(found)}]\n" for key, found in entries.items())
    return f"  boil: {{started: {boil}, ended: 13:00}}\n{lists}"


@given(st.randoms(use_true_random=False))
@FEW
def test_the_order_of_entries_does_not_matter(folder: Path, chance: random.Random) -> None:
    shuffled = {key: chance.sample(found, len(found)) for key, found in ENTRIES.items()}
    one, other = brewed(folder, _day(ENTRIES)), brewed(folder, _day(shuffled))
    for key in OUTCOMES:
        assert value(other, key) == pytest.approx(value(one, key), rel=1e-12), key
    assert sorted(rules(one)) == sorted(rules(other))


@pytest.mark.parametrize(
    "old, new, key",
    [
        ("to: kettle, at: 12:20", "to: kettle, at: 12:55", "bitterness"),
        ("amount: 2 L, to: kettle, at: 12:10", "amount: 2 L, to: kettle, at: 13:10",
         "cast_out_volume"),
        ("to: kettle, at: 11:40", "to: kettle, at: 12:40", "kettle_gravity"),
        ("from: kettle, at: 12:30", "from: kettle, at: 11:30", "kettle_volume"),
    ],
)  # fmt: skip
def test_the_times_of_entries_do(folder: Path, old: str, new: str, key: str) -> None:
    day = _day(ENTRIES)
    assert old in day
    one, other = brewed(folder, day), brewed(folder, day.replace(old, new))
    assert value(one, key) != pytest.approx(value(other, key), rel=1e-6)


@pytest.mark.parametrize("millilitres", [0.0, 3.0, 6.0, 12.0])
def test_acid_into_the_mash_as_phreeqc_has_it(folder: Path, millilitres: float) -> None:
    """PHREEQC is handed the liquor, the acid poured in and the hydrogen ions that the malts give up
    on the way to our pH; it has to be at that pH as well. Sulfuric acid of 10 %: 1.0661 kg/L,
    98.08 g/mol (CRC Handbook). Sodium water: what calcium does comes from the phosphate of malt,
    which PHREEQC is not told of."""
    files = {name: (folder / name).read_text(encoding="utf-8") for name in (
        RECORD, "stock.yaml", "brewery.yaml")}  # fmt: skip
    start, end = files[RECORD].index("    salts:"), files[RECORD].index("  mash:\n")
    entry = f"  added: [{{what: sulfuric_10, amount: {millilitres} mL, to: mash, at: 09:40}}]\n"
    files[RECORD] = files[RECORD][:start] + files[RECORD][end:] + (
        f"\nbrew_day:\n  date: 2026-03-14\n{entry if millilitres else ''}"
    )
    files["stock.yaml"] = files["stock.yaml"].replace(
        "acids:\n", "acids:\n  sulfuric_10: {is: sulfuric, strength: 10 %}\n"
    )
    files["brewery.yaml"] = files["brewery.yaml"].replace(
        "calcium: ", "calcium: 0 mg/L # "
    ).replace("magnesium: ", "magnesium: 0 mg/L # ")  # fmt: skip
    archive = load_archive(folder, given={name: text.encode() for name, text in files.items()})
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None and archive.findings == ()
    case, ours = found.brewed, value(found, "mash_ph")
    litres = nominal(case.mash_liquor)
    solution = pytest.importorskip("phreeqpython").PhreeqPython().add_solution({
        "units": "mmol/kgw", "temp": 20, "pH": case.liquor_ph,
        "Alkalinity": case.alkalinity, "Na": case.alkalinity,
    })  # fmt: skip
    if millilitres:
        solution.add("H2SO4", 1.0661 * millilitres * 0.10 / 98.08 * 1000 / litres, "mmol")
    given_up = sum(
        m.mass * m.buffering * (ours - m.distilled_water_mash_ph) for m in grist_acidity(case)
    )
    ions = float(nominal(given_up)) / litres
    solution.add("HCl" if ions >= 0 else "NaOH", abs(ions), "mmol")
    assert ours == pytest.approx(float(solution.pH), abs=0.03)


DEMO = Path(__file__).parents[2] / "batches"


@pytest.mark.parametrize("batch, line", [
    ("2026-07", "{item: pale, amount: 6.20 kg"), ("2026-01", "{item: pale, amount: 6.60 kg"),
    ("2026-09", "{item: pale, amount: 7.00 kg"), ("2025-06", "{item: pilsner, amount: 6.70 kg"),
])  # fmt: skip
@pytest.mark.parametrize("missing, is_told", [(0.0, False), (0.15, True)])
def test_a_kettle_that_less_malt_could_not_have_made_is_told(
    batch: str, line: str, missing: float, is_told: bool
) -> None:
    """Of six and a half kilograms a whole one was forgotten, and all else is as it was read."""
    name = f"{batch[:4]}/{batch}.yaml"
    text = (DEMO / name).read_text(encoding="utf-8")
    weight = line.rsplit(" ", 2)[-2]
    assert line in text, line
    less = line.replace(weight, f"{float(weight) * (1 - missing):.2f}")
    archive = load_archive(DEMO, given={name: text.replace(line, less).encode()}, only=[name])
    found = assess(archive, archive.batches[batch])
    assert found is not None
    impossible = {"conversion-impossible", "extract-from-nowhere", "first-wort-too-strong"}
    # Where a weight a digit away would explain it all, it is said with that.
    impossible |= {"mistyped"}
    assert bool(impossible & set(rules(found))) is is_told


def test_what_was_not_done_is_nought_not_what_was_planned(folder: Path) -> None:
    none = "  priming_sugar: not done because still beer\n"
    still, primed = (brewed(folder, PITCH, PACKED + more, "bottle") for more in (none, ""))
    assert value(still, "highest_pressure") < 0.5 < value(primed, "highest_pressure")
    keg = brewed(folder, PITCH, PACKED)
    assert value(still, "alcohol") == pytest.approx(value(keg, "alcohol"))
    top = "  run_off: {{top_up_liquor: {}}}\n"
    text = (folder / RECORD).read_text(encoding="utf-8")
    liquor = "    mash_liquor: 20 L\n"
    plan = text.replace(liquor, f"{liquor}    top_up_liquor: 4 L\n")
    litres = []
    for said in ("not done because full", "0 L"):
        given = {RECORD: f"{plan}\nbrew_day:\n  date: 2026-03-14\n{top.format(said)}".encode()}
        archive = load_archive(folder, given=given)
        found = assess(archive, archive.batches["2026-01"])
        assert found is not None
        litres.append(value(found, "kettle_volume"))
    assert litres[0] == pytest.approx(litres[1])


def test_sugar_into_the_fermenter_after_the_final_gravity_ferments_in_the_bottle(
    folder: Path,
) -> None:
    """500 g in 38 L: 13 g/L, which the hydrometer had not seen. Sealed, it bursts bottles."""

    def read(more: str) -> str:
        own = f"finished: 2026-03-22, final_gravity: 1.010{more}"
        return PACKED.replace("final_gravity: 1.010", own) + "  priming_sugar: 200 g\n"

    def sugar(day: int) -> str:
        at = f"2026-03-{day} 08:00"
        return read(f", added: [{{what: white_sugar, amount: 500 g, to: fermenter, at: {at}}}]")

    after = brewed(folder, PITCH, sugar(24), "bottle")
    before = brewed(folder, PITCH, sugar(18), "bottle")
    assert value(after, "highest_pressure") > value(before, "highest_pressure") + 3
    assert "pressure-over-limit" in rules(after)
    plain = brewed(folder, PITCH, read(""), "bottle")
    more = 100 * (value(after, "alcohol") - value(plain, "alcohol"))
    assert more == pytest.approx(500 / 38 * PASTEUR, rel=0.1)


def test_more_liquor_than_was_packed_leaves_no_negative_beer(folder: Path) -> None:
    flood = "  added: [{what: reservoir, amount: 60 L, to: container}]\n"
    found = brewed(folder, PITCH, PACKED + flood)
    assert value(found, "alcohol") > 0 and value(found, "bitterness") > 0
    assert "addition-over-vessel" in rules(found)


def test_bottles_sealed_without_a_final_gravity_may_make_more_gas(folder: Path) -> None:
    """A point of gravity is half a volume of gas (see carbonation.volumes_from_gravity_points)."""

    def sealed(fermented: str) -> Assessment:
        later = PACKED.replace("final_gravity: 1.010", fermented) + "  priming_sugar: 200 g\n"
        return brewed(folder, PITCH, later, "bottle")

    known, forgotten = sealed("final_gravity: 1.010"), sealed("remarks: nobody read it")
    early = sealed("log: [{at: 2026-03-20 08:00, gravity: 1.030}]")
    ended = sealed("log: [{at: 2026-03-20 08:00, gravity: 1.010}]")
    pressures = [value(one, "highest_pressure") for one in (known, forgotten, early)]
    assert pressures[0] + 0.3 < pressures[1] < pressures[2] - 2
    assert value(ended, "highest_pressure") == pytest.approx(pressures[0])
    puts = forgotten.now.expected["highest_pressure"].puts
    assert any("without a final gravity" in put.name for put in puts)
