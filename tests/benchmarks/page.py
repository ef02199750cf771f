"""How soon the figures follow the hand on the page of ``footwork open``, in a real browser.

    python tests/benchmarks/page.py [--seconds 8] [--things 3] [SCENARIO ...]

Serves a copy of each scenario and drags things about on it in the system's Chromium: round and round, 60
moves a second (``dragged``), and a move at a time with rests between (``single``).  A sample is the time
from a move of the pointer to the first frame that shows figures of it: the metres (with hours and each
job's), and the checks that fail (with the walk of the job chosen). What is overtaken by a newer move before
it is reckoned has no sample. ``placed`` is the time until the thing itself has followed.
"""

from __future__ import annotations

import argparse
import math
import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from page.serving import serving

SCENARIOS = Path(__file__).parents[2] / "scenarios"
TARGETS = {"gate-shed": "50 / 100", "makerspace": "150 / 300"}

LISTEN = """(() => {
  let moved = 0, last = 0;
  const sent = {}, of = {};
  window.samples = { placed: [], metres: [], checks: [] };
  for (const told of ["pointerrawupdate", "pointermove"]) {
    addEventListener(told, (event) => { moved = event.timeStamp; }, true);
  }
  const Plain = window.WebSocket;
  window.WebSocket = class extends Plain {
    constructor(...given) {
      super(...given);
      this.addEventListener("message", (event) => {
        const message = JSON.parse(event.data);
        const seen = (kind, start) => requestAnimationFrame((now) =>
          window.samples[kind].push(performance.now() - start));
        if (message.say === "placed" && sent[message.heard]) {
          of[message.revision] = sent[message.heard];
          seen("placed", sent[message.heard]);
        }
        if (message.say === "figures" && of[message.revision] && !message.words) {
          seen(message.checks ? "checks" : "metres", of[message.revision]);
        }
      });
    }
    send(words) {
      const message = JSON.parse(words);
      if (message.do === "drag") sent[message.n] = moved;
      super.send(words);
    }
  };
})();"""


def settle(page: Any) -> None:
    while page.evaluate("document.querySelector('#checks')?.dataset.words") != "true":
        time.sleep(0.1)
    time.sleep(1.5)


def take_up(page: Any, name: str) -> tuple[float, float]:
    box = page.locator(f'.body[data-thing="{name}"] .hold path').bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    return x, y


def dragged(page: Any, name: str, seconds: float) -> None:
    """Round and round, 60 moves a second."""
    x, y = take_up(page, name)
    start = time.perf_counter()
    for k in range(int(60 * seconds)):
        angle = 2 * math.pi * k / 120
        page.mouse.move(x + 60 * math.sin(angle), y + 40 * (1 - math.cos(angle)))
        time.sleep(max(0.0, start + (k + 1) / 60 - time.perf_counter()))
    page.keyboard.press("Escape")
    page.mouse.up()


def single(page: Any, name: str, seconds: float) -> None:
    """A move, and a rest."""
    x, y = take_up(page, name)
    page.mouse.move(x + 5, y)
    time.sleep(1.5)
    for k in range(int(seconds)):
        page.mouse.move(x + 7 + 6 * (k % 2), y + 3 * k)
        time.sleep(1.0)
    page.keyboard.press("Escape")
    page.mouse.up()


def measure(browser: Any, scenario: str, seconds: float, things: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = shutil.copy(SCENARIOS / f"{scenario}.toml", folder)
        with serving(Path(path)) as served:
            page = browser.new_page(viewport={"width": 1400, "height": 900})
            page.add_init_script(LISTEN)
            page.goto(served.url)
            settle(page)
            page.click("#jobs button >> nth=0")
            settle(page)
            free = page.locator(".body:not(.fixed)").evaluate_all("all => all.map(g => g.dataset.thing)")
            chosen = free[:: max(1, len(free) // things)][:things]
            for kind, way in (("dragged", dragged), ("single", single)):
                page.evaluate("Object.values(window.samples).forEach(list => list.length = 0)")
                for name in chosen:
                    way(page, name, seconds / things)
                    settle(page)
                for what, samples in page.evaluate("window.samples").items():
                    show(scenario, kind, what, samples)
            page.close()
            served.interrupt()


def show(scenario: str, kind: str, what: str, samples: list[float]) -> None:
    if len(samples) < 2:
        print(f"{scenario:15} {kind:8} {what:7} {len(samples):7}")
        return
    high = statistics.quantiles(samples, n=20)[-1]
    target = "" if what == "placed" else TARGETS.get(scenario, "")
    print(
        f"{scenario:15} {kind:8} {what:7} {len(samples):7} {min(samples):7.0f} "
        f"{statistics.median(samples):7.0f} {high:7.0f} {max(samples):7.0f}   {target}",
        flush=True,
    )


def main() -> None:
    from playwright.sync_api import sync_playwright

    parser = argparse.ArgumentParser(description="How soon the figures follow the hand.")
    parser.add_argument("scenarios", nargs="*", default=["gate-shed", "makerspace"])
    parser.add_argument("--seconds", type=float, default=12.0)
    parser.add_argument("--things", type=int, default=3)
    given = parser.parse_args()
    program = shutil.which("chromium") or shutil.which("google-chrome")
    print("milliseconds from a move of the pointer to the frame that shows it")
    heads = "".join(f"{head:>8}" for head in ("samples", "least", "median", "95 %", "worst"))
    print(f"{'scenario':15} {'hand':8} {'what':7}{heads}   reach")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(
            executable_path=program, args=["--no-sandbox", "--disable-dev-shm-usage"]
        )
        for scenario in given.scenarios:
            measure(browser, scenario, given.seconds, given.things)
        browser.close()


if __name__ == "__main__":
    main()
