"""What the sheets ask for is in the record: each field of a full record is found in its text."""

from __future__ import annotations

import dataclasses
import html
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from printed import ARCHIVE, BREWED, assessed

from reportgen.assessment.assess import assess
from reportgen.loading import load_archive
from reportgen.record.units import Quantity
from reportgen.record.values import Clock, Day, Moment, Reading, Text
from reportgen.report.documents import RECORD, WORKING
from reportgen.report.record_sections.instruments import instrument_lines

PLAN = (ARCHIVE / "2026" / f"{BREWED}.yaml").read_text(encoding="utf-8").split("\nissued:")[0]

FULL = """
issued: {plan: 0f1e2d3c, numbers: 5a6b7c8d, copy: 7, on: 2026-01-29}
brew_day:
  date: 2026-02-01
  brewers: [AB]
  typed_by: AB
  checked_by: CD
  instruments:
    {hydrometer: glass_hydrometer, thermometer: probe, ph_meter: meter, volume_gauge: stick,
     scale: scale}
  rinse_ph: 7.13
  liquor_note: Liquor was cloudy.
  remarks: Hot day.
  weighed:
    - {item: fuggle, amount: 40.3 g, lot: H-8, at: 08:00, by: AB, checked_by: CD, added_at: 12:09}
    - {item: pale, amount: 6.31 kg, lot: M-1, at: 08:01, by: AB, checked_by: CD}
    - {item: crystal, amount: 0.36 kg, lot: M-77, at: 08:02, by: CD, checked_by: AB}
  added:
    - {what: well, amount: 1.9 L, to: mash, temperature: 71.5 C, lot: W-9, at: 09:21, by: CD,
       because: T9}
  taken:
    - {what: cloudy wort, amount: 0.6 L, from: kettle, at: 11:41, by: CD, because: a starter}
  mash:
    started: 09:03
    mash_liquor: {read: 24.1 L, at: 08:51, by: AB}
    malt_temperature: {read: 17.6 C, at: 08:52, by: AB}
    strike_temperature: {read: 74.1 C, at: 08:53, by: AB}
    mash_temperature:
      {read: 69.2 C, was: 62.9 C, amended_by: CD, amended_on: 2026-02-02,
       because: figures swapped in typing, at: 09:14}
    mash_ph: {read: 5.47, sample: 22.4 C, at: 09:17}
    mash_end_temperature: {read: 67.7 C, at: 10:03}
    first_wort_gravity: {read: 1.071, sample: 25.3 C, at: 10:06}
    remarks: Lumps of grain.
  run_off:
    started: 10:11
    sparge_liquor: not done because the pump failed
    sparge_temperature: {read: 75.9 C, at: 10:21}
    runnings:
      - {volume: 15.2 L, gravity: 1.062, ph: 5.58, at: 10:41}
      - {volume: 30.3 L, gravity: {read: 1.031, sample: 31.7 C}, ph: 5.83, at: 11:07}
    last_runnings_gravity: {read: 1.009, sample: 24.6 C, at: 11:31}
    top_up_liquor: 0.7 L
    kettle_volume: {read: 48.4 L, sample: 70.4 C, at: 11:33}
    kettle_gravity: {read: 1.041, sample: 24.7 C, at: 11:34}
    remarks: Ran slowly.
  boil:
    started: 11:56
    ended: 12:58
    hop_stand_ended: 13:08
    below_60_at: 13:26
    hop_stand_temperature: {read: 81.3 C, at: 12:59}
    cast_out_volume: {read: 43.6 L, sample: 96.3 C, at: 12:59}
    cast_out_gravity: {read: 1.045, sample: 24.8 C, at: 13:01}
    remarks: Foam rose.
  pitch:
    fermenter_volume: {read: 40.3 L, at: 13:41}
    original_gravity: {read: 1.046, sample: 19.4 C, at: 13:42}
    pitch_temperature: {read: 18.3 C, at: 13:43}
    wort_ph: {read: 5.19, sample: 21.6 C, at: 13:44}
    yeast_amount: {read: 370 mL, at: 13:45}
    viable_cells: {read: 331 billion, at: 13:46}
    at: 13:57
    lot: Y-55
    remarks: Aerated well.
fermentation:
  instruments: {hydrometer: glass_hydrometer, thermometer: probe}
  log:
    - {at: 2026-02-02 14:05, temperature: 19.2 C, gravity: 1.031, ph: 4.71, pressure: 0.43 bar,
       by: AB, note: A head.}
    - {at: 2026-02-06 14:06, temperature: 18.6 C, gravity: {read: 1.012, sample: 23.1 C}, by: CD}
  added:
    - {what: well, amount: 0.11 L, to: fermenter, temperature: 20.4 C, lot: M-78,
       at: 2026-02-03 18:31, by: AB, because: a trial}
  taken:
    - {what: green beer, amount: 0.31 L, from: fermenter, at: 2026-02-04 19:32, by: CD,
       because: a sample}
  final_gravity: {read: 1.013, sample: 20.9 C, at: 2026-02-07 10:08}
  finished: 2026-02-07
  harvest:
    {at: 2026-02-07 16:09, amount: 1.17 L, cells: 1.23 billion/mL, viability: 93 %,
     stored_at: 3.4 C, note: Creamy slurry.}
  remarks: Slow at first.
packaging:
  date: 2026-02-08
  instruments: {thermometer: probe, pressure_gauge: gauge, volume_gauge: stick}
  packaged_volume: {read: 38.2 L, at: 2026-02-08 11:18}
  containers: 2
  filled:
    - {number: K-777, of: 7, volume: 18.31 L, at: 18:37, on_gas_since: 2026-03-29,
       went_to: Corner House, went_on: 2026-04-17, back_on: 2026-05-23, empty: "yes",
       note: dented rim}
  container: cellar_keg
  container_size: 19.1 L
  added:
    - {what: well, amount: 0.21 L, to: container, temperature: 5.6 C, lot: W-8,
       at: 2026-02-08 10:43, by: AB, because: rinsing}
  beer_temperature: {read: 6.2 C, at: 2026-02-08 11:19}
  pressure: {read: 0.74 bar, at: 2026-02-08 11:20}
  best_before: 2026-08-02
  story: Brewed for the bridge feast.
  label: Shed Bitter, 4.1 % vol, contains barley
  packaged_by: CD
  remarks: One seal leaked.
analysis:
  date: 2026-02-20
  laboratory: Bench of the valley
  report: L-114
  bitterness: 31.4 IBU
  bitterness_uncertainty: 2.6 IBU
  colour: 14.3 EBC
  colour_uncertainty: 0.8 EBC
  alcohol: 4.27 %
  alcohol_uncertainty: 0.11 %
  carbonation: 2.27 vol
  carbonation_uncertainty: 0.13 vol
  remarks: Second bottle.
tasting:
  - date: 2026-03-01
    assessors: [AB, CD]
    blind_code: 472
    scores: {malty: 4.1, bitter: 3.6}
    triangle: {against: 2026-02, assessors: 12, correct_responses: 8}
    remarks: Clean taste.
review:
  deviations:
    - figure: mash_temperature
      figures: [mash_end_temperature]
      findings: [weighed-differs]
      what: Mash too hot.
      severity: minor
      cause: Strike too hot
      cause_certainty: known
      effect: Sweeter beer.
      correction: Cold liquor stirred in.
      corrective_action: Read the malt first.
      other_batches: none touched
      instrument: probe
      disposition: release
      closed_by: AB
      closed_on: 2026-02-21
  silenced:
    - {check: over-sparged, because: Trial of thin runnings.}
  disposition: release
  decided_by: AB
  decided_on: 2026-02-22
  learned: Read twice.
"""

SAID_OTHERWISE = {
    # An instrument is named where it was read with; the scale's own name is not a reading.
    "brew_day.instruments.scale",
    # Printed as words: Released, Strike too hot (known), closed.
    "review.disposition", "review.deviations.1.figure", "review.deviations.1.figures.1",
    # Printed as their names in stock.yaml.
    "brew_day.weighed.1.item", "brew_day.weighed.2.item", "brew_day.weighed.3.item",
}  # fmt: skip


@pytest.fixture(scope="module")
def text(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, object]:
    """Return the text of the full record, and the record itself."""
    root = tmp_path_factory.mktemp("full") / "archive"
    shutil.copytree(ARCHIVE, root)
    with (root / "brewery.yaml").open("a", encoding="utf-8") as house:
        house.write("containers:\n  cellar_keg: {is: keg, pressure_rating: 3 bar}\n")
    path = root / "2026" / f"{BREWED}.yaml"
    path.write_text(PLAN + FULL, encoding="utf-8")
    now = assessed(BREWED, root).batch.plan_hash
    path.write_text(PLAN + FULL.replace("0f1e2d3c", now), encoding="utf-8")
    batch = assessed(BREWED, root)
    # What was read before it was corrected stands in the Working.
    pages = (d.make(batch, "A4", 1, "html").decode() for d in (RECORD, WORKING))
    body = " ".join(page[page.index("<body") :] for page in pages)
    # A title of a drawing is read aloud and drawn nowhere.
    body = re.sub(r"<title>.*?</title>", " ", body, flags=re.S)
    shown = " ".join(html.unescape(re.sub(r"<[^>]*>", " ", body)).split())
    return shown.replace("\u202f", " "), batch.record


def written(value: object, place: str = "") -> Iterator[tuple[str, str]]:
    """Yield each thing that was typed, with its place: the text, or the number without its unit."""
    if isinstance(value, Quantity):
        yield place, value.text.split(" ")[0]
    elif isinstance(value, (Text, Clock, Day, Moment, str)):
        yield place, " ".join(str(value).split())
    elif isinstance(value, dict) or hasattr(value, "items"):
        for key, item in value.items():  # type: ignore[union-attr]
            yield from written(item, f"{place}.{key}")
    elif isinstance(value, tuple):
        for number, item in enumerate(value, 1):
            yield from written(item, f"{place}.{number}")
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        skipped = {"position", *(("state",) if isinstance(value, Reading) else ())}
        for field in dataclasses.fields(value):
            if field.name not in skipped and getattr(value, field.name) not in (None, ""):
                step = f"{place}.{field.name}" if place else field.name
                yield from written(getattr(value, field.name), step)


SECTIONS = (
    "issued", "brew_day", "fermentation", "packaging", "analysis", "tasting", "review"
)  # fmt: skip


def test_every_field_of_a_full_record_is_printed(text: tuple[str, object]) -> None:
    shown, record = text
    lost = [
        (place, typed)
        for section in SECTIONS
        for place, typed in written(getattr(record, section), section)
        if typed not in shown and typed.replace("_", " ") not in shown
        and place not in SAID_OTHERWISE
    ]  # fmt: skip
    assert not lost, lost


def test_the_full_record_has_every_field(text: tuple[str, object]) -> None:
    """A field that is added to the model has to be added above, and so printed."""
    _, record = text
    empty = [
        place
        for section in SECTIONS
        for place in _unset(getattr(record, section), section)
    ]
    # A keg has no priming sugar; instruments that took no reading here.
    assert [p for p in empty if "instruments" not in p] == ["packaging.priming_sugar"]


def _unset(value: object, place: str) -> Iterator[str]:
    if isinstance(value, (Reading, Quantity, Text, Clock, Day, Moment)):
        return
    if isinstance(value, tuple):
        if not value:
            yield place
        else:
            # What one entry of a list has counts for the list.
            first = value[0]
            yield from _unset(first, f"{place}.1")
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        for field in dataclasses.fields(value):
            found = getattr(value, field.name)
            if found is None:
                yield f"{place}.{field.name}"
            elif field.name != "position":
                yield from _unset(found, f"{place}.{field.name}")


def test_an_instrument_that_corrects_for_temperature_is_said_to() -> None:
    archive = load_archive(Path(__file__).parents[2] / "batches")
    batch = assess(archive, archive.batches["2025-01"])
    assert batch is not None
    lines = {line.name: line.description for line in instrument_lines(batch)}
    assert lines["ph meter 1"].endswith("; corrects for temperature")
    assert not lines["dipstick"].endswith("temperature")
