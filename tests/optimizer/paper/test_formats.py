from __future__ import annotations

import io
import json
from pathlib import Path
from zipfile import ZipFile

import pytest

from optimizer.paper.document import Heading, Page, Report
from optimizer.paper.writers.drawing import Drawing, MouldSection
from optimizer.paper.writers.formats import FORMATS, written


@pytest.mark.parametrize("suffix", FORMATS)
def test_every_format_is_a_suffix_with_a_writer_of_utf8(suffix) -> None:
    drawing = Drawing("in", 2.54, (MouldSection("naïve", (), 10.0, ("naïve",)),))
    report = Report((Page("p"), Heading("naïve")), {"name": "naïve"}, lambda: drawing)
    content = written(report, Path(f"X{suffix.upper()}"))
    assert suffix.startswith(".")
    if suffix == ".xlsx":
        content = ZipFile(io.BytesIO(content)).read("xl/sharedStrings.xml")
    assert "naïve" in content.decode()


def test_json_is_one_object_without_nan() -> None:
    assert json.loads(written(Report((), {"a": 1}), Path("x.json"))) == {"a": 1}
    with pytest.raises(ValueError, match="JSON"):
        written(Report((), {"a": float("nan")}), Path("x.json"))
