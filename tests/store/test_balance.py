"""The store: received = used + lost + left for any order, costs by hand, who takes what first."""

from __future__ import annotations

import datetime
import shutil
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.assessment.assess import assess
from reportgen.loading import load_archive
from reportgen.record.model.stock import Lot, StockEntry
from reportgen.record.printed import Units
from reportgen.record.units import parse_quantity
from reportgen.record.values import Day, Text
from reportgen.report.record_sections.lots import lot_lines
from reportgen.store.balance import Store, lost_of, store_of
from reportgen.store.cost import cost_of
from reportgen.store.takings import takings_data, takings_from, takings_of
from reportgen.store.words import amount_in

EXAMPLE = Path(__file__).parents[1] / "example"
DEMO = Path(__file__).parents[2] / "batches"
START = datetime.date(2026, 1, 1)


def day(number: int) -> Day:
    date = START + datetime.timedelta(days=number)
    return Day(date, date.isoformat())


def kilograms(value: int) -> Any:
    return parse_quantity(f"{value} g", "mass")


entries = st.lists(
    st.tuples(st.integers(0, 60), st.sampled_from(["lost", "found", "counted"]),
              st.integers(0, 5000)),
    max_size=8,
)
uses = st.lists(st.tuples(st.integers(0, 60), st.integers(1, 5000)), max_size=8)


def balance(received: int, rows: Any, used: Any) -> tuple[float, float, float]:
    lot = Lot(
        amount=kilograms(received),
        entries=tuple(
            StockEntry(on=day(on), because=Text("a test"), **{what: kilograms(grams)})
            for on, what, grams in rows
        ),
    )
    taken = [(START + datetime.timedelta(days=on), grams / 1000) for on, grams in used]
    gone = sum(amount for _, amount in taken)
    lost, _ = lost_of(received / 1000, "mass", lot.entries, taken)
    return gone, lost, received / 1000 - gone - lost


@given(st.integers(1, 30000), entries, uses, st.randoms(use_true_random=False))
@settings(max_examples=200)
def test_the_order_of_entries_does_not_count(
    received: int, rows: Any, used: Any, rng: Any
) -> None:
    # Two counts on one day may differ: then the later written would have to win.
    rows = list({(on, what): (on, what, grams) for on, what, grams in rows}.values())
    mixed, swapped = list(rows), list(used)
    rng.shuffle(mixed)
    rng.shuffle(swapped)
    first, second = balance(received, rows, used), balance(received, mixed, swapped)
    assert first == pytest.approx(second, abs=1e-9)
    gone, lost, left = first
    assert received / 1000 == pytest.approx(gone + lost + left, abs=1e-9)
    counts = [(on, grams) for on, what, grams in rows if what == "counted"]
    later = max((on for on, *_ in [*rows, *used]), default=0)
    if counts and max(counts)[0] == later and not any(
        on == later and what != "counted" for on, what, _ in rows
    ):
        # What was counted last of all is what is there.
        assert left == pytest.approx(max(counts)[1] / 1000, abs=1e-9)


def house(
    folder: Path, stock: Any, plans: dict[str, Any], day: datetime.date | None = None
) -> Store:
    """Return the store of an archive like the example, with other lots and batches."""
    def laid(base: Any, over: Any) -> Any:
        if isinstance(base, dict) and isinstance(over, dict):
            whole = {**base, **{k: laid(base.get(k), v) for k, v in over.items()}}
            return {k: v for k, v in whole.items() if v is not None}
        return over

    def read(name: str) -> Any:
        return yaml.load((EXAMPLE / name).read_text(), yaml.BaseLoader)

    (folder / "2026").mkdir(parents=True)
    (folder / "brewery.yaml").write_bytes((EXAMPLE / "brewery.yaml").read_bytes())
    whole = laid(read("stock.yaml"), stock)
    (folder / "stock.yaml").write_text(yaml.safe_dump(whole, sort_keys=False))
    record = {**read("2026/2026-01.yaml")}
    for batch, over in plans.items():
        one = laid({**record, "batch": batch}, over)
        path = folder / "2026" / f"{batch}.yaml"
        path.write_text(yaml.safe_dump(one, sort_keys=False, allow_unicode=True))
    archive = load_archive(folder)
    assert archive.findings == (), archive.findings
    assert archive.stock is not None
    taken = [takings_of(b.record, archive.stock) for b in archive.batches.values() if b.record]
    found = [one for one in taken if one is not None]
    for one in found:
        assert takings_from(takings_data(one)) == one
    return store_of(archive.stock, found, day)


NOT_BREWED: dict[str, Any] = dict.fromkeys(
    ("brew_day", "fermentation", "packaging", "tasting", "review", "issued", "analysis")
)
LOTS = {"malts": {"pale": {"pack": "25 kg", "lots": {
    "M-1": {"amount": "25 kg", "price": "30.00", "best_before": "2027-01-31"},
    "M-2": {"amount": "25 kg", "price": "40.00", "best_before": "2026-06-30"},
}}}}  # fmt: skip


def pale(amount: str, lot: str = "", **more: Any) -> Any:
    item = {"malt": "pale", "amount": amount, **({"lot": lot} if lot else {})}
    return {**NOT_BREWED, "plan": {"grist": [item], **more}}


def test_a_day_that_is_past_knows_nothing_of_what_came_later(tmp_path: Path) -> None:
    stock = {"malts": {"pale": {"lots": {
        "M-1": {"amount": "25 kg", "received": "2026-01-02", "entries": [
            {"on": "2026-03-01", "lost": "1 kg", "because": "mice"},
            {"on": "2026-05-01", "lost": "2 kg", "because": "mice"},
        ]},
        "M-2": {"amount": "25 kg", "received": "2026-04-01"},
    }}}}  # fmt: skip
    batches = {
        "2026-01": {**pale("7 kg", "M-1"), "brew_day": {"date": "2026-02-14"}},
        "2026-02": {**pale("6 kg", "M-1"), "brew_day": {"date": "2026-03-14"}},
    }
    left = {
        on: {lot.number: lot.left for lot in house(
            tmp_path / str(on), stock, batches, on and datetime.date.fromisoformat(on)
        ).lots.values()}
        for on in ("2026-01-01", "2026-03-01", "2026-03-14", None)
    }  # fmt: skip
    assert left == {
        "2026-01-01": {}, "2026-03-01": {"M-1": 17.0}, "2026-03-14": {"M-1": 11.0},
        None: {"M-1": 9.0, "M-2": 25.0},
    }  # fmt: skip


def test_amounts_are_told_as_the_house_weighs_and_measures() -> None:
    told = [amount_in(38.0, "volume", "US"), amount_in(0.7, "mass", "US"),
            amount_in(0.45, "mass", "US"), amount_in(0.7, "mass", "metric")]
    assert told == ["10.04 US gal", "1.54 lb", "15.9 oz", "700 g"]


def test_weighed_before_planned_and_the_rest_as_planned(tmp_path: Path) -> None:
    day = {"date": "2026-03-14", "weighed": [{"item": "pale", "amount": "7.1 kg", "lot": "M-2"}]}
    store = house(tmp_path / "a", LOTS, {
        "2026-01": {**pale("7.0 kg", "M-1"), "brew_day": day},
    })  # fmt: skip
    used = {lot.number: lot.used for lot in store.lots.values()}
    assert used == pytest.approx({"M-1": 0.0, "M-2": 7.1})
    unweighed = house(tmp_path / "b", LOTS, {
        "2026-01": {**pale("7.0 kg", "M-1"), "brew_day": {"date": "2026-03-14"}},
    })  # fmt: skip
    assert {lot.number: lot.used for lot in unweighed.lots.values()} == {"M-1": 7.0, "M-2": 0.0}
    left_out = {"date": "2026-03-14", "weighed": [
        {"item": "pale", "amount": "not done because the bag was wet", "lot": "M-1"}]}
    none = house(tmp_path / "c", LOTS, {"2026-01": {**pale("7 kg", "M-1"), "brew_day": left_out}})
    assert all(lot.used == 0 for lot in none.lots.values())


def test_what_is_left_of_a_lot_by_hand(tmp_path: Path) -> None:
    """25 kg came, 7 were brewed with, 2 lost and 0.5 found again: 16.5; or what was counted."""
    rows = [{"on": "2026-03-20", "lost": "2 kg", "because": "wet"},
            {"on": "2026-03-21", "found": "0.5 kg", "because": "swept up"}]
    plan = {"2026-01": {**pale("7.0 kg", "M-1"), "brew_day": {"date": "2026-03-14"}}}
    lots = {"M-1": {"amount": "25 kg", "entries": rows}}
    lot: dict[str, Any] = {"malts": {"pale": {"lots": lots}}}
    (one,) = house(tmp_path / "a", lot, plan).lots.values()
    assert one.left == pytest.approx(16.5) and not one.is_short
    rows.append({"on": "2026-03-22", "counted": "16 kg", "because": "count"})
    (one,) = house(tmp_path / "b", lot, plan).lots.values()
    assert one.left == pytest.approx(16.0)


def test_the_lot_to_use_first_and_what_is_short(tmp_path: Path) -> None:
    store = house(tmp_path / "a", LOTS, {
        "2026-01": pale("20 kg", "M-1", brew_on="2026-03-01"),
        "2026-02": pale("20 kg", "M-1", brew_on="2026-02-01"),
        "2026-03": pale("12 kg", brew_on="2026-04-01"),
    })  # fmt: skip
    (item,) = store.items
    first = item.first()
    assert first is not None and first.number == "M-2", "it goes out of date first"
    late = item.first(datetime.date(2026, 7, 1))
    assert late is not None and late.number == "M-1"
    # 2026-02 is brewed first and takes 20 of 25 kg: 5 are left for the 20 of 2026-01.
    (need,) = store.needs
    assert need.use.batch.batch == "2026-01" and need.before == ("2026-02",)
    assert need.wanted == pytest.approx(20) and need.there == pytest.approx(5)
    assert store.to_buy == pytest.approx({("malts", "pale"): 15.0})
    too_late = house(tmp_path / "b", LOTS, {
        "2026-01": pale("24 kg", "M-1", brew_on="2026-07-01"),
        "2026-02": pale("5 kg", brew_on="2026-07-02"),
    })  # fmt: skip
    # M-2 is out of date on that day: only 1 kg of M-1 is left for it.
    (need,) = too_late.needs
    assert need.use.batch.batch == "2026-02" and need.there == pytest.approx(1.0)


def test_costs_by_hand(tmp_path: Path) -> None:
    """7.1 kg of 40.00 for 25 kg and 500 g of 30.00 for 25 kg: 11.36 + 0.60 = 11.96, for 38 L."""
    day = {"date": "2026-03-14", "weighed": [
        {"item": "pale", "amount": "7.1 kg", "lot": "M-2"},
        {"item": "pale", "amount": "500 g", "lot": "M-1"},
    ]}  # fmt: skip
    packed = {"date": "2026-03-24", "packaged_volume": "38 L"}
    store = house(tmp_path, LOTS, {
        "2026-01": {**pale("7 kg", "M-1"), "brew_day": day, "packaging": packed},
    })  # fmt: skip
    (batch,) = store.batches
    cost = cost_of(store, batch)
    assert cost is not None and cost.total == pytest.approx(11.96)
    assert cost.is_packed and cost.each_litre == pytest.approx(11.96 / 38)
    assert "pale" not in cost.without_price and cost.without_price, "hops have no price here"


def test_liquor_that_was_added_is_no_stock(tmp_path: Path) -> None:
    shutil.copytree(EXAMPLE, tmp_path / "house")
    stock = tmp_path / "house" / "stock.yaml"
    lot = yaml.safe_load(stock.read_text(encoding="utf-8"))
    next(iter(lot["malts"]["pale"]["lots"].values()))["amount"] = "50 kg"
    stock.write_text(yaml.safe_dump(lot), encoding="utf-8")
    path = tmp_path / "house" / "2026" / "2026-01.yaml"
    added = "  added: [{what: reservoir, amount: 2 L, to: kettle}]\n"
    day = "brew_day:\n  date: 2026-03-14\n  weighed: [{item: pale, amount: 7.2 kg}]\n"
    path.write_text(path.read_text(encoding="utf-8") + day + added, encoding="utf-8")
    archive = load_archive(tmp_path / "house")
    found = takings_of(archive.batches["2026-01"].record, archive.stock)
    assert found is not None and "pale" in {t.item for t in found.takings}
    assert "reservoir" not in {*(t.item for t in found.takings), *found.uncounted}


def test_a_fining_put_into_the_cask_is_taken_once_and_not_told_missing(tmp_path: Path) -> None:
    stock = {"finings": {"carrageenan": {"lots": {"F-1": {"amount": "1 kg"}}}}}
    plan = {"fermentation": {"finings": [{"fining": "carrageenan", "amount": "100 g"}]},
            "boil": {"time": "60 min", "hops": [], "finings": []}}  # fmt: skip
    into = {"date": "2026-03-24", "added": [
        {"what": "carrageenan", "amount": "90 g", "to": "container", "lot": "F-1"}]}
    store = house(tmp_path, stock, {"2026-01": {
        "plan": plan, "brew_day": {"date": "2026-03-14"}, "packaging": into}})  # fmt: skip
    assert store.lots["finings", "carrageenan", "F-1"].used == pytest.approx(0.09)
    archive = load_archive(tmp_path)
    batch = assess(archive, archive.batches["2026-01"])
    assert batch is not None
    (line,) = (x for x in lot_lines(batch, Units()) if x.item.startswith("Carrageenan"))
    assert line.note == "among what was added"


def test_a_store_without_amounts_is_silent(tmp_path: Path) -> None:
    store = house(tmp_path, {}, {"2026-01": {}})
    assert store.items == () and store.needs == ()


def test_containers_are_printed_in_the_record() -> None:
    from reportgen.report.record_sections.course import course_lines

    archive = load_archive(DEMO, only=["2026/2026-07.yaml"])
    batch = assess(archive, archive.batches["2026-07"])
    assert batch is not None
    lines = [line for line in course_lines(batch) if line.what.startswith("Container")]
    assert [line.what for line in lines] == ["Container K-1 filled", "Container K-2 filled"]
    assert "went to household 3" in lines[0].detail and "back on 2026-10-19" in lines[0].detail


def test_what_a_plan_like_another_lacks_is_told_in_its_own_file(tmp_path: Path) -> None:
    """The amount stands in the other's file; who looks at this one alone is told here."""
    base = yaml.load((EXAMPLE / "2026/2026-01.yaml").read_text(), yaml.BaseLoader)["plan"]
    like = {**NOT_BREWED, "plan": {**dict.fromkeys(base), "like": "2026-01"}}
    stock = {"malts": {"pale": {"lots": {"M-1": {"amount": "10 kg"}}}}}
    store = house(tmp_path, stock, {"2026-01": pale("7 kg", "M-1"), "2026-02": like})
    short = [need.use.taking.position for need in store.needs]
    files = {p.file for p in short if p is not None}
    assert "2026/2026-02.yaml" in files
