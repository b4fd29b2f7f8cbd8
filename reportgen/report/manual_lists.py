"""The chapters of the manual that are lists: checks, units, figures."""

from __future__ import annotations

from markupsafe import Markup
from msgspec import Struct

from reportgen.checks.base import CheckPage, Group, all_checks
from reportgen.forecast.figures import DERIVED, FIGURES, Figure, Stage, ToleranceSide
from reportgen.record.kinds import is_share
from reportgen.record.printed import MINUS, width_kind
from reportgen.record.rules import RULES, RuleGroup, shown
from reportgen.record.unit_table import BASE, EXAMPLES, NAMES, UNITS, Unit
from reportgen.report.manual_text import ManualLink, number, paragraphs, prose, sentence, signs


class CheckEntry(Struct, frozen=True):
    """The manual page of one check, or of a rule of the loader, ready to print.

    A rule of the loader has no source: it is our own.
    """

    name: str
    title: str
    severity: str
    paragraphs: tuple[Markup, ...]
    fix: Markup
    source: Markup | None
    passes: str
    fails: str

    @property
    def anchor(self) -> str:
        """Name of the entry in the manual."""
        return f"check-{self.name}"


class CheckGroup(Struct, frozen=True):
    """The checks of one stage of the work."""

    key: str
    title: str
    entries: tuple[CheckEntry, ...]

    @property
    def page(self) -> str:
        """Name of the page, without its ending."""
        return f"checks-{self.key}"

    @property
    def links(self) -> tuple[ManualLink, ...]:
        """A link to every entry."""
        return tuple(
            ManualLink(e.name, self.page, e.anchor, sentence(e.title)) for e in self.entries
        )


def _fix(page: CheckPage) -> str:
    """Return how to fix it, and what is said once it is too late for that."""
    fix = sentence(page.fix)
    return f"{fix}. Afterwards: {page.afterwards}" if page.afterwards else fix


def check_groups() -> tuple[CheckGroup, ...]:
    """Return every check, and what the loader holds a file to, by the stage of the work."""
    groups: dict[Group, list[CheckEntry]] = {group: [] for group in Group}
    for name, check in all_checks().items():
        page = check.page
        groups[page.group].append(
            CheckEntry(
                name,
                page.title,
                page.weight,
                paragraphs(page.text),
                prose(_fix(page)),
                prose(sentence(page.source)),
                page.passes,
                page.fails,
            )
        )
    return (
        *(CheckGroup(_key(group), group.value, tuple(groups[group])) for group in groups),
        *(CheckGroup(_key(about), about.value, _rules_about(about)) for about in RuleGroup),
    )


def _key(group: Group | RuleGroup) -> str:
    return group.name.lower().replace("_", "-")


def _rules_about(about: RuleGroup) -> tuple[CheckEntry, ...]:
    return tuple(
        CheckEntry(
            rule.name, rule.title, rule.severity.value, paragraphs(rule.text),
            prose(sentence(rule.fix)), None, shown(rule.passes), shown(rule.fails),
        )
        for rule in RULES.values()
        if rule.about is about
    )  # fmt: skip


class UnitRow(Struct, frozen=True):
    """One unit: what one of it is in the base unit, and how else it may be spelt."""

    name: str
    value: str
    also: str


class UnitKind(Struct, frozen=True):
    """The units of one kind of quantity."""

    key: str
    title: str
    example: str
    rows: tuple[UnitRow, ...]

    @property
    def anchor(self) -> str:
        """Name of the table in the manual."""
        return f"unit-{self.key}"


def _factor(factor: float) -> str:
    """Return a factor as a decimal, or as the fraction it is."""
    for upper in (1, 5):
        lower = upper / factor
        if lower in (3.0, 9.0, 60.0):
            return f"{upper}/{lower:g}"
    return number(factor, 9)


def unit_value(unit: Unit) -> str:
    """Return what a number in a unit is in the base unit of its kind."""
    base = signs(unit.scale or BASE[unit.kind]) or "of the whole"
    if unit.kind == "ph":
        return "the number itself"
    if unit.kind == "gravity":
        return "kept on the scale it is written in"
    factor = _factor(unit.factor)
    if unit.offset:
        inner = f"number {MINUS if unit.offset < 0 else '+'} {number(abs(unit.offset))}"
        return f"{inner} {base}" if unit.factor == 1.0 else f"({inner}) × {factor} {base}"
    if unit.factor == 1.0 and unit.name in (base, base.removeprefix("°")):
        return "base unit"
    return f"{factor} {base}"


_TITLES = {"alpha": "Percentage of alpha acids", "count": "Plain count", "ph": "pH"}


def unit_kinds() -> tuple[UnitKind, ...]:
    """Return the units of every kind that has any."""
    made = []
    for kind in BASE:
        rows = tuple(
            UnitRow(unit.name, unit_value(unit), ", ".join(unit.also))
            for unit in UNITS
            if unit.kind == kind
        )
        title = _TITLES.get(kind) or NAMES[kind].removeprefix("a ").removeprefix("an ").capitalize()
        made.append(UnitKind(kind, title, EXAMPLES[kind], rows))
    return tuple(made)


class FigureRow(Struct, frozen=True):
    """One number that a batch shows."""

    key: str
    title: str
    unit: str
    tolerance: str
    read: str


class FigureStage(Struct, frozen=True):
    """The numbers of one stage of the work."""

    title: str
    rows: tuple[FigureRow, ...]


_FIGURE_UNITS = {**BASE, "amount": "L or kg", "gravity": "SG", "fraction": "%", "ph": "pH"}


def _figure_unit(figure: Figure) -> str:
    unit = _FIGURE_UNITS.get(figure.kind, "")
    return signs(unit)


def tolerance_text(figure: Figure) -> str:
    """Return the tolerance that holds when neither plan nor house gives one."""
    if figure.tolerance is None:
        return "none"
    scale = 100.0 if figure.relative or is_share(figure.kind) else 1.0
    width = number(figure.tolerance * scale, 6)
    unit = _FIGURE_UNITS.get(width_kind(figure.kind), "")
    words = f"{width} % of it" if figure.relative else f"{width} {signs(unit)}".strip()
    if is_share(figure.kind) and not figure.relative:
        # A share of a share would be read for it.
        words = f"{width} percentage points" if width != "1" else "1 percentage point"
    if figure.side is ToleranceSide.BOTH:
        return f"± {words}"
    below = figure.side is ToleranceSide.NOT_BELOW
    if figure.tolerance == 0.0:
        return "not below it" if below else "not above it"
    return f"not more than {words} {'below' if below else 'above'} it"


def _read_text(figure: Figure) -> str:
    if figure.path:
        return ".".join(figure.path)
    if figure.key in DERIVED:
        titles = ", ".join(FIGURES[key].in_sentence.split(",")[0] for key in DERIVED[figure.key])
        return f"follows from {titles}{_or_analysed(figure)}"
    return f"computed{_or_analysed(figure)}" if figure.analysed else "computed only"


def _or_analysed(figure: Figure) -> str:
    return f", or analysis.{figure.key}" if figure.analysed else ""


def figure_stages() -> tuple[FigureStage, ...]:
    """Return every number there is, in the order of the work."""
    return tuple(
        FigureStage(
            stage.value,
            tuple(
                FigureRow(
                    figure.key,
                    figure.title,
                    _figure_unit(figure),
                    tolerance_text(figure),
                    _read_text(figure),
                )
                for figure in FIGURES.values()
                if figure.stage is stage
            ),
        )
        for stage in Stage
    )
