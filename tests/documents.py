"""Documents for the writers: every kind of block, figures and signs of every kind."""

from __future__ import annotations

from optimizer.paper.document import (
    Block,
    Chart,
    Column,
    Heading,
    Notes,
    Page,
    Paragraph,
    Report,
    Table,
    left,
)

BLANK = "........"
SHA = "0123456789abcdef" * 4
FIGURES = ("12.30", "+0.0010", "-0.07", "+0.0000", "-0.0000", "5", "-", "")
"""Numbers as they are printed, and what is none."""


def sheet(*labels: str, revision: str = "A", name: str = "Rowan", sha: str = SHA) -> Report:
    """A title, a page for each label with masses that follow from it, and a page of notes."""
    blocks: list[Block] = [
        Heading(f"Schedule: {name}, revision {revision}"),
        Paragraph(f"Fingerprint {sha[:12]}; poured by {BLANK}", "warning"),
        Table(
            (left("title block"), left("")),
            (("title", f"Schedule, {name}"), ("revision", revision), ("date of issue", BLANK)),
        ),
    ]
    for label in labels:
        blocks += [Page(f"weight class {label} lb"), Heading(f"Weight class {label} lb")]
        blocks += _tables(float(label))
    blocks += [Page("notes"), Heading("Notes"), Notes(("Weigh; then pour.", "=1+1", "+x"))]
    blocks.append(Chart(("|_", "  no use in cells")))
    return Report(tuple(blocks), {"scenario": {"name": name, "revision": revision, "sha256": sha}})


def _tables(label: float) -> tuple[Table, Table]:
    parts = ("keel", "spindle", "mantle", "cover")
    rows = [
        (part, "dense", f"{100 * label + k:.2f}", f"{label / 1000 + k / 100:+.4f}", "-")
        for k, part in enumerate(parts)
    ]
    pours = Table(
        (left("part"), left("material"), Column("mass, g"), Column("off, g/cm³"), Column("±")),
        (*rows[:2], ("Outside",), *rows[2:]),
    )
    record = Table(
        (left("batch record"), left("lot"), Column("actual g"), left("initials")),
        tuple((part, BLANK, BLANK, BLANK) for part in parts),
    )
    return pours, record


def table(cells: tuple[str, ...]) -> Report:
    """A table of one column of figures."""
    return Report((Table((Column("figure, g"),), tuple((cell,) for cell in cells)),), {})


def wide(columns: int, rows: int) -> Table:
    """A table with a name and a figure for every cell that no other has."""
    return Table(
        (left("row"), *(Column(f"c{k}, g") for k in range(columns))),
        tuple(
            (f"row number {i}", *(f"{1000 + i}.{k:03d}" for k in range(columns)))
            for i in range(rows)
        ),
    )
