"""A real headless browser for pages, from files, with every request and every message of the console at hand."""

from __future__ import annotations

import base64
import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.tools import needs_tool

AXE = Path(__file__).parents[1] / ".venv" / "node_modules" / "axe-core" / "axe.min.js"


class Browser:
    """Chromium with one page open."""

    def __init__(self, driver, page: Path | str) -> None:
        self.driver = driver
        self.url = page if isinstance(page, str) else page.absolute().as_uri()
        driver.get(self.url)

    def js(self, code: str, *given):
        return self.driver.execute_script(code, *given)

    def text(self, name: str) -> str:
        return self.js("return document.getElementById(arguments[0]).textContent", name)

    def press(self, keys: str) -> None:
        from selenium.webdriver.common.action_chains import ActionChains

        ActionChains(self.driver).send_keys(keys).perform()

    def chord(self, held: str, keys: str) -> None:
        """Press keys while another is held down."""
        from selenium.webdriver.common.action_chains import ActionChains

        ActionChains(self.driver).key_down(held).send_keys(keys).key_up(held).perform()

    def wait(self, code: str, seconds: float = 10.0):
        from selenium.webdriver.support.ui import WebDriverWait

        return WebDriverWait(self.driver, seconds, 0.05).until(lambda _: self.js(f"return {code}"))

    def barriers(self) -> list[list[object]]:
        """What axe-core finds that would keep people out: its rules for the W3C's WCAG 2 and for good practice."""
        if not AXE.exists():
            pytest.skip("axe-core is not there; npm install --prefix .venv axe-core")
        self.driver.execute_script(AXE.read_text(encoding="utf-8"))
        return self.driver.execute_async_script(
            "const done = arguments[0]; axe.run().then((all) => done(all.violations.map((each) => [each.id, "
            "each.nodes.map((node) => node.html)])));"
        )

    def narrow(self, width: int = 360, height: int = 640) -> None:
        """Make the page as wide as a small phone's; a window of the browser itself cannot be."""
        size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)

    def printed(self) -> bytes:
        """What comes out of the printer, as PDF on A4."""
        given = {"paperWidth": 8.27, "paperHeight": 11.69, "preferCSSPageSize": False, "printBackground": False}
        return base64.b64decode(self.driver.execute_cdp_cmd("Page.printToPDF", given)["data"])

    def requests(self) -> list[str]:
        """Addresses of everything that was asked for, the page itself included."""
        sent = (json.loads(entry["message"])["message"] for entry in self.driver.get_log("performance"))
        return [each["params"]["request"]["url"] for each in sent if each["method"] == "Network.requestWillBeSent"]

    def complaints(self) -> list[str]:
        """What stands in the console."""
        return [entry["message"] for entry in self.driver.get_log("browser")]


@contextmanager
def browser(page: Path | str, width: int = 1280, height: int = 800) -> Iterator[Browser]:
    """Open a page; without Chromium the test is skipped, or failed where changes are taken."""
    chromium, driver = needs_tool("chromium"), needs_tool("chromedriver")
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    switches = ["headless=new", "no-sandbox", "disable-gpu", "mute-audio", f"window-size={width},{height}"]
    switches += ["disable-background-networking", "disable-component-update", "disable-sync", "no-first-run"]
    for switch in switches:
        options.add_argument(f"--{switch}")
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    running = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    try:
        yield Browser(running, page)
    finally:
        running.quit()
