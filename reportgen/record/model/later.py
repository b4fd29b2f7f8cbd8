"""``fermentation``, ``packaging``, ``analysis``, ``tasting`` and ``review``: after the brew day."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace

from reportgen.record.fields import Entry, may, model, need
from reportgen.record.finding import Severity
from reportgen.record.model.brew_day import Added, Instruments, Taken
from reportgen.record.model.flavours import TERMS
from reportgen.record.model.plan import FILLED_FROM, KINDS_PACKED
from reportgen.record.units import Quantity
from reportgen.record.values import Day, Initials, Moment, Reading, Text, When


@model
class LogEntry(Entry):
    """Entry of the fermentation log"""

    at: Moment = need("At", "Day and time.", ["2026-03-15 18:00"])
    temperature: Reading | None = may(
        "Temperature",
        "Of the beer.",
        ["19.2 C"],
        kind="temperature",
        usual=("-3 C", "45 C"),
    )
    gravity: Reading | None = may(
        "Gravity",
        "Present gravity.",
        ["1.020"],
        kind="gravity",
        usual=("0.985", "1.180"),
    )
    ph: Reading | None = may(
        "pH", "Of a degassed sample.", ["4.3"], kind="ph", usual=("2.8", "6.3")
    )
    pressure: Reading | None = may(
        "Pressure", "Gauge pressure in a closed fermenter.", ["0.8 bar"], kind="pressure"
    )
    by: Initials | None = may("By", "Initials.", ["RB"])
    note: Text | None = may("Note", "What was seen or done.", ["High kräusen."])


@model
class Harvest(Entry):
    """Harvest of yeast"""

    at: Moment = need("At", "Day and time.", ["2026-03-22 10:00"])
    amount: Quantity | None = may(
        "Amount", "Volume or weight of slurry.", ["1.2 L", "350 g"], kind="amount"
    )
    cells: Quantity | None = may(
        "Cells", "Cells in a mL or a g of it, if counted.", ["1.3 billion/mL"],
        kind="cell_density", positive=True,
    )
    viability: Quantity | None = may(
        "Viability",
        "Share of viable cells, if counted.",
        ["92 %"],
        kind="fraction",
        bounds=(0.01, 1),
        usual=("50 %", "100 %"),
    )
    stored_at: Quantity | None = may(
        "Stored at",
        "Temperature.",
        ["3 C"],
        kind="temperature",
        bounds=(-40, 40),
        usual=("-1 C", "20 C"),
    )
    note: Text | None = may("Note", "Anything else.", ["Clean, creamy."])


@model
class Fermentation(Entry):
    """Fermentation"""

    instruments: Instruments | None = may(
        "Instruments", "Instruments used, unless stated otherwise.", []
    )
    log: tuple[LogEntry, ...] = may("Log", "Readings in order of time.", [], [])
    added: tuple[Added, ...] = may(
        "Added",
        "What went into the fermenter that the plan does not have, or not then, each with day and "
        "time.",
        [],
        [],
    )
    taken: tuple[Taken, ...] = may("Taken", "What was taken out, each with day and time.", [], [])
    final_gravity: Reading | None = may(
        "Final gravity",
        "Of the beer when fermentation is over.",
        ["1.010"],
        kind="gravity",
        usual=("0.985", "1.090"),
    )
    finished: Day | None = may("Finished", "Day on which readings had been steady.", ["2026-03-21"])
    harvest: Harvest | None = may("Harvest", "Yeast harvested for another batch.", [])
    remarks: Text | None = may("Remarks", "Anything else, in Markdown.", ["Slow for two days."])


@model
class Filled(Entry):
    """Container that was filled, and where it went"""

    number: Text = need(
        "Number", "On the container, or of a case of bottles.", ["K-07", "case 3"]
    )
    of: Quantity | None = may(
        "Of", "How many containers it is, as bottles in a case; 1 if not given.", ["24"],
        kind="count", positive=True, whole=True,
    )
    volume: Quantity | None = may("Volume", "Beer in all of it.", ["18.5 L"], kind="volume")
    at: When | None = may(
        "Filled at", "Time; with the day where that is not the day of packaging.", ["15:10"]
    )
    on_gas_since: Day | None = may("On gas since", "Day the gas was connected.", ["2026-03-24"])
    went_to: Text | None = may(
        "Went to",
        "Who got it. A person's name is personal data: initials or a number will do, with the list "
        "of names kept elsewhere. It is printed in the batch record and on recall lists.",
        ["household 3", "The Weir Inn"],
    )
    went_on: Day | None = may("Went on", "Day it left.", ["2026-04-01"])
    back_on: Day | None = may("Back on", "Day the container came back.", ["2026-04-20"])
    empty: Text | None = may(
        "Empty", "Whether it is empty.", ["yes"], choices=("yes", "no")
    )
    note: Text | None = may("Note", "Anything else.", ["Tap leaks."])


_BEER_TEMPERATURE = may(
    "Beer temperature", "When gassed or primed.", ["6.0 C"], kind="temperature",
    usual=("-3 C", "30 C"),
)  # fmt: skip
_PRESSURE = may("Pressure", "Gauge pressure at rest.", ["0.9 bar"], kind="pressure")
_SUGAR_EACH = may(
    "Sugar each",
    "Sugar put into each container by itself, as drops or by the measure; with any `priming_sugar` "
    "it counts on top.",
    ["3 g"], kind="mass",
)  # fmt: skip


@model
class AlsoPacked(Entry):
    """Other containers that were filled"""

    into: Text = need(
        "Into", "What they are. The first of this kind under `also` of the plan are meant, else "
        "they were not planned.", ["bottle"], choices=KINDS_PACKED,
    )  # fmt: skip
    date: Day | None = may(
        "Date", "Day they were filled, if another than that of packaging.", ["2026-03-29"]
    )
    from_: Text | None = may(
        "From",
        "What they were filled from: the `fermenter`; the `bottling_bucket`, in which the beer "
        "stood with the sugar of the first containers; or a full `container` of the first. As "
        "planned if not given.",
        ["bottling_bucket"],
        choices=FILLED_FROM,
    )
    container: Text | None = may(
        "Container",
        "Its name in brewery.yaml, if another than planned; its pressure limit counts.",
        ["bottle_05"],
        names="containers",
    )
    containers: Quantity | None = may(
        "Containers", "How many; 0 for none of those planned.", ["12"], kind="count", whole=True,
        usual=("0", "5000"),
    )
    container_size: Quantity | None = may(
        "Container size", "Of one.", ["0.5 L"], kind="volume", positive=True,
        usual=("0.1 L", "600 L"),
    )
    volume: Quantity | None = may(
        "Volume", "Beer in all of them, where they are not all full.", ["5 L"], kind="volume",
        positive=True,
    )
    rejects: Quantity | None = may(
        "Rejects", "Of these, filled and not kept.", ["1"], kind="count", whole=True
    )
    added: tuple[Added, ...] = may(
        "Added", "What went into these containers beyond the plan.", [], []
    )
    beer_temperature: Reading | None = _BEER_TEMPERATURE
    pressure: Reading | None = _PRESSURE
    priming_sugar: Reading | None = may(
        "Priming sugar", "Weighed, for the beer in all of these.", ["36 g"], kind="mass"
    )
    sugar_each: Reading | None = _SUGAR_EACH
    best_before: Day | None = may(
        "Best before", "As put on the label, if another than of the first.", ["2026-12-31"]
    )


@model
class Packaging(Entry):
    """Packaging"""

    date: Day = need("Date", "Day of packaging.", ["2026-03-22"])
    instruments: Instruments | None = may(
        "Instruments", "Instruments used, unless stated otherwise.", []
    )
    packaged_volume: Reading | None = may(
        "Packaged volume", "Beer packaged, all containers.", ["37 L"], kind="volume"
    )
    container: Text | None = may(
        "Container",
        "Its name in brewery.yaml, if another than planned; its pressure limit counts.",
        ["keg_19"],
        names="containers",
    )
    containers: Quantity | None = may(
        "Containers", "How many.", ["2"], kind="count", whole=True, usual=("1", "5000")
    )
    container_size: Quantity | None = may(
        "Container size",
        "Of one.",
        ["19 L"],
        kind="volume",
        usual=("0.1 L", "600 L"),
    )
    rejects: Quantity | None = may(
        "Rejects", "Containers filled and not kept: burst, leaking, half full.", ["1"],
        kind="count", whole=True,
    )
    filled: tuple[Filled, ...] = may(
        "Filled",
        "Each container by its number, where it went and when it came back. Names in it are "
        "personal data.",
        [],
        [],
    )
    added: tuple[Added, ...] = may(
        "Added", "What went into the containers beyond the plan.", [], []
    )
    beer_temperature: Reading | None = _BEER_TEMPERATURE
    pressure: Reading | None = _PRESSURE
    priming_sugar: Reading | None = may(
        "Priming sugar",
        "Weighed, for all the beer in them. The liquor that it was dissolved in goes under "
        "`added`.",
        ["180 g"],
        kind="mass",
    )
    sugar_each: Reading | None = _SUGAR_EACH
    also: tuple[AlsoPacked, ...] = may(
        "Also",
        "Other containers that part of the beer went into, planned or not. What stands above is "
        "then of the first containers alone, save `packaged_volume`.",
        [],
        [],
    )
    best_before: Day | None = may("Best before", "As put on the label.", ["2026-09-30"])
    story: Text | None = may(
        "Story",
        "What those who drink it may like to know; printed on the card.",
        ["Brewed for the harvest supper, with our own hops."],
    )
    label: Text | None = may("Label", "What the label says.", ["Mild, 3.4 % vol, contains barley"])
    packaged_by: Initials | None = may("Packaged by", "Initials.", ["TM"])
    remarks: Text | None = may("Remarks", "Anything else, in Markdown.", ["One bottle broke."])


def _as_stated(what: str, example: str, kind: str) -> Any:
    words = "±U (k = 2) as the laboratory states it. Without it the last figure written counts."
    return may(f"{what} uncertainty", words, [example], kind=kind)


@model
class Analysis(Entry):
    """Analysis of the packed beer, by a laboratory or at one's own bench"""

    date: Day = need("Date", "Day of the analysis.", ["2026-04-02"])
    laboratory: Text | None = may(
        "Laboratory", "Who measured, and how.", ["own bench, photometer at 275 nm"]
    )
    report: Text | None = may("Report", "Number of the laboratory's report.", ["L-114"])
    bitterness: Reading | None = may(
        "Bitterness",
        "Iso-alpha acids in mg/L, or IBU.",
        ["31 IBU"],
        kind="bitterness",
        usual=("0 IBU", "200 IBU"),
    )
    bitterness_uncertainty: Quantity | None = _as_stated("Bitterness", "3 IBU", "bitterness")
    colour: Reading | None = may(
        "Colour",
        "EBC or SRM.",
        ["14 EBC"],
        kind="colour",
        usual=("1 EBC", "1000 EBC"),
    )
    colour_uncertainty: Quantity | None = _as_stated("Colour", "1 EBC", "colour")
    alcohol: Reading | None = may(
        "Alcohol",
        "By volume.",
        ["4.21 %"],
        kind="fraction",
        usual=("0 %", "20 %"),
    )
    alcohol_uncertainty: Quantity | None = _as_stated("Alcohol", "0.06 %", "fraction")
    carbonation: Reading | None = may(
        "Carbonation",
        "CO2 in volumes or g/L.",
        ["2.25 vol"],
        kind="carbonation",
        usual=("0 vol", "6 vol"),
    )
    carbonation_uncertainty: Quantity | None = _as_stated("Carbonation", "0.1 vol", "carbonation")
    remarks: Text | None = may(
        "Remarks", "Anything else, in Markdown.", ["Second bottle of the case."]
    )


@model
class Triangle(Entry):
    """Triangle test: which of three glasses is the odd one"""

    against: Text = need("Against", "The other batch.", ["2026-04"], names="batches")
    assessors: Quantity = need("Assessors", "How many took the test.", ["12"], kind="count")
    correct_responses: Quantity = need(
        "Correct responses", "How many assessors found the different glass.", ["8"], kind="count"
    )


@model
class Marks(Entry):
    """One assessor's marks"""

    by: Initials = need("By", "Who tasted.", ["RB"])
    scores: dict[str, Quantity] = may(
        "Scores", "Intensity from 0 (none) to 8 (very strong), by the words of `scores`.",
        [{"malty": "4"}], {}, kind="count",
    )
    another: Text | None = may(
        "Another", "Whether they would drink another glass.", ["yes"], choices=("yes", "no")
    )
    remarks: Text | None = may("Remarks", "In their words, in Markdown.", ["Dry."])


@model
class Session(Entry):
    """Tasting session"""

    date: Day = need("Date", "Day of tasting.", ["2026-04-10"])
    assessors: tuple[Initials, ...] = may("Assessors", "Initials.", [["RB", "TM"]], [])
    blind_code: Text | None = may("Blind code", "Three figures on the glass.", ["472"])
    scores: dict[str, Quantity] = may(
        "Scores",
        "Intensity from 0 (none) to 8 (very strong), mean of the assessors. The words are the "
        "first tier of the published flavour terminology: "
        + ", ".join(TERMS)
        + "; and those of `flavours` in brewery.yaml.",
        [{"malty": "4", "bitter": "3.5"}],
        {},
        kind="count",
    )
    marks: tuple[Marks, ...] = may(
        "Marks",
        "Each assessor's own marks; without `scores` their means count, a word that one of them "
        "did not mark as 0.",
        [], [],
    )
    served_at: Quantity | None = may(
        "Served at", "Temperature of the beer in the glass.", ["10 C"], kind="temperature",
        usual=("0 C", "25 C"),
    )
    triangle: Triangle | None = may("Triangle test", "If one was held.", [])
    remarks: Text | None = may(
        "Remarks", "In the assessors' words, in Markdown.", ["Dry, soft finish."]
    )

    @property
    def every_mark(self) -> tuple[tuple[str, Quantity], ...]:
        """Every mark that was written down, of all and of each assessor."""
        given = (self.scores, *(mark.scores for mark in self.marks))
        return tuple(pair for scores in given for pair in scores.items())

    @property
    def means(self) -> dict[str, Quantity]:
        """The scores, or where there are none the means of what each assessor marked."""
        if self.scores or not self.marks:
            return self.scores
        marked = list(dict.fromkeys(word for marking in self.marks for word in marking.scores))
        means = {}
        for word in marked:
            given = [marking.scores[word] for marking in self.marks if word in marking.scores]
            mean = sum(mark.value for mark in given) / len(self.marks)
            means[word] = replace(given[0], value=mean, text=f"{mean:.1f}")
        return means


_DISPOSITION = may(
    "Disposition", "What becomes of the batch.", ["release"],
    choices=("release", "hold", "rework", "regrade", "scrap"),
)  # fmt: skip


@model
class Deviation(Entry):
    """Deviation: one cause, with all that it shows in; closed or still open"""

    figure: Text | None = may(
        "Figure",
        "Key of the figure that was off, or a word for it; `figures` for several.",
        ["kettle_volume"],
    )
    figures: tuple[Text, ...] = may(
        "Figures",
        "Keys of all figures that this one cause shows in.",
        [["mash_temperature", "final_gravity"]],
        [],
    )
    findings: tuple[Text, ...] = may(
        "Findings",
        "Names of the checks whose findings come of this cause. Closed, it answers them, save one "
        "that warns of harm.",
        [["over-sparged"]],
        [],
        names="checks",
    )
    what: Text = need(
        "What", "What happened.", ["Kettle 4 L short when runnings hit 1.008."], words=True
    )
    instrument: Text | None = may(
        "Instrument",
        "The instrument that was in doubt, where the deviation is about that. Closed, it answers "
        "the check instrument-in-doubt.",
        ["thermometer"],
        names="instruments",
    )
    severity: Text | None = may(
        "Severity",
        "How much it matters; replaces the one the tool proposes.",
        ["minor"],
        choices=tuple(s.value for s in Severity if s is not Severity.ERROR),
    )
    cause: Text | None = may(
        "Cause",
        "Why; 'operator error' alone is not a cause. Needed of a minor deviation and worse.",
        ["Thin mash"],
    )
    cause_certainty: Text | None = may(
        "Cause certainty",
        "How sure the cause is.",
        ["probable"],
        choices=("known", "probable", "unknown"),
    )
    effect: Text | None = may(
        "Effect", "What it did to the beer, beyond what is computed.", ["None tasted."]
    )
    correction: Text | None = may(
        "Correction",
        "What was done to this batch. Needed of a major deviation and worse.",
        ["Topped up 4 L."],
    )
    corrective_action: Text | None = may(
        "Corrective action", "What prevents it next time.", ["Mash with 22 L."]
    )
    other_batches: Text | None = may(
        "Other batches", "Which others may be touched, or none.", ["none"]
    )
    disposition: Text | None = _DISPOSITION
    closed_by: Initials | None = may("Closed by", "Initials.", ["RB"])
    closed_on: Day | None = may("Closed on", "Day.", ["2026-04-11"])


@model
class Photo(Entry):
    """Photograph for the record"""

    file: Text = need(
        "File", "JPEG, PNG or WebP in the archive, from its folder.", ["photos/2026-03-mash.jpg"]
    )
    caption: Text = need(
        "Caption", "What it shows.", ["The mash, ten minutes in."], words=True
    )
    alternative: Text | None = may(
        "Alternative",
        "What it shows, for those who cannot see it; the caption if left out.",
        ["A pale brown mash in a steel tun, with dry lumps at the wall."],
    )


@model
class Silenced(Entry):
    """Check that is silenced for this record"""

    check: Text = need("Check", "Its name.", ["over-sparged"], names="checks")
    because: Text = need("Because", "Why.", ["Trial of thin runnings."], words=True)


@model
class Review(Entry):
    """Review"""

    deviations: tuple[Deviation, ...] = may("Deviations", "Each, as far as it is known.", [], [])
    silenced: tuple[Silenced, ...] = may("Silenced", "Checks silenced, with a reason.", [], [])
    disposition: Text | None = _DISPOSITION
    decided_by: Initials | None = may("Decided by", "Initials.", ["RB"])
    decided_on: Day | None = may("Decided on", "Day.", ["2026-04-11"])
    learned: Text | None = may("Learned", "For the next plan, in Markdown.", ["Mash thicker."])
