"""The valve gear's pages in a real browser: nothing sideways, axe, the train that moves."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

from headwright import actions

from .test_browser import WIDTHS, Sitting, browser, served, window

__all__ = ["browser"]

PAGES = (
    "/builds/sprint-2025/gear",
    "/builds/sprint-2025/springs?spring_shim=3+mm",
    "/builds/sprint-1500/gear",
)


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    path: Path = tmp_path_factory.mktemp("gear") / "demo-shop.db"
    actions.load_demo(path)
    with served(path) as found:
        yield found


@pytest.fixture
def sitting(browser: Browser, address: str, request: pytest.FixtureRequest) -> Iterator[Sitting]:
    with browser.new_context(**getattr(request, "param", window(1440))) as context:
        yield Sitting(context, address)


@pytest.mark.parametrize(
    "sitting", [window(width) for width in WIDTHS], ids=map(str, WIDTHS), indirect=True
)
def test_nothing_runs_out_and_axe_finds_nothing(sitting: Sitting) -> None:
    for path in PAGES:
        page = sitting.go(path)
        page.evaluate("document.querySelectorAll('details').forEach(fold => { fold.open = true })")
        assert sitting.sideways() == 0, path
        assert sitting.strays == []
        assert sitting.complaints == []
        results = Axe().run(page)
        assert results.violations_count == 0, results.generate_report()


def test_the_train_follows_the_slider(sitting: Sitting) -> None:
    page = sitting.go("/builds/sprint-2025/gear?angle=100")
    slider = page.get_by_role("slider", name="Crank angle")
    said = page.locator("[data-say=valve]")
    cam = page.locator(".train .cam")
    expect(said).to_have_text("0.000 in")
    before = cam.get_attribute("transform")
    slider.fill("464")
    expect(said).to_have_text("0.400 in")
    assert cam.get_attribute("transform") != before
    page.get_by_role("button", name="Play").click()
    expect(page.get_by_role("button", name="Pause")).to_be_visible()
    expect(page.locator("[data-say=angle]")).not_to_have_text("464°")


def test_without_script_the_train_still_stands(browser: Browser, address: str) -> None:
    with browser.new_context(java_script_enabled=False) as context:
        page = Sitting(context, address).go("/builds/sprint-2025/gear?angle=464")
        expect(page.locator("[data-say=valve]")).to_have_text("0.400 in")
        expect(page.get_by_role("button", name="Play")).to_be_hidden()
        expect(page.locator(".train svg")).to_be_visible()


def test_other_shims_are_tried_by_form(sitting: Sitting) -> None:
    page = sitting.go("/builds/sprint-2025/gear")
    page.get_by_label("Shim under the rocker stands").fill("0.3 mm")
    page.get_by_role("button", name="Try").click()
    expect(page.get_by_text("with other lash or shims tried")).to_be_visible()
    assert "stand_shim=0.3+mm" in page.url
