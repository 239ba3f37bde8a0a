from __future__ import annotations

import json

import pytest

from optimizer.report.document import Heading, Report
from optimizer.report.drawing import Drawing, MouldSection
from optimizer.report.formats import FORMATS


@pytest.mark.parametrize("suffix", FORMATS)
def test_every_format_is_a_suffix_with_a_writer_of_utf8(suffix) -> None:
    drawing = Drawing("in", 2.54, (MouldSection("naïve", (), 10.0, ("naïve",)),))
    written = FORMATS[suffix](Report((Heading("naïve"),), {"name": "naïve"}, lambda: drawing))
    assert suffix.startswith(".")
    assert "naïve" in written.decode("utf-8-sig")


def test_json_is_one_object_without_nan() -> None:
    assert json.loads(FORMATS[".json"](Report((), {"a": 1}))) == {"a": 1}
    with pytest.raises(ValueError, match="JSON"):
        FORMATS[".json"](Report((), {"a": float("nan")}))
