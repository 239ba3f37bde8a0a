"""How learned spreads are told, on the page and as data."""

from __future__ import annotations

import json

import pytest
from answers import example
from shops import Shop

from optimizer.paper.document import Notes, Paragraph, Table
from optimizer.questions.reconcile.aimed import aimed
from optimizer.questions.reconcile.finding import Reconciled, reconciled
from optimizer.questions.reconcile.learning.learned import LearnedSpread, learned
from optimizer.questions.reconcile.learning.page import learned_blocks, learned_data
from optimizer.questions.reconcile.measured.file import read_measured
from optimizer.spread.learning import Learned

INF = float("inf")
SPREADS = (
    LearnedSpread("shell", ("cover",), False, 0.006, 0, 8, True, Learned(0.005, 0.003, 0.009), ""),
    LearnedSpread("light", ("mantle",), False, 0.009, 0, 8, True, Learned(0.02, 0.01, 0.03), ""),
    LearnedSpread("light", ("mantle",), True, None, 0, 9, True, Learned(0, 0, 0.002), "hidden"),
    LearnedSpread("fill", ("a", "c"), False, 0.01, 0, 8, True, Learned(0.03, 0, 0.1), "together"),
    LearnedSpread("dense", ("keel",), False, 0.02, 0, 8, True, Learned(0.01, 0, 0.04), "together"),
    LearnedSpread("gel", ("plug",), False, 0.02, 0, 2, True, Learned(0.03, 0.01, 9.0), "few"),
    LearnedSpread("pitch", ("pin",), False, 0.02, 0, 8, True, Learned(0.03, 0.01, INF), "endless"),
    LearnedSpread("wax", ("rod",), False, 0.02, 24, 8, True, Learned(0.03, 0.01, 0.05), "known"),
    LearnedSpread("tar", ("cap",), False, 0.02, 0, 0, False, None, "unseen"),
)


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Reconciled:
    """Three balls as aimed at, but for their gauges."""
    demo, folder = aimed(example("juniper")), tmp_path_factory.mktemp("balls")
    shop = Shop(demo, {"keel": ()}, seed=1)
    for k in range(3):
        shop.cast(str(k), "15", ["keel"], densities=demo.models["15"].ball.densities)
    return reconciled(demo, read_measured(shop.file(folder), demo.scenario))


def test_the_table_and_what_is_news(found: Reconciled) -> None:
    blocks = learned_blocks(found, SPREADS)
    (table,) = (block for block in blocks if isinstance(block, Table))
    rows = {(row[0], row[2]): row[3:] for row in table.rows}
    assert rows["shell", "from batch to batch"] == (
        *("0.00600", "0.00500", "0.00300 to 0.00900", "8 batches"),
    )
    assert rows["light", "within a batch"] == ("none", "0.00000", "0.00000 to 0.00200", "9 balls")
    assert rows["dense", "from batch to batch"][1] == "not known"
    assert rows["gel", "from batch to batch"][1:] == ("not known", "", "2 batches")
    assert rows["pitch", "from batch to batch"][2] == "from 0.01000 on"
    news, reasons = (block.lines for block in blocks if isinstance(block, Notes))
    assert news == (
        (
            "light (mantle) scatters more than assumed: a standard deviation of 0.01000 to 0.03000 "
            "g/cm³, where 0.00900 was assumed."
        ),
    )
    assert [line.split(":")[0] for line in reasons] == [
        "tar (cap)",
        "fill (a and c) and dense (keel)",
        "light (mantle) within a batch",
        "gel (plug)",
        "pitch (pin)",
        "wax (rod)",
    ]


def test_the_data_are_strict_json(found: Reconciled) -> None:
    """What isn't known is null; without an upper end, so is that."""
    data = json.loads(json.dumps(learned_data(SPREADS), allow_nan=False))
    by_part = {(one["parts"][0], one["varies"]): one for one in data}
    cover = by_part["cover", "from batch to batch"]
    assert cover["sd_g_cm3"] == 0.005
    assert cover["interval_g_cm3"] == [0.003, 0.009]
    assert (cover["measured_on"], cover["counted"]) == (8, "batches")
    assert (cover["differs"], cover["not_learned"]) == (None, None)
    assert by_part["mantle", "from batch to batch"]["differs"] == "more"
    assert by_part["a", "from batch to batch"]["sd_g_cm3"] is None
    assert by_part["pin", "from batch to batch"]["interval_g_cm3"] == [0.01, None]
    assert by_part["cap", "from batch to batch"]["interval_g_cm3"] is None
    assert by_part["rod", "from batch to batch"]["assumed_measured_on"] == 24
    assert len(learned_data(learned(found))) == 4


def test_too_few_balls_are_one_sentence_and_no_question_is_none(found: Reconciled) -> None:
    blocks = learned_blocks(found, [SPREADS[5], SPREADS[8]])
    assert [block.text for block in blocks if isinstance(block, Paragraph)] == [
        "That is learned from 3 balls on, or as many batches."
    ]
    assert learned_blocks(found, ()) == ()
