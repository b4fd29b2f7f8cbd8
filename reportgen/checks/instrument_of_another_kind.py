"""An instrument is named for a reading that it cannot take.

A hydrometer named as the thermometer would lend its uncertainty, a thousandth, to a temperature. The
reading is judged as if its instrument were unknown: by the last decimal written. A refractometer
shows degrees Brix, written with `Bx`; everything else is read with a hydrometer or a density meter,
which is listed as one. On the SG scale of a refractometer alcohol counts as sugar, so that beer
read with it has another gravity.

Fix: name the instrument that took the reading, or list it in brewery.yaml
Source: JCGM 200: a reading belongs to a measuring instrument
Passes:
    brew_day: {date: 2026-03-14, instruments: {thermometer: thermometer}}
    fermentation: {final_gravity: {read: 6.5 Bx, instrument: refractometer}}
Fails:
    brew_day:
      date: 2026-03-14
      instruments: {thermometer: hydrometer}
      mash: {mash_ph: {read: 5.4, instrument: gauge}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.record.each_value import entries_in, member_names, values_in
from reportgen.record.kinds import may_read
from reportgen.record.model.brew_day import Instruments
from reportgen.record.unit_table import NAMES
from reportgen.record.values import Reading, Text

GROUP = Group.READINGS
SEVERITY = Severity.MAJOR


def check(batch: Assessment) -> Remarks:
    """Compare what each instrument named reads with what it is named for."""
    listed = batch.brewery.instruments
    for named in entries_in(batch.record):
        if isinstance(named, Instruments):
            for field in member_names(named):
                name = getattr(named, field)
                if field == "position" or name is None or name not in listed:
                    continue
                if (reads := str(listed[name].reads)) != field:
                    yield _said(name, reads, f"the {_words(field)}", batch, [field])
    yield from _of_beer_in_sg(batch)
    for reading in values_in(batch.record, Reading):
        name, value = reading.instrument, reading.value
        if name is None or value is None or name not in listed:
            continue
        reads = str(listed[name].reads)
        if not may_read(reads, value.kind, value.unit):
            kinds = ("hydrometer", "refractometer", "thermometer", "ph_meter", "volume_gauge",
                     "scale", "pressure_gauge")
            fits = [kind for kind in kinds if may_read(kind, value.kind, value.unit)]
            in_unit = f" in {value.unit}" if value.is_gravity else ""
            yield _said(name, reads, f"{NAMES[value.kind]}{in_unit}", batch, fits)


def _of_beer_in_sg(batch: Assessment) -> Remarks:
    """Look for beer read in SG where there is a refractometer alone; the first is said.

    Beside readings in degrees Brix one in SG is against these, which is said.
    """
    reads = [str(instrument.reads) for instrument in batch.brewery.instruments.values()]
    if "refractometer" not in reads or "hydrometer" in reads or batch.record.fermentation is None:
        return
    every = values_in(batch.record.fermentation, Reading)
    read = [r.value for r in every if r.value is not None and r.value.is_gravity and not r.instrument]
    if read and all(value.unit != "Bx" for value in read):
        yield Remark(
            read[0].position,
            f"beer read as {read[0].text}, and brewery.yaml lists a refractometer, no hydrometer",
            "degrees Brix, with `Bx`",
            "write what the refractometer showed, with `Bx`; if it was read with a hydrometer, list "
            "that one",
        )


def _said(
    name: Text, reads: str, wanted: str, batch: Assessment, fits: list[str]
) -> Remark:
    instruments = batch.brewery.instruments
    ours = [n for n, instrument in instruments.items() if str(instrument.reads) in fits]
    expected = f"one of {', '.join(ours)}" if ours else ""
    return Remark(name.position, f"`{name}` is a {_words(reads)}; it is named for {wanted}", expected)


def _words(kind: str) -> str:
    return kind.replace("ph_", "pH ").replace("_", " ")

