"""From aims to amounts: a bounded least-squares search over the forecast itself.

The handles of :mod:`reportgen.forecast.handles` are turned until the walk of the stages gives what
is aimed at. There is no second model of the beer: what is proposed is what ``figures`` then says of
it. Amounts come in steps that can be weighed. The coarse ones (liquor, the mash temperature) are
rounded first and the finer ones solved again, so that each aim is met within half a step.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from reportgen.forecast.aims import BODY, RATIO, Aim
from reportgen.forecast.book import Forecast
from reportgen.forecast.case import AcidDose, Case, SaltDose
from reportgen.forecast.figures import FIGURES, IONS, Stage
from reportgen.forecast.handles import (
    LONG_BOILED,
    REST,
    Bound,
    Choice,
    Handle,
    NothingToChange,
    Slot,
    amount_at,
    hop_handles,
    malt_handles,
    plain,
    rest_handle,
    table_handles,
    together,
    volume_handle,
    with_amounts,
    words_of,
)
from reportgen.forecast.walk import walk
from reportgen.science.heat import mash_volume
from reportgen.science.least_squares import least_squares
from reportgen.science.number import nominal
from reportgen.science.salts import SULFITES, gypsum_solubility, ion_increase

LINKED = ("original_gravity", "starting_gravity", "final_gravity", "alcohol",
          "apparent_attenuation", "real_attenuation", BODY)
DRY = ("final_gravity", "apparent_attenuation", "real_attenuation", BODY)
"""How far a beer is fermented, in one way or another: one of them says it."""
STRENGTH = ("original_gravity", "starting_gravity", "alcohol")
NEVER = (*SULFITES, "chalk")
"""Salts that no ion is dosed by: kept against chlorine, or not to be dissolved."""

ROUNDED = (("mash_liquor", "sparge_liquor", "top_up", REST), ("malts", "sugars"),
           ("hops", "salts", "acids"))
"""What is rounded to its steps together, the coarsest first."""

TUN, KETTLE, FERMENTER = 0.90, 0.85, 0.90
"""How full a vessel may be: where the checks begin to speak of it."""
THICK = 2.5
"""L/kg: the mash liquor of the plan stays until the mash would be thicker than this, or than the
plan has it; from there on it follows the grist (common practice, no source). Where the tun would
be too full it gives way, as far as this."""
ROUGH = 4.0
"""Times SCALES: an aim written without decimals is not taken for rougher than this."""
REACHED = 0.05
"""A share of SCALES: nearer than this the solver does not go."""


class Limit(Struct, frozen=True):
    """A vessel that can be too full: its name, how full it is, how full it may be."""

    name: str
    share: Callable[[Case, Forecast], float]
    most: float

    @property
    def why(self) -> str:
        """What binds, in words."""
        return f"the {self.name} would be more than {self.most:.0%} full"


class Settled(Struct, frozen=True):
    """What became of one aim: before, after rounding, and why it is missed if it is.

    ``half_step`` is how far half a step of every scale can move it. ``is_held``: the brewer let
    nothing move that moves it, so it is not judged.
    """

    aim: Aim
    before: float | None
    after: float | None
    half_step: float
    why: tuple[str, ...] = ()
    is_held: bool = False

    @property
    def is_met(self) -> bool:
        """Whether it is reached within half a step of the scales."""
        return not self.why


class Proposal(Struct, frozen=True):
    """Amounts by slot of ``case``, which has the salts and acids tried as further doses.

    ``binding`` is what stands in the way of the whole plan, whatever is aimed at.
    """

    case: Case
    amounts: Mapping[Slot, float]
    settled: tuple[Settled, ...]
    binding: tuple[str, ...]

    @property
    def is_met(self) -> bool:
        """Whether every aim is met and nothing binds."""
        return not self.binding and all(aim.is_met for aim in self.settled)


class Problem(Struct, frozen=True):
    """What is asked of the solver. ``step`` is the step that a slot can be measured in."""

    case: Case
    aims: tuple[Aim, ...]
    handles: tuple[Handle, ...]
    limits: tuple[Limit, ...]
    step: Callable[[Slot, float], float]
    follows: bool
    yielding: str = ""
    """The key of an aim so far out of reach that the others come first."""

    def case_at(self, amounts: Mapping[Slot, float]) -> Case:
        """Return the case with some amounts; the mash liquor follows the grist where it may."""
        case = with_amounts(self.case, amounts)
        if not self.follows or ("mash_liquor", 0) in amounts:
            return case
        planned, grist = nominal(self.case.mash_liquor), nominal(case.grist)
        least = min(THICK, planned / nominal(self.case.grist)) * grist
        most = next((limit.most for limit in self.limits if limit.name == "mash tun"), 1.0)
        room = most * case.tun_volume - nominal(mash_volume(grist, 0.0))
        return replace(case, mash_liquor=max(min(max(planned, least), room), least))


def limits_of(case: Case, before: Forecast) -> tuple[Limit, ...]:
    """Return the vessels that bind, each as full as the checks let it be, or as the plan has it."""

    def tun(case: Case, book: Forecast) -> float:
        return book.expected["tun_fill"].value if case.is_mashed else 0.0

    def kettle(case: Case, book: Forecast) -> float:
        return book.expected["kettle_volume"].value / case.kettle_brim

    def fermenter(case: Case, book: Forecast) -> float:
        return book.expected["fermenter_volume"].value / case.fermenter_brim

    limits = []
    for name, share, most, needs in (
        ("mash tun", tun, TUN, "tun_fill"),
        ("kettle", kettle, KETTLE, "kettle_volume"),
        ("fermenter", fermenter, FERMENTER, "fermenter_volume"),
    ):
        now = share(case, before) if needs in before.expected else 0.0
        # A plan that is fuller already is the brewer's choice, up to the brim.
        most = max(most, min(now + 0.005, 1.0)) if now <= 1.0 else most
        limits.append(Limit(name, share, most))
    return tuple(limits)


def with_doses(case: Case, aims: Sequence[Aim], stock: Mapping[str, tuple[str, float]],
               acids: Mapping[str, tuple[str, float]], to_both: bool) -> Case:
    """Return a case with a dose of nought for each salt and acid that may serve an aim.

    ``stock`` and ``acids`` are what the stock has: what it is, and its assay or strength.
    """
    ions = ions_aimed_at(aims)
    has = {(d.name, d.to) for d in case.salts}
    salts = list(case.salts)
    wants_ph = any(a.key == "mash_ph" for a in aims)
    for name, (kind, assay) in stock.items():
        brings = set(ion_increase(kind, 1.0, 1.0))
        serves = bool(brings & ions) or (wants_ph and kind == "baking_soda")
        if kind in NEVER or not serves:
            continue
        for place in ("mash", "sparge") if to_both else ("mash",):
            if (name, place) not in has:
                salts.append(SaltDose(name, kind, 0.0, assay, place))
    doses = list(case.acids)
    if wants_ph and acids and not any(d.to == "mash" for d in doses):
        name, (kind, strength) = next(iter(acids.items()))
        doses.append(AcidDose(name, kind, 0.0, strength, "mash"))
    return replace(case, salts=tuple(salts), acids=tuple(doses))


def ions_aimed_at(aims: Sequence[Aim]) -> set[str]:
    """Return the ions that some aims are about."""
    ions = set()
    for aim in aims:
        if aim.key == RATIO:
            ions |= {"sulfate", "chloride"}
        ion = aim.key.rpartition("_")[2]
        if ion in IONS:
            ions.add(ion)
    return ions


class _Wish(Struct, frozen=True):
    """What is aimed at in a case, and what may move for it; ``before`` is its forecast."""

    case: Case
    aims: Sequence[Aim]
    before: Forecast
    choice: Choice

    @property
    def keys(self) -> set[str]:
        """The figures aimed at."""
        return {aim.key for aim in self.aims}

    @property
    def is_for_strength(self) -> bool:
        """Whether the strength of a wort is aimed at."""
        keys = self.keys
        return bool(keys & {*STRENGTH, *_of_stage(keys, Stage.RUN_OFF, "gravity")})

    def asks_for(self, group: str) -> bool:
        """Whether a group, or one of it, is named to be moved."""
        only = self.choice.only
        return group in only or any(name.startswith(f"{group}[") for name in only)

    def names(self, table: str) -> bool:
        """Whether an item of a table is named to be moved."""
        return bool(self.choice.only) and any(
            self.choice.is_free(self.case, (table, n))
            for n in range(len(getattr(self.case, table)))
        )


def handles_for(case: Case, aims: Sequence[Aim], before: Forecast, choice: Choice) -> tuple[
    tuple[Handle, ...], tuple[Aim, ...]
]:
    """Return the handles that some aims call for, and the aims with those that are only kept.

    Each aim frees what a brewer would change for it: strength the malts, colour the darker ones,
    bitterness the hops, dryness the mash temperature, ions the salts, pH the acid, volume the
    liquor. What is named in ``choice`` moves whatever is aimed at.
    """
    wish = _Wish(case, aims, before, choice)
    handles, kept = _for_grist(wish)
    if "bitterness" in wish.keys or wish.names("hops"):
        handles += hop_handles(case, choice)
    handles += _for_dryness(wish)
    ions = ions_aimed_at(aims)
    if ions or wish.names("salts"):
        handles += [_salt(h, case, before) for h in _salt_handles(case, ions, choice)]
    if "mash_ph" in wish.keys or wish.names("acids"):
        handles += table_handles(case, "acids", choice, ("mash",))[:1]
        handles += _soda(case, aims, choice, handles)
    handles += _liquor(case, aims, before, choice, kept)
    return tuple(handles), (*aims, *kept)


def _for_grist(wish: _Wish) -> tuple[list[Handle], list[Aim]]:
    """Return the malts and sugars that may move, and the strength that is kept where only colour
    is aimed at."""
    strength, colour = wish.is_for_strength, "colour" in wish.keys
    if not (strength or colour or wish.asks_for("grist") or wish.names("malts")):
        return [], []
    kept: list[Aim] = []
    malts = malt_handles(wish.case, wish.choice, colour)
    grist = Aim("original_gravity", 0.0)
    now = grist.value(wish.before)
    if colour and not strength and now is not None and len(malts) > 1:
        kept.append(replace(grist, wanted=now, is_kept=True))
    # Beside steeped grain the strength is that of the malt extract.
    of_extract = strength and wish.case.is_steeped and bool(wish.case.sugars)
    handles = [] if of_extract and not (colour or wish.names("malts")) else [*malts]
    if of_extract or (strength and not malts) or wish.asks_for("sugars") or wish.names("sugars"):
        handles += _for_sugars(wish)
    return handles, kept


def _for_sugars(wish: _Wish) -> list[Handle]:
    """Return the sugars that may move: together, save where single ones are named."""
    case, choice = wish.case, wish.choice
    slots = [("sugars", n) for n in range(len(case.sugars))]
    free = [slot for slot in slots if choice.is_free(case, slot)]
    if free and choice.only and not wish.asks_for("sugars"):
        return [together(case, words_of(case, slot), [slot], choice) for slot in free]
    return [together(case, "sugars", free, choice)] if free else []


def _for_dryness(wish: _Wish) -> list[Handle]:
    """Return the mash temperature where how far the wort ferments is aimed at."""
    keys, case, choice = wish.keys, wish.case, wish.choice
    twice = "alcohol" in keys and bool(keys & {"original_gravity", "starting_gravity"})
    turned = keys & {*DRY} or twice or "mash_temperature" in choice.only
    is_free = case.is_mashed and turned and choice.is_free(case, (REST, 0))
    return [rest_handle(case)] if is_free else []


def _of_stage(keys: set[str], stage: Stage, kind: str) -> set[str]:
    return {
        key for key in keys
        if key in FIGURES and FIGURES[key].kind == kind
        and FIGURES[key].stage in (stage, Stage.BOIL, Stage.MASH)
    }  # fmt: skip


def _salt_handles(case: Case, ions: set[str], choice: Choice) -> list[Handle]:
    """Return a handle for each salt that brings an ion aimed at: mash and sparge alike by litre."""
    by_name: dict[str, list[Slot]] = {}
    for number, dose in enumerate(case.salts):
        slot = ("salts", number)
        serves = bool(set(ion_increase(dose.salt, 1.0, 1.0)) & ions) or bool(choice.only)
        if dose.to != "kettle" and serves and choice.is_free(case, slot):
            by_name.setdefault(dose.name, []).append(slot)
    return [together(case, name.replace("_", " "), slots, choice)
            for name, slots in by_name.items()]


def _salt(handle: Handle, case: Case, before: Forecast) -> Handle:
    """Return a salt's handle within what dissolves; mash and sparge get as much for each litre."""
    sparge = before.expected.get("sparge_liquor")
    volumes = {
        "mash": nominal(case.mash_liquor), "sparge": sparge.value if sparge is not None else 0.0
    }
    litres = [volumes[case.salts[n].to] for _, n in handle.slots]
    if len(handle.slots) > 1 and len({case.salts[n].to for _, n in handle.slots}) > 1:
        handle = replace(handle, shares=tuple(v / sum(litres) for v in litres))
    if case.salts[handle.slots[0][1]].salt == "gypsum":
        most = 0.8 * nominal(gypsum_solubility(20.0)) * sum(litres)
        if most < handle.high.value:
            handle = replace(
                handle, high=Bound(max(most, handle.start), "no more gypsum than that dissolves")
            )
    return handle


def _soda(
    case: Case, aims: Sequence[Aim], choice: Choice, handles: Sequence[Handle]
) -> list[Handle]:
    """Return the handle of baking soda where the mash is too sour even without any acid."""
    aim = next((a for a in aims if a.key == "mash_ph"), None)
    slots = {slot for handle in handles for slot in handle.slots}
    soda = [
        ("salts", n) for n, d in enumerate(case.salts)
        if d.salt == "baking_soda" and d.to == "mash" and choice.is_free(case, ("salts", n))
    ]  # fmt: skip
    if aim is None or not soda or soda[0] in slots:
        return []
    bare, _ = walk(with_amounts(case, {("acids", n): 0.0 for n, a in enumerate(case.acids)
                                       if a.to == "mash" and choice.is_free(case, ("acids", n))}))
    now = aim.value(bare)
    if now is None or now >= aim.wanted - aim.scale:
        return []
    return [together(case, "baking soda", soda[:1], choice)]


def _liquor(case: Case, aims: Sequence[Aim], before: Forecast, choice: Choice,
            kept: list[Aim]) -> list[Handle]:
    """Return the handle that keeps the volume: the sparge where the plan fixes it, else the mash.

    A sparge that the plan leaves open follows by itself.
    """
    if case.portion is not None:
        return []
    sparge = before.expected.get("sparge_liquor")
    has_top_up = bool(amount_at(case, ("top_up", 0)))
    if not case.is_mashed or (case.is_steeped and has_top_up):
        # Left out, the liquor to the kettle follows by itself.
        if not has_top_up:
            return []
        table = "top_up"
    elif case.sparge_liquor is not None and case.sparge != "none":
        table = "sparge_liquor"
    elif not case.rinses or (sparge is not None and sparge.value <= 0):
        table = "mash_liquor"
    else:
        return []
    wanted = next((a for a in aims if a.key == "fermenter_volume"), None)
    if not choice.is_free(case, (table, 0)):
        return []
    if wanted is None:
        kept.append(Aim("fermenter_volume", case.volume, is_kept=True))
    return [volume_handle(case, table)]


def propose(
    case: Case,
    aims: Sequence[Aim],
    choice: Choice,
    step: Callable[[Slot, float], float],
    stock: Mapping[str, tuple[str, float]] | None = None,
    acids: Mapping[str, tuple[str, float]] | None = None,
    to_both: bool = False,
    tell: Callable[[int, int], None] = lambda done, total: None,
) -> Proposal:
    """Return amounts that bring a case to its aims, and what stands in the way of those it misses.

    ``step`` gives the step of a slot near an amount. ``stock`` and ``acids`` are the salts and
    acids at hand: what each is and its assay or strength. ``tell`` hears how many searches are
    done, of how many. :class:`NothingToChange` when no amount may move.
    """
    searches = len(ROUNDED) + 3
    tell(1, searches)
    case = with_doses(plain(case), aims, stock or {}, acids or {}, to_both)
    before, _ = walk(case)
    # What no amount brings is certain here: the solver asks for values, hundreds of times.
    case.causes.update({name: nominal(number) for name, number in case.causes.items()})
    handles, wanted = handles_for(case, aims, before, choice)
    if not handles:
        raise NothingToChange("nothing that may change moves any of the aims")
    follows = case.is_mashed and choice.is_free(case, ("mash_liquor", 0)) and any(
        slot[0] == "malts" for h in handles for slot in h.slots
    )
    problem = Problem(case, wanted, handles, limits_of(case, before), step, follows)
    values = solve(problem, {h.name: h.start for h in handles})
    problem, values = _with_the_worst_yielding(problem, values)
    tell(2, searches)
    problem, values = _without_needless(problem, values)
    nearest, settled_at = values, problem
    amounts: dict[Slot, float] = {}
    free = list(problem.handles)
    for number, tables in enumerate(ROUNDED):
        tell(number + 3, searches)
        now = [h for h in free if h.slots[0][0] in tables]
        for handle in now:
            for slot, amount in handle.amounts(values[handle.name]).items():
                amounts[slot] = rounded(amount, step(slot, amount), slot)
        if tables is ROUNDED[0] and problem.follows:
            litres = nominal(problem.case_at({**amounts, **_turned(problem.handles, values)})
                             .mash_liquor)
            slot = ("mash_liquor", 0)
            if slot not in amounts:
                is_planned = abs(litres - nominal(case.mash_liquor)) < 1e-6
                amounts[slot] = litres if is_planned else rounded(litres, step(slot, litres), slot)
        free = [h for h in free if h not in now]
        if free and (now or amounts):
            rest = replace(problem, case=with_amounts(case, amounts), handles=tuple(free),
                           follows=False)
            values = {**values, **solve(rest, values)}
    narrowed = bool(choice.only or choice.held)
    proposal = _judged(problem, amounts, before, (settled_at, nearest), narrowed)
    tell(searches, searches)
    if all(aim.is_held for aim in proposal.settled):
        raise NothingToChange("nothing that may change moves any of the aims")
    return proposal


HOPELESS = 20.0
"""Times its scale: an aim that stays this far off is out of reach, whatever the others give up."""


def _with_the_worst_yielding(
    problem: Problem, values: dict[str, float]
) -> tuple[Problem, dict[str, float]]:
    """Let the others be met where one aim is hopeless: least squares would spoil them for it."""

    def off(problem: Problem, values: Mapping[str, float]) -> dict[str, float]:
        many = zip(problem.aims, _residuals(problem, values), strict=False)
        return {aim.key: abs(residual) for aim, residual in many}

    here = off(problem, values)
    worst = max(here, key=lambda key: here[key])
    missed = [key for key in here if key != worst and here[key] > 1.0]
    if here[worst] < HOPELESS or not missed:
        return problem, values
    yielding = replace(problem, yielding=worst)
    tried = solve(yielding, values)
    there = off(yielding, tried)
    left = [key for key in there if key != worst and there[key] > 1.0]
    return (yielding, tried) if len(left) < len(missed) else (problem, values)


def rounded(amount: float, step: float, slot: Slot) -> float:
    """Return an amount in whole steps, never below one of the malts, never below nought."""
    steps = round(amount / step)
    if slot[0] in ("malts", "mash_liquor", REST) and amount > 0.25 * step:
        steps = max(steps, 1)
    return max(steps, 0) * step


def _turned(handles: Sequence[Handle], values: Mapping[str, float]) -> dict[Slot, float]:
    amounts: dict[Slot, float] = {}
    for handle in handles:
        amounts |= handle.amounts(values[handle.name])
    return amounts


_FAR = 1e7
_STIFF = 1e-5
_PULL = 0.01
"""How hard an amount is drawn to where it was: what no aim decides stays as it is."""
_YIELDS = 1e-3
"""How much an aim that is out of reach counts beside the others; it is still met as nearly."""


def _residuals(problem: Problem, values: Mapping[str, float]) -> list[float]:
    amounts = _turned(problem.handles, values)
    case = problem.case_at(amounts)
    book, _ = walk(case)
    residuals = []
    for aim in problem.aims:
        value = aim.value(book)
        off = _FAR if value is None else (value - aim.wanted) / aim.scale
        residuals.append(off * (_YIELDS if aim.key == problem.yielding else 1.0))
    for limit in problem.limits:
        try:
            over = limit.share(case, book) - limit.most
        except KeyError:
            over = 0.0
        residuals.append(max(over, 0.0) / _STIFF)
    pull = _PULL * (_YIELDS if problem.yielding else 1.0)
    return residuals + [pull * (values[h.name] - h.start) / h.scale for h in problem.handles]


def solve(problem: Problem, start: Mapping[str, float]) -> dict[str, float]:
    """Return the value of each handle at which the aims are met as nearly as can be."""
    handles = problem.handles
    scale = [h.scale for h in handles]
    low = [h.low.value / h.scale for h in handles]
    high = [max(h.high.value / h.scale, a + 1e-9) for h, a in zip(handles, low, strict=True)]
    first = [start[h.name] / h.scale for h in handles]

    def named(z: Sequence[float]) -> dict[str, float]:
        return {h.name: v * s for h, v, s in zip(handles, z, scale, strict=True)}

    known: dict[tuple[float, ...], list[float]] = {}

    def residuals(z: Sequence[float]) -> list[float]:
        key = tuple(z)
        if key not in known:
            known[key] = _residuals(problem, named(z))
        return known[key]

    def slopes(z: Sequence[float]) -> list[list[float]]:
        here = residuals(z)
        columns = []
        for number in range(len(handles)):
            step = 1e-4 if z[number] + 1e-4 <= high[number] else -1e-4
            moved = list(z)
            moved[number] += step
            there = residuals(moved)
            columns.append([(b - a) / step for a, b in zip(here, there, strict=True)])
        return [list(row) for row in zip(*columns, strict=True)]

    solution = least_squares(
        residuals, slopes, first, low, high, [1.0] * len(handles), most=40, smallest=1e-7
    ).found
    return named(solution)


def _without_needless(
    problem: Problem, values: dict[str, float]
) -> tuple[Problem, dict[str, float]]:
    """Leave out, smallest first, each new salt that the aims can do without."""
    new = [h for h in problem.handles if h.slots[0][0] == "salts" and h.start == 0]
    if not new:
        return problem, values
    doses = tuple(h for h in problem.handles if h.slots[0][0] in ("salts", "acids"))
    others = _turned([h for h in problem.handles if h not in doses], values)
    case = replace(problem.case_at(others), causes=problem.case.causes)
    part = replace(problem, case=case, handles=doses, follows=False)
    many = len(problem.aims)

    def cost(values: Mapping[str, float], part: Problem) -> float:
        return sum(r * r for r in _residuals(part, values)[:many])

    here, left = cost(values, part), set()
    for handle in sorted(new, key=lambda h: values[h.name] / h.scale):
        fewer = replace(part, handles=tuple(h for h in part.handles if h is not handle))
        if not fewer.handles:
            break
        tried = solve(fewer, values) if values[handle.name] > 0 else values
        there = cost(tried, fewer)
        if there <= here + 0.5:
            part, here = fewer, there
            values = {**values, **tried}
            left.add(handle.name)
    kept = tuple(h for h in problem.handles if h.name not in left)
    return replace(problem, handles=kept), {h.name: values[h.name] for h in kept}


def _judged(
    problem: Problem, amounts: dict[Slot, float], before: Forecast,
    nearest: tuple[Problem, Mapping[str, float]], narrowed: bool,
) -> Proposal:
    """Walk the rounded amounts, and say of each aim whether it is met and what binds if not."""
    case = problem.case_at(amounts)
    after, stopped = walk(case)
    binding = [f"the forecast stops at {stage}: {error}" for stage, error in stopped]
    for limit in problem.limits:
        try:
            if limit.share(case, after) > limit.most + 0.01:
                binding.append(limit.why)
        except KeyError:
            continue
    slopes = _slopes(problem, amounts, after)
    keys = {aim.key for aim in problem.aims}
    # Of these each follows from the others: they can agree only as well as they are written.
    linked = keys & set(LINKED) if len(keys & set(LINKED)) > 2 or "alcohol" in keys else set()
    settled: list[Settled] = []
    for aim in problem.aims:
        value = aim.value(after)
        half = sum(
            abs(slope) for slot, slope in slopes[aim.key].items()
            if slot[0] != "mash_liquor" or amounts[slot] != amount_at(problem.case, slot)
        )  # fmt: skip
        # As far as can be seen from one step of what is free.
        moves = any(abs(slope) > 1e-3 * aim.scale for slope in slopes[aim.key].values())
        if narrowed and value is not None and not moves:
            settled.append(Settled(aim, aim.value(before), value, half, is_held=True))
            continue
        # Nobody aims more finely than it is written.
        written = min(aim.step if aim.key in linked else aim.step / 2, ROUGH * aim.scale)
        slack = max(half + REACHED * aim.scale, written)
        missed = value is None or abs(value - aim.wanted) > slack
        why = _why(aim, value, *nearest, slopes[aim.key], narrowed) if missed else ()
        settled.append(Settled(aim, aim.value(before), value, half, why))
    lost = {s.aim.key for s in settled if s.why and s.aim.is_kept}
    settled = [s for s in settled if not s.aim.is_kept or s.aim.key in lost]
    return Proposal(problem.case, amounts, tuple(settled), tuple(dict.fromkeys(binding)))


def _slopes(
    problem: Problem, amounts: Mapping[Slot, float], after: Forecast
) -> dict[str, dict[Slot, float]]:
    """Return how far half a step of each slot moves each aim."""
    slopes: dict[str, dict[Slot, float]] = {aim.key: {} for aim in problem.aims}
    for slot, amount in amounts.items():
        half = problem.step(slot, amount) / 2
        book, _ = walk(problem.case_at({**amounts, slot: amount + half}))
        for aim in problem.aims:
            here, there = aim.value(after), aim.value(book)
            if here is not None and there is not None:
                slopes[aim.key][slot] = there - here
    return slopes


def _why(
    aim: Aim, value: float | None, problem: Problem, values: Mapping[str, float],
    slopes: Mapping[Slot, float], narrowed: bool,
) -> tuple[str, ...]:
    """Return what stands between an aim and its value."""
    if value is None:
        return ("the forecast does not come so far",)
    negligible = 1e-3 * aim.scale
    if problem.case.attenuation_is_planned and aim.key in LINKED[2:]:
        return ("the plan states the attenuation itself, so no mash temperature moves it",)
    if not any(abs(slope) > negligible for slope in slopes.values()):
        return ("nothing that may change moves it",)
    up = value < aim.wanted
    reasons = []
    for handle in problem.handles:
        at, span = values[handle.name], handle.high.value - handle.low.value
        slope = sum(slopes.get(slot, 0.0) for slot in handle.slots)
        if abs(slope) <= negligible:
            continue
        wants_more = (slope > 0) == up
        if wants_more and at >= handle.high.value - 1e-3 * span:
            reasons.append(handle.high.why)
        elif not wants_more and at <= handle.low.value + 1e-3 * span:
            reasons.append(handle.low.why)
    case = problem.case_at(_turned(problem.handles, values))
    book, _ = walk(case)
    for limit in problem.limits:
        try:
            if limit.share(case, book) >= limit.most - 1e-3:
                reasons.append(limit.why)
        except KeyError:
            continue
    if reasons:
        return tuple(dict.fromkeys(reasons))
    grist = [h for h in problem.handles if h.slots[0][0] == "malts"]
    if aim.key == "colour" and len(grist) == 1 and not narrowed:
        return ("the grist has no darker and paler malts to change one against the other",)
    if narrowed:
        return ("what would move it further is held, or not named as what may change",)
    others = [a for a in problem.aims if a is not aim and not a.is_kept]
    if others:
        return ("it contradicts the other aims",)
    return ("nothing that may change moves it far enough",)


def bittering(case: Case) -> tuple[Slot, ...]:
    """Return the hops that are boiled long, or the longest boiled where none is."""
    boiled = [(("hops", n), h.minutes) for n, h in enumerate(case.hops) if h.minutes is not None]
    long = tuple(slot for slot, minutes in boiled if minutes >= LONG_BOILED)
    if long or not boiled:
        return long
    most = max(minutes for _, minutes in boiled)
    return tuple(slot for slot, minutes in boiled if minutes == most)


__all__ = [
    "Aim", "Choice", "NothingToChange", "Proposal", "Settled", "Slot", "bittering", "propose",
    "rounded",
]  # fmt: skip
