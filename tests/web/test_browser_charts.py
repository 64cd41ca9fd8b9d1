"""Charts, drawings and long work in a real browser: under the strict policy, without a network."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

from headwright import actions

from .test_browser import WIDTHS, Sitting, browser, served, window

__all__ = ["browser"]

CHARTS = (
    "/flow_tests/FT-LI02-I2/curve?beside=FT-EI03-I2",
    "/power_pulls/PP-2026-05-16/curve?to=SAE+J1349&beside=PP-2025-10-04",
    "/builds/sprint-2025/revs?speed=7500+rpm",
)
FACES = ("/castings/EI-03/face", "/castings/EI-22/face", "/castings")
DRAWN = "html[data-charts=drawn]"


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Work leaves results beside the book, so this book is not the one other tests read."""
    path: Path = tmp_path_factory.mktemp("charts") / "demo-shop.db"
    actions.load_demo(path)
    with served(path) as found:
        yield found


@pytest.fixture
def sitting(
    browser: Browser,
    address: str,
    request: pytest.FixtureRequest,
) -> Iterator[Sitting]:
    settings = getattr(request, "param", {})
    with browser.new_context(**settings) as context:
        found = Sitting(context, address)
        yield found
        assert found.strays == []
        assert found.complaints == []


@pytest.mark.parametrize(
    "sitting", [window(width) for width in WIDTHS], ids=map(str, WIDTHS), indirect=True
)
@pytest.mark.parametrize("path", CHARTS + FACES)
def test_drawn_within_the_window_and_sound(sitting: Sitting, path: str) -> None:
    page = sitting.go(path)
    if path in CHARTS:
        page.wait_for_selector(DRAWN)
        assert page.locator(".plot.live svg").count() == page.locator(".plot").count() > 0
    assert sitting.sideways() == 0
    results = Axe().run(page)
    assert results.violations_count == 0, results.generate_report()


@pytest.mark.parametrize(
    "sitting",
    [window(390, java_script_enabled=False), window(1440, java_script_enabled=False)],
    ids=["phone", "desk"],
    indirect=True,
)
@pytest.mark.parametrize("path", CHARTS)
def test_without_script_the_drawings_are_there(sitting: Sitting, path: str) -> None:
    page = sitting.go(path)
    assert page.locator(".plot > svg").count() > 0
    expect(page.locator(".plot > svg").first).to_be_visible()


@pytest.mark.parametrize("sitting", [window(820, color_scheme="dark")], indirect=True)
@pytest.mark.parametrize("path", CHARTS[:1] + FACES[:1])
def test_dark_pages_have_contrast_enough(sitting: Sitting, path: str) -> None:
    page = sitting.go(path)
    results = Axe().run(page, options={"runOnly": ["color-contrast"]})
    assert results.violations_count == 0, results.generate_report()


def test_power_by_keyboard_then_inside_the_cylinder(sitting: Sitting) -> None:
    page = sitting.go("/builds/sprint-2025/power?low=4500+rpm&high=5000+rpm&step=500+rpm")
    page.get_by_role("button", name="Run the engine model").focus()
    page.keyboard.press("Enter")
    page.wait_for_selector(DRAWN)
    expect(page.get_by_text("the model says")).to_be_visible()
    results = Axe().run(page)
    assert results.violations_count == 0, results.generate_report()
    page.get_by_role("button", name="Pressure waves and valves").click()
    page.get_by_role("button", name="Run the engine model there").click()
    page.wait_for_selector(DRAWN)
    slider = page.get_by_role("slider", name="Crank angle")
    slider.focus()
    before = page.locator("[data-say=pressure]").inner_text()
    page.keyboard.press("End")
    assert slider.input_value() == "718"
    assert page.locator("[data-say=pressure]").inner_text() != before
    assert page.locator("[data-say=stroke]").inner_text() == "compression"
    results = Axe().run(page)
    assert results.violations_count == 0, results.generate_report()
    assert sitting.sideways() == 0
