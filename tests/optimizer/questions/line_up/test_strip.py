"""Balls in section: the model's own geometry, dots in their own parts, and the measured figures."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from itertools import combinations

import numpy as np
import pytest
from drawn import SVG, area, collisions, holds, loops, read, words
from lines import PARTS, line_text
from scenes import part, revolved

from geometry.shapes import SHAPES
from geometry.shapes.capsule import Capsule
from geometry.shapes.cone import Cone
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere
from geometry.shapes.spheroid import Spheroid
from optimizer.lineup.result import LineupResult
from optimizer.paper.pictures.leaders import joined
from optimizer.paper.pictures.picture import Picture
from optimizer.questions.line_up.balls.densities import Scale
from optimizer.questions.line_up.balls.section_path import Eye
from optimizer.questions.line_up.balls.strip import strip
from shared.units import INCH, POUND

EYE = Eye(15.0, 180.0, 190.0)
MIDDLES = {"shell": 1.17, "light": 0.95, "filled": 1.75, "dense": 2.2}
BEAD = """\
[[parts]]
name = "bead"
inside = "cover"
shape = { kind = "sphere", diameter = 0.5 }
at = [0.0, 3.2, 0.0]
material = "filled"
[limits]
"""


@pytest.fixture
def line(lineup: Callable[..., LineupResult]) -> Callable[..., LineupResult]:
    """A function that gives a line of so many parts and weights, densities about mid-range."""

    def build(parts: int, weights: int, *, metric: bool = False, **more: str) -> LineupResult:
        labels = [str(16 - k) for k in range(weights)]
        base = np.array([MIDDLES[row[5]] for row in PARTS[:parts]]) * (1000.0 if metric else 1.0)
        factor = 1000.0 if metric else 1.0
        densities = {
            label: tuple((base / factor + 0.01 * k + 0.001 * np.arange(parts)).tolist())
            for k, label in enumerate(labels)
        }
        return lineup(line_text(parts, weights, metric=metric), densities, **more)

    return build


def drawn_area(of: object) -> float:
    """cm² of a part's drawn path; its loops lie beside each other."""
    return sum(map(area, loops(EYE.path(of.section())))) / EYE.scale**2


WAVY = revolved([(0, -5), (4, -5, 0.3), (3, 0, -0.4), (4, 5), (0, 5)])


@pytest.mark.parametrize(
    ("of", "expected"),
    [
        (part(Sphere(diameter=6.0), (1, 1.5, -2)), np.pi * (9 - 2.25)),
        (part(Spheroid(diameter=4.0, height=7.0), (0, 0, 1)), np.pi * 7),
        (part(Spheroid(diameter=4.0, height=7.0), (1, 0, 1), (0, 35, 0)), np.pi * 7),
        (part(Sphere(diameter=4.0), stretch=(1.5, 0.7, 2.0)), np.pi * 4 * 3.0),
        (part(Capsule(diameter=3.0, height=8.0), rotate=(0, 77, 0)), 3 * 5 + np.pi * 2.25),
        (part(Capsule(diameter=3.0, height=8.0), rotate=(90, 0, 0)), np.pi * 2.25),
        (part(Capsule(diameter=3.0, height=8.0), stretch=(2, 1, 1)), 2 * (15 + np.pi * 2.25)),
        (part(Cone(bottom=6.0, top=2.0, height=5.0), rotate=(0, 180, 0)), 4.0 * 5.0),
        (part(Ring(diameter=9.0, thickness=1.2), (0, 0, 2)), 2 * np.pi * 0.36),
        (part(Ring(diameter=0.6, thickness=0.1)), 2 * np.pi * 0.0025),
    ],
)
def test_a_path_has_the_area_that_the_section_has(of, expected):
    """Closed forms: ellipses, a capsule's stadium, a trapezium, two circles; down to a mm."""
    assert drawn_area(of) == pytest.approx(expected, rel=1e-3)


@pytest.mark.turns(4)
@pytest.mark.parametrize(
    "of",
    [
        *(part(shape.example(), (0.2, 0.3, 0.1), (20, 30, 10)) for shape in SHAPES),
        part(WAVY, (0, 0, 0.4), stretch=(1.2, 1.2, 0.9)),
        part(WAVY, (0, 0, 0.4), (0, 200, 0), (1.3, 1.0, 0.8)),
    ],
    ids=lambda of: of.shape.kind,
)
def test_a_path_covers_what_lies_inside_of_the_surface(of):
    """By counting the points of a fine grid that lie in the solid; arcs bend both ways."""
    points = np.vstack(loops(EYE.path(of.section())))
    low, high = points.min(axis=0) - 1, points.max(axis=0) + 1
    x, y = (np.linspace(a, b, 801)[:-1] + (b - a) / 1600 for a, b in zip(low, high, strict=True))
    grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    flat = (grid - [EYE.x, EYE.y]) / [EYE.scale, -EYE.scale]
    inside = np.concatenate(
        [of.surface.inside(np.insert(some, 1, 0.0, axis=1)) for some in np.array_split(flat, 20)]
    )
    counted = np.mean(inside) * np.prod((high - low) / EYE.scale)
    assert drawn_area(of) == pytest.approx(counted, rel=1e-3)


def pieces(picture: Picture) -> dict[str, str]:
    """The data of every part's path by its id, in the order in which they are painted."""
    root = read(picture)
    paths = {one.get("id"): one.get("d") for one in root.iter(f"{SVG}path") if one.get("id")}
    used = dict.fromkeys(one.get("href")[1:] for one in root.iter(f"{SVG}use"))
    return {name: paths[name] for name in used}


def pointed(picture: Picture) -> list[tuple[np.ndarray, float]]:
    """Each dot, and the height at which its line ends."""
    root = read(picture)
    paths = [one for one in root.iter(f"{SVG}path") if one.get("class") == "leaders"]
    data = "".join(one.get("d") for one in paths)
    lines = [[float(v) for v in re.findall(r"[\d.]+", one)] for one in data.split("M")[1:]]
    dots = [
        np.array([float(one.get("cx")), float(one.get("cy"))]) for one in root.iter(f"{SVG}circle")
    ]
    assert np.array_equal(dots, [one[:2] for one in lines])
    return [(dot, one[3]) for dot, one in zip(dots, lines, strict=True)]


@pytest.mark.parametrize("parts", [3, 5, 8, 12])
def test_every_label_points_into_its_own_part(line, parts):
    """What is painted last at a dot is the part whose name stands where the dot's line ends."""
    result = line(parts, 2)
    for picture in strip(result).each[1:]:
        names = [one.name for one in result.weights[0].ball.map.parts]
        ends = pointed(picture)
        assert len(ends) == parts
        stands = {
            one.text: float(one.get("y")) for one in read(picture).iter(f"{SVG}text") if one.text
        }
        for dot, level in ends:
            top = [name for name, data in pieces(picture).items() if holds(data, dot)][-1]
            name = names[int(top.rsplit("-", 1)[1]) - 1]
            assert stands[name] == pytest.approx(level - 1, abs=0.11)


def test_lines_to_labels_do_not_cross(line):
    for places, side in (
        *(([dot for dot, _ in pointed(p)], 200.0) for p in strip(line(12, 1)).each[1:]),
        *((np.random.default_rng(k).uniform(0, 190, (12, 2)), 200.0) for k in range(20)),
    ):
        starts = np.array(places)
        heights = joined(starts, side, 15.0, (-20.0, 400.0))
        assert np.all(np.diff(np.sort(heights)) >= 15.0 - 1e-9)
        ends = np.column_stack([np.full(len(heights), side), heights])
        for i, j in combinations(range(len(starts)), 2):
            assert not crossing(starts[i], ends[i], starts[j], ends[j])


def crossing(a, b, c, d) -> bool:
    def side(p, q, r) -> float:
        return float(np.sign((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])))

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


@pytest.mark.parametrize("metric", [False, True])
@pytest.mark.parametrize("parts", [3, 5, 8, 12])
def test_words_do_not_stand_on_one_another(line, parts, metric):
    for status in ("feasible", "infeasible", "undecided"):
        block = strip(line(parts, 2, metric=metric, status=status))
        assert [words for one in block.each for words in collisions(one)] == []


def test_the_figures_are_the_measured_ones(line):
    """Worked out here from the balls, in the scenario's units, and each in the description, too."""
    result = line(6, 3)
    for weight, picture in zip(result.weights, strip(result).each[1:], strict=True):
        told, ball = words(picture), weight.ball
        for density in ball.densities.tolist():
            assert f"{density:.4f} g/cm³" in told
            assert f"{density:.4f} g/cm³" in picture.about
        figures = (
            f"{ball.properties.mass / POUND:.3f} lb",
            f"{ball.radii.low / INCH:.3f} in",
            f"{ball.radii.differential / INCH:.3f} in",
        )
        for figure in figures:
            assert figure in told
            assert figure in picture.about
        assert f"ball {2 * ball.map.radius / INCH:.3f} in across" in told
        assert not any(one.startswith("intermediate") for one in told)


def test_a_triaxial_ball_tells_its_intermediate_differential_and_is_cut_whole(lineup):
    result = lineup()
    block = strip(result)
    ball = result.weights[0].ball
    told = words(block.each[1])
    assert f"{ball.radii.intermediate_differential / INCH:.3f} in" in told
    assert "clipPath" not in block.each[1].file()
    assert "planes of x and z and of y and z" in block.caption
    assert {"x-z plane", "y-z plane"} <= set(told)


def test_a_scale_of_length_is_as_long_as_it_says(line):
    """In px of the ball that is drawn: its radius is 4.28 in."""
    block = strip(line(3, 1))
    key, ball = block.each
    length = float(re.search(r"h ([\d.]+) m 0,-4", key.file())[1])
    inches = float(next(w for w in words(key) if w.endswith(" in"))[:-3])
    outer = np.vstack(loops(next(iter(pieces(ball).values()))))
    assert length / inches == pytest.approx(np.ptp(outer[:, 1]) / 8.56, rel=1e-3)


def hatched(picture: Picture) -> dict[str, str]:
    """The hatching that lies on a part's path, by the path's id."""
    uses = read(picture).iter(f"{SVG}use")
    return {u.get("href")[1:]: u.get("fill") for u in uses if "url" in u.get("fill", "")}


def test_a_density_at_the_end_of_its_range_is_hatched_and_said(lineup, tilted):
    """15 lb: cover at 1.3, the most; 12 lb: block at 0.6, the least; else room both ways."""
    block = strip(lineup(tilted, {"15": (1.3, 1.4), "12": (1.15, 0.600004)}))
    key, first, second = block.each
    assert list(hatched(first)) == [f"line-up-1-{plane}-part-1" for plane in ("x-z", "y-z")]
    for plane in ("x-z", "y-z"):
        lines = f"url(#line-up-1-{plane}-most"
        assert hatched(first)[f"line-up-1-{plane}-part-1"].startswith(lines)
    assert list(hatched(second)) == [f"line-up-2-{plane}-part-2" for plane in ("x-z", "y-z")]
    assert "1.3000 g/cm³, at its maximum" in words(first)
    assert "1.4000 g/cm³" in words(first)
    assert "0.6000 g/cm³, at its minimum" in words(second)
    assert sum("of its range" in one for one in words(key)) == 2
    free = strip(lineup())
    assert not any(hatched(one) for one in free.each[1:])
    assert not any("of its range" in one for one in words(free.each[0]))


def test_a_density_over_its_most_is_not_said_to_be_at_it(lineup, tilted, metric):
    """1.35 of at most 1.3, and 0.5 of at least 0.6; by how much stands in the description."""
    for text in (tilted, metric):
        picture = strip(lineup(text, {"15": (1.35, 1.4), "12": (1.15, 0.5)}, "undecided")).each[1]
        amounts = ("1350.0 kg/m³", "50.0") if text is metric else ("1.3500 g/cm³", "0.0500")
        assert f"{amounts[0]}, over its maximum" in words(picture)
        assert f"{amounts[0]}, {amounts[1]} over its maximum" in picture.about
        assert collisions(picture) == []


def test_a_fixed_density_is_said_to_be(lineup, tilted):
    text = tilted.replace("density = [1.1, 1.3]", "density = 1.2")
    block = strip(lineup(text, {"15": (1.2, 1.4), "12": (1.2, 0.9)}))
    assert "1.2000 g/cm³, fixed" in words(block.each[1])


@pytest.mark.parametrize(
    ("place", "told"),
    [("0.0, 3.2", "bead"), ("2.2, 2.2", "bead (not cut by these planes): 1.1000 g/cm³")],
)
def test_a_part_is_labelled_where_it_is_cut_or_named(lineup, tilted, place, told):
    """A bead on the y axis is seen in the second section; one between the planes in neither."""
    text = tilted.replace("[limits]\n", BEAD.replace("0.0, 3.2", place))
    block = strip(lineup(text, {"15": (1.2, 1.4, 1.1), "12": (1.2, 1.4, 1.1)}))
    assert told in words(block.each[1])
    assert collisions(block.each[1]) == []
    assert len(pointed(block.each[1])) == (3 if told == "bead" else 2)


@pytest.mark.parametrize("status", ["infeasible", "undecided"])
def test_what_is_no_solution_is_said_to_be_none(line, status):
    block = strip(line(3, 2, status=status))
    for told in (block.caption, *(one.about for one in block.each)):
        assert "not a solution" in told
    assert all("not a solution" in " ".join(words(one)) for one in block.each)
    assert "not a solution" not in strip(line(3, 2)).whole.file()


def test_the_same_line_gives_the_same_bytes_and_ids_that_are_its_own(line):
    block, again = strip(line(8, 3)), strip(line(8, 3))
    assert block.whole.file() == again.whole.file()
    for one in block.each:
        ids: Sequence[str] = re.findall(r" id='([^']*)'", one.file())
        assert len(set(ids)) == len(ids)
        assert all(each.startswith(f"{one.name}-") for each in ids)


def test_several_line_ups_can_share_a_scale(line):
    """A density is painted alike on one scale, whichever line-up it is in."""
    wide = Scale(0.1, 4.0)
    first, second = strip(line(3, 1), wide, "a"), strip(line(5, 1), wide, "b")
    fills = [re.findall(r"fill='(#\w{6})'", one.each[1].file())[0] for one in (first, second)]
    assert fills[0] == fills[1] == wide.colour(1.17)
    assert "0.1000 g/cm³" in words(first.each[0])


def test_a_long_name_is_cut_beside_the_ball_and_whole_in_the_description(lineup, tilted):
    name = "a block with a very long name that no label holds"
    block = strip(lineup(tilted.replace('name = "block"', f'name = "{name}"')))
    assert collisions(block.each[1]) == []
    assert name in block.each[1].about
