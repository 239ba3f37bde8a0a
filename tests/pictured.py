"""Pictures as a reader of SVG sees them."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import numpy as np

from optimizer.report.pictures.picture import Picture

SVG = "{http://www.w3.org/2000/svg}"
LETTER = 0.56
"""Width of a letter on the average of a line, em."""

Box = tuple[str, float, float, float, float]


def boxes(picture: Picture) -> list[Box]:
    """Each text with its estimated box: left, top, right, bottom."""
    found = list[Box]()

    def walk(node: ET.Element, size: float, dx: float, dy: float) -> None:
        size = float(node.get("font-size", size))
        if node.get("transform", "").startswith("translate("):
            x, y = map(float, node.get("transform")[10:-1].split())
            dx, dy = dx + x, dy + y
        if node.tag == f"{SVG}text" and not node.get("transform"):
            words = "".join(node.itertext())
            wide = LETTER * size * len(words)
            x, y = float(node.get("x")) + dx, float(node.get("y")) + dy
            x -= {"end": wide, "middle": wide / 2}.get(node.get("text-anchor", ""), 0.0)
            found.append((words, x, y - 0.75 * size, x + wide, y + 0.2 * size))
        for child in node:
            walk(child, size, dx, dy)

    walk(ET.fromstring(picture.file()), 14.0, 0.0, 0.0)  # noqa: S314 - our own
    return found


def assert_apart(picture: Picture) -> None:
    """Assert that no words of a picture collide, or leave it."""
    found = boxes(picture)
    for k, (one, left, top, right, bottom) in enumerate(found):
        assert left >= -1, one
        assert right <= picture.width + 1, one
        assert bottom <= picture.height + 1, one
        for other, a, b, c, d in found[k + 1 :]:
            clear = left >= c or a >= right or top >= d or b >= bottom
            assert clear or one == other == "", (picture.name, one, other)


def outline(data: str, steps: int = 400) -> list[np.ndarray]:
    """The closed lines of a path of M, L, A and Z, each as points (n, 2); arcs are followed."""
    found, points = list[np.ndarray](), list[np.ndarray]()
    for letter, rest in re.findall(r"([MLAZ])([^MLAZ]*)", data):
        numbers = [float(one) for one in re.findall(r"-?[\d.]+", rest)]
        if letter == "Z":
            found.append(np.array(points))
        elif letter == "M":
            points = [np.array(numbers)]
        elif letter == "L":
            points.append(np.array(numbers))
        else:
            points += list(_arc(points[-1], numbers, steps))
    return found


def _arc(start: np.ndarray, numbers: list[float], steps: int) -> np.ndarray:
    """Points along an elliptical arc, after the start: SVG 1.1, appendix F.6.5."""
    rx, ry, turn, large, sweep, *end = numbers
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    R = np.array([[c, s], [-s, c]])
    half = R @ (start - end) / 2
    over = np.sqrt(max(1.0, np.sum((half / (rx, ry)) ** 2)))
    r = np.array([rx, ry]) * over
    unit = half / r
    length = np.sqrt(max(1.0 / np.sum(unit**2) - 1.0, 0.0))
    sign = -1.0 if large == sweep else 1.0
    centre = sign * length * np.array([unit[1], -unit[0]])
    first, last = (np.arctan2(*(v - centre)[::-1]) for v in (unit, -unit))
    if sweep and last <= first:
        last += 2 * np.pi
    if not sweep and last >= first:
        last -= 2 * np.pi
    t = np.linspace(first, last, steps + 1)[1:]
    round_ = np.column_stack([np.cos(t), np.sin(t)]) + centre
    return (round_ * r) @ R + (start + end) / 2


def area(points: np.ndarray) -> float:
    """The area within a closed line (n, 2), by the shoelace formula."""
    x, y = points.T
    return abs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))) / 2
