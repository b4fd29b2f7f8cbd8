"""The container named is not what the beer is packed in.

The container is of another kind, such as a keg for bottles, or of another size. Its rating and
volume are then not used: the pressure is judged as in a container whose rating is unknown.

Fix: name a container of that kind in `container`, or say in `into` what the beer goes into
Source: arithmetic
Passes:
    brewery: {containers: {corny: {is: keg, volume: 19 L, pressure_rating: 4 bar}}}
    plan: {packaging: {into: keg, container: corny}}
Fails:
    brewery: {containers: {corny: {is: keg, volume: 19 L, pressure_rating: 4 bar}}}
    plan: {packaging: {into: bottle, container: corny}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.forecast.vessels import is_of_size

GROUP = Group.PACKAGING
SEVERITY = Severity.MINOR
EACH_FILLING = True


def check(batch: Assessment) -> Remarks:
    """Compare the container named, as packed or else as planned, with how the beer is packed."""
    plan, packed = batch.record.plan.packaging, batch.record.packaging
    named = (packed.container if packed is not None else None) or plan.container
    if named is None:
        return
    own, size = batch.brewery.containers[named], packed.container_size if packed else None
    if str(own.is_) != str(plan.into):
        yield Remark(
            named.position, f"{named} is a {own.is_}, but the beer goes into a {plan.into}",
            f"a {plan.into} of `containers` in brewery.yaml",
        )  # fmt: skip
    elif size is not None and own.volume is not None and not is_of_size(own, size):
        yield Remark(
            size.position, f"{named} holds {own.volume.text}, but the beer is packed in {size.text}",
            f"about {own.volume.text}",
        )  # fmt: skip
