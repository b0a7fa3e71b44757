"""Opening pages in a real browser: what every test of a page that people see shares.

`opened` gives a page as a browser shows it, with all that it asked for and complained of.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass, field
from typing import Any

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip
WIDTHS = (390, 1280)  # px: a telephone held upright, a laptop

TOO_SMALL = """least => {
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode, home = node.parentElement;
    if (!node.textContent.trim() || !home.checkVisibility()) continue;
    if (home.closest("script, style, .unseen")) continue;
    const inSvg = home.closest("svg");
    const scale = inSvg ? inSvg.getScreenCTM().a : 1;
    const size = parseFloat(getComputedStyle(home).fontSize) * scale;
    if (size < (inSvg ? least.drawn : least.read))
      found.push(size.toFixed(1) + " px: " + node.textContent.trim().slice(0, 50));
  }
  return found;
}"""

BEYOND = """() => [...document.querySelectorAll("body *")]
  .filter(e => e.checkVisibility() && !e.closest("pre, .room, .skip"))
  .filter(e => e.getBoundingClientRect().right > innerWidth + 1)
  .filter(e => getComputedStyle(e).position !== "absolute")
  .map(e => e.tagName + " " + e.textContent.trim().slice(0, 40))"""


@dataclass
class Opened:
    """A page in a browser: the page itself, addresses asked for, complaints."""

    page: Any
    asked: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def too_small(self, *, read: float = 14.0, drawn: float = 11.0) -> list[str]:
        """Visible text smaller than so many pixels, by itself and in figures."""
        return list(self.page.evaluate(TOO_SMALL, {"read": read, "drawn": drawn}))

    def beyond(self) -> list[str]:
        """Whatever sticks out to the right of the screen."""
        return list(self.page.evaluate(BEYOND))

    def faults(self) -> list[str]:
        """Serious and critical faults of accessibility, as axe-core finds them."""
        axe = pytest.importorskip(
            "axe_playwright_python.sync_playwright",
            reason="axe-playwright-python is not installed: pip install -e '.[browser]'",
        )
        found = axe.Axe().run(self.page).response["violations"]
        return [
            f"{one['id']} ({one['impact']}): {one['help']}: {one['nodes'][0]['html'][:120]}"
            for one in found if one["impact"] in ("serious", "critical")
        ]  # fmt: skip


@pytest.fixture(scope="session")
def browser():
    """One headless Chromium for all tests of the session."""
    playwright = pytest.importorskip(
        "playwright.sync_api", reason="playwright is not installed: pip install -e '.[browser]'"
    )
    program = next(filter(None, map(shutil.which, NAMES)), None)
    if program is None:
        pytest.skip("no Chromium on this machine (Debian: apt-get install chromium)")
    with playwright.sync_playwright() as driver:
        # without a folder of its own named, each launch begins with a new, empty profile
        started = driver.chromium.launch(executable_path=program, args=list(FLAGS))
        yield started
        started.close()


@pytest.fixture
def opened(browser):
    """Open a file at a width [px]; returns `Opened`."""
    contexts = []

    def open_file(path, width=1280, height=900, **options):
        context = browser.new_context(viewport={"width": width, "height": height}, **options)
        contexts.append(context)
        found = Opened(context.new_page())
        found.page.on("request", lambda request: found.asked.append(request.url))
        found.page.on("pageerror", lambda error: found.complaints.append(str(error)))
        found.page.on("console", lambda said: found.complaints.append(f"{said.type}: {said.text}"))
        found.page.goto(path.as_uri())
        return found

    yield open_file
    for context in contexts:
        context.close()
