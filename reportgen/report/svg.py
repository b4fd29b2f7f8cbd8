"""A small drawing of lines, bands, marks and words, written as SVG; the same bytes each time.

Lengths are points. The drawings read without colour: what differs, differs in shape, line or
words; blue only repeats it. A plotting library would take longer to load than all else, and its
bytes change with its version.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from markupsafe import Markup, escape
from msgspec import Struct, field

from reportgen.report.fonts import FAMILY

INK, SOFT, PALE, BLUE = "#141414", "#4d4d4d", "#e2e2e2", "#0072b2"
WIDTH = 496.0
"""Width of the live area: 175 mm."""

SIZE = 9.0
"""Size of type in a drawing."""

Point = tuple[float, float]


def nice_ticks(low: float, high: float, wanted: int = 5) -> list[float]:
    """Return round numbers that cover a range, about as many as wanted.

    The first is at or below ``low``, the last at or above ``high``.
    """
    if not high - low > 1e-9 * max(abs(low), abs(high)):
        # Alike but for the last bits of a mean: as if they were the same.
        high = low + 1.0
    raw = (high - low) / max(wanted, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(m * power for m in (1.0, 2.0, 2.5, 5.0, 10.0) if m * power >= raw * 0.999)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [round(step * n, 10) for n in range(first, last + 1)]


class Scale(Struct, frozen=True):
    """A straight scale: the value ``low`` falls on ``start``, ``high`` on ``end``."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        """Return where a value falls, in points."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


class Drawing(Struct):
    """An SVG in the making. ``alternative`` is what it says, for those who cannot see it."""

    height: float
    alternative: str
    width: float = WIDTH
    parts: list[str] = field(default_factory=list)

    def line(
        self, points: Sequence[Point], colour: str = INK, width: float = 0.5, dash: str = ""
    ) -> None:
        """Draw a line through points."""
        path = " ".join(f"{'M' if n == 0 else 'L'}{_n(x)} {_n(y)}" for n, (x, y) in
                        enumerate(points))
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self.parts.append(
            f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="{_n(width)}"{dashed}/>'
        )

    def area(self, points: Sequence[Point]) -> None:
        """Fill the area that points enclose."""
        path = " ".join(f"{'M' if n == 0 else 'L'}{_n(x)} {_n(y)}" for n, (x, y) in
                        enumerate(points))
        self.parts.append(f'<path d="{path} Z" fill="{PALE}"/>')

    def dot(self, x: float, y: float, filled: bool = True, radius: float = 2.6) -> None:
        """Draw a round mark, full or hollow."""
        fill = BLUE if filled else "#ffffff"
        self.parts.append(
            f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius)}" fill="{fill}" '
            f'stroke="{BLUE if filled else INK}" stroke-width="1"/>'
        )

    def square(self, x: float, y: float, filled: bool = True, size: float = 5.2) -> None:
        """Draw a square mark, full or hollow."""
        self.parts.append(
            f'<rect x="{_n(x - size / 2)}" y="{_n(y - size / 2)}" width="{_n(size)}" '
            f'height="{_n(size)}" fill="{BLUE if filled else "#ffffff"}" '
            f'stroke="{BLUE if filled else INK}" stroke-width="1"/>'
        )

    def words(self, x: float, y: float, text: str, anchor: str = "start", bold: bool = False,
              colour: str = INK) -> None:
        """Write words with their base line at ``y``; ``anchor`` is start, middle or end."""
        weight = ' font-weight="700"' if bold else ""
        self.parts.append(
            f'<text x="{_n(x)}" y="{_n(y)}" font-family="{FAMILY}" font-size="{_n(SIZE)}"'
            f' text-anchor="{anchor}" fill="{colour}"{weight}>{escape(text)}</text>'
        )

    def svg(self) -> Markup:
        """Return the drawing as an SVG element."""
        return Markup(
            f'<svg xmlns="http://www.w3.org/2000/svg" class="chart" role="img" '
            f'viewBox="0 0 {_n(self.width)} {_n(self.height)}" '
            f'width="{_n(self.width)}pt" height="{_n(self.height)}pt">'
            f"<title>{escape(self.alternative)}</title>{''.join(self.parts)}</svg>"
        )
