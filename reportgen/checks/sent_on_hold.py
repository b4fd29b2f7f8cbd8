"""Beer that is on hold has gone out.

Beer with disposition `hold`, `rework` or `scrap` stays in the brewery until somebody has decided.
If a container left all the same, ask for it back, or write down the decision. A batch with an
open critical deviation is on hold even if the record does not say it.

Fix: ask the containers back, or write what was decided under `review`
Source: Codex CXC 1-1969 step 10; Regulation (EC) 178/2002 article 19
Passes:
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-24, filled: [{number: K-07, went_to: household 3, went_on: 2026-04-01}]}
    review: {disposition: release}
Fails:
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-24, filled: [{number: K-07, went_to: household 3, went_on: 2026-04-01}]}
    review: {disposition: hold}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.DEVIATIONS
SEVERITY = Severity.MAJOR
ALSO = {Severity.CRITICAL: "the batch is to be scrapped, or its open deviation is critical"}

HELD = ("hold", "rework", "scrap")


def check(batch: Assessment) -> Remarks:
    """Compare what has left with what was decided."""
    review, packed = batch.record.review, batch.record.packaging
    decided = review.disposition if review is not None else None
    gone = [f for f in packed.filled if f.went_to or f.went_on] if packed is not None else []
    if not gone:
        return
    is_critical = decided == "scrap"
    why = f"the batch says {decided}" if decided in HELD else ""
    if decided is None and any(d.is_open and d.severity == "critical" for d in batch.departures):
        why, is_critical = "a critical deviation is open", True
    if why:
        numbers = ", ".join(str(container.number) for container in gone[:5]) + (" …" if len(gone) > 5 else "")
        yield Remark(
            gone[0].number.position,
            f"{numbers} went out, and {why}",
            "no container that has left",
            severity=Severity.CRITICAL if is_critical else None,
        )
