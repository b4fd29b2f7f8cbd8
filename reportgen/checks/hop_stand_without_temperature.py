"""A hop stand that was not planned has an end and no temperature.

How much bitterness hops give after the boil depends on the temperature of the wort. The plan has
no hop stand whose temperature could be used, so the minutes are not counted.

Fix: write `hop_stand_temperature`, or delete `hop_stand_ended`
Source: M.G. Malowicki and T.H. Shellhammer 2005, J. Agric. Food Chem. 53(11):4434
Passes:
    brew_day:
      date: 2026-03-14
      boil: {started: 12:00, ended: 13:00, hop_stand_temperature: 82 C, hop_stand_ended: 13:25}
Fails:
    brew_day:
      date: 2026-03-14
      boil: {started: 12:00, ended: 13:00, hop_stand_ended: 13:25}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.BOIL
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Look for a stand of which only the end is known."""
    day = batch.record.brew_day
    boil = day.boil if day is not None else None
    if boil is None or boil.hop_stand_ended is None or boil.hop_stand_temperature is not None:
        return
    if batch.record.plan.boil.hop_stand is None:
        yield Remark(
            boil.hop_stand_ended.position,
            f"the hop stand ended at {boil.hop_stand_ended}; its temperature is missing",
            "a temperature under `hop_stand_temperature`",
        )
