"""The live panel against Python: the same balls, the same figures, character by character."""

from __future__ import annotations

import re
import shlex
import tomllib
from pathlib import Path

import numpy as np
import pytest
from reported import CORES, LINES, MOULD, line

from optimizer.lineup.stating import measured
from optimizer.paper.axes import TILTED
from optimizer.paper.axis_words import no_low_axis
from optimizer.paper.quantities import Units
from optimizer.paper.words import at_limit, room, sentence_case, subject
from optimizer.questions.check.checking import checked
from optimizer.questions.line_up.page import class_names
from optimizer.scenario import scenario
from optimizer.scenario.source.editing import edited
from shared.arrays import frozen
from shared.rounding import fixed

pytestmark = pytest.mark.browser

SETTINGS = 25
"""For each weight of each line."""

PANEL = """
const panel = document.getElementById("trial");
const [figures, limits] = panel.querySelectorAll("table");
const cells = (table) =>
  [...table.tBodies[0].rows].map((row) => [...row.cells].map((one) => one.textContent));
const told = () => ({
  figures: cells(figures), limits: cells(limits),
  axis: panel.querySelector(".bench p").textContent,
  states: [...panel.querySelectorAll(".pour strong")].map((one) => one.textContent),
  lines: panel.querySelector("textarea").value,
});
const enter = (input, text) => { input.value = text; input.dispatchEvent(new Event("input")); };
const fields = [...panel.querySelectorAll("[inputmode=decimal]")];
const sliders = [...panel.querySelectorAll("[type=range]")];
"""
WEIGHT = """
const chosen = document.querySelector("#trial select");
chosen.value = arguments[0];
chosen.dispatchEvent(new Event("change"));
"""
ENTER = f"""{WEIGHT}{PANEL}
return arguments[1].map((texts) => {{
  fields.forEach((field, k) => enter(field, texts[k]));
  return told();
}});
"""
SLIDE = f"""{PANEL}
sliders.forEach((slider, k) => enter(slider, arguments[0][k]));
return {{ ...told(), fields: fields.map((one) => one.value), spoken:
  sliders.map((one) => one.getAttribute("aria-valuetext")) }};
"""


OUTSIDE = ", outside what can be poured"


def expected(result, weight, densities):
    """What the panel must show: the ball measured here, told by the same units."""
    units = Units.of(result.scenario)
    ball = weight.ball.map.ball(frozen(densities))
    one = measured(ball, frozen(result.figures))
    return {
        "figures": list(_figures(one, units)),
        "limits": [_limit(margin, units) for margin in one.margins],
        "axis": _axis(ball.radii),
        "states": [
            "" if pour.low <= density <= pour.high else f"{_kept(density, units)}{OUTSIDE}"
            for pour, density in zip(ball.map.pours, densities, strict=True)
        ],
    }


def _kept(density, units):
    """A density as the panel names what it keeps: with the digits that it takes."""
    unit = units.density
    short, exact = unit.number(density), density / unit.factor
    same = abs(float(short) - exact) * unit.factor < 1e-12
    return f"{short if same else repr(exact)} {unit.name}"


def _figures(one, units):
    ball, radii = one.ball, one.ball.radii
    aims = {deviation.figure.key: deviation for deviation in one.deviations}
    for name, key, unit, value in (
        ("weight", "weight", units.mass, ball.properties.mass),
        ("low RG", "rg", units.rg, radii.low),
        ("intermediate RG", "", units.rg, radii.intermediate),
        ("high RG", "", units.rg, radii.high),
        ("differential", "differential", units.rg, radii.differential),
        (
            "intermediate differential",
            "intermediate_differential",
            units.rg,
            radii.intermediate_differential,
        ),
    ):
        off = _off(aims[key], unit) if key in aims else ""
        yield [f"{name}, {unit.name}", unit.number(value), off]
    for axis, value in zip("xyz", ball.properties.cg.tolist(), strict=True):
        yield [f"CG {axis}, {units.length.name}", units.length.number(value, 1), ""]
    yield ["top weight, oz", units.imbalance.number(ball.top_weight), ""]
    offset = units.length.number(float(np.linalg.norm(ball.properties.cg)))
    yield [f"CG offset, {units.length.name}", offset, ""]
    yield [f"pin distance, {units.length.name}", units.length.number(ball.pin_distance), ""]


def _off(aim, unit):
    amount = unit.number(abs(aim.off), 1)
    if float(amount) == 0:
        return "on target"
    way = "over" if aim.off > 0 else "under"
    state = "OFF TARGET" if abs(aim.tolerances) > 1 else "within tolerance"
    return f"{state}: {amount} {unit.name} {way}, {fixed(abs(aim.tolerances), 1)} tolerances"


def _limit(margin, units):
    unit = units.limit(margin)
    side, end = ("least", "minimum") if margin.bound.side == "min" else ("most", "maximum")
    amount, note = unit.told(abs(margin.slack)), f": {margin.note}" if margin.note else ""
    if at_limit(margin) or float(amount.split()[0]) == 0:
        where = f"at its {end}"
    elif margin.slack > 0:
        where = f"inside by {amount}"
    else:
        where = f"OUTSIDE by {amount}" + (", a warning only" if margin.rule_only else "")
    density = margin.words in ("density min", "density max")
    about = f"{margin.part}, density" if density else subject(margin)
    bound = f"{side} {unit.number(margin.edge)}{note}"
    return [about, unit.told(margin.value), bound, where, room(margin)]


def _axis(radii):
    if radii.pin_tilt is None:
        return f"{sentence_case(no_low_axis(radii))}."
    if radii.pin_tilt <= TILTED:
        return "The low-RG axis is the pin axis."
    degrees = fixed(float(np.degrees(radii.pin_tilt)), 1)
    return f"The low-RG axis is not the pin axis but {degrees}° from it."


def without_axis(told):
    """Take the limits on an axis that isn't there out of what is shown, and return them."""
    lost = [row[0] for row in told["limits"] if row[1] == "no low-RG axis"]
    told["limits"] = [row for row in told["limits"] if row[0] not in lost]
    return lost


def settings(weight, units, random):
    """Random densities as a person types them: within what can be poured, and beyond."""
    for _ in range(SETTINGS):
        densities = []
        for pour in weight.ball.map.pours:
            reach = (pour.high - pour.low) * 0.1
            density = max(0.1, random.uniform(pour.low - reach, pour.high + reach))
            densities.append(units.density.number(density))
        yield densities


@pytest.mark.parametrize("name", [*LINES, CORES])
def test_the_panel_shows_what_python_measures(browser, name):
    result, random = line(name), np.random.default_rng(len(name))
    units = Units.of(result.scenario)
    browser.open(name)
    kinds = set()
    for k, weight in enumerate(result.weights):
        texts = list(settings(weight, units, random))
        shown = browser.run(ENTER, str(k), texts)
        for typed, told in zip(texts, shown, strict=True):
            wanted = expected(result, weight, [float(t) * units.density.factor for t in typed])
            without_axis(told)
            kinds |= {row[3].split()[0] for row in told["limits"]}
            kinds |= {state[-len(OUTSIDE) :] for state in told["states"]}
            for key, value in wanted.items():
                assert told[key] == value, (typed, key)
    assert {"inside", "OUTSIDE", OUTSIDE, ""} <= kinds
    assert browser.console == []


@pytest.mark.parametrize("name", LINES)
def test_sliders_go_in_steps_over_what_can_be_poured(browser, name):
    """An end of a slider is the last step within the range, and what it says is what is tried."""
    result = line(name)
    units, weight = Units.of(result.scenario), result.weights[0]
    browser.open(name)
    for end in ("-1", "1000000", "1.5"):
        told = browser.run(SLIDE, [end] * len(weight.ball.map.pours))
        without_axis(told)
        densities = [float(text) * units.density.factor for text in told["fields"]]
        for pour, density in zip(weight.ball.map.pours, densities, strict=True):
            step = pour.step or 1e-4
            assert density / step == pytest.approx(round(density / step), abs=1e-6)
            assert pour.low - 1e-9 <= density <= pour.high + 1e-9
            gap = {"-1": density - pour.low, "1000000": pour.high - density}.get(end, 0.0)
            assert gap < step + 1e-9
        assert told["spoken"] == [
            units.density.told(density)
            for pour, density in zip(weight.ball.map.pours, densities, strict=True)
            if not pour.fixed
        ]
        wanted = expected(result, weight, densities)
        assert {key: told[key] for key in wanted} == wanted


def test_where_there_is_no_low_rg_axis_the_panel_says_so(browser):
    """A ball of nearly one density: its limit on the pin's place can't be told."""
    result = line("juniper")
    densities = [1.2, 1.2, 1.21, 1.2, 1.2]
    browser.open("juniper")
    (told,) = browser.run(ENTER, "0", [[str(density) for density in densities]])
    assert without_axis(told) == ["USBC pin marking"]
    wanted = expected(result, result.weights[0], densities)
    assert {key: told[key] for key in wanted} == wanted
    assert told["axis"].startswith("There is no low-RG axis to speak of")


def test_it_begins_at_the_solved_densities_and_comes_back_to_them(browser):
    result = line("juniper")
    driver = browser.open("juniper")
    begun = browser.run(f"{PANEL} return told();")
    weight = result.weights[0]
    wanted = expected(result, weight, weight.ball.densities)
    assert {key: begun[key] for key in wanted} == wanted
    assert "Trial, not solved" in driver.find_element("css selector", "#trial h2").text

    (moved,) = browser.run(ENTER, "0", [["1.2", "1", "2", "3", "1"]])
    assert moved["figures"] != begun["figures"]
    browser.run(ENTER, "1", [])
    browser.run(ENTER, "0", [])
    assert browser.run(f"{PANEL} return told();") == moved, "each weight keeps its trial"
    driver.find_element("xpath", "//button[text()='Back to the solved densities']").click()
    assert browser.run(f"{PANEL} return told();") == begun


@pytest.mark.parametrize("text", ["1.18", "1,18", " 1,180 ", "01.18"])
def test_either_decimal_mark_is_one(browser, text):
    """By keys, as a person types it, into the field as a browser of any language has it."""
    driver = browser.open("juniper")
    field = driver.find_element("css selector", "#trial [inputmode=decimal]")
    field.clear()
    field.send_keys(text)
    told = browser.run(f"{PANEL} return told();")
    assert "--density cover=1.1800 " in told["lines"]
    assert told["states"][0] == ""
    assert field.get_property("value") == text, "what was typed stands as it was"


def test_what_is_kept_is_named_whatever_was_typed_on_the_way(browser):
    """Of 118 the last density on the way is 11: what is tried, and that nobody can pour it."""
    driver = browser.open("juniper")
    field = driver.find_element("css selector", "#trial [inputmode=decimal]")
    field.clear()
    field.send_keys("11")
    told = browser.run(f"{PANEL} return told();")
    assert told["states"][0] == "11.0000 g/cm³, outside what can be poured"
    field.send_keys("8")
    assert browser.run(f"{PANEL} return told();")["states"][0] == (
        "no density to pour: a number from 0.05 to 25 g/cm³; still tried: "
        "11.0000 g/cm³, outside what can be poured"
    )


def test_arrow_keys_in_a_field_go_a_step(browser):
    keys = pytest.importorskip("selenium.webdriver.common.keys").Keys
    driver = browser.open("juniper")
    field = driver.find_element("css selector", "#trial [inputmode=decimal]")
    field.clear()
    field.send_keys("1,18", keys.ARROW_UP)
    assert field.get_property("value") == "1.1900"
    field.send_keys(keys.ARROW_DOWN, keys.ARROW_DOWN)
    assert field.get_property("value") == "1.1700"


@pytest.mark.parametrize(
    "text", ["", "0", "-1", "0.04", "26", "1.1.8", "1,1,8", "1.180,5", "1 18", "1.18x", ",", "1e0"]
)
def test_what_is_no_density_is_said_and_not_tried(browser, text):
    browser.open("juniper")
    begun = browser.run(f"{PANEL} return told();")
    (told,) = browser.run(ENTER, "0", [[text, "", "", "", ""]])
    cover = _kept(line("juniper").weights[0].ball.densities[0], Units.of(line("juniper").scenario))
    assert told["states"][0] == (
        f"no density to pour: a number from 0.05 to 25 g/cm³; still tried: {cover}"
    )
    assert (told["figures"], told["lines"]) == (begun["figures"], begun["lines"])
    assert browser.run(
        "return document.querySelector('#trial :invalid, #trial [aria-invalid=true]') !== null"
    )


@pytest.mark.parametrize("name", [*LINES, CORES, MOULD])
def test_the_lines_are_read_and_give_what_the_panel_shows(browser, name):
    """Pasted below the file, each part's material changed as they say; and by --density."""
    result = line(name)
    units, k = Units.of(result.scenario), len(result.weights) - 1
    weight = result.weights[k]
    browser.open(name)
    typed = next(settings(weight, units, np.random.default_rng(1)))
    (told,) = browser.run(ENTER, str(k), [typed])

    lines = told["lines"]
    assert f"a trial for {class_names(result)[weight.label]}, not solved" in lines
    source = result.scenario.source
    used = dict(re.findall(r"^# (.*): (material = .*)$", lines, re.MULTILINE))
    materials = {
        ("parts", i, "material"): tomllib.loads(used[pour.part])["material"]
        for i, pour in enumerate(result.scenario.pours)
        if pour.part in used
    }
    assert used.keys() == {pour.part for pour in weight.ball.map.pours}
    alone = len(used) < len(result.scenario.pours)
    assert ("every weight of these parts alone is measured" in lines) == alone
    mould = re.search(r"^# And this mould was tried.*\n((?:# .* = .*\n)*)", lines, re.MULTILINE)
    assert (mould is not None) == (name == MOULD)
    if mould is not None:
        picked = tomllib.loads(mould[1].replace("# ", ""))
        source = edited(source, {("dimensions", key): value for key, value in picked.items()})
    text = f"{edited(source, materials)}\n{lines}"
    pasted = scenario(text, file="pasted.toml", target_required=False)

    (command,) = re.findall(r"^# (samespin check .*)$", lines, re.MULTILINE)
    words = shlex.split(command)
    assert words[:3] == ["samespin", "check", "FILE.toml"]
    assert words[3::2] == ["--density"] * len(typed)
    given = {part: float(value) for part, value in (word.split("=") for word in words[4::2])}
    assert [*given.values()] == [float(text) for text in typed]
    beside = scenario(source, file=words[2], target_required=False, densities=given)

    for read in (pasted, beside):
        (one,) = (one for one in checked(read).measured if one.label == weight.label)
        assert list(_figures(one, units)) == told["figures"]
    assert tomllib.loads(lines)["materials"].keys() == {
        f"{p.part} trial" for p in weight.ball.map.pours
    }


def test_figures_are_rounded_as_a_sheet_rounds_them(browser):
    """Half to even on the shortest decimal, of any size; the script's own function."""
    random = np.random.default_rng(2)
    sizes = random.normal(size=400) * 10.0 ** random.integers(-12, 12, 400)
    halves = (random.integers(-4000, 4000, 400) * 2 + 1) / 2 / 10.0 ** random.integers(0, 6, 400)
    odd = [0.0, -0.0, 1e-7, -1e-7, 5e-324, 1e21, 1.5e22, 0.125, 0.375, 2.675, 999.9995]
    cases = [(float(value), digits) for value in (*sizes, *halves, *odd) for digits in (0, 1, 3, 5)]
    found = browser.run(
        f"{source('ball.js')} return arguments[0].map((one) => fixed(...one));", cases
    )
    assert found == [fixed(value, digits) for value, digits in cases]


def test_principal_axes_are_those_of_numpy(browser):
    """Symmetric matrices: random, nearly diagonal, with equal values; to 1e-12 of the largest."""
    random = np.random.default_rng(5)
    cases = [np.diag([2.0, 2.0, 1.0]), np.diag([3.0, 1.0, 2.0]), np.eye(3)]
    for _ in range(200):
        turned, _ = np.linalg.qr(random.normal(size=(3, 3)))
        values = random.uniform(0.5, 2.0, 3)
        values[1] = random.choice([values[0], values[0] + 1e-9, values[1]])
        near = turned if random.random() < 0.7 else np.eye(3) + 1e-9 * random.normal(size=(3, 3))
        matrix = near @ np.diag(values) @ near.T * 10.0 ** random.integers(-3, 6)
        cases.append((matrix + matrix.T) / 2)
    found = browser.run(
        f"{source('ball.js')} return arguments[0].map(principal);", [c.tolist() for c in cases]
    )
    for matrix, axes in zip(cases, found, strict=True):
        values = np.array([axis["value"] for axis in axes])
        vectors = np.array([axis["vector"] for axis in axes]).T
        size = float(np.max(np.abs(matrix)))
        assert np.allclose(values, np.linalg.eigvalsh(matrix), rtol=0, atol=1e-12 * size)
        assert np.allclose(vectors @ np.diag(values) @ vectors.T, matrix, rtol=0, atol=1e-12 * size)
        assert np.allclose(vectors.T @ vectors, np.eye(3), atol=1e-12)


def source(name):
    """A script of the panel, as a function's beginning."""
    return (Path(__file__).parents[2] / "optimizer/questions/report/trial" / name).read_text(
        "utf-8"
    )
