"""A conflict in words: between weights, each claim is told with those that it is of, once."""

from __future__ import annotations

from optimizer_texts import FOLDER

from optimizer.cli.app import run


def test_between_weights_each_claim_is_told_with_its_own(tmp_path, capsys):
    text = (FOLDER / "medlar.toml").read_text("utf-8")
    for old, new in (
        (', goal = "most"', ""),
        ("keep = 1.0 ", "keep = 0.0 "),
        ("rg           = 2.585", "rg = 2.540"),
        ("13 = 13.20", "12 = 12.60"),
    ):
        assert old in text
        text = text.replace(old, new)
    (tmp_path / "x.toml").write_text(text, encoding="utf-8")
    assert run(["solve", str(tmp_path / "x.toml")]) == 4
    told = capsys.readouterr().out
    block = told.split("in 14 lb and 12 lb\n")[1].split("\n\n")[0].splitlines()
    claims = [line.removeprefix("- ") for line in block]
    assert claims[0].startswith("low RG 2.540 ± 0.003 in (line ")
    assert any(line.startswith("14 lb and 12 lb: heart at most 3.5000") for line in claims)
    assert any(line.startswith("12 lb: class weight 12.600") for line in claims)
    assert len(set(claims)) == len(claims)
