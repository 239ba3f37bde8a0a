"""The table of candidates, gone on with or refused; its summary, page and picture.

None is solved: rows are made up, so that their number and kind are known.
"""

from __future__ import annotations

import csv
import io
import sys
import tomllib
import tracemalloc
import xml.etree.ElementTree as ET

import pytest
from optimizer_texts import shipped

from optimizer.paper.document import Chart, Paragraph
from optimizer.questions.explore import table as explore_table
from optimizer.questions.explore.candidate import Candidate, Shared
from optimizer.questions.explore.data import explore_data
from optimizer.questions.explore.explore import to_pick
from optimizer.questions.explore.page import explore_blocks, starts
from optimizer.questions.explore.picture import explore_picture
from optimizer.questions.explore.store import Store
from optimizer.questions.explore.summary import DOTS, TENTH, summary
from optimizer.questions.explore.table import Table
from optimizer.scenario import scenario
from shared.errors import InputError

SVG = "{http://www.w3.org/2000/svg}"
INCH = 2.54
ELDER = shipped("elder")
REACH = Shared((0.03 * INCH, 0.05 * INCH), None, "exact")
FIGURES = (2.55 * INCH, 0.048 * INCH)
KINDS = (
    Candidate("feasible", FIGURES, 1.25, "wall min", "16", ("keel", "spindle"), REACH),
    Candidate("limit broken", FIGURES, -3.5, "density max", "13", "cover", REACH),
    Candidate("limit broken", FIGURES, -90.0, "top weight min", "16", None, REACH),
    Candidate("target missed", FIGURES, reach=REACH),
    Candidate("no mould"),
)


def _table(text=ELDER, seed=7):
    asked = scenario(text, file="line.toml", target_required=True)
    return Table(asked, to_pick(asked), seed)


def _values(n, count=3):
    return tuple(3.0 + round(0.001 * ((n * 37 + 11 * k) % 800), 3) for k in range(count))


def _write(path, table, count, kinds=KINDS):
    with path.open("wb") as stream:
        stream.write(table.header)
        for n in range(count):
            found = _values(n, len(table.slots)), kinds[n % len(kinds)]
            stream.write(table.line(n + 1, found))
    return path


def test_a_row_is_read_as_it_was_written(tmp_path):
    table = _table()
    rows = list(table.rows(_write(tmp_path / "t.csv", table, 5)))
    assert [row.number for row in rows] == [1, 2, 3, 4, 5]
    assert [row.status for row in rows] == [one.status for one in KINDS]
    assert [row.margin for row in rows] == [1.25, -3.5, -90.0, None, None]
    assert [row.part for row in rows] == ["keel and spindle", "cover", "", "", ""]
    assert [row.differential for row in rows] == [(0.03, 0.05)] * 4 + [None]
    assert rows[0].values == _values(0)


def test_any_csv_reader_makes_the_same_of_it(tmp_path):
    table = _table()
    text = _write(tmp_path / "t.csv", table, 5).read_text("utf-8")
    told = list(csv.DictReader(io.StringIO(text)))
    assert float(told[1]["belly [in]"]) == _values(1)[0]
    assert told[1]["margin_tolerances"] == "-3.5"
    assert {(row["seed"], len(row["scenario"])) for row in told} == {("7", 16)}
    assert told[0]["rg_in"] == "2.55"


def test_a_half_written_line_is_mended_wherever_it_was_cut(tmp_path):
    """A kill can leave any number of bytes; what is then there is a whole number of rows."""
    table = _table()
    whole = _write(tmp_path / "whole.csv", table, 3).read_bytes()
    ends = [k + 1 for k, byte in enumerate(whole) if byte == ord("\n")]
    for size in range(len(whole) + 1):
        path = tmp_path / "cut.csv"
        path.write_bytes(whole[:size])
        done = table.mended(path)
        assert done == max(sum(end <= size for end in ends) - 1, 0)
        if done:
            assert path.read_bytes() == whole[: ends[done]]


def test_a_table_that_a_spreadsheet_has_marked_is_gone_on_with(tmp_path):
    table, path = _table(), tmp_path / "t.csv"
    path.write_bytes(b"\xef\xbb\xbf" + _write(path, table, 3).read_bytes())
    assert table.mended(path) == 3
    assert len(list(table.rows(path))) == 3


@pytest.mark.parametrize(
    ("other", "said"),
    [
        ({"seed": 8}, "is the table of seed 8, not 7"),
        ({"text": ELDER.replace("0.048", "0.047")}, "is the table of another scenario"),
        ({"text": ELDER.replace("belly", "waist")}, "is the table of another scenario"),
        (
            {"text": ELDER.replace("start = 3.30 }", 'start = 3.30, same = "none" }')},
            "is the table of another scenario",
        ),
    ],
)
def test_a_table_of_something_else_is_refused(tmp_path, other, said):
    path = _write(tmp_path / "t.csv", _table(**other), 3)
    before = path.read_bytes()
    with pytest.raises(InputError, match=said):
        _table().mended(path)
    assert path.read_bytes() == before
    assert _table().mended(path, force=True) == 0


def test_a_table_of_another_version_is_refused(tmp_path, monkeypatch):
    path = _write(tmp_path / "t.csv", _table(), 3)
    monkeypatch.setattr(explore_table, "version", lambda: "99")
    with pytest.raises(InputError, match=r"was begun by samespin .*, and this is samespin 99"):
        _table().mended(path)


def test_comments_in_the_scenario_make_no_other_one(tmp_path):
    path = _write(tmp_path / "t.csv", _table(), 3)
    assert _table(ELDER + "\n# a thought\n").mended(path) == 3


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda _text: b"my notes\n", "is no table of samespin explore"),
        (lambda _text: b"", None),
        (lambda text: text.replace(b"\r\n2,", b"\r\n3,"), "candidate 2 doesn't stand there"),
        (lambda text: text.replace(b",-3.5,", b",x,"), "candidate 2 doesn't stand there"),
        (lambda text: text.replace(b",-3.5,", b",-3.5,,"), "candidate 2 doesn't stand there"),
        (lambda text: text.replace(b"cover", b"\xff"), "can't be read as CSV"),
    ],
)
def test_what_is_no_table_is_refused_and_left_alone(tmp_path, spoil, said):
    path = _write(tmp_path / "t.csv", _table(), 3)
    path.write_bytes(spoil(path.read_bytes()))
    before = path.read_bytes()
    if said is None:
        assert _table().mended(path) == 0
        return
    with pytest.raises(InputError, match=said) as caught:
        _table().mended(path)
    assert path.read_bytes() == before
    assert "--force" in (caught.value.problems[0].instead or "")


def test_names_are_no_formulas_and_stay_on_their_line(tmp_path):
    text = ELDER.replace("belly", '"=1+1\\nbelly"', 1).replace('"belly"', '"=1+1\\nbelly"')
    table = _table(text)
    assert table.columns[1] == "'=1+1 belly [in]"
    path = _write(tmp_path / "t.csv", table, 3)
    assert path.read_bytes().count(b"\n") == 4
    assert table.mended(path) == 3


def test_the_summary_counts_and_ranks(tmp_path):
    table = _table()
    path = _write(tmp_path / "t.csv", table, 50)
    found = summary(lambda: table.rows(path))
    assert (found.count, found.feasible, found.measured, found.step) == (50, 10, 30, 1)
    assert found.statuses == {
        "feasible": 10,
        "limit broken": 20,
        "target missed": 10,
        "no mould": 10,
    }
    assert [row.number for row in found.best] == [1, 6, 11, 16, 21]  # of equals the first


def test_the_best_tenth_and_its_ranges(tmp_path):
    table = _table()
    path = tmp_path / "t.csv"
    with path.open("wb") as stream:
        stream.write(table.header)
        for n in range(100):
            one = Candidate("limit broken", FIGURES, -float(n), "wall min", "16", "keel", REACH)
            stream.write(table.line(n + 1, ((3.0 + 0.001 * n, 6.0, 0.2), one)))
    found = summary(lambda: table.rows(path))
    assert [row.number for row in found.tenth] == list(range(1, 11))
    ranges = explore_data(table, found, [path])["best_tenth"]["ranges"]
    assert ranges["belly [in]"] == pytest.approx([3.0, 3.009])
    assert ranges["tall [in]"] == [6.0, 6.0]


def test_the_page_tells_the_best_and_what_the_rest_is(tmp_path):
    table = _table()
    path = _write(tmp_path / "t.csv", table, 50)
    blocks = explore_blocks(table, summary(lambda: table.rows(path)))
    first = blocks[0]
    assert isinstance(first, Paragraph)
    assert first.text == (
        "Elder, revision A: 50 candidates, 10 feasible. Best: candidate 1 (the drawing as it "
        "stands), smallest margin 1.2 tolerances."
    )
    text = str(blocks)
    assert "16: keel and spindle wall min" in text
    assert "0.0300 to 0.0500" in text
    assert "10 feasible, 20 on target but outside a limit, 10 off target and 10 with parts" in text
    assert "not a proof that none exist" in text
    assert "exact for 40" in text


def test_the_drawing_as_it_stands_is_told_where_it_is_not_the_best(tmp_path):
    table, path = _table(), tmp_path / "t.csv"
    kinds = [KINDS[1], *[KINDS[0]] * 9]
    found = summary(lambda: table.rows(_write(path, table, 10, kinds)))
    assert [row.number for row in found.best] == [2, 3, 4, 5, 6]
    text = str(explore_blocks(table, found))
    assert "on target but outside a limit, margin -3.50 tolerances" in text
    data = explore_data(table, found, [path])
    assert (data["as_drawn"]["candidate"], data["as_drawn"]["status"]) == (1, "limit broken")


def test_within_tolerance_ranks_between_feasible_and_the_rest(tmp_path):
    """Whatever the margins, which are larger the worse the status; told in words and by shape."""
    table, path = _table(), tmp_path / "t.csv"
    within = Candidate("within_tolerance", FIGURES, 2.5, "wall min", "16", "keel", REACH, 0.4)
    odd = Candidate("limit broken", FIGURES, 9.0, "wall min", "16", "keel", REACH)
    further = Candidate("within_tolerance", FIGURES, 3.5, "wall min", "16", "keel", REACH, 0.6)
    _write(path, table, 4, [odd, further, within, KINDS[0]])
    found = summary(lambda: table.rows(path))
    assert [row.number for row in found.best] == [4, 3, 2, 1]
    assert (found.feasible, found.within) == (1, 2)
    text = str(explore_blocks(table, found))
    assert "4 candidates, 1 feasible, 2 within tolerance. Best: candidate 4" in text
    assert "'within tolerance'" in text
    assert explore_data(table, found, [path])["best"][1]["off_target_tolerances"] == 0.4
    root = ET.fromstring(explore_picture(table, found, lambda: table.rows(path)).file())  # noqa: S314
    assert len(_marks(root, "within")) == 2 * 3
    assert "within tolerance" in [one.text for one in root.iter(f"{SVG}text")]
    alone = summary(lambda: table.rows(_write(path, table, 1, [within])))
    (first, *_) = explore_blocks(table, alone)
    assert first.tone == "good"
    assert "within tolerance, its largest deviation 0.4 of a tolerance." in first.text


def test_no_margin_at_all_is_said(tmp_path):
    table = _table()
    path = _write(tmp_path / "t.csv", table, 6, kinds=KINDS[3:])
    found = summary(lambda: table.rows(path))
    assert "6 candidates, 0 feasible. None has a margin" in str(explore_blocks(table, found)[0])
    root = ET.fromstring(explore_picture(table, found, lambda: table.rows(path)).file())  # noqa: S314
    assert len(_marks(root, "none")) == 6 * 3
    assert not _marks(root, "best")


SAME = (
    (
        'belly = { min = 3.00, max = 3.80, start = 3.30, same = [["16", "15", "14", "13"]] }',
        "belly",
    ),
    ("belly = { one_of = [3.1, 3.4] }", "belly"),
    ('belly = { min = 3.00, max = 3.80, same = "none" }', "belly"),
    ('"a b" = { min = 3.00, max = 3.80 }', "a b"),
)


@pytest.mark.parametrize(("line", "name"), SAME, ids=["group", "rack", "none", "quoted"])
def test_the_lines_to_paste_make_a_scenario_that_is_read(tmp_path, line, name):
    """The scenario with the lines in place of its own has the candidate's values at its start."""
    old = next(one for one in ELDER.splitlines() if one.startswith("belly"))
    text = ELDER.replace(old, line).replace('"belly"', f'"{name}"')
    table = _table(text)
    path = tmp_path / "t.csv"
    values = [3.1 + 0.1 * k for k in range(len(table.slots) - 2)] + [6.1, 0.2]
    path.write_bytes(table.header + table.line(1, (tuple(values), KINDS[0])))
    lines = starts(table, next(table.rows(path)))
    head, _, rest = text.partition("[dimensions]\n")
    pasted = head + "[dimensions]\n" + "\n".join(lines) + "\n" + rest[rest.index("[materials") :]
    asked = scenario(pasted, file="new.toml", target_required=True)
    told = {one.name: one.start / INCH for one in asked.free}
    assert told["tall"] == pytest.approx(6.1)
    dimension = tomllib.loads(pasted)["dimensions"][name]
    if "none" in line:
        assert list(dimension["each"].values()) == pytest.approx([3.1, 3.2, 3.3, 3.4])
    elif "one_of" in line:
        assert dimension == 3.1
    else:
        assert told[name] == pytest.approx(3.1)


def _marks(root, kind):
    """The marks of a kind in the plots; the legend's stand apart."""
    return [one for one in root if one.get("class") == kind]


def test_the_picture_has_a_dot_for_every_candidate_in_every_plot(tmp_path):
    """Of 5 kinds: filled, hollow, and 3 that stand on the foot; the best one is marked besides."""
    table = _table()
    path = _write(tmp_path / "t.csv", table, 50)
    found = summary(lambda: table.rows(path))
    root = ET.fromstring(explore_picture(table, found, lambda: table.rows(path)).file())  # noqa: S314
    assert root[0].tag == f"{SVG}title"
    assert "smallest margin against each dimension" in (root[0].text or "")
    assert "best has a smallest margin of 1.25 tolerances at belly [in] 3" in (root[1].text or "")
    plots = 3
    for one in ("zero", "best", "drawn"):
        assert len(_marks(root, one)) == plots
    assert len(_marks(root, "feasible")) == len(_marks(root, "broken")) == 10 * plots
    assert len(_marks(root, "none")) == 30 * plots
    words = [one.text for one in root.iter(f"{SVG}text")]
    assert {"belly [in]", "tall [in]", "lift [in]", "smallest margin, tolerances"} <= set(words)
    height = float(root.get("height") or 0)
    assert all(float(one.get("y") or 0) < height for one in root.iter(f"{SVG}text"))


def test_dots_stand_where_their_figures_are(tmp_path):
    table = _table()
    path = tmp_path / "t.csv"
    at = [(3.0, 1.0), (3.4, 3.0), (3.8, 2.0)]
    lines = [
        table.line(
            n, ((belly, 6.2, 0.3), Candidate("feasible", FIGURES, level, "wall min", "16", "keel"))
        )
        for n, (belly, level) in enumerate(at, start=1)
    ]
    path.write_bytes(table.header + b"".join(lines))
    found = summary(lambda: table.rows(path))
    root = ET.fromstring(explore_picture(table, found, lambda: table.rows(path)).file())  # noqa: S314
    dots = [one for one in root if one.get("class") == "feasible"][:3]
    x, y = ([float(one.get(key) or 0) for one in dots] for key in ("x", "y"))
    assert x[1] - x[0] == pytest.approx(x[2] - x[1], abs=0.2)
    assert x[0] < x[1]
    assert y[0] - y[2] == pytest.approx(y[2] - y[1], abs=0.2)
    assert y[1] < y[2]


def test_very_many_dots_are_thinned_evenly_and_it_is_said(tmp_path):
    table = _table()
    path = _write(tmp_path / "t.csv", table, 2 * DOTS + 1)
    found = summary(lambda: table.rows(path))
    text = explore_picture(table, found, lambda: table.rows(path)).file()
    root = ET.fromstring(text)  # noqa: S314
    words = " ".join(one.text or "" for one in root if one.tag.endswith("text"))
    assert "one candidate in 3 is drawn, and the best" in words
    inside = [one for one in root if one.get("class") in {"feasible", "broken", "none"}]
    assert len(inside) == 3 * -(-(2 * DOTS + 1) // 3)
    assert len(found.tenth) < TENTH


@pytest.mark.slow
def test_memory_stays_flat(tmp_path):
    """Twice the candidates, read, ranked and drawn: within 150 kB, where lines have 1.5 MB.

    Both have more than are drawn and than the best tenth holds.
    """
    table, peaks = _table(), []
    for count in (3 * DOTS, 6 * DOTS):
        path = _write(tmp_path / f"{count}.csv", table, count, kinds=KINDS[:2])
        tracemalloc.start()
        try:
            assert table.mended(path) == count
            found = summary(lambda path=path: table.rows(path))
            explore_picture(table, found, lambda path=path: table.rows(path)).file()
            peaks.append(tracemalloc.get_traced_memory()[1])
        finally:
            tracemalloc.stop()
    assert abs(peaks[1] - peaks[0]) < 150_000


def test_parquet_holds_the_same_and_is_gone_on_with(tmp_path):
    parquet = pytest.importorskip("pyarrow.parquet", reason="the extra `tables` is not installed")
    table, path = _table(), tmp_path / "t.parquet"
    store = Store(table, path)
    assert store.opened(force=False) == 0
    rows = _write(store.rows, table, 1100).read_bytes()
    store.close()
    assert not store.rows.exists()
    held = parquet.read_table(path)
    assert (held.num_rows, parquet.ParquetFile(path).num_row_groups) == (1100, 2)
    assert held.column_names == list(table.columns)
    assert held["margin_tolerances"].to_pylist()[:5] == [1.25, -3.5, -90.0, None, None]
    assert held["belly [in]"].to_pylist()[:5] == [_values(n)[0] for n in range(5)]
    assert store.opened(force=False) == 1100
    assert store.rows.read_bytes() == rows
    with pytest.raises(InputError, match="is the table of seed 7, not 8"):
        Store(_table(seed=8), path).opened(force=False)


def test_a_foreign_parquet_file_is_refused(tmp_path):
    pytest.importorskip("pyarrow.parquet", reason="the extra `tables` is not installed")
    path = tmp_path / "t.parquet"
    path.write_bytes(b"mine")
    with pytest.raises(InputError, match="is no table of samespin explore"):
        Store(_table(), path).opened(force=False)
    assert path.read_bytes() == b"mine"
    assert list(tmp_path.iterdir()) == [path]
    assert Store(_table(), path).opened(force=True) == 0


def test_without_pyarrow_it_is_said_what_to_install(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(InputError, match=r"pip install 'samespin\[tables\]'"):
        Store(_table(), tmp_path / "t.parquet").opened(force=False)


def test_the_chart_of_lines_is_there_to_paste(tmp_path):
    table = _table()
    path = _write(tmp_path / "t.csv", table, 5)
    charts = [
        b for b in explore_blocks(table, summary(lambda: table.rows(path))) if isinstance(b, Chart)
    ]
    assert charts[0].lines[0] == "belly = { min = 3, max = 3.8, start = 3 }"
