"""A number carries its kind: every width beside every figure, every instrument and reading.

What is accepted is written out here by hand, from what the quantities are; none of it is computed
by the code under test.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from reportgen.forecast.figures import FIGURES
from reportgen.record.kinds import INSTRUMENTS, KINDS, may_read, out_of_bounds, read_quantity
from reportgen.record.quantity import UnitError
from reportgen.record.source import source_from_text
from reportgen.record.typed import wrong_figures
from reportgen.record.unit_table import BASE
from reportgen.record.yamltree import parse

TYPED = {
    "K": "0.8 K", "C": "0.8 C", "F": "2 F", "L": "0.8 L", "gal": "0.2 US gal", "kg": "0.2 kg",
    "g": "20 g", "bar": "0.1 bar", "psi": "2 psi", "%": "4 %", "mg/L": "4 mg/L", "IBU": "4 IBU",
    "EBC": "4 EBC", "SRM": "2 SRM", "vol": "0.2 vol", "billion": "30 billion", "min": "4 min",
    "plain": "0.003",
}  # fmt: skip
"""A width in each unit, of a size that is sensible for it."""

DEGREES, SHARE = {"K", "C", "F"}, {"%"}
VOLUMES, MASSES = {"L", "gal"}, {"kg", "g"}
ACCEPTED = {
    "gravity": {"plain"},
    "temperature": DEGREES,
    "ph": {"plain"},
    "volume": VOLUMES | SHARE,
    "mass": MASSES | SHARE,
    "amount": VOLUMES | MASSES | SHARE,
    "pressure": {"bar", "psi"} | SHARE,
    "fraction": SHARE,
    "concentration": {"mg/L"} | SHARE,
    "bitterness": {"mg/L", "IBU"} | SHARE,
    "colour": {"EBC", "SRM", "L"} | SHARE,  # L: degrees Lovibond
    "carbonation": {"vol"} | SHARE,
    "cells": {"billion"} | SHARE,
    "count": {"plain"},
    "temperature_difference": DEGREES,
}
"""Which units a tolerance of each kind of figure may have."""


def wrong(text: str, figures: dict[str, str]) -> list[str]:
    source = source_from_text(text, "x.yaml")
    tree, faults = parse(source)
    assert tree is not None and not faults
    return [f.message for f in wrong_figures(tree, source, figures, None)]


def test_every_kind_of_figure_has_a_row() -> None:
    assert {figure.kind for figure in FIGURES.values()} <= set(ACCEPTED)


@pytest.mark.parametrize("kind", sorted(ACCEPTED))
@pytest.mark.parametrize("place", ["tolerances: {f: %s}", "plan: {tolerances: {f: %s}}"])
def test_every_unit_of_a_tolerance_beside_every_kind_of_figure(kind: str, place: str) -> None:
    found = {unit for unit, text in TYPED.items() if not wrong(place % text, {"f": kind})}
    assert found == ACCEPTED[kind]


READS = {
    "hydrometer": "gravity", "refractometer": "gravity", "thermometer": "temperature",
    "ph_meter": "ph", "volume_gauge": "volume", "scale": "mass", "pressure_gauge": "pressure",
}  # fmt: skip


@pytest.mark.parametrize("reads", sorted(READS))
@pytest.mark.parametrize("key", ["resolution", "uncertainty", "reads_high_by"])
def test_every_unit_of_an_instruments_figures(reads: str, key: str) -> None:
    """They are differences of what it reads, never shares of it."""
    sound = {"temperature": "0.5 K", "volume": "0.5 L", "mass": "10 g", "pressure": "0.05 bar"}
    step = sound.get(READS[reads], "0.001")
    one = {"resolution": step, "uncertainty": step}
    found = set()
    for unit, text in TYPED.items():
        typed = {**one, key: text}
        checks = f"[{{on: 2026-01-02, reads_high_by: {typed.pop(key)}}}]"
        if key != "reads_high_by":
            typed[key], checks = text, "[]"
        body = ", ".join(f"{k}: {v}" for k, v in typed.items())
        line = f"instruments: {{i: {{reads: {reads}, {body}, checks: {checks}}}}}"
        messages = [m for m in wrong(line, {}) if text in m and " is " in m and "; " in m]
        # What no field of an instrument may have is refused by the schema before.
        if not messages and unit not in ("mg/L", "IBU", "EBC", "SRM", "vol", "billion", "min", "%"):
            found.add(unit)
    assert found == ACCEPTED[READS[reads]] - SHARE


@pytest.mark.parametrize(
    ("kind", "unit", "read_by"),
    [
        ("gravity", "SG", {"hydrometer"}),
        ("gravity", "P", {"hydrometer"}),
        ("gravity", "Bx", {"refractometer"}),
        ("temperature", "C", {"thermometer"}),
        ("ph", "", {"ph_meter"}),
        ("volume", "L", {"volume_gauge"}),
        ("mass", "kg", {"scale"}),
        ("pressure", "bar", {"pressure_gauge"}),
        ("carbonation", "vol", set()),
        ("amount", "g", {"scale", "volume_gauge"}),
        ("cells", "billion", set()),
    ],
)
def test_every_instrument_beside_every_reading(kind: str, unit: str, read_by: set[str]) -> None:
    assert {reads for reads in INSTRUMENTS if may_read(reads, kind, unit)} == read_by


def test_a_limit_is_of_the_kind_of_its_figure() -> None:
    texts = {
        "gravity": "1.012", "temperature": "60 C", "ph": "4.4", "volume": "20 L", "mass": "2 kg",
        "pressure": "1.5 bar", "fraction": "5 %", "carbonation": "2.4 vol", "bitterness": "30 IBU",
        "colour": "12 EBC", "cells": "300 billion",
    }  # fmt: skip
    plain = {"gravity", "ph"}
    for kind in texts:
        for other, text in texts.items():
            found = wrong(f"plan: {{critical_limits: {{f: {{at_most: {text}}}}}}}", {"f": kind})
            # 1.012 may be a pH; 4.4 is no gravity.
            fine = kind == other or ({kind, other} == plain and kind == "ph")
            fine = fine or (kind, other) == ("colour", "volume")  # L: degrees Lovibond
            assert bool(found) != fine, (kind, text, found)


def test_limits_are_compared_across_units() -> None:
    line = "plan: {critical_limits: {f: {at_least: 150 F, at_most: %s}}}"
    assert not wrong(line % "66 C", {"f": "temperature"})
    assert len(wrong(line % "65 C", {"f": "temperature"})) == 1


def test_a_wrong_number_has_a_way_out_that_is_right() -> None:
    source = source_from_text("tolerances: {original_gravity: 1.003}\n", "brewery.yaml")
    tree, _ = parse(source)
    assert tree is not None
    (one,) = wrong_figures(tree, source, {"original_gravity": "gravity"}, None)
    assert one.remedy == "write 0.003" and (one.position.line, one.position.column) == (1, 32)


def test_an_instrument_in_plato_has_its_figures_in_plato() -> None:
    line = "instruments: {i: {reads: hydrometer, resolution: %s, uncertainty: %s}}"
    assert not wrong(line % ("0.1", "0.2"), {}) and not wrong(line % ("0.0005", "0.001"), {})
    assert wrong(line % ("0.001", "0.2"), {}) and wrong(line % ("0.1", "3"), {})


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("950 %", "fraction"), ("1.490", "gravity"), ("0.900", "gravity"), ("12 km", "length"),
        ("500 C", "temperature"), ("101 %", "fraction"), ("140 %", "attenuation"),
    ],
)  # fmt: skip
def test_what_nature_does_not_allow_is_refused(text: str, kind: str) -> None:
    with pytest.raises(UnitError) as found:
        read_quantity(text, kind)
    assert found.value.expected


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("100 %", "fraction"), ("108 %", "attenuation"), ("1.350", "gravity"), ("0.985", "gravity"),
        ("-40 C", "temperature"), ("-430 m", "length"), ("5300 m", "length"), ("70 P", "gravity"),
    ],
)  # fmt: skip
def test_what_nature_allows_is_not(text: str, kind: str) -> None:
    assert read_quantity(text, kind).text == text


def test_an_offset_may_be_below_nothing_in_any_unit() -> None:
    for text, value in (("-20 g", -0.02), ("-0.5 L", -0.5), ("-0.02 bar", -0.02), ("-0.3 K", -0.3)):
        assert read_quantity(text, "offset").value == pytest.approx(value)


def test_each_kind_knows_its_base_unit_and_bounds() -> None:
    for name, kind in KINDS.items():
        assert kind.name == name and all(read in BASE for read in kind.reads)
        assert kind.nature[0] < kind.nature[1] and kind.usual[0] < kind.usual[1]
        assert kind.base == BASE[kind.reads[0]] and kind.step == pytest.approx(10**-kind.decimals)


def test_nothing_loads_an_archive_without_the_kinds_of_its_figures() -> None:
    """``reportgen.loading`` hands them over; a verb that goes past it would accept any width."""
    package = Path(__file__).parents[2] / "reportgen"
    past = [
        path.relative_to(package).as_posix()
        for path in package.rglob("*.py")
        if re.search(r"from reportgen\.record\.load import [^\n]*load_archive", path.read_text())
    ]
    assert past == []


@pytest.mark.parametrize(
    ("text", "kind", "bounds", "expected"),
    [
        # 1 gal/lb is 8.345 L/kg: 0.2 and 3 L/kg.
        ("0.5 US gal/lb", "specific_volume", (0.2, 3.0), "0.024 US gal/lb to 0.36 US gal/lb"),
        ("4 L/kg", "specific_volume", (0.2, 3.0), "0.2 L/kg to 3 L/kg"),
    ],
)
def test_bounds_are_told_in_the_unit_that_was_typed(
    text: str, kind: str, bounds: tuple[float, float], expected: str
) -> None:
    wrong = out_of_bounds(read_quantity(text, kind), bounds)
    assert wrong is not None and wrong[1] == expected
