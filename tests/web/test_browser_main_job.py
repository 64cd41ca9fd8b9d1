"""The whole main job in a real browser: from the empty book to the verdict and the power curve."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from headwright import actions

from .test_browser import Sitting, browser, served

__all__ = ["browser"]

BLOCK = {
    "tag": "B-1", "family": "Ferry Single", "stroke": "80 mm (measured)",
    "rod_length": "140 mm (measured)", "piston.crown": "flat", "gasket.bore": "86 mm (maker)",
    "gasket.thickness": "1.0 mm (maker)",
}  # fmt: skip
CYLINDER = {
    "cylinders.0.cylinder": "1", "cylinders.0.bore": "84 mm (measured)",
    "cylinders.0.piston_below_deck": "0.4 mm (measured)",
}  # fmt: skip
THROTTLE = {
    "throttles.0.name": "carburettor", "throttles.0.start": "atmosphere",
    "throttles.0.finish": "box", "throttles.0.bore": "38 mm (measured)",
}  # fmt: skip
BOX = {"joints.0.name": "box", "joints.0.sort": "plenum", "joints.0.volume": "300 cc (measured)"}
INLET = {
    "pipes.0.name": "inlet", "pipes.0.start": "box", "pipes.0.finish": "intake 1",
    "pipes.0.length": "200 mm (measured)", "pipes.0.diameter": "38 mm (measured)",
}  # fmt: skip
TAIL = {
    "pipes.1.name": "tail", "pipes.1.start": "exhaust 1", "pipes.1.finish": "atmosphere",
    "pipes.1.length": "700 mm (measured)", "pipes.1.diameter": "40 mm (measured)",
}  # fmt: skip
BUILD = {
    "purpose": "A first engine: which casting?", "short_block": "B-1", "valve_gear": "V-1",
    "breathing": "P-1", "fuel": "F-1", "targets.compression_ratio": "11.0",
    "targets.maximum_speed": "4000 rpm", "targets.working_speed_low": "2500 rpm",
    "targets.working_speed_high": "3900 rpm",
}  # fmt: skip


@pytest.fixture(params=[390, 1440], ids=["phone", "desk"])
def sitting(browser: Browser, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Sitting]:
    path = tmp_path / "empty.db"
    actions.open_book(path, create=True).close()
    size = {"width": request.param, "height": 844}
    with served(path) as address, browser.new_context(viewport=size) as context:
        found = Sitting(context, address)
        yield found
        assert found.strays == []
        assert [text for text in found.complaints if "status of 4" not in text] == []


def lobe(place: int, side: str, opens: str, closes: str) -> dict[str, str]:
    here = f"lobes.{place}"
    return {
        f"{here}.side": side,
        f"{here}.opens": opens,
        f"{here}.closes": closes,
        f"{here}.lobe_lift": "6.5 mm (maker)",
    }


def unfold(page: Page, name: str) -> None:
    """Open every fold a field lies in, with the mouse."""
    steps = name.split(".")
    for end in range(1, len(steps)):
        fold = page.locator(f"details[id='{'.'.join(steps[:end])}']")
        if fold.count() and fold.get_attribute("open") is None:
            fold.locator("> summary").click()


def enter(page: Page, fields: dict[str, str]) -> None:
    for name, text in fields.items():
        unfold(page, name)
        place = page.locator(f"[id='in-{name}']")
        if place.evaluate("field => field.tagName") == "SELECT":
            place.select_option(text)
        else:
            place.click()
            page.keyboard.press("Control+a")
            page.keyboard.type(text)


def add(page: Page, name: str, fields: dict[str, str]) -> None:
    """Put an entry into a list of the form."""
    unfold(page, f"{name}.0")
    page.locator(f"button[value='add:{name}']").click()
    expect(page.locator(f"[id='in-{next(iter(fields))}']")).to_be_visible()
    enter(page, fields)


def save(page: Page, sitting: Sitting, title: str) -> None:
    assert sitting.sideways() == 0
    page.get_by_role("button", name="Put it in the book").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(title)


def new(page: Page, words: str) -> None:
    page.get_by_role("link", name="headwright").click()
    page.get_by_role("link", name=f"New {words}", exact=True).click()


def first_casting(page: Page) -> None:
    page.get_by_role("link", name="Enter a first casting").focus()
    page.keyboard.press("Enter")
    enter(page, {"tag": "H-1", "family": "Ferry Single", "sort": "early"})
    page.get_by_label(re.compile("^Material")).select_option("iron")
    enter(page, {"cylinders": "1"})
    page.keyboard.press("Enter")
    expect(page.locator("[aria-current='step']")).to_have_text("Thickness")
    page.get_by_label("Readings, with ; between").first.fill("75.02 mm; 75.00 mm; 74.99 mm")
    page.get_by_role("button", name=re.compile("^Next: ")).click()
    expect(page.locator("[aria-current='step']")).to_have_text("Chambers")
    page.get_by_label("Readings, with ; between").first.fill("38.1 cc; 38.0 cc; 37.9 cc")
    page.get_by_role("button", name=re.compile("^Next: ")).click()
    expect(page.locator("[aria-current='step']")).to_have_text("Valves")
    heads = page.locator("input[id$='.head_diameter']")
    heads.nth(0).fill("40 mm (measured)")
    heads.nth(1).fill("34 mm (measured)")
    page.get_by_role("button", name="Put it in the book").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Casting H-1")


def test_from_the_empty_book_to_the_power_curve(sitting: Sitting) -> None:
    page = sitting.go("/")
    expect(page.get_by_text("The book is empty.")).to_be_visible()
    first_casting(page)

    new(page, "short block")
    enter(page, BLOCK)
    add(page, "cylinders", CYLINDER)
    save(page, sitting, "Short block B-1")

    new(page, "cam")
    enter(page, {"tag": "C-1", "family": "Ferry"})
    add(page, "lobes", lobe(0, "intake", "30 deg (maker)", "60 deg (maker)"))
    add(page, "lobes", lobe(1, "exhaust", "60 deg (maker)", "30 deg (maker)"))
    save(page, sitting, "Cam C-1")

    new(page, "rocker")
    enter(page, {"tag": "R-1", "ratio": "1.4 (maker)"})
    save(page, sitting, "Rocker R-1")

    new(page, "valve gear")
    enter(page, {"tag": "V-1", "cam": "C-1", "rocker": "R-1"})
    save(page, sitting, "Valve gear V-1")

    new(page, "breathing")
    enter(page, {"tag": "P-1"})
    for name, fields in (("joints", BOX), ("throttles", THROTTLE), ("pipes", INLET)):
        add(page, name, fields)
    add(page, "pipes", TAIL)
    save(page, sitting, "Breathing P-1")

    new(page, "fuel")
    enter(page, {"tag": "F-1", "sort": "petrol"})
    save(page, sitting, "Fuel F-1")

    new(page, "build")
    enter(page, {"tag": "E-1", **BUILD})
    save(page, sitting, "Build E-1")

    page.get_by_role("link", name="Rank the castings").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Castings for E-1")
    table = page.get_by_role("table", name="Castings ranked for E-1")
    expect(table.get_by_role("row").nth(1)).to_contain_text("H-1")
    expect(table.get_by_role("row").nth(1)).to_contain_text(re.compile("fits|not known yet"))
    assert sitting.sideways() == 0
    assert Axe().run(page).violations_count == 0

    page.go_back()
    page.get_by_role("link", name="See its power").click()
    page.get_by_label("On", exact=True).select_option("H-1")
    page.get_by_role("button", name="Run the engine model").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".answer")).to_contain_text("lbf ft", timeout=120_000)
    expect(page.locator("html[data-charts='drawn']")).to_be_attached(timeout=30_000)
    expect(page.get_by_role("img").first).to_be_visible()
    assert sitting.sideways() == 0
    results = Axe().run(page)
    assert results.violations_count == 0, results.generate_report()


def test_parts_of_a_large_form_come_when_they_are_opened(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "demo.db"
    actions.load_demo(path)
    with actions.open_book(path) as book:
        before = actions.show_record(book, "casting", "EI-03").read_body()
    size = {"width": 390, "height": 844}
    with served(path) as address, browser.new_context(viewport=size) as context:
        sitting = Sitting(context, address)
        page = sitting.go("/castings/EI-03/edit")
        assert page.locator("[id='in-chambers.1.volume']").count() == 0
        fold = page.locator("details[id='chambers'] > summary")
        fold.focus()
        page.keyboard.press("Enter")
        inner = page.locator("details[id='chambers.1'] > summary")
        expect(inner).to_be_visible()
        assert page.evaluate("document.activeElement.id") == "open-chambers"
        inner.click()
        field = page.locator("[id='in-chambers.1.volume']")
        expect(field).to_be_visible()
        assert sitting.sideways() == 0
        results = Axe().run(page)
        assert results.violations_count == 0, results.generate_report()
        page.locator("[id='in-chambers.1.depth']").fill("14 mm (measured)")
        expect(page.locator("[id='echo-chambers.1.depth']")).to_contain_text("0.55")
        page.get_by_role("button", name="Save as a new revision").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("Casting EI-03")
        assert sitting.strays == []
        assert sitting.complaints == []
    with actions.open_book(path) as book:
        after = actions.show_record(book, "casting", "EI-03").read_body()
        changes = actions.compare_bodies(before, after)
    assert {change.path.partition(".")[0] for change in changes} == {"chambers[1]"}
    assert after["chambers"][1]["depth"]["value"] == pytest.approx(14e-3)
