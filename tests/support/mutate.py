"""Sound files with a few random changes, as a slip of the hand or a bad copy would make them."""

from __future__ import annotations

import re

from hypothesis import strategies as st

VALUES = (
    "", "0", "-1", "1", "1e9", "1e-9", "1e400", "9" * 400, "NaN", ".inf", "~", "null", "true",
    "NOT RECORDED", "not done because rain", "not done", "0 L", "1 L", "1e8 L", "0 kg", "999 kg",
    "0 C", "-20 C", "105 C", "152 F", "0 min", "9999 h", "0 %", "100 %", "500 %", "0.5", "2.0",
    "1.000", "1.2", "0.98", "1.9", "0 P", "40 P", "60 Bx", "0 Bx", "14", "0 mg/L", "90000 mg/L",
    "0 bar", "60 bar", "9 vol", "0 vol", "2026-02-30", "1900-01-01", "2199-12-31", "24:00", "00:00",
    "2026-03-14 09:20", "[]", "{}", "[1, 2]", "{a: 1}", "{read: 1.040}", "{read: }", "&a b", "*a",
    "!!python/object:os.system x", "|", ">", "'", '"', "{", "]", "#", "- a", "a: b", "2026-03",
    "pale", "\u202e", "\u00e9", "\U0001f37a", "\t", "{{ 7 * 7 }}", "<script>", "../../etc/passwd",
)  # fmt: skip
"""What a scalar may become: edges of ranges, wrong shapes, syntax, hostile text."""

HOW = ("value",) * 6 + ("drop", "twice", "swap", "indent", "cut", "put")

_SCALAR = re.compile(r"(?<=: )[^,{}\[\]#\n]+|(?<=- )[^,{}\[\]#:\n]+")


@st.composite
def mutated(draw: st.DrawFn, text: str, most: int = 4) -> str:
    """Return the text with one to ``most`` changes."""
    for _ in range(draw(st.integers(1, most))):
        how = draw(st.sampled_from(HOW))
        lines = text.split("\n")
        at = draw(st.integers(0, len(lines) - 1))
        if how == "value":
            spots = list(_SCALAR.finditer(text))
            if spots:
                spot = spots[draw(st.integers(0, len(spots) - 1))]
                value = draw(st.sampled_from(VALUES))
                text = text[: spot.start()] + value + text[spot.end() :]
            continue
        if how == "drop":
            del lines[at]
        elif how == "twice":
            lines.insert(at, lines[at])
        elif how == "swap":
            other = draw(st.integers(0, len(lines) - 1))
            lines[at], lines[other] = lines[other], lines[at]
        elif how == "indent":
            lines[at] = draw(st.sampled_from(("  ", " ", "\t", ""))) + lines[at].lstrip()
        elif how == "cut":
            column = draw(st.integers(0, len(lines[at])))
            lines[at] = lines[at][:column]
        else:
            column = draw(st.integers(0, len(lines[at])))
            piece = draw(st.text(max_size=3))
            lines[at] = lines[at][:column] + piece + lines[at][column:]
        text = "\n".join(lines) or "\n"
    return text
