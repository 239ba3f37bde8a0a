"""Chromium, driven by Selenium, with the reports of some lines for it to open."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

import pytest
from reported import page
from waiting import PATIENT

from optimizer.paper.writers import html_

QUIET = (
    "headless=new",
    "no-sandbox",
    "no-first-run",
    "disable-gpu",
    "disable-quic",
    "disable-background-networking",
    "disable-component-update",
    "disable-sync",
)


@dataclass(frozen=True)
class Browser:
    """A browser, and the address of each line's page."""

    driver: Any
    pages: Callable[[str], str]

    def open(self, name: str, width: int = 1280, *, dark: bool = False) -> Any:
        """Open a line's page in a window of so many CSS px; return the driver."""
        self.wide(width)
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.command("Emulation.setEmulatedMedia", features=[scheme])
        for kind in ("browser", "performance"):
            self.driver.get_log(kind)
        self.driver.get(self.pages(name))
        return self.driver

    def wide(self, width: int) -> None:
        """Let the window be so many CSS px wide."""
        size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False}
        self.command("Emulation.setDeviceMetricsOverride", **size)

    def command(self, name: str, **arguments: Any) -> Any:
        """Ask the browser's DevTools."""
        return self.driver.execute_cdp_cmd(name, arguments)

    def run(self, script: str, *arguments: Any) -> Any:
        """Run the body of a function on the page."""
        return self.driver.execute_script(script, *arguments)

    @property
    def console(self) -> list[str]:
        """What the console was told since this was last asked."""
        return [entry["message"] for entry in self.driver.get_log("browser")]

    @property
    def requests(self) -> list[str]:
        """The addresses that were asked for since this was last asked."""
        told = (
            json.loads(entry["message"])["message"] for entry in self.driver.get_log("performance")
        )
        return [
            one["params"]["request"]["url"]
            for one in told
            if one["method"] == "Network.requestWillBeSent"
        ]


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """A browser for all tests of a run."""
    selenium = pytest.importorskip("selenium.webdriver", reason="Selenium is not installed")
    service = pytest.importorskip("selenium.webdriver.chrome.service")
    chromium, chromedriver = shutil.which("chromium"), shutil.which("chromedriver")
    if not (chromium and chromedriver):
        pytest.skip("chromium and chromedriver are not installed")
    folder = tmp_path_factory.mktemp("browser")
    options = selenium.ChromeOptions()
    options.binary_location = chromium
    for argument in (*QUIET, f"user-data-dir={folder / 'profile'}"):
        options.add_argument(f"--{argument}")
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})

    @cache
    def address(name: str) -> str:
        path = folder / f"{name}.html"
        path.write_bytes(html_.encoded(page(name)))
        return path.as_uri()

    driver = selenium.Chrome(options=options, service=service.Service(chromedriver))
    driver.set_script_timeout(PATIENT)
    try:
        yield Browser(driver, address)
    finally:
        driver.quit()
