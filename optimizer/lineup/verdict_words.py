"""The verdict in words on a line-up that isn't exactly on target."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.ball.bounds import Margin
from optimizer.lineup.group import Solution
from optimizer.lineup.result import Status

NONE_EXACT = "proven for {labels}: no densities keep every limit and meet the target exactly"
NONE_WITHIN = (
    "proven for {labels}: no densities keep every limit and meet the target, even within its "
    "tolerances"
)
UNDECIDED = "not found from {starts} starts for {labels}, nor proven impossible"
UNDECIDED_WITHIN = (
    "proven for {labels}: the target can't be met exactly; within its tolerances no line-up was "
    "found from {starts} starts, nor was it proven impossible"
)
UNDECIDED_EXACT = (
    "whether {labels} can meet the target exactly is undecided: not found from {starts} starts, "
    "nor proven impossible"
)
"""What is known about a group of weights that doesn't meet the target exactly."""
NO_MOULD = "no mould was found that would do; for the mould shown below: {known}"
NO_MOULD_EXACT = (
    "no mould was found that meets the target exactly; for the mould shown below: {known}"
)
"""The same with free dimensions: moulds are searched for, and nothing is proven about them."""
NO_SHARE = "no one share of the blend was found that would do; for the share shown: {known}"
NO_SHARE_EXACT = (
    "no one share of the blend was found that meets the target exactly; "
    "for the share shown: {known}"
)
"""The same with one share to find: shares are searched for."""
ONE_SHARE = (
    "material {}: {} is {:g} % of the resin's mass in every pour, the best of the {} shares tried; "
    "what is said here is about that share"
)
"""Beside a line-up whose share was searched for."""
SHARES_FREE = (
    "material {}: all that is said here is about a blend with a share of its own in each pour; not "
    "even so is there a line-up"
)


def known_words(solutions: Sequence[Solution], broken: Sequence[Margin], *, exact: bool) -> str:
    """Return in words what is known about a line-up that isn't feasible, and how it is known."""
    sentences = ["a limit is broken that no density moves"] if broken else []
    words: dict[tuple[Status, bool], str] = {
        ("infeasible", True): NONE_EXACT if exact else NONE_WITHIN,
        ("infeasible", False): NONE_WITHIN,
        ("undecided", True): UNDECIDED_WITHIN,
        ("undecided", False): UNDECIDED,
        ("within_tolerance", True): NONE_EXACT,
        ("within_tolerance", False): UNDECIDED_EXACT,
    }
    for known, sentence in words.items():
        alike = [each for each in solutions if (each.status, each.exact_proven) == known]
        if alike:
            labels = ", ".join(label for each in alike for label in each.lineup.labels)
            starts = sum(each.starts for each in alike)
            sentences.append(sentence.format(labels=labels, starts=starts))
    unkept = [label for each in solutions if not each.limits_kept for label in each.lineup.labels]
    if unkept:
        sentences.append(
            f"for {', '.join(unkept)} no densities were found that keep every limit, even ignoring "
            "every target: the nearest line-up breaks a limit"
        )
    return "; ".join(sentences)
