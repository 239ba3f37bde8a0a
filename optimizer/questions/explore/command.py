"""`samespin explore`: many candidates of the free dimensions, to a table and a picture."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from optimizer.terminal import files, frame, lock, options
from optimizer.terminal.reading import reading
from shared import stopping
from shared.errors import InputError, StoppedError

if TYPE_CHECKING:
    from optimizer.questions.explore.explore import Explored
    from optimizer.questions.explore.row import CandidateRow
    from optimizer.questions.explore.store import Store
    from optimizer.questions.explore.table import Table

SUFFIXES = (".csv", ".parquet")


@reading
def explore(
    file: options.File,
    *,
    samples: Annotated[
        int, typer.Option("--samples", metavar="N", min=1, help="How many candidates in all.")
    ],
    output: Annotated[
        Path,
        typer.Option(
            "-o",
            "--output",
            metavar="TABLE",
            help="The table, .csv or .parquet (extra: tables). A table that is there is continued.",
        ),
    ],
    seed: Annotated[
        int, typer.Option("--seed", metavar="N", min=0, help="Which random samples to take.")
    ] = 2026,
    jobs: options.Jobs = None,
    scheduler: options.Scheduler = None,
    picture: Annotated[
        Path | None,
        typer.Option(
            "--picture",
            metavar="FILE.svg",
            help="Draw the smallest margin against each dimension, too.",
        ),
    ] = None,
    force: options.Force = False,
    as_json: options.Json = False,
) -> int:
    """Try many candidates of the free dimensions: for each the smallest margin, and its reach.

    Candidate 1 is the drawing as it stands; the others are spread evenly over the ranges of the
    free dimensions and the rack. Each is one mould, and its densities are solved for. Its row shows
    whether it is feasible (or within tolerance), its smallest margin in tolerances and the limit
    that sets it, the differential that all weights can share at the target's RG, and the RG at the
    target's differential. Rows are written as they are done. Type the same command again, with the
    same scenario, seed and table, to continue where it stopped, or up to a larger N.

    Exit codes: 0 at least one mould can be poured; 3 the file is wrong, or something else that you
    can mend; 6 none can be poured; 130 interrupted, what is done is kept.
    """
    if output.suffix.lower() not in SUFFIXES:
        what = f"{output}: the suffix must be {' or '.join(SUFFIXES)}"
        raise typer.BadParameter(what, param_hint="'-o'")
    options.check_pool(jobs, scheduler)
    files.check_picture(picture, [file], force=force)
    files.refuse(output, [file], force=True)
    from optimizer.lineup.moulds.pools import pool
    from optimizer.questions.explore.data import explore_data
    from optimizer.questions.explore.explore import explored, most, to_pick
    from optimizer.questions.explore.page import explore_blocks
    from optimizer.questions.explore.picture import explore_picture
    from optimizer.questions.explore.store import Store
    from optimizer.questions.explore.summary import summary
    from optimizer.questions.explore.table import Table
    from optimizer.scenario import read_scenario

    asked = read_scenario(file, target_required=True, goal_allowed=False)
    slots = to_pick(asked)
    table, wanted = Table(asked, slots, seed), min(samples, most(slots) or samples)
    store = Store(table, output)
    if wanted < samples:
        frame.tell(f"the rack has {wanted} candidates only")
    with lock.alone(output):
        with files.disk(output):
            done = store.opened(force=force)
        if 0 < done < wanted:
            frame.tell(f"continuing after {done} of {wanted}")
        every = explored(asked, slots, seed, range(done, wanted), pool(jobs, scheduler))
        with closing(every):
            _grow(store, _lines(table, every, done), done, wanted)

        def rows() -> Iterator[CandidateRow]:
            return table.rows(store.rows)

        result = summary(rows)
        drawn = files.drawn(picture, lambda: explore_picture(table, result, rows))
        with files.disk(output):
            store.close()
        files.write(drawn, force=force)
    if as_json:
        frame.put_json(explore_data(table, result, [output, *drawn]))
    else:
        frame.show(explore_blocks(table, result), f"samespin solve {frame.again(file)}")
        frame.written([output, *drawn], as_json=False)
    return frame.DONE if result.feasible + result.within else frame.UNDECIDED


def _grow(store: Store, lines: Iterator[bytes], done: int, wanted: int) -> None:
    """Add the lines to those that are `done`; if interrupted, say what is kept."""
    try:
        files.grow(store.rows, store.table.header, lines, anew=done == 0)
    except KeyboardInterrupt:
        stopping.heard()
        raise StoppedError(f"interrupted {_kept(store, done, wanted)}") from None
    except InputError as error:
        (problem, *others) = error.problems
        what = f"{problem.what}; stopped {_kept(store, done, wanted)}"
        raise InputError([replace(problem, what=what), *others]) from error


def _lines(table: Table, every: Iterator[Explored], done: int) -> Iterator[bytes]:
    """Yield the table's lines."""
    for number, result in enumerate(every, start=done + 1):
        yield table.line(number, result)


def _kept(store: Store, done: int, wanted: int) -> str:
    """Return how far a run has come, and how to continue; `done` were there when it began."""
    try:
        with files.disk(store.rows):
            done = store.opened(force=False)
    except InputError:  # another table, which --force would have replaced: it is untouched
        pass
    if not done:
        return "before the first candidate was done"
    return (
        f"after {done} of {wanted} candidates, which are kept in {store.rows}; type the same line "
        "again to go on"
    )
