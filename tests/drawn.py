"""What a picture shows, read from its file alone: paths flattened, and where its words stand.

Arcs by the standard's own conversion (SVG 1.1, appendix F.6.5), which the pictures don't use.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from itertools import combinations

import numpy as np

from optimizer.paper.pictures.picture import Picture

SVG = "{http://www.w3.org/2000/svg}"
LETTER = 0.6
"""Width of a letter of a word or two at the most, in sizes of the type."""
LONG = 0.56
"""The same of a line of more than 16 letters, where wide and narrow ones make up for each other."""


def read(picture: Picture) -> ET.Element:
    return ET.fromstring(picture.file())  # noqa: S314 - our own


def loops(data: str, pieces: int = 500) -> list[np.ndarray]:
    """The closed lines of a path's data, as points."""
    found, points, here = [], [], np.zeros(2)
    for letter, numbers in re.findall(r"([MLAZ])([^MLAZ]*)", data):
        n = [float(v) for v in re.findall(r"-?[\d.]+(?:e-?\d+)?", numbers)]
        if letter == "Z":
            found.append(np.array(points))
            points = []
            continue
        to = np.array(n[-2:])
        if letter == "A":
            points += list(arc(here, to, n, pieces))
        else:
            points.append(to)
        here = to
    return found


def arc(a: np.ndarray, b: np.ndarray, numbers: list[float], pieces: int) -> np.ndarray:
    rx, ry, tilt, large, sweep = numbers[:5]
    c, s = np.cos(np.radians(tilt)), np.sin(np.radians(tilt))
    turn = np.array([[c, s], [-s, c]])
    x, y = turn @ (a - b) / 2
    grow = np.sqrt(max((x / rx) ** 2 + (y / ry) ** 2, 1.0))
    rx, ry = rx * grow, ry * grow
    rest = (rx * ry) ** 2 / ((rx * y) ** 2 + (ry * x) ** 2) - 1
    factor = np.sqrt(max(rest, 0.0)) * (1 if large != sweep else -1)
    middle = factor * np.array([rx * y / ry, -ry * x / rx])
    start, end = (
        np.arctan2((q[1] - middle[1]) / ry, (q[0] - middle[0]) / rx)
        for q in (np.array([x, y]), np.array([-x, -y]))
    )
    way = (end - start) % (2 * np.pi) if sweep else -((start - end) % (2 * np.pi))
    angles = start + way * np.arange(1, pieces + 1) / pieces
    local = np.stack([rx * np.cos(angles), ry * np.sin(angles)], axis=1) + middle
    return local @ turn + (a + b) / 2


def area(points: np.ndarray) -> float:
    x, y = points.T
    return abs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))) / 2


def holds(data: str, point: np.ndarray) -> bool:
    """Whether a point is inside of a path, even-odd."""
    inside = False
    for points in loops(data, 60):
        (x, y), (u, v) = points.T, np.roll(points, -1, axis=0).T
        over = (y > point[1]) != (v > point[1])
        with np.errstate(divide="ignore", invalid="ignore"):
            beyond = point[0] < x + (point[1] - y) / (v - y) * (u - x)
        inside ^= bool(np.sum(over & beyond) % 2)
    return inside


def boxes(root: ET.Element) -> list[tuple[str, float, float, float, float]]:
    """Every line of upright words with its box: left, top, right, bottom."""
    found = []

    def walk(one: ET.Element, size: float, anchor: str, at: np.ndarray) -> None:
        size, anchor = float(one.get("font-size", size)), one.get("text-anchor", anchor)
        moved = re.fullmatch(r"translate\(([-\d.]+) ([-\d.]+)\)", one.get("transform", ""))
        if moved:
            at = at + np.array(moved.groups(), dtype=float)
        line = "".join(one.itertext())
        if one.tag == f"{SVG}text" and line and (moved or "transform" not in one.attrib):
            x, y = at + np.array([float(one.get("x")), float(one.get("y"))])
            wide = (LETTER if len(line) <= 16 else LONG) * size * len(line)
            left = x - wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]
            found.append((line, left, y - 0.75 * size, left + wide, y + 0.22 * size))
        for inner in one:
            walk(inner, size, anchor, at)

    walk(root, 14.0, "start", np.zeros(2))
    return found


def collisions(picture: Picture) -> list[str]:
    """Words that stand on one another, or that stick out of the picture."""
    some = boxes(read(picture))
    assert some
    out = [
        f"{words} sticks out"
        for words, left, top, right, bottom in some
        if left < 0 or top < 0 or right > picture.width or bottom > picture.height
    ]
    return out + [
        f"{a[0]} on {b[0]}"
        for a, b in combinations(some, 2)
        if min(a[3], b[3]) > max(a[1], b[1]) and min(a[4], b[4]) > max(a[2], b[2])
    ]


def words(picture: Picture) -> list[str]:
    return [one[0] for one in boxes(read(picture))]
