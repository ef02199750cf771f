"""The picture of the page in README: ``python tests/page/picture.py pictures/page.png``.

A copy of the gate shed, a job shown and a thing chosen, by pointer and keys as a person would.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from playwright.sync_api import sync_playwright

from page.serving import serving
from page.test_page import middle, settled

SHED = Path(__file__).parents[2] / "scenarios" / "gate-shed.toml"


def take(out: Path) -> None:
    """Write the picture, 1400 pixels wide."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        path = Path(shutil.copy(SHED, folder))
        settings = ["--no-sandbox", "--disable-dev-shm-usage"]
        browser = driver.chromium.launch(executable_path=chromium, args=settings)
        with serving(path) as served:
            page = browser.new_page(viewport={"width": 1400, "height": 900})
            page.goto(served.url)
            settled(page)
            page.click("#jobs button >> text=repair")
            page.mouse.click(*middle(page, "bender"))
            page.keyboard.press("Shift+ArrowUp")
            settled(page)
            page.mouse.move(1, 899)
            page.wait_for_timeout(300)  # the names have been placed anew
            out.parent.mkdir(parents=True, exist_ok=True)
            page.screenshot(path=out)
        browser.close()


if __name__ == "__main__":
    take(Path(sys.argv[1]))
