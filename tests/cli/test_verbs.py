"""The command line as a user meets it: exit codes, what is printed.

Each verb and each exit code is met in a real process once (``reportgen``); what a verb says of
other input is the same within this one (``inside``).
"""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from houses import CLEAN, inside, reportgen

from reportgen.cli import main

EXAMPLE = Path(__file__).parents[1] / "example"
ROOT = Path(__file__).parents[2]


@pytest.fixture
def archive(tmp_path: Path) -> Path:
    copy = tmp_path / "archive"
    shutil.copytree(EXAMPLE, copy)
    return copy


def edit(archive: Path, old: str, new: str) -> None:
    path = archive / "2026" / "2026-01.yaml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def silence_all(archive: Path) -> None:
    """Make the example archive free of findings: give it a scale that suits its doses."""
    path = archive / "brewery.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace("resolution: 10 g, uncertainty: 20 g", "resolution: 0.1 g"), encoding="utf-8"
    )
    edit(archive, "cut_off_gravity: 1.006", "cut_off_gravity: 1.003")


def test_check_is_silent_and_0_on_a_clean_archive(archive: Path) -> None:
    silence_all(archive)
    done = reportgen("check", cwd=archive)
    assert (done.stdout, done.returncode) == ("", 0), done.stdout
    assert "nothing found" in done.stderr


def test_check_shows_the_line_the_mark_and_the_remedy(archive: Path) -> None:
    silence_all(archive)
    edit(archive, "malt: pale,", "malt: palle,")
    done = reportgen("check", cwd=archive)
    assert done.returncode == 1
    lines = done.stdout.splitlines()
    assert lines[0].startswith("2026/2026-01.yaml:10:14: error: `palle`")
    assert lines[0].endswith("[unknown-name]")
    assert "malt: palle" in lines[1]
    assert lines[2].index("^") == lines[1].index("palle")
    assert any("pale" in line and "fix" in line for line in lines)
    assert "Traceback" not in done.stderr


def test_check_prints_one_json_object_a_line(archive: Path) -> None:
    edit(archive, "malt: pale,", "malt: palle,")
    edit(archive, "kit: main", "kit: mian")
    done = inside("check", "--format", "json", cwd=archive)
    found = [json.loads(line) for line in done.stdout.splitlines()]
    assert done.returncode == 1
    assert [f["rule"] for f in found] == ["unknown-name", "unknown-name"]
    assert {"file", "line", "column", "rule", "severity", "message"} <= set(found[0])
    assert (found[0]["file"], found[0]["line"], found[0]["column"]) == ("2026/2026-01.yaml", 7, 8)


def test_check_works_from_below_and_from_outside(archive: Path) -> None:
    silence_all(archive)
    assert inside("check", cwd=archive / "2026").returncode == 0
    assert inside("check", str(archive / "2026" / "2026-01.yaml"), cwd=ROOT).returncode == 0


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("check", "no-such-folder"), "no such file"),
        (("figures", "brewery.yaml"), "no batch record"),
        (("blanks",), ""),
        (("explain", "gravity-risse"), "gravity-rises"),
        (("new", "../evil"), "cannot be a batch id"),
        (("new", "2026-01"), "is there"),
        (("new", "2026-09", "--like", "2026-00"), "no batch 2026-00"),
        (("frobnicate",), "invalid choice"),
        (("sheet", "--copy", "0"), "starts at 1"),
    ],
)
def test_misuse_is_2_with_one_clear_sentence(
    archive: Path, arguments: tuple[str, ...], said: str
) -> None:
    if arguments == ("blanks",):
        assert inside(*arguments, cwd=archive).returncode == 0
        return
    # Refused by the parser of the command line, and by a verb.
    run = reportgen if arguments[0] in ("frobnicate", "figures") else inside
    done = run(*arguments, cwd=archive)
    assert done.returncode == 2
    assert said in done.stderr and "Traceback" not in done.stderr


def test_outside_an_archive_it_says_how_one_begins(tmp_path: Path) -> None:
    done = inside("check", cwd=tmp_path)
    assert done.returncode == 2 and "brewery.yaml" in done.stderr


def test_figures_as_csv_json_and_table_agree(archive: Path) -> None:
    as_csv = reportgen("figures", "2026/2026-01.yaml", "--format", "csv", cwd=archive)
    as_json = inside("figures", "2026/2026-01.yaml", "--format", "json", cwd=archive)
    table = inside("figures", "2026/2026-01.yaml", cwd=archive)
    rows = list(csv.DictReader(io.StringIO(as_csv.stdout)))
    objects = json.loads(as_json.stdout)
    assert list(rows[0]) == [
        "batch", "key", "stage", "unit", "expected", "low", "high", "actual", "U", "verdict",
        "method", "of",
    ]  # fmt: skip
    assert [r["key"] for r in rows] == [o["key"] for o in objects]
    assert len(table.stdout.splitlines()) == len(rows) + 1
    gravity = next(o for o in objects if o["key"] == "original_gravity")
    assert gravity["expected"] == pytest.approx(1.0491, abs=0.0001)
    assert gravity["low"] < gravity["expected"] < gravity["high"]
    assert float(next(r for r in rows if r["key"] == "original_gravity")["expected"]) == (
        gravity["expected"]
    )


def test_figures_at_a_terminal_are_in_the_units_of_the_house(archive: Path) -> None:
    house = archive / "brewery.yaml"
    text = house.read_text(encoding="utf-8")
    house.write_text(text.replace("units: metric", "units: US"), encoding="utf-8")

    def table(*flags: str) -> dict[str, list[str]]:
        done = inside("figures", "2026/2026-01.yaml", *flags, cwd=archive)
        return {line.split()[1]: line.split() for line in done.stdout.splitlines()}

    ours, base = table(), table("--base-units")
    # A US gallon is 3.785411784 L (NIST Handbook 44, appendix C).
    celsius = float(base["mash_temperature"][4])
    assert ours["mash_temperature"][3:5] == ["°F", f"{celsius * 1.8 + 32:.1f}"]
    assert base["mash_temperature"][3] == "degC"
    litres = float(base["mash_liquor"][4])
    assert ours["mash_liquor"][3:6] == ["US", "gal", f"{litres / 3.785411784:.2f}"]
    assert re.fullmatch(r"1\.\d{4}", ours["original_gravity"][6])
    assert ours["alcohol"][3] == "%" and base["alcohol"][3] != "%"
    assert inside(
        "figures", "2026/2026-01.yaml", "--format", "csv", cwd=archive
    ).stdout == inside(
        "figures", "2026/2026-01.yaml", "--format", "csv", "--base-units", cwd=archive
    ).stdout  # fmt: skip


def test_new_from_nothing_and_like_another_can_be_checked_at_once(archive: Path) -> None:
    done = reportgen("new", "2026-02", "--name", "Second: a Try", cwd=archive)
    assert (done.returncode, done.stdout.strip()) == (0, "2026/2026-02.yaml")
    like = inside("new", "2026-03", "--like", "2026-01", cwd=archive)
    assert like.returncode == 0
    done = inside("check", "--format", "json", cwd=archive)
    found = [json.loads(line) for line in done.stdout.splitlines()]
    assert [f for f in found if f["severity"] == "error"] == []


def test_new_never_overwrites(archive: Path) -> None:
    path = archive / "2026" / "2026-02.yaml"
    path.write_text("mine", encoding="utf-8")
    assert inside("new", "2026-02", cwd=archive).returncode == 2
    assert path.read_text(encoding="utf-8") == "mine"


def test_blanks_can_be_pasted_and_filled_in(archive: Path) -> None:
    done = reportgen("blanks", "2026/2026-01.yaml", cwd=archive)
    assert done.returncode == 0
    keys = [line.split(":")[0].strip() for line in done.stdout.splitlines()]
    assert keys.index("strike_temperature") < keys.index("mash_ph") < keys.index("kettle_gravity")
    path = archive / "2026" / "2026-01.yaml"
    pasted = re.sub(r"date: +# day of brewing.*", "date: 2026-03-14", done.stdout)
    pasted = re.sub(r"date: +# day of packaging.*", "date: 2026-03-24", pasted)
    path.write_text(path.read_text(encoding="utf-8") + pasted, encoding="utf-8")
    checked = inside("check", "--format", "json", cwd=archive)
    errors = [json.loads(x) for x in checked.stdout.splitlines() if '"error"' in x]
    assert errors == []


def test_blanks_ask_for_all_that_the_sheet_asks_for(archive: Path) -> None:
    said = inside("blanks", "2026/2026-01.yaml", cwd=archive).stdout
    wanted = (
        "brewers", "weighed", "item: pale", "started", "ended", "added", "taken", "rinse_ph", "log",
        "finished", "containers", "container_size", "label",
    )  # fmt: skip
    assert [word for word in wanted if word not in said] == []
    # Nothing that stands there passes for a reading: amounts and times are left to be written.
    yaml_lines = [line.split("  #")[0] for line in said.splitlines()]
    assert not [line for line in yaml_lines if re.search(r"amount: \d|: \d\d:\d\d", line)]


def test_blanks_ask_for_no_ph_without_a_meter(archive: Path) -> None:
    house = archive / "brewery.yaml"
    lines = house.read_text(encoding="utf-8").splitlines(keepends=True)
    house.write_text("".join(line for line in lines if "ph_meter" not in line), encoding="utf-8")
    said = inside("blanks", "2026/2026-01.yaml", cwd=archive).stdout
    assert "_ph:" not in said.replace("rinse_ph:", "")


def test_blanks_ask_which_sheet_was_used_once_there_is_a_brew_day(archive: Path) -> None:
    path = archive / "2026" / "2026-01.yaml"
    text = path.read_text(encoding="utf-8")
    assert "issued:" not in inside("blanks", "2026/2026-01.yaml", cwd=archive).stdout
    path.write_text(text + "brew_day:\n  date: 2026-03-14\n", encoding="utf-8")
    said = inside("blanks", "2026/2026-01.yaml", cwd=archive).stdout.splitlines()
    assert re.match(r"# issued: \{plan: [0-9a-f]{8}, numbers: [0-9a-f]{8}, ", said[0])
    # Pasted as it stands it claims nothing; without its first sign, and with the day on which the
    # sheet was printed, it is the sheet of now.
    for pasted in (said[0], said[0].removeprefix("# ").replace("YYYY-MM-DD", "2026-03-12")):
        path.write_text(f"{text}brew_day:\n  date: 2026-03-14\n{pasted}\n", encoding="utf-8")
        told = inside("check", cwd=archive)
        assert "plan-changed" not in told.stdout and ": error:" not in told.stdout, told.stdout
    assert "issued:" not in inside("blanks", "2026/2026-01.yaml", cwd=archive).stdout


def test_blanks_are_in_the_units_of_the_house(archive: Path) -> None:
    house = archive / "brewery.yaml"
    text = house.read_text(encoding="utf-8")
    assert "units: metric" in text
    house.write_text(text.replace("units: metric", "units: US"), encoding="utf-8")
    said = inside("blanks", "2026/2026-01.yaml", cwd=archive).stdout
    assert "Strike temperature of the liquor, F\n" in said and ", US gal\n" in said
    assert ", C\n" not in said and ", L\n" not in said


def test_explain_prints_the_page_with_both_examples(archive: Path) -> None:
    done = reportgen("explain", "gravity-rises", cwd=archive)
    assert done.returncode == 0
    for part in ("Fix:", "Source:", "Passes:", "Fails:", "silenced:"):
        assert part in done.stdout
    assert len(inside("explain", cwd=archive).stdout.splitlines()) >= 60


def test_a_record_is_never_written(archive: Path) -> None:
    before = {p: p.read_bytes() for p in archive.rglob("*.yaml")}
    for verb in ("check", "figures"):
        inside(verb, cwd=archive)
    inside("blanks", "2026/2026-01.yaml", cwd=archive)
    assert {p: p.read_bytes() for p in archive.rglob("*.yaml")} == before


def test_a_closed_pipe_is_no_error(archive: Path) -> None:
    command = f"{sys.executable} -m reportgen figures | head -1"
    done = subprocess.run(
        command, shell=True, cwd=archive, capture_output=True, text=True, timeout=120,
        env={**CLEAN, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert "Traceback" not in done.stderr and done.stdout.startswith("batch")


def test_treat_proposes_what_the_plan_can_take(archive: Path) -> None:
    edit(archive, "      - {salt: gypsum, amount: 5 g, to: mash}\n", "")
    path = "2026/2026-01.yaml"
    done = reportgen(
        "treat", path, "--calcium", "100", "--sulfate", "150", "--mash-ph", "5.4", cwd=archive
    )
    assert done.returncode == 0, done.stderr
    assert "{salt: gypsum, amount: " in done.stdout and "to: mash}" in done.stdout
    assert "to: sparge" not in done.stdout
    assert "predicted mash pH 5.4" in done.stdout and "eye protection" in done.stdout
    assert inside("treat", path, cwd=archive).returncode == 2
    assert inside("treat", path, "--mash-ph", "9", cwd=archive).returncode == 2


@pytest.mark.parametrize("verb", ["record", "sheet", "figures", "blanks", "treat", "build"])
def test_a_record_that_cannot_be_read_is_named(archive: Path, verb: str) -> None:
    (archive / "2026/2026-09.yaml").write_text("batch: 2026-09\nplan: [\n", encoding="utf-8")
    done = inside(verb, "2026/2026-09.yaml", cwd=archive)
    assert done.returncode == 1
    assert "2026/2026-09.yaml" in done.stderr
    assert "run reportgen check" in done.stderr
    assert done.stdout == ""


def test_treat_takes_a_concentration_with_its_unit(archive: Path) -> None:
    path = "2026/2026-01.yaml"
    bare = inside("treat", path, "--calcium", "80", cwd=archive)
    assert bare.returncode == 0
    assert inside("treat", path, "--calcium", "80 mg/L", cwd=archive).stdout == bare.stdout
    wrong = inside("treat", path, "--calcium", "8 g", cwd=archive)
    assert wrong.returncode == 2 and "a concentration is wanted" in wrong.stderr


def test_a_mistyped_option_is_hinted_at(archive: Path) -> None:
    done = inside("check", "--fal-on", "major", cwd=archive)
    assert done.returncode == 2
    assert "unrecognized arguments: --fal-on" in done.stderr
    assert "did you mean `--fail-on`?" in done.stderr


def test_a_folder_named_like_a_record_is_told(archive: Path) -> None:
    (archive / "2026" / "2026-05.yaml").mkdir()
    for path in ((), ("2026",), ("2026/2026-05.yaml",)):
        done = inside("check", "--format", "json", *path, cwd=archive)
        found = [json.loads(line) for line in done.stdout.splitlines()]
        folders = [f for f in found if f["file"] == "2026/2026-05.yaml"]
        assert done.returncode == 1
        assert [f["rule"] for f in folders] == ["not-a-file"], path
    done = inside("check", "--format", "json", "2026/2026-01.yaml", cwd=archive)
    assert "2026-05" not in done.stdout


def test_what_if_tells_of_every_kind_of_container(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT / "batches")
    change = ["figures", "2026-10", "--set", "packaging.also[0].carbonation=3 vol"]
    assert main(change) == 0
    told = capsys.readouterr().out
    assert "Priming sugar, bottle half" in told and "Carbonation, bottle half" in told
    assert main([*change, "--format", "json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert {row["of"] for row in rows} == {"bottle half"}
    assert {row["key"] for row in rows} >= {"priming_sugar", "carbonation", "alcohol"}
