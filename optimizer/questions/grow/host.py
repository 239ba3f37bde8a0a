"""A part as a host: the parts that its shape, and what lies in it, leave room for.

What an outline, a mesh or several solids enclose is drawn again on another scale, about its own
middle: its lengths can't be free.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from geometry.parts import SEVERAL, Part
from geometry.walls.thinnest import wall
from optimizer.questions.grow.form import Drawing, Form, Free, Length
from optimizer.questions.grow.space import SIDES, Space
from optimizer.scenario.source.content import Content

GROWTH: Final[Mapping[str, Mapping[str, float]]] = {
    "sphere": {"diameter": 2.0},
    "spheroid": {"diameter": 2.0, "height": 2.0},
    "ellipsoid": {"diameters": 2.0},
    "cylinder": {"diameter": 2.0, "height": 2.0},
    "cone": {"bottom": 2.0, "top": 2.0, "height": 2.0},
    "capsule": {"diameter": 2.0, "height": 2.0},
    "dome": {"sphere": 2.0, "height": 2.0},
    "ring": {"diameter": 0.0, "thickness": 2.0},
    "box": {"size": 2.0},
}
"""How much each length of a shape grows as its surface moves outward by one, about."""
SHARES: Final = (0.5, 0.3, 0.7)
"""Of the room there is: the sizes that are tried, until one fits."""
SCALES: Final = (0.75, 0.5, 0.25)
"""Of the room there is: how far a copy is from its host, whose lengths can't be free."""
BULGES: Final = (1.02, 1.1, 1.2, 1.42)
"""How much larger than the box of parts a spheroid around them is, the last around any of them."""
LEAST: Final = 0.1
"""Of the host's size: how small a length may become."""
THIN: Final = 0.2
"""cm. Where walls leave less, nothing is cast; no ring or cap is thinner."""

Options = Iterator[Form]
"""One kind of part, in the places and sizes that are tried, the first choice first."""


class Host:
    """A part that may host another one, what lies in it, and the texts of all parts.

    `triaxial`: the balls need not be alike about x and y.
    """

    def __init__(
        self,
        host: Part,
        inside: Sequence[Part],
        texts: Mapping[str, Content],
        least: float,
        *,
        triaxial: bool,
    ) -> None:
        self.host, self.inside, self.texts, self.triaxial = host, inside, texts, triaxial
        self.least, self.space = least, Space(host, inside)

    def options(self) -> Iterator[Options]:
        """Yield the kinds of part that may be in this host."""
        ring = _kind(self.host) == "ring"
        if not self.inside:
            yield from self._resized(self.host, "heart", frozenset())
            yield from () if ring else self._hearts()
        else:
            every = frozenset(part.name for part in self.inside)
            yield from self._resized(self.host, "shell", every)
            for part in self.inside:
                alone = len(self.inside) == 1 and _kind(part) == _kind(self.host)
                if not part.through and not alone:
                    yield from self._resized(part, "jacket", frozenset({part.name}))
                if not part.through and _kind(part) not in ("ring", "spheroid"):
                    yield self._around([part])
            if len(self.inside) > 1:
                yield self._around(self.inside)
        if not ring:
            yield self._rings()
            for way, what in ((1.0, "top cap"), (-1.0, "bottom cap")):
                yield from self._caps(way, what)

    def _resized(self, of: Part, what: str, adopted: frozenset[str]) -> Iterator[Options]:
        """Yield a host drawn smaller, or a part in it drawn larger."""
        room, way = self._gap(of), -1.0 if of is self.host else 1.0
        if room <= (2 * self.least if adopted else self.least) + THIN:
            return
        if _kind(of) in GROWTH:
            sizes = (way * share * room for share in SHARES)
            yield (self._redrawn(of, what, adopted, by, room) for by in sizes)
            return
        for share in SCALES:
            yield iter([self._copy(of, what, adopted, way * share * room, room)])

    def _gap(self, of: Part) -> float:
        """Return how far the surface of the host can move inward, or that of a part in it out."""
        if of is self.host:
            gaps = [wall(part, of, nested=True).thickness for part in self.inside]
            return min(gaps, default=_half(of))
        others = (wall(of, part, nested=False) for part in self.inside if part is not of)
        return min(gap.thickness for gap in (wall(of, self.host, nested=True), *others))

    def _redrawn(
        self, of: Part, what: str, adopted: frozenset[str], out: float, room: float
    ) -> Form:
        """Return a part's shape, its surface moved `out` by so much."""
        far, (x, y, z) = self.space.tall / 2, of.placement.at

        def resized(value: float, by: float) -> Length:
            if not value:  # the tip of a cone
                return value
            if not by:
                return Free(0.7 * value, value, 1.3 * value)
            low, high = (value, value + by * far) if out > 0 else (LEAST * value, value)
            return Free(low, value + by * out, high)

        lengths = dict(of.shape)
        drawing = {
            key: tuple(resized(one, by) for one in lengths[key])
            if isinstance(lengths[key], tuple)
            else resized(lengths[key], by)
            for key, by in GROWTH[_kind(of)].items()
        }
        wide = room if adopted else far
        z -= out / 2 if _kind(of) == "dome" else 0.0
        return replace(
            self._form(of, what, adopted), drawing=drawing, at=(x, y, Free(z - wide, z, z + wide))
        )

    def _form(self, of: Part, what: str, adopted: frozenset[str]) -> Form:
        """Return a form placed like a part."""
        place = of.placement
        return Form(
            what,
            self.host.name,
            _kind(of),
            {},
            place.at,
            place.rotate,
            place.stretch,
            adopted,
        )

    def _copy(self, of: Part, what: str, adopted: frozenset[str], by: float, room: float) -> Form:
        """Return a copy of a part, its surface `by` so much farther out where it is nearest."""
        J = of.shape.moments().J
        middle = J[:3, 3] / J[3, 3]
        ends = (of.support_points(SIDES) - (of.matrix @ [*middle, 1.0])[:3]) * SIDES
        scale = 1.0 + by / float(np.min(ends.sum(axis=1)))
        at = of.placement.at + of.matrix[:3, :3] @ middle * (1.0 - scale)
        form, (x, y, z) = self._form(of, what, adopted), at.tolist()
        a, b, c = of.placement.stretch
        text = self.texts[of.name]
        return replace(
            form,
            at=(x, y, Free(z - room, z, z + room)),
            stretch=(a * scale, b * scale, c * scale),
            like=of.shape,
            copied={key: text[key] for key in ("shape", *SEVERAL) if key in text},
        )

    def _hearts(self) -> Iterator[Options]:
        """Yield upright solids in the middle of a host with nothing in it."""
        kinds = ["spheroid", "cylinder", "capsule", *["ellipsoid"] * self.triaxial]
        place = self.host.placement
        upright = not any(place.rotate) and place.stretch == (1.0, 1.0, 1.0)
        for kind in kinds:
            if not (upright and kind == _kind(self.host)):
                yield self._upright(kind)

    def _upright(self, kind: str) -> Options:
        for share in SHARES:
            across = self._free(2 * self.space.radius, share)
            along = self._free(self.space.tall, share)
            if kind == "ellipsoid":
                narrower = replace(across, start=0.8 * across.start)
                drawing: Drawing = {"diameters": (across, narrower, along)}
            else:
                drawing = {"diameter": across, "height": along}
            yield self._lone("heart", kind, drawing, self.space.middle)

    def _free(self, size: float, share: float) -> Free:
        return Free(LEAST * size, share * size, size)

    def _lone(self, what: str, kind: str, drawing: Drawing, z: float, way: float = 1.0) -> Form:
        """Return a form on the host's own axis that may move along it."""
        space = self.space
        at = (space.x, space.y, Free(space.bottom, z, space.top))
        turned = (0.0, 0.0, 0.0) if way > 0 else (180.0, 0.0, 0.0)
        return Form(what, self.host.name, kind, drawing, at, turned)

    def _around(self, adopted: Sequence[Part]) -> Options:
        """Yield upright spheroids around parts of the host."""
        space = self.space
        ends = np.vstack([part.support_points(SIDES) for part in adopted])
        x, y, low = ends.min(axis=0)
        u, v, high = ends.max(axis=0)
        wide = 2.0 * max(u - space.x, space.x - x, v - space.y, space.y - y)
        for bulge in BULGES:
            across, along = bulge * wide + 3 * self.least, bulge * (high - low) + 3 * self.least
            drawing = {
                "diameter": Free(wide, across, 2 * space.radius),
                "height": Free(high - low, along, space.tall),
            }
            form = self._lone("jacket", "spheroid", drawing, (low + high) / 2)
            yield replace(form, adopted=frozenset(part.name for part in adopted))

    def _rings(self) -> Options:
        place, size = self.space.ring(self.least), self.space.radius
        if place.clear > THIN:
            drawing = {
                "diameter": Free(LEAST * size, 2 * place.r, 2 * size),
                "thickness": Free(THIN, 1.5 * place.clear, size),
            }
            yield self._lone("ring", "ring", drawing, place.z)

    def _caps(self, way: float, what: str) -> Iterator[Options]:
        """Yield a dome and a disc that fit in a ball, toward an end of the host."""
        place, size = self.space.cap(way, self.least), 2 * self.space.radius
        if place.clear <= THIN:
            return
        high = Free(THIN, place.clear, self.space.tall)
        dome = {"sphere": Free(LEAST * size, 1.6 * place.clear, 2 * size), "height": high}
        face = place.z - way * place.clear / 2
        yield iter([self._lone(what, "dome", dome, face, way)])
        disc = {"diameter": Free(LEAST * size, 1.6 * place.clear, size), "height": high}
        yield iter([self._lone(what, "cylinder", disc, place.z)] if self.inside else [])


def _half(of: Part) -> float:
    """Return how far a part's surface can move inward, about."""
    lengths, growth = dict(of.shape), GROWTH.get(_kind(of))
    if growth is None:
        return float(np.min(np.ptp(of.support_points(SIDES), axis=0))) / 2
    grown = (np.min(lengths[key]) / by for key, by in growth.items() if by and lengths[key])
    return float(min(grown))


def _kind(part: Part) -> str:
    return str(dict(part.shape)["kind"])
