"""An ion of the wort is over its taste or health guide.

The guides of drinking-water law are a sensible warning for beer too: above them sulfate dries and
can purge, chloride and sodium taste salty, magnesium is bitter. A strongly hopped beer may go over
the sulfate guide by design.

Fix: dilute with softer liquor, or use less of the salt
Source: EU Directive 2020/2184 indicator values for sulfate, chloride, sodium (250, 250, 200 mg/L);
    magnesium common practice
Passes:
    {}
Fails:
    plan: {liquor: {salts: [{salt: gypsum, amount: 40 g, to: mash}]}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.LIQUOR
SEVERITY = Severity.NOTE
ALSO = {Severity.MINOR: "above 1.6 times the guide"}
UNTIL = Stage.BOIL


def check(batch: Assessment) -> Remarks:
    """Compare the ions at cast-out with the guides."""
    for ion, guide in (("sulfate", 250), ("chloride", 250), ("sodium", 200), ("magnesium", 60)):
        expected = batch.planned.expected.get(f"cast_out_{ion}_of_liquor")
        if expected is not None and expected.value > guide:
            yield Remark(
                batch.record.plan.liquor.position,
                f"{expected.value:.0f} mg/L of {ion} from liquor and salts in the wort at cast-out",
                f"at most {guide} mg/L",
                severity=Severity.MINOR if expected.value > 1.6 * guide else None,
            )
