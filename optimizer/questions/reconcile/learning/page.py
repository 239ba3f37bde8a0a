"""How learned spreads are told: a table, what is news, and why some can't be learned."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from optimizer.paper.document import Block, Column, Heading, Notes, Paragraph, Table, left
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import listed, plural, sentence_case
from optimizer.questions.line_up.data import number
from optimizer.questions.reconcile.finding import Reconciled
from optimizer.questions.reconcile.learning.learned import FEWEST, LearnedSpread

WIDER = "something doesn't fit, and a wrong reading makes a spread look wider"
VARIES = {False: "from batch to batch", True: "within a batch"}


def learned_blocks(found: Reconciled, spreads: Sequence[LearnedSpread]) -> tuple[Block, ...]:
    """Return what the balls tell of the shop's spread; nothing where nothing could be asked."""
    return tuple(_blocks(found, spreads, Units.of(found.scenario).density.finer(1)))


def _blocks(found: Reconciled, spreads: Sequence[LearnedSpread], unit: Unit) -> Iterator[Block]:
    if not spreads:
        return
    yield Heading("How far the shop's densities are spread")
    if all(each.count < FEWEST for each in spreads):
        yield Paragraph(f"That is learned from {FEWEST} balls on, or as many batches.", "quiet")
        return
    columns = (
        left("material"),
        left("parts"),
        left("varies"),
        Column(f"assumed sd, {unit.name}"),
        Column(f"learned sd, {unit.name}"),
        Column("95 % interval"),
        Column("from"),
    )
    yield Table(columns, tuple(_row(each, unit) for each in spreads))
    if not found.fits:
        yield Paragraph(f"{sentence_case(WIDER)}: see above.", "warning")
    if news := tuple(_news(spreads, unit)):
        yield Notes(news, "warning")
    if reasons := tuple(_reasons(spreads, unit)):
        yield Notes(reasons, "quiet")
    yield Paragraph(" ".join(_method(found, spreads)), "quiet")


def _row(each: LearnedSpread, unit: Unit) -> tuple[str, ...]:
    spread = None if each.why in ("few", "unseen") else each.spread
    sd = "not known" if spread is None or each.why == "together" else unit.number(spread.sd)
    ends = ""
    if spread is not None:
        ends = f"from {unit.number(spread.low)} on"
        if each.why != "endless":
            ends = f"{unit.number(spread.low)} to {unit.number(spread.high)}"
    return (
        each.material,
        listed(each.parts),
        VARIES[each.within],
        "none" if each.assumed is None else unit.number(each.assumed),
        sd,
        ends,
        plural(each.count, *_counted(each)),
    )


def _counted(each: LearnedSpread) -> tuple[str, str]:
    """Return what `count` counts, one and many."""
    return ("batch", "batches") if each.batched and not each.within else ("ball", "balls")


def _name(each: LearnedSpread) -> str:
    name = f"{each.material} ({listed(each.parts)})"
    return f"{name} within a batch" if each.within else name


def _news(spreads: Sequence[LearnedSpread], unit: Unit) -> Iterator[str]:
    for each in spreads:
        if each.spread is not None and each.assumed is not None and each.news:
            ends = [unit.number(each.spread.low), unit.told(each.spread.high)]
            if each.spread.high == float("inf"):
                ends = [unit.told(each.spread.low), "any"]
            yield (
                f"{_name(each)} scatters {each.news} than assumed: a standard deviation of "
                f"{' to '.join(ends)}, where {unit.number(each.assumed)} was assumed."
            )


def _reasons(spreads: Sequence[LearnedSpread], unit: Unit) -> Iterator[str]:
    """Yield why some spreads aren't learned."""
    alike = {
        why: [_name(each) for each in spreads if each.why == why] for why in ("unseen", "together")
    }
    if alike["unseen"]:
        yield f"{listed(alike['unseen'])}: no reading depends on this density."
    if alike["together"]:
        yield (
            f"{listed(alike['together'])}: the readings show that some of these vary, not which. "
            "Each interval ends at the most that it can be. More castings, weighed, tell them "
            "apart."
        )
    for each in spreads:
        if each.why == "few":
            few = f"measured in {plural(each.count, *_counted(each))}; a spread takes {FEWEST}"
            if each.count >= FEWEST:
                few = "the readings are too few to tell a spread from what all balls are off by"
            yield f"{_name(each)}: {few}."
        elif each.why == "endless":
            yield f"{_name(each)}: the readings hardly depend on it, and set no upper end."
        elif each.why == "known":
            yield (
                f"{_name(each)}: what is assumed was measured on {each.known}, more than now, and "
                "isn't contradicted: it stays."
            )
        elif each.why == "hidden" and each.spread is not None:
            most = unit.told(each.spread.high)
            yield f"{_name(each)}: it may not vary at all, or by up to {most}."


def _method(found: Reconciled, spreads: Sequence[LearnedSpread]) -> Iterator[str]:
    yield (
        "Learned by restricted maximum likelihood from what was measured, not from the estimates: "
        "those are drawn towards the schedule. What all balls are off by alike is no spread."
    )
    if not any(each.batched for each in spreads):
        yield "No batches are named: each ball counts as a batch of its own."
    spread = found.scenario.text.spread
    if spread and any("density" in name for pair in spread.correlation for name in pair.between):
        yield "What [spread] says of densities that vary together is left out here."
    if any(each.usable and not each.news for each in spreads):
        yield "An interval that holds the assumed figure doesn't contradict it."


def learned_data(spreads: Sequence[LearnedSpread]) -> list[dict[str, Any]]:
    """Return the spreads as JSON types; without an upper end it is null."""
    return [
        {
            "material": each.material,
            "parts": list(each.parts),
            "varies": VARIES[each.within],
            "assumed_sd_g_cm3": None if each.assumed is None else number(each.assumed),
            "assumed_measured_on": each.known or None,
            **_figures(each),
            "measured_on": each.count,
            "counted": _counted(each)[1],
            "differs": each.news or None,
            "not_learned": each.why or None,
        }
        for each in spreads
    ]


def _figures(each: LearnedSpread) -> dict[str, Any]:
    spread = None if each.why in ("few", "unseen") else each.spread
    if spread is None:
        return {"sd_g_cm3": None, "interval_g_cm3": None}
    high = None if each.why == "endless" or spread.high == float("inf") else number(spread.high)
    return {
        "sd_g_cm3": None if each.why == "together" else number(spread.sd),
        "interval_g_cm3": [number(spread.low), high],
    }
