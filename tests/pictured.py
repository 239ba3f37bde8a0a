"""Pictures as a reader of SVG sees them."""

from __future__ import annotations

from xml.etree import ElementTree as ET

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
