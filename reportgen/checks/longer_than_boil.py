"""A hop, a fining or a sugar is in the kettle for longer than the boil.

The forecast counts it from the start of the boil. Hops put into the run-off are a choice;
kettle finings work in its last quarter of an hour. Otherwise one of the two times is a slip:
that of the boil where several things are in it for more than twice as long.

Fix: make the boil longer, or the addition later
Source: arithmetic
Passes:
    {}
Fails:
    plan: {boil: {time: 60 min, hops: [{hop: goldings, amount: 60 g, time: 75 min}]}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.BOIL
SEVERITY = Severity.MINOR
UNTIL = Stage.BOIL


def check(batch: Assessment) -> Remarks:
    """Compare the time of each addition to the kettle with the boil."""
    boil = batch.record.plan.boil
    added = [(h.hop, h.time) for h in boil.hops] + [(f.fining, f.time) for f in boil.finings]
    added += [(s.sugar, s.time) for s in batch.record.plan.sugars if s.to == "kettle"]
    longer = [(name, time) for name, time in added
              if time is not None and time.value > boil.time.value]
    longest = max((time for _, time in longer), key=lambda time: time.value, default=boil.time)
    if len(longer) > 1 and 2 * boil.time.value < longest.value:
        # It is the boil that is too short, not each of them too long.
        times = ", ".join(f"{name} for {time.text}" for name, time in longer)
        yield Remark(
            boil.time.position, f"a boil of {boil.time.text} has {times}", f"{longest.text} or more",
        )
        return
    for name, time in longer:
        yield Remark(
            time.position,
            f"{name} for {time.text} in a boil of {boil.time.text}",
            f"at most {boil.time.text}",
        )
