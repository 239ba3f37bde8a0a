"""A report in a real browser: alone, by keyboard, at any width, in light and dark, on paper."""

from __future__ import annotations

import json
import os
import re
from base64 import b64decode
from collections import Counter
from pathlib import Path

import pytest
from paper import SIZES, papers
from reported import COMPARED, PAGES
from waiting import PATIENT

pytestmark = pytest.mark.browser

WIDTHS = (360, 1280)
ZOOMED = 640
"""px: a window of 1280 at 200 %."""
SERIOUS = ("serious", "critical")

OUTLINE = """
const style = getComputedStyle(arguments[0]);
return [style.outlineStyle, parseFloat(style.outlineWidth)];
"""
DRAG = """
const [status, done] = arguments;
window.said = 0;
new MutationObserver(() => { window.said += 1; }).observe(status, { childList: true });
const field = document.querySelector("#trial [inputmode=decimal]");
const drag = (left) => {
  field.value = 1.4 - left / 100;
  field.dispatchEvent(new Event("input"));
  if (left > 0) setTimeout(drag, 40, left - 1);
  else done(window.said);
};
drag(12);
"""
AXE = """
const done = arguments[0];
axe.run(document, { resultTypes: ["violations"] })
  .then((found) => done([found.violations, found.passes.length]));
"""
CUT = """
const cut = (one) => one.scrollWidth > one.clientWidth + 1
  && ["hidden", "clip"].includes(getComputedStyle(one).overflowX);
return [...document.querySelectorAll("main *")].filter(cut).length;
"""
CLIPPED = """
return [...document.querySelectorAll("main *")]
  .filter((one) => !one.closest(".live, svg") && getComputedStyle(one).overflowX !== "visible")
  .map((one) => one.className);
"""
OVER_THE_EDGE = """
const over = (one) => {
  const [label, picture] = [one, one.ownerSVGElement].map((box) => box.getBoundingClientRect());
  return label.left < picture.left - 0.5 || label.right > picture.right + 0.5
    || label.top < picture.top - 0.5 || label.bottom > picture.bottom + 0.5;
};
const labels = [...document.querySelectorAll("svg text")];
return [labels.length, labels.filter(over).map((one) => one.textContent)];
"""
PRINTED = """
return [...document.querySelectorAll("main :is(td, th, svg text, h1, h2, p, li, pre)")]
  .filter((one) => !one.closest("section:has(> .live)")).map((one) => one.textContent);
"""


@pytest.mark.parametrize("name", PAGES)
def test_a_page_asks_for_nothing_and_complains_of_nothing(browser, name):
    """Not a message in the console, not a request but for the page, whatever is worked on it."""
    driver = browser.open(name)
    for button in driver.find_elements("css selector", "#trial button"):
        if button.is_displayed():
            button.click()
    for field in driver.find_elements("css selector", "#trial input"):
        browser.run("arguments[0].dispatchEvent(new Event('input'))", field)
    assert browser.requests == [driver.current_url]
    assert browser.console == []


def test_the_policy_holds(browser):
    """What a page may not do is refused, and the console says so: the test above can fail."""
    browser.open("juniper")
    ran = browser.run(
        "const s = document.createElement('script'); s.textContent = 'window.ran = true';"
        "document.body.append(s);"
        "document.body.setAttribute('style', 'color: red');"
        "return [window.ran ?? false, getComputedStyle(document.body).color];"
    )
    assert ran[0] is False
    assert ran[1] != "rgb(255, 0, 0)"
    assert any("Content Security Policy" in message for message in browser.console)
    browser.run("new Image().src = 'https://example.invalid/x.png'")
    assert any("Content Security Policy" in message for message in browser.console)


def test_without_scripts_a_sentence_stands_in_for_the_panel(browser):
    browser.command("Emulation.setScriptExecutionDisabled", value=True)
    try:
        driver = browser.open("juniper")
        assert "this is a panel" in driver.find_element("id", "trial").text
        assert driver.find_elements("css selector", "#trial *, #trial input")[0].tag_name == "p"
    finally:
        browser.command("Emulation.setScriptExecutionDisabled", value=False)


BEFORE = """
const panel = document.getElementById("trial");
const some = [...document.querySelectorAll("nav a, main a, main [tabindex='0']")];
const ahead = (one) => one.compareDocumentPosition(panel) & Node.DOCUMENT_POSITION_FOLLOWING;
some.filter((one) => ahead(one) && !panel.contains(one)).at(-1).focus();
"""
"""Let what comes last before the panel have the focus."""


def test_every_control_is_reached_by_tab_and_shows_where_one_is(browser):
    keys = pytest.importorskip("selenium.webdriver.common.keys").Keys
    driver = browser.open("juniper")
    within = "#trial :is(select, input, button, textarea, [tabindex='0'])"
    wanted = [one for one in driver.find_elements("css selector", within) if one.is_displayed()]
    assert len(wanted) == 3 + 2 * 5 + 2
    browser.run(BEFORE)
    for control in wanted:
        driver.switch_to.active_element.send_keys(keys.TAB)
        assert driver.switch_to.active_element == control
        style = browser.run(OUTLINE, control)
        assert style[0] == "solid"
        assert style[1] >= 2


def test_arrow_keys_move_a_slider_a_step_and_figures_follow(browser):
    keys = pytest.importorskip("selenium.webdriver.common.keys").Keys
    driver = browser.open("larch-metric")
    slider = driver.find_element("css selector", "#trial [type=range]")
    field = driver.find_element("css selector", "#trial [inputmode=decimal]")
    weight = driver.find_element("css selector", "#trial tbody output")
    density, mass = (float(one.get_property("value")) for one in (field, weight))
    slider.send_keys(keys.ARROW_RIGHT)
    assert float(field.get_property("value")) == pytest.approx(density + 0.1)
    slider.send_keys(keys.END)
    assert field.get_property("value") == "1230.0"
    assert float(weight.get_property("value")) > mass + 0.02


def test_what_changed_is_said_once_it_is_at_rest(browser):
    """The figures' own outputs are silent; one line is told, some time after the last step."""
    wait = pytest.importorskip("selenium.webdriver.support.ui").WebDriverWait
    driver = browser.open("juniper")
    assert (
        browser.run("return document.querySelectorAll('#trial output:not([aria-live=off])').length")
        == 0
    )
    said = driver.find_element("css selector", "#trial [role=status]")
    wait(driver, PATIENT, 0.05).until(lambda _: said.text)
    assert said.text == "16 lb, trial: 15.900 lb, on target, inside every limit."
    assert driver.execute_async_script(DRAG, said) == 0
    wait(driver, PATIENT, 0.05).until(
        lambda _: "OFF" not in said.text and "off target" in said.text
    )
    assert "outside: cover, density (most)" in said.text
    assert browser.run("return window.said") == 1


def test_lines_are_shown_and_taken_away_by_one_button(browser):
    driver = browser.open("juniper")
    button = driver.find_element("xpath", "//button[text()='Show scenario lines']")
    text = driver.find_element("css selector", "#trial textarea")
    assert not text.is_displayed()
    button.click()
    assert text.is_displayed()
    assert button.get_attribute("aria-expanded") == "true"
    assert text.get_attribute("readonly")
    driver.find_element("xpath", "//button[text()='Copy the lines']").click()
    button.click()
    assert not text.is_displayed()


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_never_scrolled_sideways(browser, name):
    """On a phone and at 200 %: what is wider scrolls in a place of its own."""
    driver = browser.open(name)
    show_lines(driver)
    for width in (*WIDTHS, ZOOMED):
        browser.wide(width)
        page, window = browser.run(
            "return [document.documentElement.scrollWidth, window.innerWidth]"
        )
        assert window == width
        assert page <= width
        assert browser.run(CUT) == 0


def show_lines(driver):
    """Show the scenario's lines, where a page has the panel that writes them."""
    for button in driver.find_elements("xpath", "//button[text()='Show scenario lines']"):
        button.click()


@pytest.mark.parametrize("name", ["juniper", COMPARED])
@pytest.mark.parametrize("width", WIDTHS)
def test_labels_stand_within_their_pictures(browser, width, name):
    browser.open(name, width)
    count, over = browser.run(OVER_THE_EDGE)
    assert count > 0
    assert over == []


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["juniper", COMPARED])
def test_no_serious_fault_of_accessibility(browser, name, width, dark):
    """By axe-core (Deque, MPL-2.0), in the folder that SAMESPIN_AXE names."""
    folder = os.environ.get("SAMESPIN_AXE")
    script = Path(folder or "") / "node_modules/axe-core/axe.min.js"
    if not folder or not script.is_file():
        pytest.skip("SAMESPIN_AXE names no folder with axe-core in node_modules")
    driver = browser.open(name, width, dark=dark)
    dark_ground = browser.run("return getComputedStyle(document.body).backgroundColor")
    assert (dark_ground != "rgb(255, 255, 255)") == dark
    show_lines(driver)
    browser.run(script.read_text("utf-8"))
    found = driver.execute_async_script(AXE)
    assert found[1] > 20, "axe looked at the page"
    told = [
        (one["impact"], one["id"], [node["target"] for node in one["nodes"]]) for one in found[0]
    ]
    assert [one for one in told if one[0] in SERIOUS] == [], json.dumps(told, indent=1)


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize("name", ["juniper", "tilted", COMPARED])
def test_on_paper_every_word_is_there_and_inside_the_margins(browser, name, paper, tmp_path):
    """Every cell of a table and every label of a picture, as often as the page has it."""
    browser.open(name)
    width, height = (points / 72 for points in SIZES[paper])
    printed = browser.command(
        "Page.printToPDF", paperWidth=width, paperHeight=height, preferCSSPageSize=True
    )
    pdf = tmp_path / "page.pdf"
    pdf.write_bytes(b64decode(printed["data"]))
    pages = papers(pdf)
    assert all(page.inside for page in pages)
    assert all(sorted(page.size) == pytest.approx(sorted(SIZES[paper]), abs=1.5) for page in pages)
    there = Counter(word for page in pages for word, *_ in page.words)
    texts = browser.run(PRINTED)
    wanted = Counter(word for text in texts for word in text.split())
    assert len(wanted) > 100
    missing = {word: n - there[word] for word, n in wanted.items() if there[word] < n}
    assert missing == {}
    browser.command("Emulation.setEmulatedMedia", media="print")
    assert browser.run(CLIPPED) == [], "a PDF keeps words that are clipped away"
    browser.command("Emulation.setEmulatedMedia", media="")
    assert not re.search("Trial, not solved", " ".join(page.text for page in pages))
