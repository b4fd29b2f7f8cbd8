"""Dry hops go in when the beer is packed, or within the first hour.

The day counts from pitching. A day after packaging is mistyped, or the fermentation takes longer than
planned; a day in minutes has the wrong unit. Where the plan has no time for the fermentation,
dry hops within 30 days of pitching are taken as right.

Fix: correct the day, or the planned time of fermentation
Source: order of the work; 30 days: common practice, no source
Passes:
    plan: {fermentation: {time: 8 d, dry_hops: [{hop: goldings, amount: 60 g, on_day: 5 d}]}}
Fails:
    plan: {fermentation: {time: 8 d, dry_hops: [{hop: goldings, amount: 60 g, on_day: 50 d}]}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR

LATEST = 30 * 1440.0
"""Minutes after pitching, where nothing says when the beer is packed."""

EARLIEST = 60.0


def check(batch: Assessment) -> Remarks:
    """Compare the day of each dry hopping with the time of the fermentation."""
    ferment = batch.record.plan.fermentation
    latest, expected = _packed_after(batch)
    for item in ferment.dry_hops:
        day = item.on_day
        if day.value > latest or 0 < day.value < EARLIEST:
            yield Remark(
                day.position,
                f"{item.hop} {day.text} after pitching",
                f"1 h to {expected}, or 0 d for hops with the yeast",
            )


def _packed_after(batch: Assessment) -> tuple[float, str]:
    """Return the minutes from pitching to packaging, planned or as it went, and the same in words."""
    planned = batch.record.plan.fermentation.time
    if planned is not None:
        return planned.value, planned.text
    day, packed = batch.record.brew_day, batch.record.packaging
    if day is not None and packed is not None:
        days = (packed.date.date - day.date.date).days
        return days * 1440.0, f"{days} d"
    return LATEST, "30 d"
