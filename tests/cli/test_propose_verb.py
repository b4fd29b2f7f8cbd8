"""``propose``, ``new`` for another kit, ``figures --set`` and ``store`` as they are typed."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
import yaml
from houses import house, inside

from reportgen.cli import main

ROOT = Path(__file__).parents[2]
DEMO = ("2026/2026-01.yaml", "2026/2026-03.yaml", "2026/2026-04.yaml", "2026/2026-10.yaml")
PORTER = "2026/2026-01.yaml"


@dataclass(frozen=True)
class Done:
    """What a command gave."""

    returncode: int
    stdout: str
    stderr: str


Run = Callable[..., Done]


@pytest.fixture
def archive(tmp_path: Path) -> Path:
    for name in ("brewery.yaml", "stock.yaml", *DEMO):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        shutil.copy(ROOT / "batches" / name, tmp_path / name)
    return tmp_path


@pytest.fixture
def reportgen(
    archive: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Run:
    """The command line in this process: a new one would load the libraries each time."""
    monkeypatch.chdir(archive)

    def run(*words: str) -> Done:
        try:
            code = main(words)
        except SystemExit as error:
            code = int(error.code or 0)
        said = capsys.readouterr()
        return Done(code, said.out, said.err)

    return run


def edit(archive: Path, name: str, old: str, new: str) -> None:
    text = (archive / name).read_text()
    assert old in text
    (archive / name).write_text(text.replace(old, new, 1))


def test_what_is_pasted_is_what_was_forecast(archive: Path, reportgen: Run) -> None:
    before = (archive / PORTER).read_bytes()
    done = reportgen("propose", PORTER, "--aim", "bitterness=40")
    assert done.returncode == 0, done.stderr
    assert (archive / PORTER).read_bytes() == before, "the record is never written"
    pasted = yaml.safe_load(done.stdout)["plan"]
    assert pasted["boil"]["hops"][0]["lot"] == "H-2534"
    record = yaml.load((archive / PORTER).read_text(), yaml.BaseLoader)
    record["plan"]["boil"]["hops"] = pasted["boil"]["hops"]
    record["plan"]["grist"] = pasted.get("grist", record["plan"]["grist"])
    (archive / PORTER).write_text(yaml.safe_dump(record, sort_keys=False, allow_unicode=True))
    rows = json.loads(reportgen("figures", PORTER, "--format", "json").stdout)
    (bitterness,) = (row for row in rows if row["key"] == "bitterness")
    assert bitterness["expected"] == pytest.approx(40.0, abs=0.2)
    assert sum(c["share"] for c in bitterness["causes"]) == pytest.approx(1.0, abs=0.05)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--aim", "bitterness=2000"), "30 g of hops for each litre"),
        (("--aim", "final_gravity=1.060"), "contradict each other"),
        (("--aim", "alcohol=9"), "a mash at 62 °C"),
        (
            ("--aim", "alcohol=9", "--aim", "original_gravity=1.05", "--aim",
             "final_gravity=1.01"),
            "contradict each other",
        ),
        (("--aim", "bitterness=33", "--hold", "hops", "--hold", "grist"), "held"),
        (("--swap", "pale=chocolate"), "no chocolate is left"),
    ],
)
def test_what_no_kit_can_do_is_a_finding_and_nothing_is_proposed(
    reportgen: Run, words: tuple[str, ...], said: str
) -> None:
    done = reportgen("propose", PORTER, *words)
    assert done.returncode == 1, done.stdout
    assert said in done.stderr and "expected:" in done.stderr and done.stdout == ""


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--aim", "bitternes=30"), "did you mean `bitterness`"),
        (("--aim", "bitterness=30 kg"), "`30 kg`"),
        (("--change", "crystals"), "did you mean `crystal`"),
        (("--swap", "fuggle"), "OLD=NEW"),
        (("--swap", "fuggle=pale"), "not to be swapped"),
        (("--swap", "saaz=fuggle"), "no saaz"),
        (("--swap", "fuggle=fuggle"), "for itself is no swap"),
        (("--swap", "house_ale_b=house_ale_a"), "`house_ale_b` is one of yeasts"),
        (("--set", "mash.rests[4].time=10 min"), "1 entry"),
        (("--set", "volume"), "PLACE=VALUE"),
        (("--set", "fermenter_volume=-4 L"), "negative"),
    ],
)
def test_a_mistyped_option_says_how_to_write_it(
    reportgen: Run, words: tuple[str, ...], said: str
) -> None:
    done = reportgen("propose", PORTER, *words)
    assert done.returncode == 2 and said in done.stderr, done.stderr
    assert "Traceback" not in done.stderr and done.stdout == ""


def test_one_hop_for_another(archive: Path, reportgen: Run) -> None:
    done = reportgen("propose", PORTER, "--swap", "northern_brewer=challenger")
    assert done.returncode == 0, done.stderr
    hops = yaml.safe_load(done.stdout)["plan"]["boil"]["hops"]
    assert hops[0]["hop"] == "challenger" and "lot" not in hops[0]
    # 8.8 % of the lot for 7.5 % of the other: 50 g x 8.8/7.5 = 58.7 g, by hand.
    assert float(hops[0]["amount"].split()[0]) == pytest.approx(58.7, abs=0.2)
    assert hops[1]["amount"] == "40 g"
    late = reportgen("propose", PORTER, "--swap", "fuggle=goldings")
    hops = yaml.safe_load(late.stdout)["plan"]["boil"]["hops"]
    assert hops[1] == {"hop": "goldings", "amount": "40 g", "time": "15 min"}
    # Calcium: 3.0 g x 0.99 x 40.078/172.17 in gypsum, x 0.97 x 40.078/147.01 in the other: 2.6 g.
    salt = reportgen("propose", DEMO[1], "--swap", "gypsum=calcium_chloride")
    salts = yaml.safe_load(salt.stdout)["plan"]["liquor"]["salts"]
    assert salts[0] == {"salt": "calcium_chloride", "amount": "2.6 g", "to": "mash"}


def test_another_kit_is_not_scaled_by_volume_alone(archive: Path, reportgen: Run) -> None:
    done = reportgen(
        "new", "2026-21", "--like", "2026-01", "--kit", "bag_12", "--volume", "11L"
    )
    assert done.returncode == 0, done.stderr
    text = (archive / "2026/2026-21.yaml").read_text()
    assert "# 6.60 kg in 2026-01" in text and "evaporation in an hour, L: 4.5 there" in text
    plan = yaml.safe_load(text)["plan"]
    pale = float(plan["grist"][0]["amount"].split()[0])
    assert pale != pytest.approx(6.60 * 11 / 40, rel=0.01)
    rows = json.loads(
        reportgen("figures", "2026/2026-21.yaml", "--format", "json").stdout
    )
    expected = {row["key"]: row["expected"] for row in rows}
    assert expected["original_gravity"] == pytest.approx(1.051, abs=0.0006)
    assert expected["fermenter_volume"] == pytest.approx(11.0, abs=0.1)
    assert reportgen("check", "2026/2026-21.yaml").returncode == 0
    too_much = reportgen("new", "2026-22", "--like", "2026-01", "--volume", "58 L")
    assert too_much.returncode == 1 and "kettle" in too_much.stderr
    assert not (archive / "2026/2026-22.yaml").exists()


def test_a_plan_that_misses_its_aim_can_be_brewed_in_another_size(
    archive: Path, reportgen: Run
) -> None:
    """It is the same beer, not the one that was aimed at."""
    edit(archive, PORTER, "bitterness: 32 mg/L", "bitterness: 190 mg/L")
    done = reportgen("new", "2026-23", "--like", "2026-01", "--volume", "30 L")
    assert done.returncode == 0, done.stderr
    assert "190" not in (archive / "2026/2026-23.yaml").read_text()


def test_what_if_leaves_the_file_alone(archive: Path, reportgen: Run) -> None:
    before = (archive / PORTER).read_bytes()
    done = reportgen("figures", PORTER, "--set", "mash.rests[0].temperature=63C")
    assert done.returncode == 0 and "Final gravity" in done.stdout, done.stderr
    assert "Bitterness" not in done.stdout, "only what changes is shown"
    assert (archive / PORTER).read_bytes() == before
    causes = reportgen("figures", PORTER, "--causes")
    assert "utilisation model" in causes.stdout and "to halve it" in causes.stdout


def test_the_store_is_counted_and_binds(archive: Path, reportgen: Run) -> None:
    edit(archive, "stock.yaml", "amount: 500 g", "amount: 30 g")
    done = reportgen("store")
    assert done.returncode == 1
    assert "8 g" in done.stdout and "1 of 250 g" in done.stdout, done.stdout
    check = reportgen("check")
    assert "[not-enough-in-stock]" in check.stdout
    one = reportgen("check", DEMO[3])
    assert "[not-enough-in-stock]" in one.stdout, "what the others take is known for one, too"
    short = reportgen("propose", DEMO[3], "--change", "challenger", "--aim", "bitterness=40")
    assert short.returncode == 1 and "the store has 30 g of Challenger H-2613" in short.stderr
    data = json.loads(reportgen("store", "--format", "json").stdout)
    (item,) = (i for i in data["items"] if i["item"] == "challenger")
    assert item["to_buy"] == pytest.approx(0.008)
    assert reportgen("store", "--on", "tomorrow").returncode == 2


def test_a_lot_is_followed_to_who_got_it(archive: Path, reportgen: Run) -> None:
    edit(archive, PORTER, "  containers: 2\n", "  containers: 2\n  filled:\n"
         "    - {number: K-01, volume: 19 L, went_to: household 7, went_on: 2026-02-10}\n")
    done = reportgen("trace", "M-2601")
    assert "K-01" in done.stdout and "household 7" in done.stdout
    assert "personal data" in done.stdout
    found = json.loads(reportgen("trace", "M-2601", "--format", "json").stdout)
    assert found[0]["containers"][0]["went_to"] == "household 7"


def test_the_examples_of_the_manual_can_be_typed(archive: Path, reportgen: Run) -> None:
    guide = (ROOT / "templates/manual/guide/recipes.md").read_text(encoding="utf-8")
    blocks = re.findall(r"^```text\n(.*?)^```$", guide, re.M | re.S)
    found = [yaml.load(block, yaml.BaseLoader) for block in blocks]
    stock = yaml.load((archive / "stock.yaml").read_text(), yaml.BaseLoader)
    record = yaml.load((archive / PORTER).read_text(), yaml.BaseLoader)
    (aims,) = (block["aims"] for block in found if "aims" in block)
    (malts,) = (block["malts"] for block in found if "malts" in block)
    packed = [block for block in found if "packaging" in block]
    (filled,) = (b["packaging"]["filled"] for b in packed if "filled" in b["packaging"])
    (parted,) = (block for block in packed if "also" in block["packaging"])
    stock["malts"]["pale"]["pack"] = malts["pale"]["pack"]
    stock["malts"]["pale"]["lots"] |= malts["pale"]["lots"]
    record["plan"]["aims"] = aims
    record["packaging"]["filled"] = filled
    record["packaging"]["also"] = parted["packaging"]["also"]
    record["plan"]["packaging"]["also"] = parted["plan"]["packaging"]["also"]
    for name, tree in (("stock.yaml", stock), (PORTER, record)):
        (archive / name).write_text(yaml.safe_dump(tree, sort_keys=False, allow_unicode=True))
    assert "error" not in reportgen("check").stdout
    told = json.loads(reportgen("store", "--format", "json").stdout)
    (lot,) = told["items"][0]["lots"]
    assert lot["left"] == pytest.approx(48.6), "what was counted is there"


def test_the_ledger_names_no_receiver(archive: Path, reportgen: Run) -> None:
    edit(archive, PORTER, "  containers: 2\n", "  containers: 2\n  filled:\n"
         "    - {number: K-01, volume: 19 L, went_to: household 77, went_on: 2026-02-10}\n")
    assert reportgen("ledger").returncode == 0
    written = [p for p in (archive / "build").rglob("*") if p.suffix in (".html", ".csv", ".json")]
    told = [p for p in written if not p.name.startswith(".")]
    assert told and not any("household 77" in p.read_text(encoding="utf-8") for p in told)


def test_aims_of_a_us_house_are_written_in_its_units(archive: Path, reportgen: Run) -> None:
    edit(archive, "brewery.yaml", "units: metric\n", "units: US\n")
    done = reportgen("propose", "2026/2026-04.yaml", "--aim", "original_gravity=12.5 P")
    assert done.returncode == 0, done.stderr
    grist = yaml.safe_load(done.stdout)["plan"]["grist"]
    assert all(item["amount"].endswith((" lb", " oz")) for item in grist)
    assert "US gal" in done.stdout


def test_wort_of_another_batch_and_volumes_stated(archive: Path, reportgen: Run) -> None:
    done = reportgen("propose", PORTER, "--aim", "volume=38L", "--aim", "carbonation=2.4 vol")
    assert done.returncode == 0, done.stderr
    plan = yaml.safe_load(done.stdout)["plan"]
    assert plan["fermenter_volume"] == "38L" and plan["packaging"] == {"carbonation": "2.4 vol"}
    edit(archive, PORTER, "issued:\n", "wort_from: {batch: 2026-03, volume: 20 L}\nissued:\n")
    done = reportgen("propose", PORTER)
    assert done.returncode == 2 and "2026-03" in done.stderr


def test_hops_of_nought_have_no_proportion(archive: Path, reportgen: Run) -> None:
    edit(archive, PORTER, "amount: 50 g, time", "amount: 0 g, time")
    edit(archive, PORTER, "amount: 40 g, time", "amount: 0 g, time")
    done = reportgen("propose", PORTER)
    assert done.returncode == 1 and "no proportion to keep" in done.stderr and not done.stdout
    edit(archive, PORTER, "amount: 6.60 kg, lot: M-2519", "amount: -6.60 kg, lot: M-2519")
    done = reportgen("propose", PORTER)
    assert done.returncode == 1 and "run reportgen check" in done.stderr


def test_body_is_aimed_at_and_the_plans_other_words_for_it_give_way(
    archive: Path, reportgen: Run
) -> None:
    done = reportgen("propose", "2026/2026-10.yaml", "--aim", "body=2.6 %", "--format", "json")
    assert done.returncode == 0, done.stderr
    aims = {one["aim"]: one for one in json.loads(done.stdout)["aims"]}
    assert not {"final_gravity", "alcohol"} & set(aims) and aims["real_extract"]["met"]
    text = reportgen("propose", "2026/2026-10.yaml", "--aim", "body=2.6 %")
    assert "the plan's aim for alcohol gives way to what is asked for" in text.stdout
    row = {line.split("  ")[0].lstrip("# "): line for line in text.stdout.splitlines()}
    og, fg = (float(re.findall(r"1\.\d{4}", row[name])[1])
              for name in ("Original gravity", "Final gravity"))
    # Tables of sucrose: degrees Plato of worts this thin are 259 to 257 times their points; then
    # Balling's share of real extract, 0.1808 of the original and 0.8192 of the apparent.
    original, apparent = 258.6 * (og - 1) - 220 * (og - 1) ** 2, 258.6 * (fg - 1)
    assert 0.1808 * original + 0.8192 * apparent == pytest.approx(2.6, abs=0.06)
    slips = {"body=full": "e.g. 75 %", "real_extrakt=3 %": "did you mean `real_extract`?"}
    for slip, expected in slips.items():
        done = reportgen("propose", "2026/2026-10.yaml", "--aim", slip)
        assert done.returncode == 2 and expected in done.stderr


def test_an_aim_that_follows_from_figures_is_missed_too(archive: Path, reportgen: Run) -> None:
    edit(archive, "2026/2026-10.yaml", "  mash:\n",
         "  aims: {real_extract: 6 %, sulfate_to_chloride: 9}\n  mash:\n")
    said = reportgen("check", "2026/2026-10.yaml").stdout
    assert "Real extract: the forecast is 3.1 %, the aim 6.0 % [aim-missed]" in said
    assert "Sulfate to chloride, mash liquor: the forecast is" in said


@pytest.mark.parametrize(
    ("old", "new", "words", "binds"),
    [
        ("", "", ("--aim", "colour=2000"), "out of reach"),
        ("", "", ("--aim", "original_gravity=1.190"), "mash tun would be"),
        ("", "", ("--aim", "alcohol=40 %"), "out of reach"),
        ("", "", ("--aim", "original_gravity=1.045", "--hold", "grist", "--hold", "mash_liquor"),
         "is held"),
        ("amount: 3.80 kg", "amount: 0 kg", ("--aim", "bitterness=30"), "cannot be read"),
        ("amount: 38 g", "amount: -38 g", ("--aim", "bitterness=30"), "cannot be read"),
        ("hops:\n", "hops_: \n", ("--aim", "bitterness=30"), "cannot be read"),
    ],
    ids=["no such beer", "tun", "spirit", "grist held",
         "nought of malt", "below nought", "no hops"],
)
def test_what_binds_is_named_and_nothing_is_half_proposed(
    archive: Path, reportgen: Run, old: str, new: str, words: tuple[str, ...], binds: str
) -> None:
    if old:
        edit(archive, "2026/2026-10.yaml", old, new)
    done = reportgen("propose", "2026/2026-10.yaml", *words)
    assert done.returncode == 1 and binds in done.stderr, done.stderr
    assert done.stdout == "" and "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("old", "new", "names"),
    [
        ("    colour: 5.5 EBC\n", "", "`pale` has no `colour`"),
        ("    alpha: 7.5 %\n", "", "`challenger` has no `alpha`"),
        ("    colour: 5.5 EBC\n", "    colour: 0.5 kg\n", "`0.5 kg` is a mass"),
    ],
    ids=["malt without colour", "hop without alpha", "colour by weight"],
)
def test_a_stock_that_cannot_be_read_is_named_where_it_stands(
    archive: Path, reportgen: Run, old: str, new: str, names: str
) -> None:
    edit(archive, "stock.yaml", old, new)
    done = reportgen("propose", "2026/2026-10.yaml", "--aim", "bitterness=30")
    assert done.returncode == 1 and done.stdout == ""
    assert done.stderr.startswith("stock.yaml:") and names in done.stderr, done.stderr


@pytest.mark.parametrize("aim", ["bitterness=-5", "sulfate_to_chloride=0", "alcohol=-1 %"])
def test_an_aim_below_nought_is_refused(aim: str, reportgen: Run) -> None:
    done = reportgen("propose", "2026/2026-10.yaml", "--aim", aim)
    assert done.returncode == 2 and done.stdout == ""
    assert "negative" in done.stderr or "more than 0" in done.stderr, done.stderr


def test_an_aim_that_no_beer_can_have_does_not_spoil_the_others(
    archive: Path, reportgen: Run
) -> None:
    done = reportgen("propose", "2026/2026-10.yaml", "--aim", "calcium=5000", "--format", "json")
    assert done.returncode == 1
    aims = {one["aim"]: one for one in json.loads(done.stdout)["aims"]}
    assert [name for name, one in aims.items() if not one["met"]] == ["calcium"]
    assert aims["calcium"]["after"] > 100 and aims["calcium"]["why"]


def test_less_than_the_scale_tells_is_not_made_a_whole_step_of_it(tmp_path: Path) -> None:
    """3 g of finings in 40 L are 1.5 g in 20 L, though the only scale tells 10 g; times stay."""
    sugar = "plan: {sugars: [{sugar: white_sugar, amount: 1 kg, to: kettle, time: 10 min}]}"
    root = house(tmp_path / "house", {"2026-01": sugar})
    done = inside("new", "2026-09", "--like", "2026-01", "--volume", "20L", cwd=root)
    assert done.returncode == 0, done.stderr
    plan = yaml.safe_load((root / "2026/2026-09.yaml").read_text(encoding="utf-8"))["plan"]
    assert plan["boil"]["finings"][0]["amount"] == "1.5 g"
    assert plan["sugars"][0]["time"] == "10 min"
