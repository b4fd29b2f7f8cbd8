"""The record of one batch, all its sections."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from itertools import chain

from reportgen.record.fields import Entry, may, model, need
from reportgen.record.model.brew_day import Added, BrewDay, Taken, Weighed
from reportgen.record.model.later import (
    Analysis,
    Deviation,
    Fermentation,
    Harvest,
    LogEntry,
    Packaging,
    Photo,
    Review,
    Session,
    Silenced,
)
from reportgen.record.model.plan import Issued, Plan, WortFrom
from reportgen.record.values import Day, Text

ID = re.compile(r"^[0-9A-Za-z][0-9A-Za-z._-]{0,39}$")
"""Form of a batch id. It is part of file names, so there is no stroke in it and no dot first."""


@model
class Record(Entry):
    """Batch record"""

    format: Text = need("Format", "Version of this file's format.", ["1"], choices=("1",))
    batch: Text = need(
        "Batch",
        "Batch id, the same as the file's name without .yaml.",
        ["2026-07"],
        pattern=ID.pattern,
        shape="letters A-Z, figures, dot, hyphen and underscore, at most 40, e.g. 2026-07",
    )
    name: Text = need("Name", "Name of the beer.", ["Weir Mild"])
    plan: Plan = need("Plan", "What is to be brewed, and how.", [])
    wort_from: WortFrom | None = may(
        "Wort from", "Where the wort comes from, if not brewed here.", []
    )
    issued: Issued | None = may("Issued", "The sheet that was printed for the day.", [])
    brew_day: BrewDay | None = may("Brew day", "What was weighed, read and done.", [])
    fermentation: Fermentation | None = may("Fermentation", "Log from pitching to packaging.", [])
    packaging: Packaging | None = may("Packaging", "What was packed.", [])
    analysis: Analysis | None = may("Analysis", "What was measured of the packed beer.", [])
    tasting: tuple[Session, ...] = may("Tasting", "Each session.", [], [])
    review: Review | None = may("Review", "Deviations, release, what was learned.", [])
    photos: tuple[Photo, ...] = may("Photos", "Photographs, in the order of the day.", [], [])

    def added_and_taken(self) -> Iterator[tuple[str, Added | Taken]]:
        """Yield what was added beyond the plan and taken out, each with the key of its section.

        From the mash to the containers, in the order written. The brew day of wort from another
        batch is that batch's own.
        """
        for name in ("brew_day", "fermentation", "packaging"):
            section = getattr(self, name)
            if section is not None:
                also = (kind.added for kind in getattr(section, "also", ()))
                for entry in (*section.added, *chain(*also), *getattr(section, "taken", ())):
                    yield name, entry

    @property
    def goes_by(self) -> datetime.date | None:
        """The day whose brewery and stock it goes by; None is the latest of all.

        That on which its sheet was issued, else its brew day; a plan goes by the latest.
        """
        if self.issued is not None and self.issued.on is not None:
            return self.issued.on.date
        return self.brewed_on

    @property
    def brewed_on(self) -> datetime.date | None:
        """The brew day; None while it is only planned."""
        return self.brew_day.date.date if self.brew_day is not None else None

    @property
    def packed_last(self) -> Day | None:
        """The day on which the last containers were filled out of the fermenter."""
        packed = self.packaging
        if packed is None:
            return None
        days = (kind.date for kind in packed.also if kind.from_ != "container")
        return max((packed.date, *(d for d in days if d is not None)), key=lambda day: day.date)

    @property
    def all_weighed(self) -> tuple[Weighed, ...]:
        """What was weighed, in the order written."""
        return self.brew_day.weighed if self.brew_day is not None else ()

    @property
    def is_scrapped(self) -> bool:
        """Whether the beer was poured away: nothing can be done to it any more."""
        return self.review is not None and self.review.disposition == "scrap"

    @property
    def log(self) -> tuple[LogEntry, ...]:
        """The entries of the fermentation log, in the order written."""
        return self.fermentation.log if self.fermentation is not None else ()

    @property
    def harvest(self) -> Harvest | None:
        """The yeast that was harvested from it."""
        return self.fermentation.harvest if self.fermentation is not None else None

    @property
    def deviations(self) -> tuple[Deviation, ...]:
        """What the review says of deviations."""
        return self.review.deviations if self.review is not None else ()

    @property
    def silenced(self) -> tuple[Silenced, ...]:
        """The checks that the review silences."""
        return self.review.silenced if self.review is not None else ()

    @property
    def all_added(self) -> tuple[Added, ...]:
        """What was added beyond the plan, from the mash to the containers."""
        return tuple(entry for _, entry in self.added_and_taken() if isinstance(entry, Added))

    def put_in_later(self, item: str) -> int:
        """Return how often an item that the plan has for the fermenter went in there otherwise.

        Fining or dry hops put into the cask, or on another day, sugar in parts: what was added then
        is what was planned, not more of it.
        """
        planned = [str(own.name) for own in self.plan.ingredients if own.of_fermenter]
        added = [
            str(entry.what) for section, entry in self.added_and_taken()
            if isinstance(entry, Added) and section != "brew_day"
        ]  # fmt: skip
        return min(planned.count(item), added.count(item))

    @property
    def all_taken(self) -> tuple[Taken, ...]:
        """What was taken out."""
        return tuple(entry for _, entry in self.added_and_taken() if isinstance(entry, Taken))
