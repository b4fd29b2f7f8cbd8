"""What the packed beer carries, alcohol and bitter substances, against what could bring it.

Alcohol comes of the extract that fermented; what the hops bring is a share of their alpha acids.
An analysis of the beer closes both balances. Without one the alcohol goes by the two gravities, so
that its balance is that of the volumes, and the bitterness is only computed.
"""

from __future__ import annotations

from reportgen.assessment.assess import Assessment
from reportgen.assessment.balance import Closure, all_read, close, starting_volume_key
from reportgen.forecast.ferment import FULL_APPARENT, dilution, starting_gravity
from reportgen.forecast.figures import DERIVED
from reportgen.forecast.materials import hop_of
from reportgen.forecast.pack import alcohol_of_sugar, in_containers, share_of_beer
from reportgen.science.alcohol import MODELS, gravity_at_attenuation
from reportgen.science.number import Number, nominal

MG = 1e-6
"""kg in a mg."""


def carried(assessment: Assessment) -> tuple[Closure, ...]:
    """Return the balance of alcohol, L at 20 degC, and of bitter substances, kg, into the pack."""
    case, now = assessment.brewed, assessment.now
    start = starting_volume_key(now)
    if any(key not in now for key in (start, "packaged_volume", "alcohol", "bitterness")):
        return ()
    if "alcohol" not in now.expected or "bitterness" not in now.expected:
        # Analysed, where nothing could be computed.
        return ()
    closures, packed = [], _like_the_first(assessment)
    volumes = all_read(assessment, "packaged_volume", "fermenter_volume")
    primed = alcohol_of_sugar(case, now)
    strength = (now.expected["alcohol"].number - primed) / share_of_beer(case, now)
    by_gravities = all_read(assessment, *DERIVED["alcohol"])
    analysed = all_read(assessment, "alcohol")
    closures.append(
        close(
            "Alcohol, extract to packed beer",
            (
                strength * now[start] + primed * packed,
                now["alcohol"] * packed,
                strength * case.fermenter_loss,
            ),
            "left with the yeast",
            volumes and (analysed or by_gravities),
            decimals=2,
        )
    )
    if nominal(alpha_acids(assessment)):
        alpha, computed = MG * alpha_acids(assessment), MG * now.expected["bitterness"].number
        closures.append(
            close(
                "Alpha acids to bitterness of packed beer",
                (alpha, MG * now["bitterness"] * packed, alpha - computed * packed),
                "not dissolved or left behind, as computed",
                all_read(assessment, "packaged_volume", "bitterness"),
                "small_mass",
                2,
            )
        )
    return tuple(closures)


def _like_the_first(assessment: Assessment) -> Number:
    """Return the volume that all beer packed would have, L, as thin as in the first containers.

    Alcohol and bitterness are told of these; what went into others beside the beer is not in it.
    """
    case, now = assessment.brewed, assessment.now
    if case.share is None:
        return now["packaged_volume"]
    return (now["packaged_volume"] - in_containers(case)) / share_of_beer(case, now)


def alpha_acids(assessment: Assessment) -> Number:
    """Return the alpha acids of all hops in the kettle, mg."""
    return sum((1000 * hop.grams * hop.alpha for hop in assessment.brewed.hops), 0.0)


def most_alcohol(assessment: Assessment) -> Number:
    """Return the alcohol by volume that the packed beer has if all of its extract has fermented.

    With that of sugar in the containers. NotForecast where the gravity that it starts from, or the
    volume packed, is not known.
    """
    case, now = assessment.brewed, assessment.now
    start = starting_gravity(now)
    strength: Number = MODELS[case.alcohol_method](start, gravity_at_attenuation(start, _NEAR))
    fermented = strength / 100 * FULL_APPARENT / _NEAR * share_of_beer(case, now)
    return fermented + alcohol_of_sugar(case, now)


_NEAR = 1.1
"""Apparent attenuation near the end of what the methods cover; alcohol goes by what fermented."""


def most_bitterness(assessment: Assessment) -> Number:
    """Return the bitterness, mg/L, of the packed beer if it has all alpha acids of its hops.

    Those of hops in the fermenter too, as a photometer counts what they bring.
    """
    case, now, record = assessment.brewed, assessment.now, assessment.record
    whole = now["cast_out_volume"] + case.taken_from("kettle")
    in_wort = alpha_acids(assessment) / whole * dilution(case, now)
    dry: Number = 0.0
    for item in record.plan.fermentation.dry_hops:
        lot = str(item.lot) if item.lot is not None else None
        grams = 1000 * item.amount.value
        dry = dry + 1000 * grams * hop_of(str(item.hop), grams, None, lot, assessment.stock).alpha
    for added in record.all_added:
        amount = added.amount.value
        if (
            str(added.what) in assessment.stock.hops and amount is not None
            and amount.is_mass and str(added.to) in ("fermenter", "container")
        ):
            lot = str(added.lot) if added.lot is not None else None
            grams = 1000 * amount.value
            hop = hop_of(str(added.what), grams, None, lot, assessment.stock)
            dry = dry + 1000 * grams * hop.alpha
    return (in_wort + dry / now[starting_volume_key(now)]) * share_of_beer(case, now)
