"""Learned spreads in a scenario's text: its lines change, every other byte stays."""

from __future__ import annotations

import pytest
from optimizer_texts import read, shipped

from optimizer.paper.quantities import Units
from optimizer.questions.compare.input_words import difference_lines
from optimizer.questions.reconcile.learning.learned import LearnedSpread
from optimizer.questions.reconcile.learning.text import with_learned
from optimizer.questions.tolerance.words import known, law
from optimizer.scatter.inputs import stated_inputs
from optimizer.spread.learning import Learned
from shared.errors import InputError

JUNIPER = shipped("juniper")


def spread(
    sd: float, *parts: str, within: bool = False, high: float = 2.0, count: int = 12
) -> LearnedSpread:
    """Return what 12 batches tell; sd in g/cm³."""
    return LearnedSpread(
        "any", parts, within, 0.01, 0, count, True, Learned(sd, sd / 2.0, high * sd), ""
    )


COVER, KEEL = spread(0.0051234, "cover"), spread(0.012, "keel")
WITHIN = spread(0.003, "keel", within=True)
A, B = "{ sd = 0.00512, measured = 12 }", "{ sd = 0.012, measured = 12 }"
C = "{ sd = 0.003, measured = 12 }"
BOTH = B.replace(" }", f", within = {C} }}")
CASES = {
    "no table yet": ("", f"\n[spread]\ndensity.cover = {A}\ndensity.keel = {BOTH}\n"),
    "an empty table": ("[spread]\n", f"[spread]\ndensity.cover = {A}\ndensity.keel = {BOTH}\n"),
    "a number": (
        "[spread.density]\nkeel = 0.02 # mixed\n\n[spread.position]\nkeel = 0.01\n",
        f"[spread.density]\nkeel = {BOTH} # mixed\ncover = {A}\n\n[spread.position]\nkeel = 0.01\n",
    ),
    "a table in braces": (
        '[spread]\ndensity.keel = { uniform = 0.02, price = 3, batch = "all" }   # mixed\n',
        (
            '[spread]\ndensity.keel = { sd = 0.012, measured = 12, price = 3, batch = "all", '
            f"within = {C} }}   # mixed\ndensity.cover = {A}\n"
        ),
    ),
    "tables in braces": (
        "[spread]\ndensity = { girdle = 0.02, keel = 0.02 }\n",
        f"[spread]\ndensity = {{ girdle = 0.02, keel = {BOTH}, cover = {A} }}\n",
    ),
    "empty braces": (
        "[spread]\ndensity = {}\nscale = 0.01\n",
        f"[spread]\ndensity = {{ cover = {A}, keel = {BOTH} }}\nscale = 0.01\n",
    ),
    "a heading": (
        '[spread.density.keel]\nuniform = 0.02\nbatch = "all"   # four weights\n',
        (
            f'[spread.density.keel]\nbatch = "all"   # four weights\nsd = 0.012\nmeasured = 12\n'
            f"within = {C}\n\n[spread.density]\ncover = {A}\n"
        ),
    ),
    "lines, one of them last in the file": (
        (
            "[spread]\n  density.keel.sd = 0.02\n  density.keel.bound = 0.02   # then scrapped\n"
            "  [spread.density.cover]\n  sd = 0.004\n  measured = 3"
        ),
        (
            "[spread]\n  density.keel.sd = 0.012\n     # then scrapped\n"
            f"  density.keel.measured = 12\n  density.keel.within = {C}\n"
            "  [spread.density.cover]\n  sd = 0.00512\n  measured = 12"
        ),
    ),
}
"""By how they stand: the end of the file, before and after."""


@pytest.mark.parametrize(("had", "new"), CASES.values(), ids=CASES.keys())
def test_an_entry_is_replaced_or_added_and_all_else_stays(had: str, new: str) -> None:
    """And what is written reads back as what was learned; the narrow bound is gone."""
    text = with_learned(read(JUNIPER + had), [COVER, KEEL, WITHIN])
    assert text == JUNIPER + new
    inputs = {input_.name: input_ for input_ in stated_inputs(read(text))}
    for name, sd in (
        ("cover density", 0.00512),
        ("keel density", 0.012),
        ("keel density within a batch", 0.003),
    ):
        assert known(inputs[name]) == "measured on 12"
        assert inputs[name].law.sd == pytest.approx(sd, rel=1e-12)


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_the_lines_end_as_the_file_s(newline: str) -> None:
    text = JUNIPER.replace("\n", newline)
    assert with_learned(read(text), [COVER]) == (
        f"{text}{newline}[spread]{newline}density.cover = {A}{newline}"
    )
    text = text.rstrip()
    assert with_learned(read(text), [COVER]) == (
        f"{text}{newline}{newline}[spread]{newline}density.cover = {A}{newline}"
    )


def test_a_spread_within_batches_keeps_that_between_them() -> None:
    """A material's ± of 0.03 as the part's own, read as it was; 12 balls of one batch."""
    text = with_learned(read(JUNIPER), [WITHIN])
    assert text.removeprefix(JUNIPER) == (
        f"\n[spread]\ndensity.keel = {{ declared = 0.03, within = {C} }}\n"
    )
    before, after = (
        {input_.name: input_.law for input_ in stated_inputs(read(each))}
        for each in (JUNIPER, text)
    )
    assert after["keel density"] == before["keel density"]


def test_bound_and_least_stay_unless_they_contradict() -> None:
    """A bound of 3 sd or more; a least below the new sd, its ± of a uniform made one: ÷ √3."""
    both = "density.keel = {{ uniform = 0.03, least = {} }}\n"
    text = with_learned(read(f"{JUNIPER}\n[spread]\n{both.format(0.02)}"), [KEEL])
    assert text.endswith("density.keel = { sd = 0.012, measured = 12, least = 0.0115 }\n")
    text = with_learned(read(f"{JUNIPER}\n[spread]\n{both.format(0.025)}"), [KEEL])
    assert text.endswith(f"density.keel = {B}\n")
    bound = "\n[spread]\ndensity.keel = {{ sd = 0.02, bound = {} }}\n"
    text = with_learned(read(JUNIPER + bound.format(0.04)), [KEEL])
    assert text.endswith("density.keel = { sd = 0.012, measured = 12, bound = 0.04 }\n")
    text = with_learned(read(JUNIPER + bound.format(0.03)), [KEEL])
    assert text.endswith(f"density.keel = {B}\n")


def test_what_isnt_learned_is_not_written() -> None:
    unsure = LearnedSpread("any", ("keel",), False, 0.01, 0, 12, True, Learned(1, 0, 2), "hidden")
    assert with_learned(read(JUNIPER), [unsure]) == JUNIPER


def test_a_metric_file_has_its_own_unit() -> None:
    text = with_learned(read(shipped("larch-metric")), [spread(0.0051234, "cover")])
    assert "density.cover = { sd = 5.12, measured = 12 }" in text
    (input_,) = (i for i in stated_inputs(read(text)) if i.name == "cover density")
    assert law(input_, Units.of(read(text))) == "normal, sd 5.12 kg/m³"


def test_only_what_was_written_differs() -> None:
    """As compare tells it."""
    old = read(shipped("rowan"))
    new = read(with_learned(old, [spread(0.003, "mantle"), spread(0.0123, "insert")]))
    assert difference_lines(old, new) == [
        "spread density, mantle, sd: 0.005 g/cm³ → 0.003 g/cm³",
        "spread density, mantle, measured: 24 → 12",
        "spread density, insert: only here (sd 0.0123 g/cm³, measured 12, batch none)",
    ]


def test_a_spread_that_cant_be_read_back_is_refused() -> None:
    """Three standard deviations of 2 g/cm³ are more than any density of a keel."""
    with pytest.raises(InputError, match="more than the range that can be poured"):
        with_learned(read(JUNIPER), [spread(2.0, "keel")])
