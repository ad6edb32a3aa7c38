"""Fixtures for all rooms: the shipped knowledge, a private cache folder, a fixed terminal."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

sys.path.insert(0, str(Path(__file__).parent))

settings.register_profile("house", deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture])
settings.load_profile("house")

ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="session", autouse=True)
def private_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep the tests out of the user's cache, and the screen at one width."""
    before = dict(os.environ)
    os.environ.update({"XDG_CACHE_HOME": str(tmp_path_factory.mktemp("cache")), "COLUMNS": "88", "TERM": "dumb", "NO_COLOR": "1"})
    os.environ.pop("KGRAPH_TRACE", None)
    yield
    os.environ.clear()
    os.environ.update(before)


@pytest.fixture(scope="session")
def known():
    """The shipped knowledge."""
    import kgraph

    return kgraph.load()


# -- a real browser: Debian's Chromium, driven with no network. Without one its tests are skipped, but not where KGRAPH_BROWSER is set (`.ci/run` does) --

FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"]


@pytest.fixture(scope="session")
def browser() -> Iterator[object]:
    chromium = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    if not chromium and not os.environ.get("KGRAPH_BROWSER"):
        pytest.skip("no Chromium on this machine (Debian: apt install chromium)")
    assert chromium, "KGRAPH_BROWSER is set and there is no Chromium"
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        found = driver.chromium.launch(executable_path=chromium, args=FLAGS)
        yield found
        found.close()


@pytest.fixture
def opened(browser, tmp_path: Path) -> Iterator[Callable[..., object]]:
    """Opens HTML as a file with the network cut; a request, a console message, a dialog or a script error fails the test."""
    contexts, complaints = [], []

    def open_(html: str, **options: object) -> object:
        file = tmp_path / f"page{len(contexts)}.html"
        file.write_text(html, encoding="utf-8")
        context = browser.new_context(**{"viewport": {"width": 1400, "height": 900}, "offline": True, **options})
        contexts.append(context)
        page = context.new_page()
        page.on("request", lambda r: complaints.append(f"request {r.url}") if r.url != file.as_uri() else None)
        page.on("console", lambda m: complaints.append(f"console {m.text}"))
        page.on("pageerror", lambda e: complaints.append(f"error {e}"))
        page.on("dialog", lambda d: (complaints.append(f"dialog {d.message}"), d.dismiss()))
        page.goto(file.as_uri())
        return page

    yield open_
    for context in contexts:
        context.close()
    assert not complaints, complaints


@pytest.fixture(scope="session")
def axe_source() -> str:
    import axe_playwright_python

    return (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")


@pytest.fixture
def audited(axe_source: str) -> Callable[[object], list[str]]:
    """Findings of axe-core (WCAG 2.2 A and AA, and best practice) on an open page."""

    def audit(page) -> list[str]:
        # through the debugger, past the page's own policy
        page.evaluate(axe_source)
        found = page.evaluate("() => axe.run(document, {runOnly: ['wcag2a','wcag2aa','wcag21a','wcag21aa','wcag22aa','best-practice']})")
        return [f"{v['id']}: {v['help']} {[n['target'] for n in v['nodes']][:3]}" for v in found["violations"]]

    return audit
