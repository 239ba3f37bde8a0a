"""The table for a ball that is half cast, followed by hand from what the sheet prints."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from answers import example, solved
from optimizer_texts import cover, head
from oracles import castings
from oracles.castings import figures as three

from optimizer.paper.document import DOTS, Notes, Paragraph, Table
from optimizer.questions.schedule.data import schedule_data
from optimizer.questions.schedule.half_cast import half_cast_blocks, half_cast_notes
from optimizer.questions.schedule.pouring.schedule import schedule
from optimizer.questions.tolerance.weighing import _Loop, _Way
from optimizer.scatter.inputs import stated_inputs
from optimizer.scatter.line import Line

SIZES = 2.54 * 8.58, 2.54 * 7.0
COVER, MANTLE = 0.015, 0.03
"""g/cm³: ±."""


def volumes() -> tuple[float, float]:
    """Return the volumes of cover and mantle of `two_layers`, cm³."""
    whole, inner = (np.pi / 6.0 * size**3 for size in SIZES)
    return whole - inner, inner


def two_layers(more: str = "", weights=None, **materials: str) -> str:
    """Return two concentric layers; `materials` in place of a range and a ± of theirs."""
    text = head("Pair", weights or {"15": 15.0}, (2.6, 0.0), tolerance=(0.06, 0.5, 0.1))
    for name, half, size, inside in (
        ("cover", COVER, 8.58, ""),
        ("mantle", MANTLE, 7.0, 'inside = "cover"\n'),
    ):
        known = materials.get(name, f"density = [0.5, 3.0]\ntolerance = {half}")
        text += f"[materials.{name}]\n{known}\n"
        text += f'[[parts]]\nname = "{name}"\nmaterial = "{name}"\n{inside}'
        text += f'shape = {{ kind = "sphere", diameter = {size} }}\n'
        text += 'same_density = "all"\n' if name == "cover" and "tied" in materials else ""
    return text + more


def sheets(result, balls=1):
    """Yield each weight of a schedule with the blocks on its half-cast balls."""
    made = schedule(result, balls)
    for weight in made.classes:
        yield made, weight, list(half_cast_blocks(weight, made))


class Printed:
    """A table as printed: cells only, with what a person at the mixer would do with them."""

    def __init__(self, blocks):
        moves, worst = (block for block in blocks if isinstance(block, Table))
        _, _, _, _, *pours, _ = (column.header for column in moves.columns)
        self.pours = [header.removeprefix("× ") for header in pours]
        self.rows = {row[0]: row for row in moves.rows}
        self.pieces = [name for name, row in self.rows.items() if row[3] == DOTS]
        self.worst = {row[0]: [cell.removeprefix("± ") for cell in row[1:]] for row in worst.rows}
        self.note = next(block for block in blocks if isinstance(block, Notes)).lines

    def grams(self, piece):
        """Return what the piece weighs by the sheet."""
        return float(self.rows[piece][2])

    def coefficient(self, piece, pour):
        """Return a cell, None where it is empty."""
        cell = self.rows[piece][4 + self.pours.index(pour)]
        return float(cell) if cell else None

    def digits(self, pour):
        """Return the decimals of a column of coefficients."""
        each = [self.rows[piece][4 + self.pours.index(pour)] for piece in self.pieces]
        return max(len(cell.partition(".")[2]) for cell in each)

    def alone(self, piece):
        """Return how much too light and too heavy it may be by itself."""
        low, _, high = self.rows[piece][-1].partition(" to ")
        return float(low), float(high)

    def move(self, pour, over):
        """Return the sum of over × coefficient."""
        known = {piece: self.coefficient(piece, pour) for piece in self.pieces}
        return sum(each * over[piece] for piece, each in known.items() if each is not None)


def by_hand(weight):
    """Return parts in casting order, their volumes, and the names of those in each piece."""
    parts = [casting.part for casting in weight.castings]
    places = weight.mixed.ball.map.places
    volume = {part.name: float(weight.mixed.ball.map.volumes[places[part.name]]) for part in parts}
    holds = {part.name: {part.name} for part in parts}
    for part in parts:
        if part.inside is not None:
            holds[part.inside] |= holds[part.name]
    return [part.name for part in parts], volume, holds


def four(moments, densities):
    """Return weight, low RG, differential and intermediate differential (k, 4), g and cm."""
    J = np.einsum("kn,nij->kij", densities, moments)
    mass = J[:, 3, 3]
    centre = J[:, :3, 3] / mass[:, None]
    second = J[:, :3, :3] / mass[:, None, None] - np.einsum("ki,kj->kij", centre, centre)
    inertia = np.trace(second, axis1=1, axis2=2)[:, None, None] * np.eye(3) - second
    radii = np.sqrt(np.linalg.eigvalsh(inertia))
    np.testing.assert_allclose(radii[:, 0], three(moments, densities)[:, 1])
    return np.column_stack(
        [mass, radii[:, 0], radii[:, 2] - radii[:, 0], radii[:, 2] - radii[:, 1]]
    )


@pytest.mark.parametrize(("name", "factor"), [("larch-metric", 0.001), ("yew", 1.0)])
def test_coefficients_are_those_of_numpys_least_squares(name: str, factor: float) -> None:
    """One piece 1 g over and all others as on the sheet: its region gains 1/V, its host loses 1/V.

    The moves then follow from lstsq on central differences of the oracle's figures. Yew has three
    different diameters and asks for an intermediate differential; Larch is in mm and kg/m³.
    """
    for _, weight, blocks in sheets(example(name)):
        table, (order, volume, _) = Printed(blocks), by_hand(weight)
        ball, linear_map = weight.mixed.ball, weight.mixed.ball.map
        moments, nominal = np.array(linear_map.moments), np.array(ball.densities)
        step = 1e-4 * np.eye(len(nominal))
        slopes = (four(moments, nominal + step) - four(moments, nominal - step)).T / 2e-4
        room = [off.tolerance for off in weight.mixed.deviations]
        slopes = slopes[: len(room)] / np.array(room)[:, None]
        sd = np.array([pour.tolerance for pour in linear_map.pours])
        assert table.pours == order[1:]
        for k, pour in enumerate(order[1:], start=1):
            later = [linear_map.places[part] for part in order[k:]]
            ulp = 10.0 ** -table.digits(pour)
            each = []
            for piece in order[:k]:
                own = np.zeros(len(nominal))
                own[linear_map.places[piece]] = 1.0 / volume[piece]
                host = next(c.part.inside for c in weight.castings if c.part.name == piece)
                if host in order[:k]:
                    own[linear_map.places[host]] = -1.0 / volume[host]
                moves = np.linalg.lstsq(slopes[:, later] * sd[later], -slopes @ own, rcond=None)[0]
                each.append(moves[0] * sd[later[0]] / factor)
                assert table.coefficient(piece, pour) == pytest.approx(each[-1], abs=0.51 * ulp)
            assert 100 * ulp <= max(map(abs, each)) + 0.5 * ulp < 1001 * ulp
            for piece in order[k:]:
                assert piece not in table.pieces or table.coefficient(piece, pour) is None


def test_the_table_by_hand_gives_the_set_points_of_the_simulation(juniper) -> None:
    """Pieces are weighed with all in them; coefficients and the sheet's grams are rounded."""
    random = np.random.default_rng(5)
    for made, weight, blocks in sheets(juniper):
        table, (order, volume, holds) = Printed(blocks), by_hand(weight)
        ball = weight.mixed.ball
        loop = _Loop.of(Line.of(made.mixed, stated_inputs(made.scenario)))
        model = next(m for m in loop.line.models if m.label == weight.label)
        column = {i.of: c for i, c in zip(model.inputs, model.columns, strict=True)}
        nominal = {part: float(ball.densities[ball.map.places[part]]) for part in order}
        deviations = random.uniform(-0.02, 0.02, (20, len(loop.line.inputs.sources.sd)))
        misread = dict.fromkeys(loop.half_steps, 0.0)
        simulated = loop._moved(deviations, misread, _Way(frozenset(order)))
        for errors, moved in zip(deviations, simulated, strict=True):
            over, cast, slack = {}, {}, dict.fromkeys(order, 0.0)
            for part in order:
                move = 0.0
                if part in table.pours:
                    move = table.move(part, over)
                    known = [over[piece] for piece in table.pieces if piece in over]
                    slack[part] = 0.5 * 10.0 ** -table.digits(part) * np.sum(np.abs(known))
                    slack[part] += sum(abs(table.coefficient(p, part) or 0.0) * 0.5 for p in over)
                    slack[part] += 2.0 * sum(slack[p] for p in over)
                expected = moved[column[part]] - errors[column[part]]
                assert move == pytest.approx(expected, abs=slack[part] + 1e-9)
                cast[part] = nominal[part] + move + errors[column[part]]
                weighed = sum(volume[inner] * cast[inner] for inner in holds[part])
                over[part] = weighed - table.grams(part) if part in table.pieces else 0.0


def followed(made, weight, blocks, errors, *, moved=True):
    """Return the densities, in file order, of a ball whose castings are off by shares of their ±.

    Masses are as the scale shows them, and set-points on their steps.
    """
    table, (order, volume, holds) = Printed(blocks), by_hand(weight)
    linear_map, over, cast = weight.mixed.ball.map, {}, {}
    for part, error in zip(order, errors, strict=True):
        point, pour = weight.mixed.ball.density(part), linear_map.pours[linear_map.places[part]]
        if moved and part in table.pours:
            point += made.units.density.factor * table.move(part, over)
            point = np.clip(point, pour.low, pour.high)
            point = round(point / pour.step) * pour.step if pour.step else point
        cast[part] = point + error * pour.tolerance
        if part in table.pieces:
            weighed = sum(volume[inner] * cast[inner] for inner in holds[part])
            step = float(made.shop.scales.step(table.grams(part)))
            over[part] = round(weighed / step) * step - table.grams(part)
    return [cast[part.name] for part in linear_map.parts]


@pytest.mark.parametrize("name", ["juniper", "larch-metric", "coarse"])
def test_the_worst_is_that_of_every_corner_followed_by_hand(name: str) -> None:
    """The oracle measures the balls. Juniper has steps; one scale is as coarse as 40 g."""
    coarse = two_layers("[foundry]\nscale = 40.0\n")
    result = solved(coarse) if name == "coarse" else example(name)
    for made, weight, blocks in list(sheets(result))[:2]:
        table, (order, _, _) = Printed(blocks), by_hand(weight)
        last = order.index(table.pieces[-1]) + 1
        corners = list(itertools.product((-1, 1), repeat=len(order)))
        true = [(*corner[:last], *(0 for _ in corner[last:])) for corner in corners]
        moments = np.array(weight.mixed.ball.map.moments)
        asked = np.array([off.asked for off in weight.mixed.deviations])
        worst = []
        for some, moved in ((corners, False), (corners, True), (true, True)):
            balls = [followed(made, weight, blocks, errors, moved=moved) for errors in some]
            worst.append(np.abs(three(moments, np.array(balls)) - asked).max(axis=0))
        for k, (off, row) in enumerate(
            zip(weight.mixed.deviations, table.worst.values(), strict=True)
        ):
            unit = made.units.by(off.figure.quantity)
            expected = [off.tolerance / unit.factor, *(way[k] / unit.factor for way in worst)]
            np.testing.assert_allclose(
                np.array(row, dtype=float), expected, atol=0.51 * 10.0 ** -(unit.digits + 1)
            )


def test_the_cover_takes_back_what_the_mantle_is_over() -> None:
    """Only the weight is likely to miss: -1/V of the cover, until it can't be mixed any lighter."""
    shell, inner = volumes()
    result = solved(two_layers())
    density = float(result.weights[0].ball.density("cover"))
    low = density - 0.02
    narrow = two_layers(cover=f"density = [{low}, {density + 0.5}]\ntolerance = {COVER}")
    ((made, weight, blocks),) = sheets(solved(narrow))
    table, base = Printed(blocks), made.half_cast["15"][0].pours[0].point.base
    assert (table.pieces, table.pours) == (["mantle"], ["cover"])
    assert table.coefficient("mantle", "cover") == pytest.approx(-1.0 / shell, abs=5.1e-7)
    light, heavy = table.alone("mantle")
    assert heavy == pytest.approx((base - low) * shell, abs=1.0)
    assert -light == pytest.approx(10 * MANTLE * inner, abs=10.0)
    row = table.worst["weight off, lb"]
    both = (COVER * shell + MANTLE * inner) / 453.59237
    off = abs(weight.mixed.deviations[0].off) / 453.59237
    assert float(row[1]) == pytest.approx(both + off, abs=6e-5)


def test_within_its_trust_no_ball_is_bad_and_beyond_it_one_is(juniper) -> None:
    """The share of their ± by which all castings may be off, and the next that was tried."""
    made = schedule(juniper)
    for weight in made.classes:
        table, trusted = made.half_cast[weight.label]
        linear_map = weight.mixed.ball.map
        halves = [linear_map.pours[linear_map.places[part]].tolerance for part in table.order]
        corners = np.array(list(itertools.product((-1.0, 1.0), repeat=len(halves)))) * halves
        back = [table.order.index(part.name) for part in linear_map.parts]
        asked = np.array([off.asked for off in weight.mixed.deviations])
        room = np.array([off.tolerance for off in weight.mixed.deviations])
        for moved, held in ((True, trusted.held), (False, trusted.untouched)):
            kept = []
            for share in (held, held + 0.05):
                off, mixable = table.cast(share * corners, followed=moved)
                balls = np.array(weight.mixed.ball.densities) + off[:, back]
                target = castings.good(np.array(linear_map.moments), balls, asked, room)
                kept.append(bool(np.all(target & mixable)))
            assert kept == [True, False]
        assert trusted.held > trusted.untouched


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (head("One", {"15": 15.0}, (2.7, 0.0), tolerance=(0.06, 0.5, 0.1)) + cover(8.58), 0),
        (two_layers(cover="density = 1.15"), 0),
        (two_layers(cover="density = [0.5, 3.0]", mantle="density = [0.5, 3.0]"), 1),
    ],
    ids=["one pour", "the later one given", "no spread known"],
)
def test_where_nothing_can_be_moved_there_is_no_table(text: str, line: int) -> None:
    text = text.replace("rg = 2.6", "rg = { min = 2.3, max = 2.9 }")
    text = text.replace("rg = 2.7", "rg = { min = 2.3, max = 2.9 }")
    ((made, _, blocks),) = sheets(solved(text))
    assert len(blocks) == line
    for block in blocks:
        assert isinstance(block, Paragraph)
        assert block.text.endswith("ask: samespin reconcile X --weight 15 --cast mantle=…g")
        assert "table" not in block.text
    assert list(half_cast_notes(made)) == []
    assert [weight["half_cast"] for weight in schedule_data(made)["weights"]] == [None]


def test_a_pour_that_weights_share_is_not_moved() -> None:
    """A third layer takes back the middle one's error; the shared cover has no column."""
    text = two_layers(weights={"15": 15.0, "14": 14.0}, tied="")
    core = '[materials.core]\ndensity = [0.5, 3.0]\ntolerance = 0.02\n[[parts]]\nname = "core"\n'
    core += 'inside = "mantle"\nmaterial = "core"\nshape = { kind = "sphere", diameter = 4.0 }\n'
    result = solved(text + core)
    for _, _, blocks in sheets(result):
        table = Printed(blocks)
        assert (table.pieces, table.pours) == (["core"], ["mantle"])
        assert table.note[1] == "Not moved: cover, since other weights have the same pour."


def test_correlations_of_what_else_varies_do_not_matter() -> None:
    spread = (
        f"[spread]\ndensity.mantle = {{ uniform = {MANTLE} }}\ndiameter = 0.01\ncentre = 0.01\n"
        '[[spread.correlation]]\nbetween = ["diameter", "centre x"]\nr = 0.5\n'
    )
    ((_, _, plain),) = sheets(solved(two_layers()))
    ((_, _, more),) = sheets(solved(two_layers(spread)))
    assert plain == more


def test_the_sheet_asks_reconcile_and_the_data_say_the_same(juniper) -> None:
    data = schedule_data(schedule(juniper))["weights"]
    for (_, weight, blocks), known in zip(sheets(juniper), data, strict=True):
        table, own = Printed(blocks), known["half_cast"]
        line = next(block.text for block in blocks if isinstance(block, Paragraph))
        assert line.endswith(f"or: samespin reconcile X --weight {weight.label} --cast keel=…g")
        assert [piece["part"] for piece in own["pieces"]] == table.pieces
        for pour in own["pours"]:
            for piece, each in pour["g_cm3_per_g"].items():
                assert each == table.coefficient(piece, pour["part"])
        assert f"to {own['held_share']:.2f} of each ±" in table.note[0]


def test_balls_of_one_batch_move_together() -> None:
    result = solved(two_layers())
    words = "Half-cast balls poured from one batch move together, by the mean of their sums."
    assert words not in list(half_cast_notes(schedule(result)))
    assert words in list(half_cast_notes(schedule(result, 3)))


def test_a_normal_spread_counts_as_three_standard_deviations() -> None:
    """0.01 g/cm³ of the mantle's volume, three times; the cover keeps its ±."""
    shell, inner = volumes()
    made = schedule(solved(two_layers("[spread]\ndensity.mantle = { sd = 0.01 }\n")))
    _, trusted = made.half_cast["15"]
    assert trusted.grams == pytest.approx({"mantle": 0.03 * inner, "cover": COVER * shell})
    words = "A density whose spread has no ends counts as ± 3 standard deviations."
    assert words in list(half_cast_notes(made))
    assert words not in list(half_cast_notes(schedule(solved(two_layers()))))
