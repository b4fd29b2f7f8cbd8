"""The ledger as it is built: same bytes, nothing done when nothing changed, nothing left behind."""

from __future__ import annotations

import csv
import io
import json
import shutil
import subprocess
from pathlib import Path

import pytest
from checked import summarise
from houses import (
    house,
    inside,
    ledger_data,
    loaded,
    plain_pages,
    quiet,
    registered,
    reportgen,
    summary,
)
from msgspec.structs import replace
from synthetic_archive import make_archive

from reportgen.archive.build_ledger import is_part
from reportgen.archive.interchange import columns, rows, tables
from reportgen.archive.links import links_of
from reportgen.archive.summaries import CACHE, SummaryIndex, survey
from reportgen.archive.summary import summary_of
from reportgen.assessment.assess import assess
from reportgen.history.row import row_of
from reportgen.loading import load_archive
from reportgen.record.printed import BLANK, NARROW
from reportgen.report.batch_record import batch_record
from reportgen.report.ledger import batch_table, view_key
from reportgen.report.ledger_list import list_html, list_page, lists

DEMO = Path(__file__).parents[2] / "batches"


def files_of(folder: Path) -> dict[str, bytes]:
    return {
        p.relative_to(folder).as_posix(): p.read_bytes()
        for p in sorted(folder.rglob("*"))
        if p.is_file()
    }


def stamps_of(folder: Path) -> dict[str, int]:
    return {p.as_posix(): p.stat().st_mtime_ns for p in folder.rglob("*") if p.is_file()}


def test_the_ledger_from_first_build_to_last(tmp_path: Path) -> None:
    # One story, since every step starts from what the one before left.
    folder = tmp_path / "here"
    ids = make_archive(folder, 3, seed=4)
    done = inside("ledger", cwd=folder)
    assert done.returncode == 0, done.stderr
    made = files_of(folder / "build")
    for name in ("index", "yeast", "lots", "history", "findings", *(f"batch/{b}" for b in ids)):
        assert f"ledger/{name}.html" in made
    assert {"ledger.csv", "ledger.json", "ledger/ledger.pdf"} <= set(made)
    summed = subprocess.run(
        ["sha256sum", "-c", "--strict", "--quiet", "SHA256SUMS"],
        cwd=folder / "build",
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert summed.returncode == 0, summed.stdout + summed.stderr

    # Again, with nothing changed: no file is touched.
    before = stamps_of(folder / "build")
    done = inside("ledger", cwd=folder)
    assert done.returncode == 0 and done.stdout == "" and "0 written" in done.stderr
    assert stamps_of(folder / "build") == before

    # Elsewhere, in another time zone and locale: the same bytes.
    elsewhere = tmp_path / "some where" / "else"
    make_archive(elsewhere, 3, seed=4)
    done = reportgen("ledger", cwd=elsewhere, TZ="Pacific/Auckland", LC_ALL="C", PYTHONHASHSEED="7")
    assert done.returncode == 0, done.stderr
    assert files_of(elsewhere / "build") == made

    # A page that somebody spoilt is made again.
    page = folder / "build/ledger/index.html"
    page.write_text("spoilt", encoding="utf-8")
    done = inside("ledger", cwd=folder)
    assert done.stdout.splitlines() == ["build/ledger/index.html"]
    assert files_of(folder / "build") == made

    # A record changed: only what shows it is written.
    path = folder / ids[1][:4] / f"{ids[1]}.yaml"
    text = path.read_text(encoding="utf-8")
    more = text.replace("review:\n", "review:\n  learned: Mash a little thicker.\n")
    path.write_text(more, encoding="utf-8")
    done = inside("ledger", cwd=folder)
    assert f"build/ledger/batch/{ids[1]}.html" in done.stdout
    assert f"build/ledger/batch/{ids[0]}.html" not in done.stdout
    assert "ledger.pdf" not in done.stdout
    assert b"Mash a little thicker." in (folder / f"build/ledger/batch/{ids[1]}.html").read_bytes()

    # A record that cannot be read is missed aloud, each time, and its old page goes.
    path.write_text(text.replace("volume: 40 L", "volume: forty"), encoding="utf-8")
    for _ in range(2):
        done = inside("ledger", cwd=folder)
        assert done.returncode == 1
        assert f"{ids[1]}.yaml: cannot be read" in done.stderr
    assert not (folder / f"build/ledger/batch/{ids[1]}.html").exists()
    assert f"<strong>Cannot be read:</strong> {ids[1]}" in page.read_text(encoding="utf-8")
    assert "forty" in (folder / "build/ledger/findings.html").read_text(encoding="utf-8")

    # A value that cannot be read is not passed over: the batch says so, and has no PDF to open.
    path.write_text(
        text.replace("packaged_by: BB", "packaged_by: BB\n  colour: red"), encoding="utf-8"
    )
    inside("ledger", cwd=folder)
    shown = (folder / f"build/ledger/batch/{ids[1]}.html").read_text(encoding="utf-8")
    assert "Cannot be read in full" in shown and f"{ids[1]}.pdf" not in shown

    # Where nothing can be written, the old output stays whole and the exit code says so.
    path.write_text(text, encoding="utf-8")
    blocked = folder / "build/ledger/lots.html"
    whole = (folder / "build/ledger/yeast.html").read_bytes()
    blocked.unlink()
    blocked.mkdir()
    done = inside("ledger", cwd=folder)
    assert done.returncode == 2 and "lots.html" in done.stderr and "Traceback" not in done.stderr
    assert (folder / "build/ledger/yeast.html").read_bytes()[:200] == whole[:200]


def test_the_records_are_never_written(tmp_path: Path) -> None:
    folder = house(tmp_path / "house", {"2026-01": "{}"})
    before = files_of(folder)
    for words in ("ledger", "trace 2026-01", "history", "compare 2026-01 2026-01"):
        verb = words.split()
        assert inside(*verb, cwd=folder).returncode == 0
    shutil.rmtree(folder / "build")
    assert files_of(folder) == before


def test_a_remark_that_says_nothing_new_makes_no_page_anew(tmp_path: Path) -> None:
    ids = make_archive(tmp_path / "a", 3, seed=2)
    folder = tmp_path / "a"
    inside("ledger", cwd=folder)
    before = files_of(folder / "build/ledger")
    record = next(folder.glob(f"*/{ids[1]}.yaml"))
    with record.open("a", encoding="utf-8") as file:
        file.write("# a remark\n")
    done = inside("ledger", cwd=folder)
    assert done.stderr.startswith("0 written") and files_of(folder / "build/ledger") == before
    # What stands is not made of the old text when the text says something new, or a page is gone.
    text = record.read_text(encoding="utf-8")
    record.write_text(text.replace("name: ", "name: Another "), encoding="utf-8")
    inside("ledger", cwd=folder)
    page = folder / f"build/ledger/batch/{ids[1]}.html"
    assert "Another " in page.read_text(encoding="utf-8")
    page.unlink()
    record.write_text(record.read_text(encoding="utf-8") + "# once more\n", encoding="utf-8")
    inside("ledger", cwd=folder)
    assert page.is_file()


def test_a_summary_is_kept_and_read_back_unchanged(tmp_path: Path) -> None:
    ids = make_archive(tmp_path / "a", 3, seed=2)
    archive = loaded(tmp_path / "a")
    output = tmp_path / "a" / "build"
    first = survey(tmp_path / "a", output, quiet, keep=True)
    assert first.assessed == 3 and list(first.rows) == ids
    kept = SummaryIndex(output / CACHE)
    for batch, one in kept.items():
        # To the last digit and type: a page made from what is kept has the same bytes.
        assert repr(one) == repr(summarise(archive, archive.batches[batch]))
        assert first.rows[batch] == row_of(one)
    # All of them are one JSON object too.
    assert list(json.loads((output / CACHE).read_text(encoding="utf-8"))) == ids
    again = survey(tmp_path / "a", output, quiet, keep=True)
    assert again.assessed == 0 and again.rows == first.rows
    assert dict(SummaryIndex(output / CACHE)) == dict(kept)
    # A change to a parent of the yeast line counts for those that descend from it.
    path = tmp_path / "a" / "2020" / "2020-002.yaml"
    path.write_text(path.read_text().replace("amount: 1.0 L", "amount: 1.1 L"), encoding="utf-8")
    third = survey(tmp_path / "a", output, quiet, keep=False)
    assert third.assessed == 2


@pytest.mark.parametrize("spoilt", [b"", b"{", b"[]", b'{"2020-001": {"key": 1}}', b"\xff\xfe"])
def test_a_spoilt_cache_is_made_anew(tmp_path: Path, spoilt: bytes) -> None:
    make_archive(tmp_path / "a", 1)
    output = tmp_path / "a" / "build"
    output.mkdir()
    (output / CACHE).write_bytes(spoilt)
    assert survey(tmp_path / "a", output, quiet, keep=True).assessed == 1
    assert survey(tmp_path / "a", output, quiet, keep=True).assessed == 0


def test_a_line_cut_short_costs_one_batch_and_another_run_none(tmp_path: Path) -> None:
    ids = make_archive(tmp_path / "a", 3)
    cache = tmp_path / "a" / "build" / CACHE
    survey(tmp_path / "a", cache.parent, quiet, keep=True)
    kept, whole = SummaryIndex(cache), cache.read_bytes()
    mark, first, second, third, *rest = whole.split(b"\n")
    cache.write_bytes(b"\n".join([mark, first, second[:-40] + b"}},", third, *rest]))
    assert survey(tmp_path / "a", cache.parent, quiet, keep=False).assessed == 1
    # A file put in its place by another run is not taken for the one that was looked through.
    cache.write_bytes(b"\n".join([mark, third + b",", second, first.rstrip(b","), *rest]))
    assert all(found.id == batch for batch in ids if (found := kept.get(batch)))
    assert kept.get(ids[2]) is None


def test_a_broken_house_costs_no_summary(tmp_path: Path) -> None:
    make_archive(tmp_path / "a", 2)
    output = tmp_path / "a" / "build"
    survey(tmp_path / "a", output, quiet, keep=True)
    house_file = tmp_path / "a" / "brewery.yaml"
    text = house_file.read_text(encoding="utf-8")
    house_file.write_text("format: 1\nname: [\n", encoding="utf-8")
    broken = survey(tmp_path / "a", output, quiet, keep=True)
    assert not broken.rows and len(broken.lost) == 2
    house_file.write_text(text, encoding="utf-8")
    assert survey(tmp_path / "a", output, quiet, keep=True).assessed == 0


def test_the_tables_of_exchange_say_what_the_record_says(tmp_path: Path) -> None:
    folder = house(
        tmp_path / "house",
        {
            "2026-01": "brew_day: {date: 2026-01-10, pitch: {original_gravity: {read: 1.045, "
            "sample: 20 C}}}\nfermentation: {final_gravity: {read: 1.010, sample: 20 C}, "
            "harvest: {at: 2026-01-17 10:00}}",
            "2026-02": "name: 'Half, \"and\" half'\n"
            "plan: {pitch: {yeast: ale, harvested_from: 2026-01, generation: 1}}",
        },
    )
    archive = loaded(folder)
    links = links_of(registered(archive))
    found = {b: summarise(archive, batch) for b, batch in archive.batches.items()}
    summaries = {b: s for b, s in found.items() if s is not None}
    lined, written = tables(summaries.values(), links, "Example House")
    table = list(csv.DictReader(io.StringIO(lined.decode())))
    document = json.loads(written)
    assert [row["batch"] for row in table] == ["2026-01", "2026-02"]
    assert list(table[0]) == [c["name"] for c in document["columns"]]
    first, second = document["batches"]
    assert (first["brewed"], first["state"], second["state"]) == ("2026-01-10", "brewed", "planned")
    assert second["harvested_from"] == "2026-01" and second["generation"] == 1
    assert second["name"] == table[1]["name"] == 'Half, "and" half'
    assert first["original_gravity_actual"] == pytest.approx(1.045, abs=1e-9)
    # Alcohol of 1.045 to 1.010: 4.6 % by volume, ASBC Beer-4 table (fermentation balance), to 0.05.
    assert first["alcohol_actual"] == pytest.approx(0.046, abs=0.0005)
    # What is not known is empty, never zero.
    assert second["original_gravity_actual"] is None and table[1]["original_gravity_actual"] == ""
    assert first["packed"] is None and first["evaporation"] is None


def exchanged(folder: Path) -> tuple[bytes, dict[str, object]]:
    """Return the table of an archive as CSV, and as read back from JSON."""
    archive = loaded(folder)
    links = links_of(registered(archive))
    found = {b: summarise(archive, batch) for b, batch in archive.batches.items()}
    summaries = {b: s for b, s in found.items() if s is not None}
    lined, document = tables(summaries.values(), links, "Example")
    return lined, json.loads(document)


def numeric(document: dict[str, object]) -> set[str]:
    """Return the columns that the table's own description says hold numbers."""
    words = {"brewed", "finished", "packed", "best_before", "packed_into"}
    return {
        c["name"]
        for c in document["columns"]  # type: ignore[attr-defined]
        if c["name"] not in words and (c["unit"] or c["name"].endswith(("_U", "_actual")))
    }


def test_no_text_is_run_as_a_formula(tmp_path: Path) -> None:
    names = {"2026-01": "=1+1", "2026-02": "+cmd", "2026-03": "-2", "2026-04": "@SUM(A1)",
             "2026-05": "Plain = plain"}  # fmt: skip
    folder = house(tmp_path / "house", {b: f"name: '{name}'" for b, name in names.items()})
    data, document = exchanged(folder)
    table = list(csv.DictReader(io.StringIO(data.decode())))
    for row, name in zip(table, names.values(), strict=True):
        assert row["name"] == (f"'{name}" if name != "Plain = plain" else name)
        assert not any(value.startswith(("=", "+", "@")) for value in row.values()), (
            "a cell would be run"
        )
    # Other programs get the text as it was written.
    assert [b["name"] for b in document["batches"]] == list(names.values())  # type: ignore[index]


def test_the_table_is_read_alike_by_other_programs(tmp_path: Path) -> None:
    folder = house(
        tmp_path / "house",
        {
            "2026-01": "name: 'Bière, „brune“\\\\n2'\nbrew_day: {date: 2026-01-10, pitch: "
            "{original_gravity: {read: 1.045, sample: 20 C}}}\n"
            "fermentation: {final_gravity: {read: 1.010, sample: 20 C}}",
            "2026-02": "{}",
        },
    )
    data, document = exchanged(folder)
    numbers = numeric(document)
    batches = {b["batch"]: b for b in document["batches"]}  # type: ignore[index,attr-defined]
    assert len(numbers) > 40
    for row in csv.DictReader(io.StringIO(data.decode("utf-8"))):
        for name, value in row.items():
            known = batches[row["batch"]][name]
            if name in numbers and value:
                assert float(value) == known
            else:
                assert value == ("" if known is None else str(known))
    pandas = pytest.importorskip("pandas")
    frame = pandas.read_csv(io.BytesIO(data), index_col="batch")
    for name in numbers:
        assert pandas.api.types.is_numeric_dtype(frame[name]), name
    assert frame.loc["2026-01", "name"] == batches["2026-01"]["name"]
    assert frame.loc["2026-01", "original_gravity_actual"] == pytest.approx(1.045, abs=1e-9)
    assert pandas.isna(frame.loc["2026-02", "original_gravity_actual"])


def test_a_large_ledger_is_printed_year_by_year(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = make_archive(tmp_path / "a", 56)
    archive = loaded(tmp_path / "a")
    found = {b: summarise(archive, batch) for b, batch in archive.batches.items()}
    summaries = {b: s for b, s in found.items() if s is not None}
    data = ledger_data(archive, summaries)
    assert [one.file for one in lists(data)] == ["ledger/ledger.pdf"]
    in_one = list_html(data, list_page(data, lists(data)[0]), "A4")
    assert all(f">{batch}<" in in_one for batch in made)
    monkeypatch.setattr("reportgen.report.ledger_list.MOST_IN_ONE", 50)
    whole, last, first = lists(data)
    assert (last.file, first.file) == ("ledger/ledger-2021.pdf", "ledger/ledger-2020.pdf")
    of_year = {one.year: list_html(data, list_page(data, one), "A4") for one in (last, first)}
    for batch in made:
        # Named in a row of the table of its own year, and of no other.
        assert f">{batch}</th>" in of_year[batch[:4]]
        assert not any(f">{batch}</th>" in text for y, text in of_year.items() if y != batch[:4])
    summary_only = list_html(data, list_page(data, whole), "A4")
    assert "Own history" in summary_only and f">{made[0]}</th>" not in summary_only
    # Of very many open deviations the worst are listed, and it is said where the rest stand.
    every = list_page(data, whole).open.rows
    assert len(every) > 2
    monkeypatch.setattr("reportgen.report.ledger_list.MOST_OPEN", 2)
    worst = list_page(data, whole)
    assert list(worst.open.rows) == list(every[:2])
    assert f"Of {len(every)} open deviations the 2 worst stand here" in worst.lead
    by_year = [len(list_page(data, one).open.rows) for one in (last, first)]
    assert sum(by_year) == len(every)
    # A year that is over does not change when a later batch is taken away.
    fewer = {b: s for b, s in summaries.items() if b != made[-1]}
    later = replace(data, rows=fewer, summaries=fewer)
    assert view_key(list_page(later, first)) == view_key(list_page(data, first))
    assert view_key(list_page(later, last)) != view_key(list_page(data, last))
    assert list_html(later, list_page(later, first), "A4") == of_year["2020"]


def test_every_column_is_described_once() -> None:
    every = columns()
    names = [c.name for c in every]
    assert len(set(names)) == len(names)
    assert all(c.description.endswith(".") for c in every)
    assert all(c.name.replace("_", "").isalnum() for c in every)


def test_a_zero_is_not_taken_for_nothing() -> None:
    links = links_of(registered(loaded(Path(__file__).parents[1] / "example")))
    (row,) = rows([summary("2026-01", generation=0)], links)
    assert row["generation"] == 0 and row["open_deviations"] == 0


def test_build_makes_the_ledger_too_and_knows_it(tmp_path: Path) -> None:
    folder = plain_pages(house(tmp_path / "house", {"2026-01": "{}"}))
    done = reportgen("build", cwd=folder)
    assert done.returncode == 0, done.stderr
    state = json.loads((folder / "build/.built.json").read_text())
    assert "ledger/index.html" in state and any(n.startswith("sheets/") for n in state)
    assert sum(is_part(name) for name in state) == 12
    again = reportgen("build", cwd=folder)
    assert again.stdout == "" and "0 built" in again.stderr and "0 removed" in again.stderr
    # The ledger alone finds it all current, and leaves the sheets where they are.
    done = inside("ledger", cwd=folder)
    assert (done.returncode, done.stdout) == (0, "") and "0 written" in done.stderr
    assert (folder / "build/sheets/2026-01-brew-day.pdf").is_file()


@pytest.mark.parametrize("batch", ["2026-03", "2026-08", "2026-09", "2026-10"])
def test_the_ledger_says_of_a_batch_what_its_record_says(batch: str) -> None:
    # Batches of the archive that comes with the tool: off plan, stuck, fermenting, only planned.
    archive = load_archive(DEMO)
    found = assess(archive, archive.batches[batch])
    assert found is not None
    record, one = batch_record(found, "A4"), summary_of(found, ())
    table = batch_table(ledger_data(archive, {batch: row_of(one)}))
    row = dict(zip([c.title for c in table.columns], table.rows[0], strict=True))
    columns = {
        "Original gravity": "Original gravity", "Final gravity": "Final gravity",
        "Alcohol, %": "Alcohol by volume", "Bitterness, computed, IBU": "Bitterness",
        "Colour, computed, EBC": "Colour",
    }  # fmt: skip
    # Of several kinds of containers the ledger has the first.
    headlines = {h.title.partition(", ")[0]: h for h in reversed(record.headlines)}
    for column, title in columns.items():
        actual, plan = headlines[title].actual, headlines[title].plan
        said = f"({plan.split(NARROW)[0]})" if actual == BLANK else actual.split(NARROW)[0]
        assert row[column].text == said, title
        assert row[column].soft == (actual == BLANK)
    counted = {shape.shape: shape.number for shape in row["Verdicts"].shapes}
    assert counted == {c.mark.shape: c.number for c in record.counts if c.number != "0"}
    if batch == "2026-10":
        assert row["Bitterness, computed, IBU"].soft and not counted
