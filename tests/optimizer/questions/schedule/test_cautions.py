from __future__ import annotations

from optimizer.questions.schedule.pouring.cautions import cautions
from shared.reference import table


def test_every_caution_and_limit_has_its_grade_and_source() -> None:
    rows = table("cautions")
    for row in (*rows["agents"], *rows["cautions"]):
        assert row["source"]
        assert set(row["grade"].split("/")) <= set("ABCD")


def test_each_hazard_of_a_pour_is_named() -> None:
    told = cautions()
    text = " ".join((*told.cautions, *(name for name, *_ in told.agents)))
    for word in ("socyanate", "tyrene", "peroxide", "dust", "silica", "heavy to lift", "hot cast"):
        assert word in text


def test_what_always_stands_is_there_to_the_letter() -> None:
    assert cautions().always == (
        "Local codes, the safety data sheets and the plant's own safety officer govern; "
        "limits change."
    )
