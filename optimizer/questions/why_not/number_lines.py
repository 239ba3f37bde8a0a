"""Why there is no line-up, as number lines: a limit, where it would have to be, and the gap."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from optimizer.lineup.result import LineupResult
from optimizer.paper.document import Pictures, panels
from optimizer.paper.pictures.picture import BOLD, GREY, Picture, cut, text
from optimizer.questions.line_up.frame import titled
from optimizer.questions.why_not.diagnosis import Diagnosis
from optimizer.questions.why_not.gaps import Gap, Group, groups

WIDE: Final = 410.0
MIDDLE, REACH, END = 205.0, 150.0, 20.0
"""px: a picture's width; to what is asked; the longest gap to either side; the line beyond it."""
HEAD, TALL, LINE = 42.0, 70.0, 15.0
"""px: the heights of the group's name, a row and a line of text."""
LETTERS: Final = 54
"""Letters of a row's name; longer names are cut."""


def number_lines(result: LineupResult, diagnosis: Diagnosis | None) -> Pictures | None:
    """Return the number lines of a result; None where there is nothing to draw."""
    each = tuple(_picture(group) for group in groups(result, diagnosis) if group.gaps)
    if not each:
        return None
    title = f"{titled(result.scenario)}: what is short, by how much"
    unknown = "No line-up was found, and none was proven impossible. "
    caption = (
        (unknown if result.status == "undecided" else "")
        + "The bar is the gap between what is asked (the tick) and what would have to be, or what "
        "the nearest ball has (the diamond). Its length is in tolerances, on one scale under each "
        "heading; without a declared tolerance it is outlined. An arrow without a diamond: no "
        "place was found on the line that would do."
    )
    return panels("short-by", title, each, caption, across=3)


def _picture(group: Group) -> Picture:
    gaps = group.gaps
    body = [text(8, 22, group.heading, f"font-size='15' {BOLD}"), "<g font-size='12'>"]
    longest = max(abs(gap.tolerances or 0.0) for gap in gaps)
    y = HEAD
    for gap in gaps:
        share = 0.5 if gap.tolerances is None else abs(gap.tolerances) / longest
        body += _row(gap, y, share, [gap.name for gap in gaps])
        y += _tall(gap)
    if group.more:
        body.append(text(8, y + 10, group.more, GREY))
        y += LINE
    about = "; ".join(filter(None, (*(gap.sentence for gap in gaps), group.more)))
    name = f"short-by-{group.name}"
    return Picture(name, group.heading, f"{about}.", WIDE, y + 6, (*body, "</g>"))


def _tall(gap: Gap) -> float:
    """Return the height of a row, px: without an end it needs no words."""
    return TALL if gap.end is not None else TALL - LINE


def _row(gap: Gap, y: float, share: float, names: Sequence[str]) -> Iterator[str]:
    """Yield a line and its gap, `share` of the longest."""
    level, left, right = y + _tall(gap) - 32, MIDDLE - REACH - END, MIDDLE + REACH + END
    yield text(8, y + 10, cut(gap.name, LETTERS, names))
    yield f"<path d='M {left},{level} H {right}' {AXIS}/>"
    if gap.end is None:
        yield from _endless(gap, level)
    else:
        yield text(8, y + 25, gap.words, BOLD)
        yield from _closed(gap, gap.end, level, share)
    yield f"<path class='asked' d='M {MIDDLE},{level - 8:.1f} v 16' {TICK}/>"
    if gap.joined:
        yield f"<path class='joined' d='M {right + 4},{level} h 12 v {TALL} h -12' {EDGE}/>"


def _closed(gap: Gap, end: tuple[str, str], level: float, share: float) -> Iterator[str]:
    x = MIDDLE + gap.way * share * REACH
    a, b = sorted((MIDDLE, x))
    bar = f"x='{a:.1f}' y='{level - 5:.1f}' width='{b - a:.1f}' height='10'"
    yield f"<rect class='gap' {bar} {EDGE if gap.tolerances is None else SHADE}/>"
    yield f"<path class='to' d='M {x:.1f},{level - 6:.1f} l 6,6 l -6,6 l -6,-6 Z' {OPEN}/>"
    first, second = ("end", "start") if gap.way > 0 else ("start", "end")
    at = min(max(x - 5 * gap.way, MIDDLE - 90), MIDDLE + 90)
    if share <= 0.2:
        at = MIDDLE + 12 * gap.way
    below = level + 20
    yield text(MIDDLE + 5 * gap.way, below, " ".join(gap.asked), f"text-anchor='{first}'")
    yield text(at, below, " ".join(end), f"text-anchor='{second}'")


def _endless(gap: Gap, level: float) -> Iterator[str]:
    """Yield arrows off the line, in the directions that a number may move."""
    for way in (1, -1) if gap.way == 0 else (gap.way,):
        tip = MIDDLE + way * (REACH + END)
        head = (
            f"M {tip - 6 * way},{level - 5:.1f} L {tip},{level} L {tip - 6 * way},{level + 5:.1f}"
        )
        yield f"<path class='endless' d='M {MIDDLE},{level} H {tip} {head}' {DASHED}/>"
    yield text(MIDDLE, level + 20, " ".join(gap.asked), "text-anchor='middle'")


AXIS: Final = "stroke='currentColor' stroke-opacity='.4'"
SHADE: Final = "fill-opacity='.2'"
EDGE: Final = "fill='none' stroke='currentColor'"
DASHED: Final = f"{EDGE} stroke-width='1.6' stroke-dasharray='6 4'"
TICK: Final = "stroke='currentColor' stroke-width='2.5'"
OPEN: Final = "fill='white' stroke='currentColor' stroke-width='1.6'"
