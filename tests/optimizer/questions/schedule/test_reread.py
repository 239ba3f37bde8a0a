"""Printed schedules, read again by an oracle with nothing but the sheet's own numbers."""

from __future__ import annotations

import csv
import io

import numpy as np
import pytest
from optimizer_texts import shipped
from oracles.lineups import manufactured
from oracles.sheets import poured

from optimizer.lineup.pipeline import solve_lineup
from optimizer.paper.document import Report
from optimizer.paper.writers import csv_
from optimizer.questions.schedule.page import schedule_blocks
from optimizer.questions.schedule.pouring.schedule import schedule
from optimizer.questions.schedule.steps.steps import on_steps
from optimizer.scenario import scenario
from shared.errors import InputError

POUND = 453.59237
RECIPE = (
    'recipe = { resin = "polyester", heavy = ["iron powder"], light = ["glass bubbles"], '
    "void = 0.01, shrinkage = 0.06, loading = 0.65 }"
)
SHOP = (
    '[ingredients]\n"glass bubbles" = { density = 0.10 }\n'
    "[foundry]\nscale = 1\nfine_scale = { readability = 0.1, up_to = 200 }\noverpour = 0.04\n"
)
KINDS = ("aligned", "aligned triaxial")


def _text(line, step):
    """The line's scenario with a recipe and a step for each material."""
    text = line.text().replace("[materials.", f"{SHOP}[materials.", 1)
    lines = []
    for row in text.splitlines():
        lines.append(row)
        if row.startswith("density = ["):
            lines += [f"step = {step}", RECIPE]
    return "\n".join(lines)


def _covers(ball):
    """Every batch is no less than its pours take, and what is more is told in g and in %."""
    for batches in ball.batches.values():
        for batch in batches:
            whole = float(batch.rows["whole batch"][2])
            assert whole == pytest.approx(sum(float(row[2]) for row in batch.lines), abs=1e-6)
            spare, needed = float(batch.rows["spare"][2]), batch.needed
            assert spare == pytest.approx(whole - needed, abs=0.00501)
            assert whole > needed - 1e-6
            told = batch.rows["spare"][4]
            assert told == f"{100 * (whole - needed) / needed:.2f} % more than needed"


@pytest.mark.turns(8)
@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("kind", KINDS)
def test_what_is_weighed_out_by_the_sheet_is_the_ball(kind, about):
    """50 random lines of each kind: on target by the sheet alone, or the tool said that it can't.

    Within the scenario's tolerances: 0.03 kg, 0.08 mm of RG, 0.025 mm of differential.
    """
    random = np.random.default_rng([7, KINDS.index(kind), about == "cg"])
    poured_out, refused = 0, []
    for k in range(50):
        line, _ = manufactured(random, kind, about)
        step = (0.001, 0.002, 0.005, 0.01)[k % 4]
        asked = scenario(_text(line, step), file="line.toml", target_required=True)
        result = solve_lineup(asked)
        assert result.status == "feasible"
        stepped = on_steps(result)
        if not stepped.held:
            assert stepped.missed or stepped.broken
            continue
        try:
            told = schedule(stepped.lineup)
        except InputError as said:
            refused.append(str(said))
            continue
        poured_out += 1
        sheet = csv_.encoded(Report(schedule_blocks(told), {})).decode()
        (ball,) = poured(sheet, about)
        assert ball.mass == pytest.approx(line.weights["15"], abs=30.0)
        assert ball.radii[0] == pytest.approx(line.rg[0], abs=0.008)
        assert ball.radii[2] - ball.radii[0] == pytest.approx(line.differential[0], abs=0.0025)
        asked_for, mixed = (
            told.classes[0].asked.ball.densities,
            told.classes[0].mixed.ball.densities,
        )
        assert asked_for / step == pytest.approx(np.round(asked_for / step), abs=1e-6)
        assert [ball.densities[part] for part in line.names] == pytest.approx(mixed, abs=1e-8)
        _covers(ball)
    assert poured_out >= 20
    assert all("foundry scale: is too coarse" in said for said in refused)


@pytest.mark.parametrize("units", ["in", "metric"])
def test_the_figures_are_measured_from_the_grams_as_printed(units):
    """By the sheet alone: what is left is the volumes' own rounding, to 0.0005 cm³ a part.

    Juniper has 5 parts of 3.4 g/cm³ at the most: 0.0005 · 5 · 3.4 g = 2e-5 lb. RGs: the places and
    moments are printed to 5e-5 cm and 0.05 g cm², which moves an RG by 2e-5 cm.
    """
    text = shipped("juniper")
    if units == "metric":
        text = text.replace('density = "g/cm3"', 'density = "kg/m3"')
        for was, is_ in (
            ("density = 4.35", "density = 4350"), ("density = 0.15", "density = 150"),
            ("tolerance = 0.010", "tolerance = 10"), ("tolerance = 0.015", "tolerance = 15"),
            ("tolerance = 0.025", "tolerance = 25"), ("tolerance = 0.030", "tolerance = 30"),
            ("step      = 0.01", "step      = 10"),
        ):  # fmt: skip
            text = text.replace(was, is_)
    asked = scenario(text, file="juniper.toml", target_required=True)
    told = schedule(on_steps(solve_lineup(asked)).lineup, balls=3)
    sheet = csv_.encoded(Report(schedule_blocks(told), {})).decode()
    assert ("g/cm³" in sheet, "kg/m³" in sheet) == (units == "in", units == "metric")
    rows = list(csv.reader(io.StringIO(sheet, newline="")))
    for ball, one in zip(poured(sheet, "cg"), told.classes, strict=True):
        _covers(ball)
        measured = [row for row in rows if row and row[0] == "weight, lb"][told.classes.index(one)]
        assert float(measured[1]) * POUND == pytest.approx(ball.mass, abs=0.00005 * POUND + 0.009)
        assert one.mass == pytest.approx(ball.mass, abs=0.009)
        assert one.mixed.ball.radii.low == pytest.approx(ball.radii[0], abs=3e-5)
        volumes = dict(zip(one.mixed.ball.map.parts, one.mixed.ball.map.volumes, strict=True))
        exact = sum(ball.densities[part.name] * v for part, v in volumes.items())
        assert one.mass == pytest.approx(exact, abs=1e-6), "nothing is rounded on the way"
