"""The hazards of brewing and the step each one stands above.

Hazard, consequence and avoidance are kept apart, as the hazard statement of the OASIS DITA
language keeps them; signal words follow ANSI Z535: DANGER will, WARNING could cause death or
serious injury, CAUTION minor or moderate injury. DANGER is kept for the three that kill unseen.
Every sentence defers to those who know the place: local codes, suppliers' safety data sheets,
vessel makers' ratings, licensed trades. Their wording needs a competent review before anyone
relies on it.
"""

from __future__ import annotations

from collections.abc import Collection

from msgspec import Struct

DANGER, WARNING, CAUTION = "DANGER", "WARNING", "CAUTION"

DEFERENCE = (
    "Local codes, safety data sheets, makers' ratings and licensed trades come first."
)
"""The sentence at the foot of every working sheet."""


class Caution(Struct, frozen=True):
    """One hazard: signal word, what it is, what it can do, how to avoid it.

    ``steps`` are the places in the documents that it stands above.
    """

    key: str
    signal: str
    hazard: str
    consequence: str
    avoidance: str
    steps: tuple[str, ...]


_ALL = (
    Caution(
        "burner", DANGER, "Burner fumes",
        "Flames indoors make carbon monoxide: it kills, unseen.",
        "Burn only where maker and code allow, with an alarm, on licensed gas work.",
        ("heat",),
    ),
    Caution(
        "electric", WARNING, "Electric heat",
        "Water and mains power together can kill.",
        "Use only protected circuits to code, installed by a licensed electrician.",
        ("heat",),
    ),
    Caution(
        "lifting", CAUTION, "Lifting",
        "It strains backs and spills.",
        "Pump it, split it or lift it with help, as local lifting rules say.",
        ("weigh",),
    ),
    Caution(
        "grain_dust", WARNING, "Grain dust",
        "Malt dust harms lungs and can explode.",
        "Keep it down, keep sparks away, follow the local fire code.",
        ("weigh",),
    ),
    Caution(
        "malt_dust", CAUTION, "Malt dust",
        "It harms lungs.",
        "Pour it low, with air, as local rules say.",
        ("weigh",),
    ),
    Caution(
        "allergens", WARNING, "Allergens",
        "They can kill people who are sensitive.",
        "Check every ingredient against the list below; label as the law asks.",
        ("weigh",),
    ),
    Caution(
        "sulfite", WARNING, "Sulfite",
        "It can set off severe asthma.",
        "Weigh it without raising dust, air the room, label as local law asks.",
        ("weigh",),
    ),
    Caution(
        "chemicals", WARNING, "Acids and alkalis",
        "They burn eyes and skin.",
        "Wear what the safety data sheet says; always chemical into water, never water into it.",
        ("treat",),
    ),
    Caution(
        "hot_liquor", WARNING, "Hot liquor",
        "It scalds badly.",
        "Check hoses and valves; wear protection.",
        ("mash",),
    ),
    Caution(
        "hot_transfer", WARNING, "Hot wort transfer",
        "It scalds badly.",
        "Check hoses and valves before opening.",
        ("run_off",),
    ),
    Caution(
        "hot_bag", WARNING, "Hot bag",
        "Hot wort runs out and scalds.",
        "Hang it safely, arms and feet covered.",
        ("run_off",),
    ),
    Caution(
        "boil_over", WARNING, "Boil-over",
        "Foam rises fast and scalds.",
        "Stay, turn the heat down, add slowly.",
        ("boil",),
    ),
    Caution(
        "steam", WARNING, "Steam",
        "It burns unseen.",
        "Open lids away from you, as the maker says.",
        ("heat",),
    ),
    Caution(
        "steam_heat", WARNING, "Steam under pressure",
        "It scalds, and a jacket can burst.",
        "Leave its pipes and valves to qualified people; stay below the plate's rating.",
        ("heat",),
    ),
    Caution(
        "cooling", WARNING, "Wort still hot",
        "It scalds.",
        "Check hoses and valves, open the cold side first.",
        ("cool",),
    ),
    Caution(
        "glass", CAUTION, "Glass",
        "Broken glass cuts, and splinters get into beer.",
        "Wear gloves; throw away open containers nearby, as your food safety rules say.",
        ("bottle",),
    ),
    Caution(
        "room_gas", DANGER, "Carbon dioxide in the room",
        "It gathers unseen, low down, and kills.",
        "Ventilate the room, monitor it to local limits, leave at once if the alarm sounds.",
        ("ferment", "keg"),
    ),
    Caution(
        "pressure", WARNING, "Pressure",
        "It can burst the vessel.",
        "Keep below its plate; relief valve tried.",
        ("keg", "spund"),
    ),
    Caution(
        "bottles", WARNING, "Bottles with too much gas",
        "They can explode.",
        "Seal only after steady readings, stay within the bottle's rating, shield your eyes.",
        ("bottle",),
    ),
    Caution(
        "casks", WARNING, "Cask under gas",
        "Shive, keystone or peg can fly out.",
        "Stay within its maker's rating, keep faces out of line, vent with a soft peg first.",
        ("cask",),
    ),
    Caution(
        "cleaners", WARNING, "Mixed cleaners",
        "Two cleaners together can give off deadly gas.",
        "One at a time, rinse between, follow the labels and safety data sheets.",
        ("clean",),
    ),
    Caution(
        "entry", DANGER, "Vessel entry",
        "People die inside tanks, and with only the head in one that held gas.",
        "Never enter; that work is for trained people under a local permit.",
        ("clean",),
    ),
    Caution(
        "alcohol", WARNING, "Alcohol",
        "It dulls judgement.",
        "Taste after the work; no machines and no driving afterwards; keep to local law.",
        ("taste",),
    ),
)  # fmt: skip

CAUTIONS: dict[str, Caution] = {caution.key: caution for caution in _ALL}
"""Every caution by its key."""


def above(step: str, occurring: Collection[str] | None = None) -> tuple[Caution, ...]:
    """Return the cautions that stand above a step, the gravest first: all, or those occurring."""
    order = (DANGER, WARNING, CAUTION)
    cautions = [c for c in _ALL if step in c.steps and (occurring is None or c.key in occurring)]
    return tuple(sorted(cautions, key=lambda c: order.index(c.signal)))
