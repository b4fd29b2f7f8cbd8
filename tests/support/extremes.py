"""An archive of batches at the ends of what a sheet must hold: very long, empty, very slow."""

from __future__ import annotations

import datetime
import shutil
from pathlib import Path
from typing import Any

import yaml

ARCHIVE = Path(__file__).parents[1] / "report" / "archive"
FULL = ARCHIVE.parent / "full.yaml"
LONG, EMPTY, SLOW, MAXIMAL = "2026-11", "2026-12", "2026-13", "2026-14"
EXTREMES = (LONG, EMPTY, SLOW, MAXIMAL)

MALTS = (
    "Very pale malt, floor-dried, of the northern terraces",
    "Солод ячменный светлый, озимый, поздней сушки",
    "Βύνη κριθής ανοιχτόχρωμη, χειμερινής σποράς",
    "Dunkelgeröstetes Weizenmalz aus Großmutters Mühle",
    "Мука ржаная обойная, очень грубого помола",
    "Βύνη σίκαλης, καβουρδισμένη δύο φορές",
    "Blé malté fumé à l'écorce de hêtre, très légèrement",
    "Žitný slad, pražený, z údolí řeky",
)
HOPS = (
    "Late hop of the eastern garden, whole leaf, second picking",
    "Хмель ароматный, с южного склона, гранулы",
    "Λυκίσκος αρωματικός, όψιμος, από τον κήπο",
    "Spätblühender Edelhopfen, doppelt gesiebt",
    "Kvetoucí chmel červený, sušený ve stínu",
)
NAME = "Crépuscule d'automne — Осенние сумерки — Φθινοπωρινό λυκόφως, extra long"


def _read(path: Path) -> Any:
    return yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader)


class _Plain(yaml.SafeDumper):
    """Writes a part that stands in two places twice: the format knows no aliases."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


def _write(path: Path, whole: Any) -> None:
    text = yaml.dump(whole, Dumper=_Plain, allow_unicode=True, sort_keys=False, width=1000)
    path.write_text(text, encoding="utf-8")


def make_extremes(folder: Path, units: str = "metric") -> Path:
    """Write the archive: 25 rows of grist and hops in four alphabets, an empty record, one of 60
    days, and one of all that with every field of the model; returns its folder."""
    shutil.copytree(ARCHIVE, folder)
    base = _read(folder / "2026" / "2026-01.yaml")
    for name in ("2026-01", "2026-02"):
        (folder / "2026" / f"{name}.yaml").unlink()
    stock = _read(folder / "stock.yaml")
    for number, name in enumerate(MALTS):
        stock["malts"][f"malt_{number}"] = {**stock["malts"]["crystal"], "name": name}
    for number, name in enumerate(HOPS):
        stock["hops"][f"hop_{number}"] = {"name": name, "alpha": "5 %"}
    _write(folder / "stock.yaml", stock)
    house = _read(folder / "brewery.yaml")
    house["units"] = units
    house["containers"] = {"cellar_keg": {"is": "keg", "pressure_rating": "3 bar"}}
    _write(folder / "brewery.yaml", house)
    made = {LONG: _long(base), EMPTY: _empty(base), SLOW: _slow(base), MAXIMAL: _maximal(base)}
    for batch, record in made.items():
        _write(folder / "2026" / f"{batch}.yaml", {**record, "batch": batch})
    return folder


def _long(base: Any) -> Any:
    grist = [{"malt": "pale", "amount": "5.00 kg", "lot": "M-2026-000-117-A"}]
    grist += [
        {"malt": f"malt_{n % len(MALTS)}", "amount": f"0.{10 + n} kg", "lot": f"M-{n:06d}"}
        for n in range(14)
    ]
    hops = [
        {"hop": f"hop_{n % len(HOPS)}", "amount": f"{10 + n}.5 g", "time": f"{60 - 5 * n} min",
         "lot": f"H-2026-{n:05d}"}
        for n in range(10)
    ]  # fmt: skip
    plan = {**base["plan"], "grist": grist, "boil": {**base["plan"]["boil"], "hops": hops},
            "notes": "\n\n".join(f"{n}. {name}, {NAME}." for n, name in enumerate(MALTS * 6))}
    weighed = [
        {"item": g["malt"], "amount": g["amount"], "lot": g["lot"], "at": "08:00", "by": "AB"}
        for g in grist
    ]
    return {**base, "name": NAME, "plan": plan,
            "brew_day": {**base["brew_day"], "weighed": weighed}}


def _empty(base: Any) -> Any:
    kept = {"format": base["format"], "batch": "", "name": "Nothing written", "plan": base["plan"]}
    return {**kept, "brew_day": {"date": "2026-02-01"}}


def _slow(base: Any) -> Any:
    start = datetime.date(2026, 2, 1)
    log = _log(start)
    plan = {**base["plan"], "fermentation": {"temperature": "10 C", "time": "60 d"}}
    ferment = {**base["fermentation"], "log": log}
    rest = {k: v for k, v in base.items() if k not in ("packaging", "tasting", "review")}
    return {**rest, "name": "Slow Cellar Beer", "plan": plan, "fermentation": ferment}


def _log(start: datetime.date) -> list[dict[str, str]]:
    return [
        {"at": f"{start + datetime.timedelta(days=day)} 14:00", "temperature": "10.2 C",
         "gravity": f"{1.012 + 0.032 * 0.93 ** day:.3f}", "by": "AB",
         "note": f"Day {day}: nothing to be seen through the glass, a little foam." }
        for day in range(1, 61)
    ]  # fmt: skip


def _maximal(base: Any) -> Any:
    """Every field of the model, the long plan, 60 days, and a deviation of each severity."""
    full = yaml.load(FULL.read_text(encoding="utf-8"), yaml.BaseLoader)
    plan, day, ferment = _long(base), full["brew_day"], full["fermentation"]
    (one,) = full["review"]["deviations"]
    figures = ("kettle_gravity", "final_gravity", "cast_out_volume", "pitch_temperature")
    more = [
        {**{k: v for k, v in one.items() if k not in ("figures", "findings")},
         "figure": figure, "severity": severity, "what": f"{name}. {one['what']}"}
        for figure, severity, name in zip(
            figures, ("critical", "major", "minor", "note"), MALTS, strict=False)
    ]
    return {
        **plan, **full, "name": NAME, "plan": plan["plan"],
        "brew_day": {**day, "weighed": plan["brew_day"]["weighed"]},
        "fermentation": {**ferment, "log": _log(datetime.date(2026, 2, 1))},
        "packaging": {**full["packaging"], "date": "2026-04-04", "packaged_volume": "38.2 L",
                      "best_before": "2026-10-02"},
        "tasting": [{**full["tasting"][0], "date": f"2026-0{n}-01", "remarks": f"{name}."}
                    for n, name in enumerate(MALTS[:4], 5)],
        "review": {**full["review"], "deviations": [one, *more],
                   "learned": " ".join(f"{name}." for name in MALTS)},
    }  # fmt: skip


__all__ = ["EMPTY", "EXTREMES", "LONG", "MAXIMAL", "SLOW", "make_extremes"]
