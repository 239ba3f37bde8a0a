"""Files of measurements: what is read, and one clear error, with its line, for what is wrong."""

from __future__ import annotations

from pathlib import Path

import pytest
from answers import shipped_scenario
from optimizer_texts import FOLDER, shipped

from optimizer.paper.document import Report, Table
from optimizer.paper.writers.formats import FORMATS
from optimizer.questions.line_up.data import identity
from optimizer.questions.reconcile.measured.file import read_measured
from optimizer.questions.reconcile.measured.template import template
from optimizer.scenario import scenario
from shared.errors import InputError

HEAD = "ball,label,measurement,of,value,unit"
GOOD = f"{HEAD}\n1,15,casting,keel,846.2,g\n1,15,weight,,15.12,lb\n1,15,Low_RG,,2.551,in\n"


def read(folder: Path, text: str | bytes, name: str = "m.csv", of: str = "juniper"):
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_measured(path, shipped_scenario(of))


def test_what_is_read(tmp_path: Path):
    """In g and cm; names in any case; a row without a value is a reading that wasn't made."""
    keel, weight, low = read(tmp_path, GOOD + "1,15,top weight,,,oz\n").each
    assert (keel.value, keel.of, keel.line) == (846.2, "keel", 2)
    assert weight.value == pytest.approx(15.12 * 453.59237)
    assert (low.value, low.name) == (pytest.approx(2.551 * 2.54), "low rg")


@pytest.mark.parametrize(
    "text",
    [
        "﻿" + GOOD,
        "sep=;\r\n" + GOOD.replace(",", ";").replace(".", ",").replace("\n", "\r\n"),
        GOOD.replace(",", "\t"),
        "\n\n" + GOOD.replace("\n", "\n\n"),
        GOOD.replace(HEAD, HEAD.upper()),
    ],
    ids=["mark", "semicolons and decimal commas", "tabs", "blank lines", "capitals"],
)
def test_other_ways_to_write_it(tmp_path: Path, text: str):
    first = [(one.value, one.kind) for one in read(tmp_path, GOOD).each]
    assert [(one.value, one.kind) for one in read(tmp_path, text).each] == first


ROW = "1,15,weight,,15.12,lb"
WRONG = {
    "empty": ("", None, "is empty"),
    "no value": (f"{HEAD}\n1,15,weight,,,lb\n", None, "has no value"),
    "no header": (f"{ROW}\n", None, "no row of column names"),
    "unknown column": (f"{HEAD},batsh\n{ROW},\n", 1, 'did you mean "batch"'),
    "missing column": ("ball,label,measurement,value,unit\n1,15,weight,15.1,lb\n", 1, "column of"),
    "twice": (f"{HEAD},unit\n{ROW},lb\n", 1, "a column twice"),
    "ragged": (f"{HEAD}\n{ROW}\n1,15,weight,,15,12,lb\n", 3, "decimal comma"),
    "decimal comma": (f'{HEAD}\n1,15,weight,,"15,12",lb\n', 2, "15.12"),
    "label": (f"{HEAD}\n1,11,weight,,15.12,lb\n", 2, "not a weight of this line"),
    "measurement": (f"{HEAD}\n1,15,wieght,,15.12,lb\n", 2, 'did you mean "weight"'),
    "part": (f"{HEAD}\n1,15,casting,keal,800,g\n", 2, 'did you mean "keel"'),
    "of": (f"{HEAD}\n1,15,weight,keel,15.12,lb\n", 2, "is for castings"),
    "unit": (f"{HEAD}\n1,15,weight,,15.12,stone\n", 2, "g or kg or oz or lb"),
    "no unit": (f"{HEAD}\n1,15,weight,,15.12,\n", 2, "is left out"),
    "no ball": (f"{HEAD}\n,15,weight,,15.12,lb\n", 2, "ball is left out"),
    "number": (f"{HEAD}\n1,15,weight,,heavy,lb\n", 2, "not a number"),
    "inf": (f"{HEAD}\n1,15,weight,,inf,lb\n", 2, "not a number"),
    "negative": (f"{HEAD}\n1,15,low rg,,-2.5,in\n", 2, "can't be the low rg"),
    "zero": (f"{HEAD}\n1,15,weight,,0,lb\n", 2, "can't be the weight"),
    "more than the ball": (f"{HEAD}\n1,15,top weight,,250,oz\n", 2, "can't be the top weight"),
    "inches": (f"{HEAD}\n1,15,low rg,,2.55,mm\n", 2, "is it in mm?"),
    "millimetres": (f"{HEAD}\n1,15,low rg,,64.8,in\n", 2, "is it in in?"),
    "kilograms": (f"{HEAD}\n1,15,weight,,6.86,lb\n", 2, "is it in lb?"),
    "diameter": (f"{HEAD}\n1,15,diameter,,27,in\n", 2, "the drawing's is 8.58"),
    "no pendulum": (f"{HEAD}\n1,15,period low,,1.2,s\n", 2, "[gauges] pendulum"),
    "repeatability": (f"{HEAD},repeatability\n{ROW},0\n", 2, "more than 0"),
    "other scenario": (f"{HEAD},scenario\n{ROW},0123456789abcdef\n", 2, "another scenario"),
    "two labels": (f"{HEAD}\n{ROW}\n1,14,weight,,14.1,lb\n", 3, 'is a "15" in line 2'),
    "two batches": (f"{HEAD},batch\n{ROW},A\n{ROW},B\n", 3, 'line 2 says "A"'),
    "latin-1": (f"{HEAD}\n1,15,weight,,15.12,lb,é".encode("latin-1"), None, "UTF-8"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_one_clear_error(tmp_path: Path, name: str):
    text, line, words = WRONG[name]
    with pytest.raises(InputError) as error:
        read(tmp_path, text)
    (problem,) = error.value.problems
    assert problem.file is not None
    assert problem.file.endswith("m.csv")
    assert problem.line == line
    assert words in str(problem)


def test_every_mistake_is_told_at_once(tmp_path: Path):
    with pytest.raises(InputError) as error:
        read(tmp_path, f"{HEAD}\n1,11,weight,,15.12,lb\n{ROW}\n1,15,weight,,x,lb\n")
    assert [problem.line for problem in error.value.problems] == [2, 4]


def test_a_metric_file_of_a_scenario_in_inches_is_told(tmp_path: Path):
    measured = read(tmp_path, f"{HEAD}\n1,15,low rg,,64.77,mm\n1,15,weight,,6.86,kg\n")
    assert measured.each[0].value == pytest.approx(6.477)
    assert measured.told == ("Figures in mm are converted: the scenario is written in inches.",)
    assert read(tmp_path, GOOD).told == ()


def test_its_own_scenario_is_known_by_its_digest(tmp_path: Path):
    digest = identity(shipped_scenario("juniper"))["sha256"]
    for known in (digest, digest[:12], digest.upper()):
        assert read(tmp_path, f"{HEAD},scenario\n{ROW},{known}\n").each


@pytest.mark.parametrize("of", ["juniper", "rowan", "larch-metric"])
@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
def test_a_template_filled_in_reads_back(tmp_path: Path, of: str, suffix: str):
    """With the drawing's own diameters filled in, all the rest left empty."""
    asked = scenario(shipped(of), file="x.toml", files=FOLDER, target_required=True)
    report = template(asked)
    rows = [list(row.values()) for row in report.data["rows"]]
    assert {row[1] for row in rows} == set(asked.labels)
    inch = asked.text.units.length == "in"
    (table,) = report.blocks
    value = "8.58" if inch else "217.9"
    filled = tuple(
        (*row[:4], value if row[2] == "diameter" else "", *row[5:]) for row in table.rows
    )
    path = tmp_path / f"t{suffix}"
    path.write_bytes(FORMATS[suffix].encoded(Report((Table(table.columns, filled),), {})))
    read_back = read_measured(path, asked)
    assert [one.kind.name for one in read_back.each] == ["diameter"] * len(asked.labels)
    assert {one.label for one in read_back.each} == set(asked.labels)
