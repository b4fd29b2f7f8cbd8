"""A bare gallon is read as another than is printed.

`gallon` says what a bare gal, qt, pt or bbl means, `units` in what numbers are printed. With a US
gallon read and an imperial one printed, or the other way round, every volume typed and every volume
on a sheet differ by a fifth.

Fix: let `gallon` say the gallon of your vessels, and `units` the same
Source: 231 cubic inches, 3.785 L; Units of Measurement Regulations 1995, 4.546 L
Passes:
    brewery: {units: US, gallon: US}
Fails:
    brewery: {units: US, gallon: imperial}
"""

from reportgen.checks.base import Group, Remark, Remarks, Severity
from reportgen.record.load import Archive

GROUP = Group.READINGS
SEVERITY = Severity.MAJOR


def check_house(archive: Archive) -> Remarks:
    """Compare the two, where both are stated."""
    brewery = archive.brewery
    if brewery is None or brewery.gallon is None or brewery.system == "metric":
        return
    if str(brewery.gallon) != brewery.system:
        yield Remark(
            brewery.gallon.position,
            f"a bare gal is the {brewery.gallon} gallon, and the {brewery.system} one is printed",
            f"gallon: {brewery.system}, or units: {brewery.gallon}",
        )
