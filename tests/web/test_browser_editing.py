"""Editing in a real browser: the first casting, figures echoed, findings that follow the form."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

from headwright import actions

from .test_browser import WIDTHS, Sitting, browser, served

__all__ = ["browser"]

PAGES = (
    "/castings/EI-03/edit?at=chambers.1.volume",
    "/builds/sprint-2025/edit",
    "/castings/EI-03/history",
    "/castings/EI-03/photos",
    "/settings",
    "/start/casting",
    "/new/limits",
)


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    path = tmp_path_factory.mktemp("editing") / "book.db"
    actions.load_demo(path)
    with served(path) as found:
        yield found


@pytest.fixture
def sitting(browser: Browser, address: str, request: pytest.FixtureRequest) -> Iterator[Sitting]:
    width = getattr(request, "param", 1440)
    with browser.new_context(viewport={"width": width, "height": 900}) as context:
        found = Sitting(context, address)
        yield found
        assert found.strays == []
        assert [text for text in found.complaints if "status of 4" not in text] == []


@pytest.mark.parametrize("sitting", WIDTHS, ids=map(str, WIDTHS), indirect=True)
def test_pages_keep_within_the_window_and_axe_finds_nothing(sitting: Sitting) -> None:
    for path in PAGES:
        page = sitting.go(path)
        assert sitting.sideways() == 0, path
        results = Axe().run(page)
        assert results.violations_count == 0, results.generate_report()


def test_a_figure_is_echoed_while_it_is_typed_and_saved(sitting: Sitting) -> None:
    page = sitting.go("/castings/LI-02/edit")
    field = page.get_by_label("Thickness minimum", exact=True)
    echo = page.locator("[id='echo-thickness_minimum']")
    field.fill("2 7/8 in")
    expect(echo).to_contain_text("73.03 mm")
    field.fill("2,875 in")
    expect(echo).to_contain_text("comma")
    field.fill("73.0 mm (maker)")
    expect(echo).to_contain_text("2.874 in · 73.00 mm · maker's figure")
    page.get_by_label("Why, in a few words").fill("from the sheet")
    page.get_by_role("button", name="Save as a new revision").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Casting LI-02")
    expect(page.get_by_text("2.874 in")).to_be_visible()
    page.get_by_role("link", name="History, undo").click()
    page.get_by_role("button", name="Undo the last change").click()
    expect(page.get_by_text("undid revision 2")).to_be_visible()


def test_findings_follow_the_form(sitting: Sitting) -> None:
    page = sitting.go("/builds/sprint-2025/edit")
    findings = page.locator("#findings-now")
    expect(findings).to_contain_text("LI-02 fits")
    page.get_by_label("Head cut", exact=True).fill("5 mm")
    expect(findings).to_contain_text("LI-02 does not fit")
    page.get_by_label("Head cut", exact=True).fill("5 furlongs")
    expect(findings).to_contain_text("To be put right first")
    page.get_by_label("Head cut", exact=True).fill("")
    page.get_by_label("Casting", exact=True).select_option("AL-01")
    expect(findings).to_contain_text("AL-01")


def test_the_whole_job_from_the_empty_book_by_keyboard(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "empty.db"
    actions.open_book(path, create=True).close()
    size = {"width": 390, "height": 800}
    with served(path) as address, browser.new_context(viewport=size) as context:
        sitting = Sitting(context, address)
        page = sitting.go("/")
        page.get_by_role("link", name="Enter a first casting").focus()
        page.keyboard.press("Enter")
        for label, text in (("Tag", "A-1"), ("Family", "Ferry Twin"), ("Sort", "early")):
            page.get_by_label(re.compile(f"^{label}")).first.fill(text)
        page.get_by_label(re.compile("^Material")).select_option("iron")
        page.get_by_label(re.compile("^Cylinders")).fill("2")
        page.keyboard.press("Enter")
        expect(page.locator("[aria-current='step']")).to_have_text("Thickness")
        page.get_by_label("Readings, with ; between").first.fill("2.950 in; 2.952 in; 2.951 in")
        page.keyboard.press("Enter")
        expect(page.locator("[aria-current='step']")).to_have_text("Chambers")
        page.wait_for_load_state()
        page.get_by_label("Readings, with ; between").nth(1).fill("24.1 cc; 24.3 cc")
        expect(page.locator("[id='echo-chambers.1.volume']")).to_contain_text("2 readings")
        page.keyboard.press("Enter")
        expect(page.locator("[aria-current='step']")).to_have_text("Valves")
        page.get_by_role("button", name="Put it in the book").press("Enter")
        expect(page.get_by_role("heading", level=1)).to_have_text("Casting A-1")
        expect(page.get_by_text("24.20")).to_be_visible()
        assert sitting.sideways() == 0
        assert sitting.strays == []
        assert sitting.complaints == []


def test_two_tabs_and_nothing_lost(sitting: Sitting) -> None:
    first = sitting.go("/fuels/METHANOL/edit")
    second = first.context.new_page()
    second.goto(f"{sitting.address}/fuels/METHANOL/edit")
    first.get_by_label("Maker", exact=True).fill("First and Sons")
    first.get_by_role("button", name="Save as a new revision").click()
    expect(first.get_by_role("heading", level=1)).to_have_text("Fuel METHANOL")
    second.get_by_label("Story", exact=True).fill("from the second tab")
    second.get_by_role("button", name="Save as a new revision").click()
    expect(second.get_by_role("heading", name="Somebody saved this")).to_be_visible()
    expect(second.get_by_role("alert")).to_contain_text("First and Sons")
    results = Axe().run(second)
    assert results.violations_count == 0, results.generate_report()
    second.get_by_role("button", name="Take in their changes").click()
    expect(second.get_by_label("Maker", exact=True)).to_have_value("First and Sons")
    expect(second.get_by_label("Story", exact=True)).to_have_value("from the second tab")
    second.get_by_role("button", name="Save as a new revision").click()
    expect(second.get_by_text("from the second tab")).to_be_visible()


def test_without_script_all_of_it_works(browser: Browser, address: str) -> None:
    with browser.new_context(java_script_enabled=False) as context:
        page = context.new_page()
        page.goto(f"{address}/builds/launch-1535/edit")
        page.locator("details[id='ignition'] > summary").click()
        page.locator("button[value='open:ignition']").click()  # no script brings them
        expect(page.locator("details[id='ignition.0']")).to_be_visible()
        entries = page.locator("details[id^='ignition.']")
        before = entries.count()
        page.get_by_role("button", name="Add ignition").click()
        expect(entries).to_have_count(before + 1)
        page.get_by_label("Head cut", exact=True).fill("2 furlongs")
        page.get_by_role("button", name="Save as a new revision").click()
        expect(page.get_by_role("heading", name="Not saved: 1 to put right")).to_be_visible()
        page.get_by_label("Head cut", exact=True).fill("0.5 mm")
        page.get_by_role("button", name="Save as a new revision").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("Build launch-1535")
