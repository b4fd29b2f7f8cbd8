"""The brew-day page, written on in a browser: verdicts, corrections and YAML are the tool's."""

from __future__ import annotations

import base64
import hashlib
import json
import random
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from asked_pages import TARGETS, axe, violations
from browser import answered, ask

from reportgen.assessment.assess import Assessment, assess
from reportgen.assessment.readings import actual_of_reading
from reportgen.assessment.verdicts import verdict
from reportgen.cli import main
from reportgen.forecast.figures import READ
from reportgen.record.load import load_archive
from reportgen.record.printed import Units
from reportgen.record.units import parse_quantity
from reportgen.record.values import Reading, State, Text
from reportgen.report.documents import HTML, SHEETS

DEMO = Path(__file__).parents[2] / "batches"
BATCH = "2026-10"

TYPING = """
function named(label) {
  var found = [...document.querySelectorAll('[aria-label]')].find(function (one) {
    return one.getAttribute('aria-label') === label; });
  if (!found) throw new Error('nothing is called ' + label);
  return found;
}
function type(label, text) {
  var one = named(label);
  one.value = text;
  one.dispatchEvent(new Event('input', {bubbles: true}));
  one.dispatchEvent(new Event('change', {bubbles: true}));
  return one;
}
function press(words, within) {
  var found = [...(within || document).querySelectorAll('button')].find(function (one) {
    return one.textContent === words; });
  if (!found) throw new Error('no button ' + words);
  found.click();
}
function row(key) { return document.querySelector('[data-write="' + key + '"]'); }
function yaml() { return named('YAML for the record').value; }
"""


def drive(
    page: Path, script: str, folder: Path, given: object = None, plain: bool = False
) -> Any:
    """Open a page, run a script in it beside its own, and return what the script returns.

    The page keeps its policy, to which the script is added by its hash; ``plain``: it needs none.
    """
    body = (
        f"{TYPING}\nvar given = {json.dumps(given)};\nvar broken = [];"
        "addEventListener('securitypolicyviolation', function (event) {"
        "broken.push(event.violatedDirective); });"
        "addEventListener('error', function (event) { answer({error: event.message}); });"
        "function answer(found) { var pre = document.createElement('pre'); pre.id = 'answer';"
        "pre.textContent = JSON.stringify({found: found, broken: broken});"
        "document.body.append(pre); }"
        "addEventListener('load', function () {"
        f"Promise.resolve((function () {{{script}}})()).then(answer, function (error) {{"
        "answer({error: String(error)}); }); });"
    ).replace("</", "<\\/")
    digest = base64.b64encode(hashlib.sha256(body.encode()).digest()).decode()
    text = page.read_text(encoding="utf-8")
    if not plain:
        text = text.replace("script-src ", f"script-src 'sha256-{digest}' ", 1)
    copy = folder / page.name
    copy.write_text(text.replace("</body>", f"<script>{body}</script></body>"), encoding="utf-8")
    answer = answered(copy, "answer")
    assert plain or answer["broken"] == []
    found = answer["found"]
    assert not (isinstance(found, dict) and "error" in found), found
    return found


@dataclass(frozen=True)
class House:
    """A batch that is still to be brewed, and its pages."""

    root: Path
    batch: Assessment
    pages: dict[str, Path]


OFF = (
    ("reads_high_by: 0 K", "reads_high_by: 1.3 K"),
    ("reference_temperature: 20 C", "reference_temperature: 60 F"),
    (
        "      - on: 2026-08-29\n        note: Deionised",
        "      - on: 2026-08-29\n        reads_high_by: -0.001\n        note: Deionised",
    ),
)
"""A thermometer that shows 1.3 K too much, hydrometers for 60 degF, one that shows too little."""


def house(
    folder: Path, units: str = "metric", changes: tuple[tuple[str, str], ...] = ()
) -> House:
    """Copy the demo, in some system of units, and write the pages of a batch."""
    batch = BATCH
    root = folder / "house"
    shutil.copytree(DEMO, root, ignore=shutil.ignore_patterns("build"))
    brewery = root / "brewery.yaml"
    text = brewery.read_text(encoding="utf-8").replace("units: metric", f"units: {units}")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    brewery.write_text(text, encoding="utf-8")
    archive = load_archive(root)
    found = assess(archive, archive.batches[batch])
    assert found is not None
    pages = {}
    for sheet in SHEETS:
        pages[sheet.name] = folder / f"{sheet.name}.html"
        pages[sheet.name].write_bytes(sheet.make(found, "A4", 1, HTML))
    return House(root, found, pages)


@pytest.fixture(scope="module")
def metric(tmp_path_factory: pytest.TempPathFactory) -> House:
    return house(tmp_path_factory.mktemp("metric"))


@pytest.fixture(scope="module")
def us(tmp_path_factory: pytest.TempPathFactory) -> House:
    """With instruments that show something else than what is."""
    return house(tmp_path_factory.mktemp("us"), "US", OFF)


def data_of(page: Path) -> dict[str, Any]:
    """Return the data that a page was given."""
    text = page.read_text(encoding="utf-8")
    match = re.search(r'<script type="application/json" id="written">(.*?)</script>', text)
    assert match
    data: dict[str, Any] = json.loads(match[1])
    return data


def random_readings(fields: list[dict[str, Any]], unit: str, count: int) -> list[dict[str, str]]:
    """Return readings near and far from the limits, some with a sample, of every instrument."""
    chance = random.Random(20)
    found = []
    for _ in range(count):
        field = chance.choice(fields)
        how = chance.choice(field["with"])
        known = [edge for edge in how["edges"][-1] if edge is not None]
        low, high = min(known), max(known)
        spread = max(high - low, abs(high) * 0.002)
        decimals = {"gravity": (3, 4), "ph": (2,)}.get(field["kind"], (0, 1, 2))
        places = chance.choice(decimals)
        value = f"{chance.uniform(low - spread / 2, high + spread / 2):.{places}f}"
        hot = (15, 105) if field["kind"] == "volume" else (5, 75)
        celsius = chance.uniform(*hot)
        at = celsius if unit == " C" else celsius * 1.8 + 32
        sample = f"{at:.{chance.choice((0, 1))}f}" if field["sample"] and places else ""
        # One in four is read a second time, as finely.
        again = f"{float(value) + chance.gauss(0, spread / 20):.{places}f}"
        found.append(
            {"id": field["id"], "read": value, "sample": sample, "with": how["name"],
             "again": again if chance.random() < 0.25 else ""}
        )  # fmt: skip
    return found


READINGS = """
    var data = JSON.parse(document.getElementById('written').textContent), by = {};
    type('Brew day', '2026-01-03');
    data.fields.forEach(function (field) { by[field.id] = field; });
    return given.map(function (one) {
      var field = by[one.id], title = field.title;
      field.parts.forEach(function (part) {
        if (part.name in one) type(part.label, one[part.name]);
      });
      if (field.with.length > 1) {
        type(title + ': instrument', one.with === field.with[0].name ? '' : one.with);
      }
      var out = row(field.at).querySelector('output'), key = field.id.split('.').pop() + ':';
      var line = yaml().split('\\n').find(function (line) {
        return line.trim().indexOf(key) === 0; });
      return [out.textContent, out.dataset.value, line.trim()];
    });
"""


def as_typed(field: dict[str, Any], one: dict[str, str], unit: str) -> str:
    """Return the line that a careful typist writes for a reading."""
    read, more = one["read"] + field["unit"], ""
    if one["again"]:
        more += f", again: {one['again']}{field['unit']}"
    more += f", sample: {one['sample']}{unit}" if one["sample"] else ""
    if one["with"] != field["with"][0]["name"]:
        more += f", instrument: {one['with']}"
    key = field["id"].split(".")[-1]
    return f"{key}: {{read: {read}{more}}}" if more else f"{key}: {read}"


@pytest.fixture(scope="module")
def unknown(tmp_path_factory: pytest.TempPathFactory) -> House:
    """Without a volume gauge: what is read is as good as its last decimal."""
    change = (("reads: volume_gauge", "reads: scale"),)
    return house(tmp_path_factory.mktemp("unknown"), changes=change)


@pytest.mark.parametrize(("system", "count"), [("metric", 150), ("us", 150), ("unknown", 60)])
def test_random_readings_are_judged_as_the_tool_judges_them(
    system: str, count: int, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    found: House = request.getfixturevalue(system)
    data = data_of(found.pages["brew-day"])
    keys = {".".join(f.path): f for f in READ}
    fields = [
        {**f, "kind": keys[f["id"]].kind, "unit": f["parts"][0].get("typed", "")}
        for f in data["fields"] if f.get("reading") and "edges" in f["with"][0]
    ]  # fmt: skip
    assert len(fields) >= 15
    unit = " F" if system == "us" else " C"
    given = random_readings(fields, unit, count)
    answers = drive(found.pages["brew-day"], READINGS, tmp_path, given)
    by_id = {f["id"]: f for f in fields}
    seen = set()
    for one, (words, value, line) in zip(given, answers, strict=True):
        field, figure = by_id[one["id"]], keys[one["id"]]
        reading = Reading(
            State.READ,
            parse_quantity(one["read"] + field["unit"], figure.kind),
            again=(
                parse_quantity(one["again"] + field["unit"], figure.kind) if one["again"] else None
            ),
            instrument=Text(one["with"]) if one["with"] else None,
            sample_temperature=(
                parse_quantity(one["sample"] + unit, "temperature") if one["sample"] else None
            ),
        )
        batch = found.batch
        actual = actual_of_reading(batch.record, figure, reading, batch.brewery, None)
        limits = batch.result(figure.key).limits
        if actual.value is None:
            assert words.startswith("Not used: its sample is outside the table"), (one, words)
            seen.add("not used")
            continue
        assert limits is not None
        judged = verdict(actual.value, actual.uncertainty, limits).value
        assert words.split(". ")[0] == judged, (one, words, judged, actual.value, limits)
        fine = {"gravity": 5e-6, "volume": 2e-4, "temperature": 1e-9, "ph": 1e-6}
        true = Units("US" if system == "us" else "metric").converted(actual.value, figure.kind)
        assert abs(float(value) - true) <= fine.get(figure.kind, 1e-6), (one, value, true)
        assert line == as_typed(field, one, unit)
        seen.add(judged)
    assert seen == {"ON PLAN", "OFF PLAN", "TOO CLOSE TO CALL", "not used"}


WEIGHED = """
    type('Brew day', '2026-12-05');
    type('Your initials', 'EV');
    [['Pale ale malt weighed, kg', '3.80'], ['Munich malt weighed, kg', '0.55'],
     ['Wheat malt weighed, kg', '0,26'], ['Challenger weighed, g', '38.1'],
     ['Goldings weighed, g', '40.0 g']].forEach(function (one) { type(one[0], one[1]); });
    type('Pale ale malt: lot', 'M-2616');
    type('Pale ale malt: time', '08:20');
    return JSON.stringify({batch: '2026-10', plan: given, copy: '2',
      kept: Object.fromEntries(Object.entries(localStorage).map(function (pair) {
        return [pair[0].split('|').slice(4).join('|'), JSON.parse(pair[1])]; }))});
"""

DAY = """
    var file = new DataTransfer();
    file.items.add(new File([given], 'from-the-scales.json'));
    var picker = named('Go on from a file');
    picker.files = file.files;
    picker.dispatchEvent(new Event('change'));
    return new Promise(function (go) { setTimeout(go, 500); }).then(function () {
      type('Your initials', 'LN');
      type('Mash in: time', '09:40');
      type('Mash liquor, L', '36');
      type('Malt temperature, °C', '8.5');
      type('Strike temperature, °C', '73.9');
      type('Strike temperature: time', '09:35');
      type('Mash temperature, °C', '66.1');
      press('Write down', row('r:mash_temperature'));
      type('Mash pH, cooled: sample at, °C', '20');
      type('Mash pH, cooled, pH', '5.44');
      type('Mash, end of rest, °C', '66.8');
      type('First wort gravity: sample at, °C', '31');
      type('First wort gravity, SG', '1034');
      var words = document.querySelectorAll('[data-stage="2"] textarea')[0];
      words.value = 'Dry lumps: "three", stirred out.';
      words.dispatchEvent(new Event('input'));
      type('First wort: time', '10:55');
      type('Not done: which reading', 'brew_day.run_off.sparge_liquor');
      type('Not done: because', 'the pump broke, so it went in by jug');
      press('Write down', named('Not done: because').parentNode);
      type('Last runnings: sample at, °C', '40');
      type('Last runnings, SG', '1.005');
      type('Kettle full: sample at, °C', '68');
      type('Kettle full, L', '46.5');
      type('Kettle gravity: sample at, °C', '24');
      type('Kettle gravity, SG', '1.026');
      type('Boil from: time', '12:05');
      type('Challenger: went in at', '12:05');
      type('Goldings: went in at', '12:58');
      type('Heat off: time', '13:05');
      type('Cast-out: sample at, °C', '97');
      type('Cast-out, L', '43.5');
      type('Cast-out gravity, SG', '29.5.');
      type('Yeast in: time', '14:00');
      type('In the fermenter, L', '40');
      type('Original gravity: sample at, °C', '19');
      type('Original gravity, SG', '1.0295');
      type('Pitching at, °C', '18.4');
      press('Write down', row('r:mash_temperature'));
      type('Added 2: what', 'reservoir');
      type('Added 2: amount', '0.5');
      type('Added 2: to', 'fermenter');
      type('Added 2: time', '13:50');
      type('Added 2: because', 'hose rinsed');
      type('Taken out 1: amount', '200 mL');
      type('Taken out 1: from', 'kettle');
      return [yaml(), row('r:mash_temperature').querySelector('tr.goes').textContent,
        document.querySelector('.state.warn').textContent,
        document.querySelector('#into-record').parentNode.textContent];
    });
"""

BY_HAND = """\
issued:
  plan: {plan}
  numbers: {numbers}
  copy: 1
brew_day:
  date: 2026-12-05
  brewers: [EV, LN]
  weighed:
    - {{item: pale, amount: 3.80 kg, lot: M-2616, at: 08:20, by: EV}}
    - {{item: munich, amount: 0.55 kg, by: EV}}
    - {{item: wheat, amount: 0.26 kg, by: EV}}
    - {{item: challenger, amount: 38.1 g, by: EV}}
    - {{item: goldings, amount: 40.0 g, by: EV, added_at: 12:58}}
  added:
    - {{what: reservoir, amount: 2.7 L, to: mash, temperature: 99 C, by: LN, because: T2}}
    - {{what: reservoir, amount: 0.5 L, to: fermenter, at: 13:50, by: LN, because: hose rinsed}}
  taken:
    - {{amount: 200 mL, from: kettle, by: LN}}
  mash:
    started: 09:40
    mash_liquor: {{read: 36 L, by: LN}}
    malt_temperature: {{read: 8.5 C, by: LN}}
    strike_temperature: {{read: 73.9 C, at: 09:35, by: LN}}
    mash_temperature: {{read: 66.1 C, by: LN}}
    mash_ph: {{read: 5.44, sample: 20 C, by: LN}}
    mash_end_temperature: {{read: 66.8 C, by: LN}}
    first_wort_gravity: {{read: 1.034, sample: 31 C, by: LN}}
    remarks: "Dry lumps: \\"three\\", stirred out."
  run_off:
    started: 10:55
    sparge_liquor: not done because the pump broke, so it went in by jug
    last_runnings_gravity: {{read: 1.005, sample: 40 C, by: LN}}
    kettle_volume: {{read: 46.5 L, sample: 68 C, by: LN}}
    kettle_gravity: {{read: 1.026, sample: 24 C, by: LN}}
  boil:
    started: 12:05
    ended: 13:05
    cast_out_volume: {{read: 43.5 L, sample: 97 C, by: LN}}
  pitch:
    at: 14:00
    fermenter_volume: {{read: 40 L, by: LN}}
    original_gravity: {{read: 1.0295, sample: 19 C, by: LN}}
    pitch_temperature: {{read: 18.4 C, by: LN}}
"""


def test_a_whole_day_gives_what_a_careful_typist_writes(
    metric: House,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Weighed on one phone, brewed on another, with a slip, a remedy and something left out."""
    plan = metric.batch.batch.plan_hash
    scales = drive(metric.pages["weigh-out"], WEIGHED, tmp_path, plan)
    text, goes, bad, whole = drive(metric.pages["brew-day"], DAY, tmp_path, scales)
    numbers = data_of(metric.pages["brew-day"])["numbers"]
    assert text == BY_HAND.format(plan=plan, numbers=numbers)
    assert goes.startswith("66\u202f°C") and "2.7" in goes
    # What is not a number is said to be left out, and stands in nobody's way.
    assert "Cast-out gravity" in bad and "taken up from copy 2" in whole
    record = metric.root / "2026" / f"{BATCH}.yaml"
    before = record.read_text(encoding="utf-8")
    record.write_text(before.replace("review:", text + "review:"), encoding="utf-8")
    monkeypatch.chdir(metric.root)
    try:
        main(["check", f"2026/{BATCH}.yaml"])
        said = capsys.readouterr().out
        assert "error:" not in said, said
        assert main(["record", f"2026/{BATCH}.yaml", "--html"]) == 0
        batch = load_archive(metric.root).batches[BATCH]
        found = assess(load_archive(metric.root), batch)
        assert found is not None and found.actuals["mash_temperature"].value == 66.1
        assert [a.what for a in found.record.brew_day.added] == ["reservoir", "reservoir"]
    finally:
        record.write_text(before, encoding="utf-8")


KEEPING = """
    if (localStorage.getItem('again') === null) {
      localStorage.setItem('again', 'yes');
      type('Your initials', 'JT');
      type('Mash temperature, °C', '68.1');
      row('r:strike_temperature').querySelector('.ticked input').click();
      location.reload();
      return new Promise(function () {});
    }
    var out = row('r:mash_temperature').querySelector('output');
    var found = {day: named('Brew day').value, stamped: named('Mash temperature: time').value,
      read: named('Mash temperature, °C').value, out: out.textContent,
      ticked: row('r:strike_temperature').querySelector('.ticked input').checked,
      state: document.querySelector('.state').textContent,
      keys: Object.keys(localStorage).filter(function (key) { return key !== 'again'; }),
      now: new Date().toISOString().slice(0, 10), local: new Date().toLocaleDateString('sv')};
    press('Erase all of it on this device');
    found.erased = [yaml(), named('Mash temperature, °C').value];
    press('Put it back');
    found.back = named('Mash temperature, °C').value;
    type('Mash temperature, °C', '');
    found.emptied = yaml();
    return found;
"""


def test_what_is_typed_is_kept_on_the_device(metric: House, tmp_path: Path) -> None:
    found = drive(metric.pages["brew-day"], KEEPING, tmp_path)
    # The day and the time come with the first reading; both can be written over.
    assert found["day"] == found["local"] and re.fullmatch(r"\d\d:\d\d", found["stamped"])
    assert found["read"] == "68.1" and found["out"] == "ON PLAN" and found["ticked"] is True
    assert "Kept on this device for copy 1, JT" in found["state"]
    start = f"reportgen|{BATCH}|{metric.batch.batch.plan_hash}|1|"
    assert all(key.startswith(start) for key in found["keys"])
    assert found["erased"] == ["", ""] and found["back"] == "68.1"
    assert "mash_temperature" not in found["emptied"]


REFUSED = """
    var own = named('Strike temperature, °C');
    type('Brew day', '2026-12-05');
    type('Strike temperature, °C', '73.9');
    function status() {
      return [...document.querySelectorAll('#main .state[role=status]')].pop().textContent;
    }
    // A file is read in real time while the page's clock runs ahead: wait by reading as well.
    function changed(before, tries) {
      if (status() !== before || tries === 0) return status();
      return new Blob([before]).text().then(function () { return changed(before, tries - 1); });
    }
    function hand(text) {
      var before = status();
      var file = new DataTransfer();
      file.items.add(new File([text], 'x.json'));
      named('Go on from a file').files = file.files;
      named('Go on from a file').dispatchEvent(new Event('change'));
      return changed(before, 400);
    }
    var said = [];
    return given.reduce(function (before, text) {
      return before.then(function () { return hand(text); }).then(function (words) {
        said.push(words);
      });
    }, Promise.resolve()).then(function () { return [said, own.value, yaml(), window.hacked]; });
"""


def test_another_copy_fills_what_is_empty_and_changes_nothing(
    metric: House, tmp_path: Path
) -> None:
    plan = metric.batch.batch.plan_hash
    mash = "brew_day.mash."
    mine = {"batch": BATCH, "plan": plan, "copy": "2"}
    files = [
        "no file of ours",
        json.dumps({**mine, "batch": "2026-09", "kept": {}}),
        json.dumps({**mine, "plan": "00000000", "kept": {}}),
        json.dumps({**mine, "kept": {
            mash + "strike_temperature": {"read": "70.0", "by": "MO"},
            mash + "mash_temperature": {"read": "67.9", "by": "MO", "at": "x: [y"},
            "review.decided_by": {"text": "MO"},
            mash + "mash_ph": {"read": 5.4},
        }}),
    ]  # fmt: skip
    said, own, text, _ = drive(metric.pages["brew-day"], REFUSED, tmp_path, files)
    assert said[0] == "This is not a file of such a page."
    assert "batch 2026-09" in said[1] and "Nothing taken up" in said[1]
    assert "plan 00000000" in said[2] and "Nothing taken up" in said[2]
    assert said[3].startswith("1 taken up from copy 2. ")
    assert "Kept as here: Strike temperature (file: 70.0)" in said[3]
    assert own == "73.9" and "review" not in text and "mash_ph" not in text
    assert 'mash_temperature: {read: 67.9 C, at: "x: [y", by: MO}' in text


TIMERS = """
    function back(minutes) {
      var then = new Date(Date.now() - minutes * 60000);
      return then.toTimeString().slice(0, 5);
    }
    type('Brew day', new Date(Date.now() - 30 * 60000).toLocaleDateString('sv'));
    var bar = document.querySelector('.now'), rings = document.querySelector('.rings');
    var found = {role: rings.getAttribute('role'), position: getComputedStyle(bar).position,
      next: bar.querySelector('.next-thing').textContent};
    type('Boil from: time', back(30));
    found.rings = rings.textContent;
    found.count = bar.querySelector('.count').textContent;
    press('Done, now', rings);
    found.after = rings.textContent;
    // A second touch does not write over the time of the first.
    press('Now', named('Boil from: time').parentNode);
    found.boil = named('Boil from: time').value === back(30);
    found.added = named('Challenger: went in at').value !== '';
    type('Mash temperature, °C', '68');
    found.left = bar.querySelector('.left').textContent;
    found.next2 = bar.querySelector('.next-thing').textContent;
    return found;
"""


def test_clocks_ring_and_the_next_thing_stays_on_top(metric: House, tmp_path: Path) -> None:
    found = drive(metric.pages["brew-day"], TIMERS, tmp_path)
    assert found["role"] == "alert" and found["position"] == "sticky"
    assert found["next"].startswith("Next: Weigh-out done")
    # The hops of sixty minutes were due as the boil began; those of ten come in twenty.
    assert "Challenger" in found["rings"] and "Goldings" not in found["rings"]
    assert re.match(r"(19|20):\d\d to 40\s*g Goldings", found["count"]), found["count"]
    assert found["after"] == "" and found["added"] and found["boil"]
    assert found["left"].endswith("left out") and found["next2"].startswith("Next: ")


PAGE = """
    type('Your initials', 'JT');
    type('Mash temperature, °C', '66.1');
    type('Kettle full, L', '40');
    type('Strike temperature, °C', 'x');
    type('Boil from: time', '12:00');
"""


@pytest.mark.parametrize("width", [360, 1300])
def test_large_targets_nothing_too_wide(
    width: int, metric: House, us: House, tmp_path: Path
) -> None:
    pages = {f"{n} {k}": p for n, h in (("m", metric), ("us", us)) for k, p in h.pages.items()}
    answers = ask(pages, tmp_path, TYPING + TARGETS, width)
    answers |= ask(
        {"typed": metric.pages["brew-day"]}, tmp_path, TYPING + PAGE + TARGETS, width
    )
    for name, answer in answers.items():
        assert answer["scroll"] <= answer["client"] <= width, (name, answer)
        assert answer["small"] == [] and answer["wide"] == [], (name, answer)


def test_accessible_while_written_on(metric: House, tmp_path: Path) -> None:
    assert axe().exists()
    page = metric.pages["brew-day"]
    typed = tmp_path / "typed.html"
    text = page.read_text(encoding="utf-8")
    text = re.sub(r"<meta http-equiv=[^>]*>", "", text)
    script = f"<script>addEventListener('load', function () {{{TYPING}{PAGE}}});</script>"
    typed.write_text(text.replace("</body>", f"{script}</body>"), encoding="utf-8")
    pages = {**metric.pages, "typed": typed}
    assert violations(pages, tmp_path, 390) == {}


POLICY = """
    var inline = document.createElement('script');
    inline.textContent = 'window.hacked = true';
    document.body.append(inline);
    return fetch('file:///etc/hostname').then(function () { return 'fetched'; },
      function () { return 'refused'; }).then(function (said) {
        return new Promise(function (go) { setTimeout(go, 50); }).then(function () {
          var seen = broken.slice();
          broken.length = 0;
          return [said, window.hacked === undefined, seen.sort()];
        });
      });
"""


def test_nothing_but_its_own_script_runs_and_nothing_is_sent(metric: House, tmp_path: Path) -> None:
    said, unharmed, seen = drive(metric.pages["brew-day"], POLICY, tmp_path)
    assert said == "refused" and unharmed
    assert seen == ["connect-src", "script-src-elem"]
    for page in metric.pages.values():
        text = page.read_text(encoding="utf-8")
        assert "default-src 'none'" in text and "unsafe" not in text
        assert not re.search(r"https?://(?!www\.w3\.org)", text)




DENIED = "<script>Storage.prototype.setItem = function () { throw new Error('denied'); };</script>"

UNKEPT = """
    var before = document.querySelector('.state').textContent;
    type('Mash liquor, L', '36');
    return [before, yaml().indexOf('mash_liquor: ') > 0, named('Mash liquor, L').value];
"""


def test_says_so_when_nothing_can_be_kept(metric: House, tmp_path: Path) -> None:
    page = tmp_path / "denied.html"
    text = metric.pages["brew-day"].read_text(encoding="utf-8")
    policy = "default-src 'none'; script-src 'unsafe-inline'"
    text = re.sub(r'(http-equiv="[^"]*" content=")[^"]*"', rf'\1{policy}"', text)
    page.write_text(text.replace("<body", f"{DENIED}<body", 1), encoding="utf-8")
    (tmp_path / "out").mkdir()
    before, written, value = drive(page, UNKEPT, tmp_path / "out", plain=True)
    assert before.startswith("This browser keeps nothing when the page is closed. Save a file")
    assert written and value == "36"


CELLAR = """
    type('Your initials', 'LN');
    type('Day 1: gravity', '1020');
    type('Day 1: beer, °C', '19.4');
    type('Day 1: at', '2026-12-06T18:30');
    type('Day 2: gravity', '1.009');
    type('Day 2: at', '');
    type('High kräusen: at', '2026-12-05T23:10');
    type('Harvest, L', '0.6');
    type('day', '2026-12-12T10:00');
    type('at, °C', '3'); type('viable, %', '92'); type('count, billion/mL', '1.3');
    type('Day 3: gravity', 'x');
    type('Final gravity: sample at, °C', '20');
    type('Final gravity, SG', '1.0065');
    type('Final gravity: time', '');
    type('Finished', '2026-12-12');
    var words = named('Remarks');
    words.value = 'Quiet.';
    words.dispatchEvent(new Event('input', {bubbles: true}));
    return [yaml(), row('d:1').querySelector('output').textContent,
      document.querySelector('.state.warn').textContent];
"""

PACKAGING = """
    type('Your initials', 'LN');
    type('Packed on', '2026-12-20');
    type('First reading: gravity', '1.0065');
    type('First reading: at', '2026-12-18T18:00');
    type('Packaged volume, L', '37.5');
    type('Packaged volume: time', '');
    type('Containers', '2');
    type('Size of one, L', '19');
    type('Rejects', '1');
    type('bottle half: Containers', '12');
    type('bottle half: Priming sugar, g', '36');
    type('bottle half: Priming sugar: time', '');
    type('bottle half: Added 1: amount, L', '0.1');
    type('Best before', '2027-05-01');
    type('Label says', 'Table beer, 2.9 % vol');
    return [yaml()];
"""

TASTING = """
    type('Your initials', 'LN');
    type('Date', '2026-12-30');
    type('Glass code', '472');
    [['malty', '4'], ['bitter', '3'], ['cooked vegetable', '0']].forEach(function (pair) {
      row('t:' + pair[0]).querySelector('input[value="' + pair[1] + '"]').click(); });
    type('Another glass?', 'yes');
    var words = named('In your own words');
    words.value = 'Crisp: "fresh bread".';
    words.dispatchEvent(new Event('input', {bubbles: true}));
    return [yaml()];
"""


def test_cellar_packaging_and_tasting_give_yaml_that_the_tool_reads(
    metric: House, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """By hand what a careful typist writes from the three sheets, into one record."""
    texts = {}
    for name, script in (("cellar", CELLAR), ("packaging", PACKAGING), ("tasting", TASTING)):
        (tmp_path / name).mkdir()
        texts[name] = drive(metric.pages[name], script, tmp_path / name)
    cellar, banded, wrong = texts["cellar"]
    assert banded in ("IN ITS BAND", "OUTSIDE ITS BAND: T1")
    assert "Day 2" not in cellar and "Day 3" in wrong
    lines = cellar.splitlines()
    assert lines[:4] == [
        "fermentation:", "  log:", "    - {at: 2026-12-05 23:10, note: High kräusen}",
        "    - {at: 2026-12-06 18:30, gravity: 1.020, temperature: 19.4 C, by: LN}",
    ]  # fmt: skip
    assert "  final_gravity: {read: 1.0065, sample: 20 C, by: LN}" in lines
    assert lines[-3:] == [
        "  finished: 2026-12-12",
        "  harvest: {amount: 0.6 L, at: 2026-12-12 10:00, stored_at: 3 C, viability: 92 %, "
        "cells: 1.3 billion/mL}",
        "  remarks: Quiet.",
    ]  # fmt: skip
    packaging = texts["packaging"][0].splitlines()
    assert packaging[:4] == [
        "fermentation:", "  log:", "    - {at: 2026-12-18 18:00, gravity: 1.0065, by: LN}",
        "packaging:",
    ]  # fmt: skip
    assert "  container_size: 19 L" in packaging and "  best_before: 2027-05-01" in packaging
    assert "  rejects: 1" in packaging
    also = packaging.index("  also:")
    assert packaging[also : also + 4] == [
        "  also:", "    - into: bottle", "      priming_sugar: {read: 36 g, by: LN}",
        "      containers: 12",
    ]  # fmt: skip
    assert texts["tasting"][0] == (
        'tasting:\n  - date: 2026-12-30\n    blind_code: 472\n    marks:\n      - by: LN\n'
        '        scores: {malty: 4, cooked_vegetable: 0, bitter: 3}\n        another: yes\n'
        '        remarks: "Crisp: \\"fresh bread\\"."\n'
    )  # fmt: skip
    root = tmp_path / "read"
    shutil.copytree(metric.root, root)
    record = root / "2026" / f"{BATCH}.yaml"
    before = record.read_text(encoding="utf-8").rstrip("\n") + "\n"
    day = "brew_day:\n  date: 2026-12-05\n  pitch: {at: 14:00}\n"
    after = "packaging:\n" + texts["packaging"][0].split("packaging:\n")[1]
    record.write_text(before + day + cellar + after + texts["tasting"][0], encoding="utf-8")
    monkeypatch.chdir(root)
    main(["check", str(record), "--fail-on", "critical"])
    said = capsys.readouterr().out
    assert " error" not in said, said


SLIPS = """
    var before = {};
    type('Brew day', new Date(Date.now() - 2 * 86400000).toLocaleDateString('sv'));
    function said(label, text, at) {
      type(label, text);
      return [named(label).value, row(at).querySelector('output').textContent];
    }
    return {
      wrongUnit: said('Mash temperature, °C', '154', 'r:mash_temperature'),
      inFahrenheit: said('Mash temperature, °C', '154.4 F', 'r:mash_temperature'),
      noUnit: said('Strike temperature, °C', '73.9 Q', 'r:strike_temperature'),
      comma: said('Original gravity, SG', '1,029', 'r:original_gravity'),
      bare: said('Original gravity, SG', '1029', 'r:original_gravity'),
      afterPrintedOne: said('Original gravity, SG', '029', 'r:original_gravity'),
      thin: said('Last runnings, SG', '998', 'r:last_runnings_gravity'),
      spaced: said('Mash liquor, L', ' 36 l ', 'r:mash_liquor'),
      named: said('Original gravity, SG', '1.029 sg', 'r:original_gravity'),
      quarts: said('Mash liquor, L', '38 US qt', 'r:mash_liquor'),
      plato: said('Kettle gravity, SG', '7 P', 'r:kettle_gravity'),
      words: said('Kettle gravity, SG', 'about 1.03', 'r:kettle_gravity'),
      text: yaml(),
    };
"""


def test_slips_of_the_pen_are_told_or_mended(metric: House, tmp_path: Path) -> None:
    """154.4 degF is 68 degC and 38 US qt are 35.96 L: on plan both."""
    found = drive(metric.pages["brew-day"], SLIPS, tmp_path)
    value, said = found["wrongUnit"]
    assert value == "154" and said.startswith("OFF PLAN. Usual is") and "type that too" in said
    assert found["inFahrenheit"] == ["154.4 F", "ON PLAN"]
    assert found["noUnit"][1].startswith("Not a unit here: 73.9 Q")
    for slip in ("comma", "bare", "afterPrintedOne", "named"):
        assert found[slip][0] == "1.029", slip
    assert found["thin"][0] == "0.998" and found["spaced"][0] == "36"
    assert found["quarts"] == ["38 US qt", "ON PLAN"]
    assert found["plato"][1] == "Kept as written. No verdict here."
    assert found["words"][1].startswith("Not a number")
    assert "mash_temperature: 154.4 F" in found["text"]
    assert "mash_liquor: 38 US qt" in found["text"]
    assert "strike" not in found["text"] and "kettle_gravity" not in found["text"]


MIDNIGHT = """
    var Real = Date, shift = 0;
    window.Date = class extends Real {
      constructor() { if (arguments.length) super(...arguments); else super(Real.now() + shift); }
      static now() { return Real.now() + shift; }
    };
    function at(text) { shift = new Real(text) - Real.now(); }
    at('2026-12-05T23:40:30');
    type('Your initials', 'JT');
    type('Brew day', '2026-12-05');
    press('Now', named('Boil from: time').parentNode);
    var found = {before: document.querySelector('.count').textContent};
    at('2026-12-06T00:45:00');
    type('Mash temperature, °C', '68');
    found.rings = document.querySelector('.rings').textContent;
    press('Now', named('Heat off: time').parentNode);
    found.text = yaml();
    at('2026-12-06T09:00:00');
    type('Malt temperature, °C', '8.0');
    found.late = yaml();
    found.quiet = document.querySelector('.rings').textContent;
    return found;
"""


def test_a_day_that_runs_past_midnight(metric: House, tmp_path: Path) -> None:
    found = drive(metric.pages["brew-day"], MIDNIGHT, tmp_path)
    assert re.match(r"\d+:\d\d to 40\s*g Goldings", found["before"]), found["before"]
    # Goldings at 50 minutes, and the heat off at 60.
    assert "NOW, 00:30: " in found["rings"] and "NOW, 00:40: Heat off" in found["rings"]
    assert "started: 23:40" in found["text"] and "ended: 00:45" in found["text"]
    assert "mash_temperature: {read: 68 C, at: 00:45, by: JT}" in found["text"]
    # What is typed the morning after, from paper, has no time; and nothing rings any more.
    assert "malt_temperature: {read: 8.0 C, by: JT}" in found["late"] and found["quiet"] == ""


FULL = """
    var real = Storage.prototype.setItem, room = false;
    Storage.prototype.setItem = function (key, text) {
      if (!room) throw new DOMException('full', 'QuotaExceededError');
      real.call(this, key, text);
    };
    var state = document.querySelector('.state');
    type('Brew day', '2026-12-05');
    type('Mash liquor, L', '36');
    var found = {full: state.textContent, text: yaml()};
    room = true;
    type('Malt temperature, °C', '8');
    found.again = state.textContent;
    found.kept = Object.keys(localStorage).map(function (key) { return key.split('|')[4]; }).sort();
    return found;
"""


def test_a_device_that_is_full_says_so_and_takes_all_when_there_is_room(
    metric: House, tmp_path: Path
) -> None:
    found = drive(metric.pages["brew-day"], FULL, tmp_path)
    assert "keeps nothing when the page is closed" in found["full"]
    assert "mash_liquor: 36 L" in found["text"]
    assert found["again"].startswith("Kept on this device")
    mash = "brew_day.mash."
    assert found["kept"] == ["brew_day.date", f"{mash}malt_temperature", f"{mash}mash_liquor"]


THROUGH = """
    type('Your initials', 'JT');
    type('Brew day', '2026-12-05');
    type('Times', 'yes');
    var next = document.querySelector('.next-thing'), order = [], seen = new Set();
    for (var n = 0; n < 200 && next.textContent !== 'All written'; n++) {
      var thing = document.getElementById(next.getAttribute('href').slice(1));
      if (seen.has(thing)) return {stuck: next.textContent};
      seen.add(thing);
      order.push(next.textContent);
      var input = thing.querySelector('input.main'), value = thing.querySelector('.value');
      var time = thing.querySelector('input[type=time]');
      var label = (input || time || thing).getAttribute('aria-label');
      if (input) type(label, value.textContent.replace(/[^\\d.].*$/, ''));
      else if (time) type(label, '12:00');
      else thing.querySelector('input[type=checkbox]').click();
    }
    var before = yaml(), left = document.querySelector('.left').hidden, gone = [];
    document.querySelectorAll('main button').forEach(function (one) {
      if (one.closest('details') || one.disabled) return;
      if (/^(Save|Copy|Try)/.test(one.textContent)) return;
      one.click();
      var now = yaml().split('\\n');
      before.split('\\n').forEach(function (line) {
        if (now.indexOf(line) < 0) gone.push([one.textContent, line]);
      });
    });
    return {order: order, left: left, gone: gone, text: before};
"""


def test_the_whole_day_by_the_next_thing_and_its_record_checks(
    metric: House, us: House, tmp_path: Path
) -> None:
    """Do what the bar says until all is written: no touch of a button takes anything away."""
    for name, house in (("metric", metric), ("us", us)):
        folder = tmp_path / name
        folder.mkdir()
        found = drive(house.pages["brew-day"], THROUGH, folder)
        assert "stuck" not in found and found["left"] and found["gone"] == [], found
        stages = ("Mash in", "Mash liquor", "First wort", "Boil from", "Heat off", "Yeast in")
        at = [next(n for n, said in enumerate(found["order"]) if word in said) for word in stages]
        assert at == sorted(at), found["order"]
        record = (house.root / "2026" / f"{BATCH}.yaml").read_text(encoding="utf-8")
        given = record.replace("review:", found["text"] + "review:")
        done = subprocess.run(
            [sys.executable, "-m", "reportgen", "check", "-", "--fail-on", "critical"],
            input=given, text=True, capture_output=True, cwd=house.root, timeout=120,
        )  # fmt: skip
        assert " error" not in done.stdout and "Traceback" not in done.stderr, done.stdout
