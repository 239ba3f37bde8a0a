"""Printed schedules, read again by an oracle with nothing but the sheet's own numbers."""

from __future__ import annotations

import numpy as np
import pytest
from oracles.lineups import manufactured
from oracles.sheets import poured

from optimizer.foundry.schedule import schedule
from optimizer.foundry.steps import on_steps
from optimizer.lineup.pipeline import solve_lineup
from optimizer.report.document import Report
from optimizer.report.schedule.page import schedule_blocks
from optimizer.report.writers import csv_
from optimizer.scenario import scenario
from shared.errors import InputError

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
        assert [ball.densities[part] for part in line.names] == pytest.approx(mixed, abs=1e-4)
    assert poured_out >= 20
    assert all("foundry scale: is too coarse" in said for said in refused)
