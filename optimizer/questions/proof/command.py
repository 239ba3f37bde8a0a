"""`samespin proof`: check the proofs that other commands wrote."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from optimizer.terminal import frame, options
from optimizer.terminal.reading import reading
from shared import what_if


@reading
def proof(
    file: Annotated[
        str, typer.Argument(metavar="FILE", help="A file that --proof FILE of a command wrote.")
    ],
    *,
    scenario: Annotated[
        str | None,
        typer.Option(
            "--scenario",
            metavar="FILE.toml",
            show_default=False,
            help="The scenario whose numbers the proofs must have. Without it: the one that the "
            "proofs name, if it lies beside them.",
        ),
    ] = None,
    as_json: options.Json = False,
) -> int:
    """Check proofs in exact arithmetic, without a solver, and say what they show.

    A proof says that no line-up has certain figures and keeps certain limits, or that one does. It
    was written by --proof FILE of solve, window, sharing or schedule. Each claim is shown with the
    numbers that it is about; these are compared with the scenario's, in its case and with what was
    set when the proof was written.

    The checker is optimizer/certificate, which needs nothing but Python: python -m
    optimizer.certificate FILE does the same without samespin's other parts.

    Exit codes: 0 every claim is shown, and its numbers are the scenario's; 3 the file is wrong; 4
    a claim isn't shown, or its numbers are others.
    """
    from optimizer.questions.proof.agreement import differences
    from optimizer.questions.proof.data import proof_data
    from optimizer.questions.proof.file import read_proof
    from optimizer.questions.proof.page import proof_blocks
    from optimizer.scenario import read_scenario

    read = read_proof(file)
    named = Path(file).parent / Path(read.scenario.get("file", "")).name
    if scenario is None and named.is_file() and named.suffix.lower() == ".toml":
        scenario = str(named)
    differing = None
    if scenario is not None:
        with what_if.within(what_if.asked() or read.what_if):
            asked = read_scenario(scenario, target_required=False)
        differing = tuple(differences(read, asked))
    if as_json:
        frame.put_json(proof_data(read, differing))
    else:
        frame.show(proof_blocks(read, differing))
    return frame.DONE if read.holds and not differing else frame.INFEASIBLE
