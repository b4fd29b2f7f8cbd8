"""``treat``: the smallest set of salts and acid that brings a plan's liquor near what is wanted."""

from __future__ import annotations

import argparse

from reportgen.assessment.assess import assess
from reportgen.forecast.dechlorination import to_remove
from reportgen.forecast.figures import IONS
from reportgen.planning.treatment_text import advise, as_text
from reportgen.record.failure import Misuse
from reportgen.science.number import nominal
from reportgen.verbs.where import loaded, one_batch, say_in_part, say_unread


def run(arguments: argparse.Namespace) -> int:
    """Print the salts and acid as YAML to paste, what they give, and what stays off."""
    archive, paths = loaded([arguments.path])
    asked, file = one_batch(archive, paths, "treat")
    batch = assess(archive, asked) if asked is not None else None
    if batch is None:
        say_unread(archive, file)
        return 1
    wish = {ion: getattr(arguments, ion) for ion in IONS if getattr(arguments, ion) is not None}
    if not wish and arguments.mash_ph is None and not nominal(to_remove(batch.case)):
        raise Misuse("say what is wanted, e.g. --calcium 100 --sulfate 150 --mash-ph 5.4")
    advice = advise(batch, wish, arguments.mash_ph, arguments.where)
    treated = ("mash", "sparge") if arguments.where == "both" else ("mash",)
    print(as_text(batch, advice, treated, arguments.mash_ph is not None), end="")
    return say_in_part(archive.findings)
