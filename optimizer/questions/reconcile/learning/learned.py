"""How far the shop's densities are spread, learned from all measured balls together.

Restricted maximum likelihood of what was measured (`optimizer.spread.learning`). The estimates
themselves won't do: their prior has drawn them together. The mean of each part is unknown: what
all its castings are off by is no spread.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, TypeAlias

import numpy as np

from optimizer.questions.reconcile.finding import Reconciled
from optimizer.questions.reconcile.learning.readings import Batch, Readings
from optimizer.scatter.inputs import Input
from optimizer.spread.distribution import Distribution
from optimizer.spread.learning import Learned, Members
from shared import activity

FEWEST: Final = 3
"""Batches, or balls where no batch is named, from which a spread is learned."""

Why: TypeAlias = Literal["", "unseen", "few", "together", "endless", "hidden", "known"]
"""Why a spread isn't learned: no measurement depends on it; too few were measured; the data show
that some of several vary, not which; they set no upper end; they don't rule out that there is
none; or don't contradict what is known from more. "" where it is."""


@dataclass(frozen=True)
class LearnedSpread:
    """How far the densities of a material's `parts` are spread, g/cm³, by what was measured.

    From batch to batch or, if `within`, among the balls of one. `assumed` is the standard deviation
    that the scenario gives, None where it gives none, and `known` on how many it was measured. The
    `spread` rests on `count` batches where the file names them (`batched`), else on so many balls,
    each taken as a batch of its own; if `within`, on the balls that share a batch with others.
    """

    material: str
    parts: tuple[str, ...]
    within: bool
    assumed: float | None
    known: int
    count: int
    batched: bool
    spread: Learned | None
    why: Why

    @property
    def usable(self) -> bool:
        """Whether it is learned: what the scenario may say from now on."""
        return self.spread is not None and not self.why

    @property
    def news(self) -> Literal["", "more", "less"]:
        """Whether the whole 95 % interval is above, or below, what was assumed."""
        if self.spread is None or self.assumed is None or self.why in ("unseen", "few"):
            return ""
        if self.spread.low > self.assumed:
            return "more"
        return "less" if self.spread.high < self.assumed else ""


@activity.within()
def learned(found: Reconciled) -> tuple[LearnedSpread, ...]:
    """Return the spread of each material that varies, in the order of the file.

    None of a drawing whose densities nobody knew: they are no batches of one schedule.
    """
    if found.aimed.lineup is None:
        return ()
    activity.at("learning the shop's spread")
    readings = Readings.of(found)
    kinds = {kind: tuple(kind.seen(readings)) for kind in _kinds(found, readings)}
    spreads, together = _fitted(readings, {kind: seen for kind, seen in kinds.items() if seen})
    return tuple(
        LearnedSpread(
            kind.material,
            kind.parts,
            kind.within,
            kind.assumed,
            kind.known,
            _count(kind, seen),
            any(batch.name[0] == "batch" for batch in seen),
            spreads.get(kind),
            _why(kind, seen, spreads.get(kind), together=kind in together),
        )
        for kind, seen in kinds.items()
    )


@dataclass(frozen=True)
class _Kind:
    """Parts of one material whose densities vary alike, from batch to batch or `within` one.

    `start` is where a search of their standard deviation may begin, `known` what that which is
    `assumed` was measured on.
    """

    material: str
    parts: tuple[str, ...]
    within: bool
    assumed: float | None
    known: int
    start: float

    def seen(self, readings: Readings) -> Iterator[Batch]:
        """Yield the batches or, if `within`, the balls that some reading depends on."""
        for batch in readings.batches:
            if batch.part in self.parts:
                each = batch.alone(readings.ball_of) if self.within else [batch]
                yield from (one for one in each if np.any(one.column))


def _kinds(found: Reconciled, readings: Readings) -> Iterator[_Kind]:
    """Yield the kinds; `within` a batch only where balls of one batch were measured."""
    inputs = {
        (input_.kind, input_.of): input_
        for model in found.aimed.models.values()
        for input_ in model.inputs
    }
    alike = dict[tuple[str, Distribution, Distribution | None], list[str]]()
    for pour in found.scenario.pours:
        own, within = (inputs.get((kind, pour.part)) for kind in ("density", "batch"))
        if own is not None:
            alike.setdefault((pour.material, own.law, _law(within)), []).append(pour.part)
    for (material, law, inner), parts in alike.items():
        kind = _Kind(
            material,
            tuple(parts),
            within=False,
            assumed=law.sd,
            known=law.count or 0,
            start=law.sd,
        )
        yield kind
        if any(len(batch.balls) > 1 for batch in readings.batches if batch.part in parts):
            assumed = None if inner is None else inner.sd
            known = 0 if inner is None else inner.count or 0
            start = assumed or law.sd
            yield replace(kind, within=True, assumed=assumed, known=known, start=start)


def _law(input_: Input | None) -> Distribution | None:
    return None if input_ is None else input_.law


def _count(kind: _Kind, seen: Sequence[Batch]) -> int:
    """Return the batches, or balls, that a kind's spread rests on."""
    return len({batch.name for batch in seen if not kind.within or len(batch.balls) > 1})


def _fitted(
    readings: Readings, kinds: Mapping[_Kind, Sequence[Batch]]
) -> tuple[Mapping[_Kind, Learned], set[_Kind]]:
    """Return the spread of each kind, and those of which only what they do together shows.

    None where too few were measured.
    """
    if all(_count(kind, seen) < FEWEST for kind, seen in kinds.items()):
        return {}, set()
    own = [part for kind in kinds if kind.within for part in kind.parts]
    covariance, common = readings.rest(own)
    parts = dict.fromkeys(batch.part for batch in readings.batches)
    means = [sum(b.column for b in readings.batches if b.part == part) for part in parts]
    members = Members(
        readings.values,
        covariance,
        np.array(means).T,
        [np.array([batch.column for batch in seen]).T for seen in kinds.values()],
        common,
        readings.blocks,
    )
    try:
        spreads = members.learned(np.array([kind.start for kind in kinds]))
    except ValueError:
        return {}, set()
    each = list(kinds)
    return dict(zip(each, spreads, strict=True)), {each[j] for j in members.together(spreads)}


def _why(kind: _Kind, seen: Sequence[Batch], spread: Learned | None, *, together: bool) -> Why:
    if not seen:
        return "unseen"
    if spread is None or _count(kind, seen) < FEWEST:
        return "few"
    if together:
        return "together"
    if np.isinf(spread.high):
        return "endless"
    if spread.low == 0.0:
        return "hidden"
    agrees = kind.assumed is not None and spread.low <= kind.assumed <= spread.high
    return "known" if agrees and kind.known >= _count(kind, seen) else ""
