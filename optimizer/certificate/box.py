"""Boxes: sets of line-ups with figures in ranges."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from optimizer.certificate.curves import Line
from optimizer.certificate.forms import ZERO, Range
from optimizer.certificate.question import Question
from optimizer.certificate.turned import Frame, Turned, dot


@dataclass(frozen=True)
class Box:
    """Line-ups with figures in ranges.

    Of each class the range of c, the CG along the pin, cm, and x, y and z in the order of their RGs
    (None: any); the ranges of the shared figures, cm, and of the densities. The shared differential
    is at most the line `below` over the low RG (slope, constant), and at least the line `above`.
    Where axes turn, orders are of the places: low, intermediate, high; `turned` has the rest.
    """

    c: tuple[Range, ...]
    orders: tuple[tuple[int, int, int] | None, ...]
    figures: tuple[Range, Range, Range]
    densities: tuple[Range, ...]
    below: Line | None = None
    above: Line | None = None
    turned: Turned | None = None

    @classmethod
    def whole(cls, question: Question) -> Box:
        """Return the box of every line-up: no CG is outside the ball, as no density is negative."""
        most, count = question.offset[1], len(question.balls)
        reach = [ball.radius if most is None else most for ball in question.balls]
        c = tuple((-end, end) for end in reach)
        return cls(c, (None,) * count, question.figures, question.densities)

    def with_frames(self, question: Question, frames: tuple[Frame, ...]) -> Box:
        """Return the same line-ups, of any orders of axes, which may turn.

        A product of inertia of two of a frame's vectors, of length |e|, is at most |e|²/2 times the
        greatest inertia less the least one.
        """
        off, asked = question.off, self.figures
        low, high = (max(ZERO, asked[0][0] - off[0]), asked[0][1] + off[0])
        widest = (high + asked[1][1] + off[1]) ** 2 - low**2
        products = [widest / 2 * dot(frame[0], frame[0]) for frame in frames for _ in range(3)]
        places = tuple(ends for ends in Box.whole(question).c for _ in range(3))
        cones = (None,) * (2 * len(frames))
        turned = Turned(frames, places, cones, tuple((-most, most) for most in products))
        return replace(self, orders=((0, 1, 2),) * len(frames), turned=turned)

    @property
    def void(self) -> bool:
        """Whether a range of it holds nothing."""
        more = () if self.turned is None else (*self.turned.places, *self.turned.products)
        ranges = (*self.figures, *self.c, *self.densities, *more)
        return any(low > high for low, high in ranges)

    @property
    def shared(self) -> tuple[Range, Range, Range]:
        """The ranges of the low, intermediate and high RG that the line shares, cm."""
        (low, high), (near, far), (least, most) = self.figures
        middle = max(ZERO, low + near - most), max(ZERO, high + far - least)
        return (low, high), middle, (low + near, high + far)

    def with_c(self, k: int, ends: Range) -> Box:
        """Return the line-ups with c of class `k` within `ends`."""
        return replace(self, c=_set(self.c, k, ends))

    def with_order(self, k: int, order: tuple[int, int, int]) -> Box:
        """Return the line-ups of which class `k` has this order of x, y and z by RG."""
        return replace(self, orders=_set(self.orders, k, order))

    def with_figure(self, i: int, ends: Range) -> Box:
        """Return the line-ups whose figure `i` is within `ends`."""
        return replace(self, figures=_set(self.figures, i, ends))

    def with_line(self, line: Line, *, below: bool) -> Box:
        """Return the line-ups whose differential is at most a line, or at least."""
        (low, high), (near, far), inner = self.figures
        ends = [line[0] * rg + line[1] for rg in (low, high)]
        apart = (near, min(far, max(ends))) if below else (max(near, min(ends)), far)
        figures = (low, high), apart, inner
        if below:
            return replace(self, figures=figures, below=line)
        return replace(self, figures=figures, above=line)

    def with_density(self, j: int, ends: Range) -> Box:
        """Return the line-ups whose density `j` is within `ends`."""
        return replace(self, densities=_set(self.densities, j, ends))


def _set(values: tuple[Any, ...], at: int, value: object) -> Any:
    return (*values[:at], value, *values[at + 1 :])
