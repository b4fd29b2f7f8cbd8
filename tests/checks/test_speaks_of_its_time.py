"""What a finding tells to do can still be done: of a beer that is drunk nothing is to be done.

Each check's own slip is laid into a record that is brewed, packed, tasted and released. What is
said then is about the record, the house, what is left, or the next time.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml
from checked import findings_with

from reportgen.checks import mistyped
from reportgen.checks.base import all_checks, names

RECORD = "2026/2026-01.yaml"

DRUNK = """
brew_day:
  date: 2026-03-14
  boil: {remarks: boiled}
  pitch: {remarks: pitched}
fermentation: {finished: 2026-03-22, final_gravity: 1.011}
packaging: {date: 2026-03-24, packaged_volume: 37 L, label: "Example, contains barley, 4.9 % vol"}
tasting: [{date: 2026-05-02, remarks: The last of it.}]
review: {disposition: release, decided_on: 2026-05-03, learned: Brew it again.}
"""

DONE_TO_THE_BEER = {
    "add", "boil", "calibrate", "carbonate", "change", "choose", "cool", "cut", "degas", "dilute",
    "dose", "draw", "ferment", "grow", "heat", "hold", "keep", "make", "mash", "measure", "mix",
    "move", "open", "pack", "pitch", "read", "rinse", "rouse", "sparge", "start", "stir", "stop",
    "take", "top", "treat", "use", "vent", "wait", "warm", "weigh",
}  # fmt: skip
"""What is told with these words is done to liquor, mash, wort, beer or a sample of it."""

OF_THE_RECORD = re.compile(
    r"^(add (it|them|the (initials|lot)|an entry|`|bicarbonate)|hold what|"
    r"take off|make the shares|use (a|your own) (key|word)|add your own|move the addition|"
    r"read the (plate|gauge)|"
    r"read a barometer|choose less carbonation|move the (date|limit)|change the kit)"
)
"""The same words where they are about a file, an instrument, or what is left of the beer."""

NOT_OF_ONE_BATCH = {
    "not-enough-in-stock": "of plans that are still to be brewed",
    "promised-twice": "the same",
    "air-pressure-of-the-sea": "of brewery.yaml",
    "more-used-than-received": "of stock.yaml",
    "counted-more-than-left": "the same",
}


def told_to_do(remedy: str) -> list[str]:
    """Return the parts of a remedy that something is done by now, not the next time."""
    now = re.split(r"(?:^|; |, and |, )next time", remedy)[0]
    # What is left of a beer that might burst its vessel is another matter.
    now = re.sub(r"((open|look at) what is left|keep what is left cold)[^;]*", "", now)
    parts = re.split(r"; |, or |, and |, | and ", now)
    return [
        part for part in parts
        if part.split(" ")[0] in DONE_TO_THE_BEER and not OF_THE_RECORD.match(part)
    ]  # fmt: skip


def laid_over(example: str) -> str:
    """Return an example with what the drunk beer's record has more."""
    own = yaml.load(example, Loader=yaml.BaseLoader) or {}
    for key, value in yaml.load(DRUNK, Loader=yaml.BaseLoader).items():
        if isinstance(value, list):
            own.setdefault(key, value)
            continue
        mine = own.setdefault(key, {})
        for field, text in value.items():
            mine.setdefault(field, text)
    return str(yaml.safe_dump(own, sort_keys=False, allow_unicode=True))


@pytest.mark.parametrize("name", [n for n in names() if n not in NOT_OF_ONE_BATCH])
def test_nothing_is_to_be_done_to_a_beer_that_is_drunk(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each remedy is the check's own: none gives way to a slip that would explain it."""
    if name != "mistyped":
        monkeypatch.setattr(mistyped, "MOST_TRIES", 0)
    found = findings_with(laid_over(all_checks()[name].page.fails), tmp_path / "a")
    for finding in found:
        if finding.position.file != RECORD:
            # Another batch, or the house, may have its day before it.
            continue
        assert told_to_do(finding.remedy) == [], f"{finding.rule}: {finding.remedy}"


def test_what_is_done_to_the_beer_is_known_from_the_rest() -> None:
    assert told_to_do("warm it by a few degrees, rouse the yeast, and read again tomorrow")
    assert told_to_do("write the pH; cool the sample")
    assert told_to_do("next time: cool further before pitching") == []
    assert told_to_do("look for solvent in the tasting; next time cool further") == []
