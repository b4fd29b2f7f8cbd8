"""The chapter of the manual on the calculations: a page a topic, an entry a method.

An entry is the method's docstring, with the check values from outside the project that it was held
against and what it gives for them.
"""

from __future__ import annotations

import ast
import importlib
import inspect
import math
from collections.abc import Mapping, Sequence
from types import ModuleType

from markupsafe import Markup
from msgspec import Struct

from reportgen.report.evidence import (
    CheckValue,
    LibraryCheck,
    check_values,
    library_checks,
    topics,
)
from reportgen.report.manual_text import (
    ManualLink,
    number,
    paragraphs,
    prose,
    sentence,
    signs,
    unit_sign,
    value_text,
)
from reportgen.science.method import METHODS, Input, page

ORDER = (
    ("Liquor and air", ("atmosphere", "water", "salts", "acid", "carbonate", "treatment")),
    ("Mash and run-off", ("mash_ph", "mash_kinetics", "heat", "lautering")),
    ("Gravity, extract and strength", ("density", "extract", "refractometer", "alcohol")),
    ("Boil", ("boil", "bitterness", "colour", "wort_ions")),
    ("Yeast and beer", ("yeast", "fermentation", "carbonation", "triangle")),
    ("Readings and history", ("measurement", "statistics", "table")),
)
"""Topics in the order of the work. One that is not named here comes last, under its own name."""

LIBRARY_NAMES = {
    "chempy": "ChemPy",
    "iapws": "IAPWS",
    "numpy": "NumPy",
    "phreeqpython": "PHREEQC",
    "pint": "Pint",
    "scipy": "SciPy",
}
"""Names of reference libraries as their authors write them, where they differ from the package."""

FLOATING = 1e-7
"""A tolerance that is a smaller share of the value allows for floating point only: not printed."""


class InputRow(Struct, frozen=True):
    """One input: its name, unit, range in which it is taken, and what is said of it."""

    name: str
    unit: str
    range: str
    note: str


class ValueRow(Struct, frozen=True):
    """One outside check value beside what the calculation gives for the same inputs."""

    inputs: str
    expected: str
    gives: str
    mark: str
    source: str


class MethodEntry(Struct, frozen=True):
    """One calculation, ready to print."""

    name: str
    title: str
    paragraphs: tuple[Markup, ...]
    formula: str
    inputs: tuple[InputRow, ...]
    result: str
    uncertainty: str
    source: str
    model: str
    values: tuple[ValueRow, ...]
    libraries: tuple[Markup, ...]


class ModelRow(Struct, frozen=True):
    """One of the published models of a topic that compete."""

    name: str
    is_default: bool
    link: ManualLink
    formula: str
    trusted: tuple[str, ...]
    uncertainty: str


class Topic(Struct, frozen=True):
    """One page of calculations. ``models`` is empty where there is nothing to choose."""

    key: str
    title: str
    lead: str
    intro: tuple[Markup, ...]
    models: tuple[ModelRow, ...]
    default: str
    reason: Markup
    entries: tuple[MethodEntry, ...]

    @property
    def page(self) -> str:
        """Name of the page, without its ending."""
        return f"methods-{self.key.replace('_', '-')}"

    @property
    def links(self) -> tuple[ManualLink, ...]:
        """A link to every entry."""
        return tuple(ManualLink(e.title, self.page, e.name) for e in self.entries)


class TopicGroup(Struct, frozen=True):
    """Topics of one stretch of the work."""

    title: str
    topics: tuple[Topic, ...]


def range_text(low: float | None, high: float | None) -> str:
    """Return a range as words; empty where there is none."""
    if low is None or high is None:
        return ""
    return f"{number(low)} to {number(high)}"


def _keys(unit: str, module: ModuleType) -> str:
    """Return the words that an input documented as ``key of NAME`` may be."""
    if not unit.startswith("key of "):
        return ""
    table = getattr(module, unit.split()[2], {})
    return ", ".join(str(key) for key in table)


def input_row(documented: Input, module: ModuleType) -> InputRow:
    """Return one input of a method of a module."""
    note = documented.note
    unit = unit_sign(documented.unit)
    if keys := _keys(documented.unit, module):
        unit, note = "name", "; ".join(part for part in (f"one of {keys}", note) if part)
    text = range_text(documented.low, documented.high)
    trusted = range_text(documented.trusted_low, documented.trusted_high)
    if trusted:
        text += f" (trusted {trusted})"
    return InputRow(documented.name.replace("_", " "), unit, text, signs(note))


def _digits_given(value: float, tolerance: float, expected: float) -> str:
    """Return what a method gives with one figure more than the tolerance asks for."""
    if tolerance > FLOATING * abs(expected):
        decimals = max(0, 1 - math.floor(math.log10(tolerance)))
        if decimals <= 6:
            return f"{value:.{decimals}f}".replace("-", "\u2212")
    return number(value, 7)


def value_row(value: CheckValue) -> ValueRow:
    """Return one check value, recomputed."""
    inputs = "; ".join(
        f"{name.replace('_', ' ')} {value_text(put)}" for name, put in value.inputs.items()
    )
    expected = number(value.expected)
    if value.tolerance > FLOATING * abs(value.expected):
        expected += f" ± {number(value.tolerance, 4)}"
    if isinstance(value.pick, str):
        expected = f"{value.pick.replace('_', ' ')} {expected}"
    elif value.pick is not None:
        expected = f"no. {value.pick + 1}: {expected}"
    source = signs("; ".join(part for part in (value.source, value.note) if part))
    gives = _digits_given(value.computed(), value.tolerance, value.expected)
    return ValueRow(inputs or "nothing", expected, gives, value.mark, source)


def library_text(check: LibraryCheck) -> Markup:
    """Return in words how a test file checks a method."""
    file = check.file.rsplit("/", 1)[-1]
    names = [LIBRARY_NAMES.get(name, name) for name in check.libraries]
    if not names:
        how = "a balance or a published rule, worked in"
        return Markup("{} <code>{}</code>").format(how, file)
    listed = names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]
    return Markup("{}, in <code>{}</code>").format(listed, file)


def models_of(module: ModuleType) -> Mapping[str, str]:
    """Return the competing models of a topic: the method of each by the name it is chosen by."""
    names = {function: name for name, function in METHODS.items()}
    models = getattr(module, "MODELS", {})
    return {name: names[function] for name, function in models.items()}


def reason_of(module: ModuleType) -> str:
    """Return the reason that stands at ``DEFAULT``: comments before or after it, or a string."""
    source = inspect.getsource(module)
    lines = source.splitlines()
    body = ast.parse(source).body
    comments: list[str] = []
    for index, node in enumerate(body):
        if not isinstance(node, ast.Assign | ast.AnnAssign):
            continue
        target = node.targets[0] if isinstance(node, ast.Assign) else node.target
        if getattr(target, "id", "") != "DEFAULT":
            continue
        end = node.end_lineno or node.lineno
        comments += _comments(lines[: node.lineno - 1][::-1])[::-1]
        comments += _comments(lines[end:])
        following = body[index + 1] if index + 1 < len(body) else None
        if isinstance(following, ast.Expr) and isinstance(following.value, ast.Constant):
            comments.append(str(following.value.value))
    return " ".join(" ".join(comments).split())


def _comments(lines: Sequence[str]) -> list[str]:
    """Return the comments that a run of lines begins with."""
    comments = []
    for line in lines:
        if not line.startswith("#"):
            break
        comments.append(line.lstrip("# "))
    return comments


def entry(name: str, module: ModuleType, model: str) -> MethodEntry:
    """Return the entry of one method; ``model`` is the name it competes under, or empty."""
    manual = page(name)
    return MethodEntry(
        name,
        signs(manual.title),
        paragraphs(manual.text),
        signs(manual.formula),
        tuple(input_row(i, module) for i in manual.inputs),
        unit_sign(manual.result) or manual.result,
        sentence(manual.uncertainty),
        sentence(manual.source),
        model,
        tuple(value_row(value) for value in check_values().get(name, ())),
        tuple(library_text(check) for check in library_checks().get(name, ())),
    )


def title_of(key: str) -> str:
    """Return the title of a topic from the name of its module."""
    return key.replace("_", " ").capitalize().replace(" ph", " pH")


def _trusted(name: str) -> tuple[str, ...]:
    """Return the trusted ranges of a method; where it states none, those it takes at all."""
    inputs = page(name).inputs
    ranges = [(i, range_text(i.trusted_low, i.trusted_high)) for i in inputs]
    if not any(text for _, text in ranges):
        ranges = [(i, range_text(i.low, i.high)) for i in inputs]
    return tuple(
        f"{i.name.replace('_', ' ')} {text} {unit_sign(i.unit)}".strip()
        for i, text in ranges
        if text
    )


def topic(key: str) -> Topic:
    """Return the page of one module of ``reportgen.science``."""
    module = importlib.import_module(f"reportgen.science.{key}")
    head, _, rest = inspect.cleandoc(module.__doc__ or "").partition("\n")
    models = models_of(module)
    chosen = {method: name for name, method in models.items()}
    names = [name for name in METHODS if name.split(".")[0] == key]
    default = str(getattr(module, "DEFAULT", "")) if models else ""
    made = Topic(
        key,
        title_of(key),
        signs(head),
        paragraphs(rest),
        (),
        default,
        prose(reason_of(module)) if models else Markup(""),
        tuple(entry(name, module, chosen.get(name, "")) for name in names),
    )
    rows = tuple(
        ModelRow(
            name,
            name == default,
            ManualLink(signs(page(method).title), made.page, method),
            signs(page(method).formula),
            _trusted(method),
            sentence(page(method).uncertainty),
        )
        for name, method in models.items()
    )
    return Topic(
        made.key, made.title, made.lead, made.intro, rows, default, made.reason, made.entries
    )


def topic_groups() -> tuple[TopicGroup, ...]:
    """Return every calculation there is, topics in the order of the work."""
    left = list(topics())
    groups = []
    for title, keys in ORDER:
        here = tuple(topic(key) for key in keys if key in left)
        left = [key for key in left if key not in keys]
        groups.append(TopicGroup(title, here))
    groups += [TopicGroup(title_of(key), (topic(key),)) for key in left]
    return tuple(group for group in groups if group.topics)
