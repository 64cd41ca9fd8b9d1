"""The pages in a real browser: the way to the verdict, every width, the keyboard, no network."""

from __future__ import annotations

import os
import re
import shutil
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import pytest
import uvicorn
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect, sync_playwright

from headwright import actions
from headwright.records import read_record
from headwright.views.ranking import ranking_view
from headwright.web.app import create_app

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
WIDTHS = (390, 820, 1440)
PAGES = (
    "/",
    "/castings",
    "/castings/EI-22",
    "/castings/AL-01",
    "/short_blocks/SB-LONG",
    "/flow_tests/FT-LI02-I2",
    "/power_pulls/PP-2026-05-16",
    "/builds/sprint-1500",
    "/builds/sprint-1500/rank",
    "/builds/raised-1495/clearance",
    "/builds/raised-1495/drain",
    "/castings/AL-02/drain",
    "/castings/EI-22/repair",
    "/builds/raised-1495/timing",
    "/builds/sprint-1500/clearance",
    "/builds/keep-my-head/check",
    "/builds/sprint-1500/check",
    "/builds/sprint-1500/compare",
    "/builds/sprint-2025/compare?with=long-rod-1555",
    "/builds/sprint-1500/rank/EI-03/good",
    "/castings/EI-99",
)
LONG_WORD = "Unbrokenworkshopword" * 6


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    named = os.environ.get("HEADWRIGHT_BROWSER")
    path = named or next((found for name in NAMES if (found := shutil.which(name))), None)
    if path is None or not Path(path).exists():
        pytest.fail(
            "no Chromium for the browser tests: set HEADWRIGHT_BROWSER to its path", pytrace=False
        )
    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield found
        found.close()


@contextmanager
def served(book: Path) -> Iterator[str]:
    """Serve a book on a free port from a thread; give the address."""
    with socket.create_server(("127.0.0.1", 0)) as listener:
        config = uvicorn.Config(create_app(book), log_level="error", server_header=False)
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, args=([listener],), daemon=True)
        thread.start()
        try:
            yield f"http://127.0.0.1:{listener.getsockname()[1]}"
        finally:
            server.should_exit = True
            thread.join(timeout=30)
    assert not thread.is_alive()


@pytest.fixture(scope="module")
def address(demo_book: Path) -> Iterator[str]:
    with served(demo_book) as found:
        yield found


class Sitting:
    """A browser window cut off from the world; it notes whatever it tried to reach there."""

    def __init__(self, context: BrowserContext, address: str) -> None:
        self.address = address
        self.strays: list[str] = []
        self.complaints: list[str] = []
        context.route("**/*", self._only_here)
        self.page = context.new_page()
        self.page.on("console", lambda message: self.complaints.append(message.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def _only_here(self, route: Route) -> None:
        wanted = urlsplit(route.request.url)
        if f"{wanted.scheme}://{wanted.netloc}" == self.address:
            route.continue_()
        else:
            self.strays.append(route.request.url)
            route.abort()

    def go(self, path: str) -> Page:
        self.page.goto(self.address + path)
        return self.page

    def sideways(self) -> int:
        """Return by how many pixels the page is wider than the window."""
        width = self.page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        assert isinstance(width, int)
        return width


@pytest.fixture
def sitting(browser: Browser, address: str, request: pytest.FixtureRequest) -> Iterator[Sitting]:
    settings = getattr(request, "param", {})
    with browser.new_context(**settings) as context:
        found = Sitting(context, address)
        yield found
        assert found.strays == []
        # A page that is rightly answered with an error is reported by the browser; nothing else.
        assert [
            text for text in found.complaints if "responded with a status of 4" not in text
        ] == []


def window(width: int, **more: object) -> dict[str, object]:
    return {"viewport": {"width": width, "height": 900}, **more}


def test_from_the_first_page_to_the_verdict(sitting: Sitting, demo_book: Path) -> None:
    with actions.open_book(demo_book) as book:
        view = ranking_view(actions.rank_build(book, "sprint-1500"), "inch")
    page = sitting.go("/")
    page.get_by_role("link", name="Rank 10 castings for sprint-1500").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Castings for sprint-1500")
    expect(page.get_by_text(view.answer)).to_be_visible()
    table = page.get_by_role("table", name="Castings ranked for sprint-1500")
    expect(table.get_by_role("row")).to_have_count(11)
    first = table.get_by_role("row").nth(1)
    best = view.candidates[0]
    expect(first).to_contain_text(best.casting)
    expect(first).to_contain_text(best.verdict_words)
    expect(first).to_contain_text(best.compression.first)
    first.get_by_role("link", name=best.casting).click()
    expect(page).to_have_url(re.compile(f"#casting-{best.casting}$"))
    section = page.locator(f"#casting-{best.casting}")
    expect(section).to_be_in_viewport()
    section.get_by_text(re.compile(r"\d+ good")).click()
    expect(section.get_by_role("table", name="Good findings")).to_be_visible()
    section.get_by_role("link", name="in the book").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(f"Casting {best.casting}")
    page.get_by_role("link", name="metric first").click()
    expect(page.get_by_text("metric first")).to_be_visible()


@pytest.mark.parametrize(
    "sitting", [window(width) for width in WIDTHS], ids=map(str, WIDTHS), indirect=True
)
@pytest.mark.parametrize("path", PAGES)
def test_nothing_runs_out_sideways(sitting: Sitting, path: str) -> None:
    page = sitting.go(path)
    page.evaluate("document.querySelectorAll('details').forEach(fold => { fold.open = true })")
    assert sitting.sideways() == 0
    boxes = page.locator(".wide")
    for number in range(boxes.count()):
        assert boxes.nth(number).evaluate("box => getComputedStyle(box).overflowX") == "auto"


@pytest.mark.parametrize("width", WIDTHS)
def test_long_words_do_not_run_out_either(browser: Browser, tmp_path: Path, width: int) -> None:
    path = tmp_path / "long.db"
    actions.load_demo(path)
    tag = "T" * 64
    with actions.open_book(path) as book:
        for kind, old, fields in (
            ("casting", "EI-03", ("family", "sort", "story")),
            ("build", "sprint-1500", ("purpose", "customer")),
        ):
            body = actions.show_record(book, kind, old).read_body()
            body |= {"tag": tag, **dict.fromkeys(fields, LONG_WORD)}
            actions.save_record(book, read_record(body), author=LONG_WORD[:90], note=LONG_WORD)
    places = ("/", "/castings", f"/castings/{tag}", f"/builds/{tag}", f"/builds/{tag}/rank")
    size = {"width": width, "height": 900}
    with served(path) as address, browser.new_context(viewport=size) as context:
        sitting = Sitting(context, address)
        for place in places:
            sitting.go(place)
            assert sitting.sideways() == 0, place


@pytest.mark.parametrize(
    "sitting",
    [window(390), window(1440)],
    ids=["phone", "desk"],
    indirect=True,
)
@pytest.mark.parametrize("path", PAGES)
def test_axe_finds_nothing(sitting: Sitting, path: str) -> None:
    page = sitting.go(path)
    page.evaluate("document.querySelectorAll('details').forEach(fold => { fold.open = true })")
    results = Axe().run(page)
    assert results.violations_count == 0, results.generate_report()


@pytest.mark.parametrize("sitting", [window(820, color_scheme="dark")], indirect=True)
@pytest.mark.parametrize("path", ["/", "/builds/sprint-1500", "/builds/keep-my-head/check"])
def test_dark_pages_have_contrast_enough(sitting: Sitting, path: str) -> None:
    page = sitting.go(path)
    paper = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert paper == "rgb(16, 21, 26)"
    results = Axe().run(page, options={"runOnly": ["color-contrast"]})
    assert results.violations_count == 0, results.generate_report()


def test_the_keyboard_reaches_everything(sitting: Sitting) -> None:
    page = sitting.go("/")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the sheet")).to_be_focused()
    expect(page.get_by_role("link", name="Skip to the sheet")).to_be_in_viewport()
    page.keyboard.press("Enter")
    reached = set()
    for _ in range(80):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("document.activeElement.getAttribute('href')"))
        if "/builds/sprint-1500/rank" in reached:
            break
    assert "/castings" not in reached, "the skip link did not skip the menu"
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Castings for sprint-1500")

    page = sitting.go("/castings/EI-22")
    every = page.locator("a[href], summary, [tabindex='0']").count()
    seen = 0
    for _ in range(every + 5):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement === document.body"):
            break
        seen += 1
        style = page.evaluate(
            "(() => { const s = getComputedStyle(document.activeElement);"
            " return s.outlineStyle + ' ' + s.outlineWidth })()"
        )
        assert style == "solid 3px"
    assert seen == every


def test_folded_findings_open_by_keyboard(sitting: Sitting) -> None:
    page = sitting.go("/builds/sprint-2025/check")
    fold = page.locator("summary").first
    fold.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("table", name="Good findings, sprint-2025")).to_be_visible()


@pytest.mark.parametrize("sitting", [window(390)], indirect=True)
def test_on_a_phone_tables_stay_tables_to_a_screen_reader(sitting: Sitting) -> None:
    page = sitting.go("/builds/sprint-1500/rank")
    table = page.get_by_role("table", name="Castings ranked for sprint-1500")
    expect(table.get_by_role("columnheader")).to_have_count(9)
    expect(table.get_by_role("rowheader")).to_have_count(10)
    targets = page.locator("header a, .doors a, .ways a, summary")
    for number in range(targets.count()):
        if not targets.nth(number).is_visible():
            continue  # folded away
        box = targets.nth(number).bounding_box()
        assert box is not None
        assert box["height"] >= 24.0


@pytest.mark.parametrize("sitting", [window(720)], indirect=True)
def test_in_print_the_findings_to_look_at_are_unfolded(sitting: Sitting) -> None:
    page = sitting.go("/builds/sprint-1500/rank")
    folded = page.locator("details.look table").first
    expect(folded).not_to_be_visible()
    page.emulate_media(media="print")
    assert folded.evaluate("table => table.getBoundingClientRect().height") > 0
    expect(page.get_by_role("navigation")).not_to_be_visible()
    expect(page.get_by_text("Caution.")).to_be_visible()


def test_nothing_is_told_by_colour_alone(sitting: Sitting) -> None:
    page = sitting.go("/builds/sprint-1500/rank")
    marks = page.locator(".ranking .verdict")
    for number in range(marks.count()):
        text = marks.nth(number).inner_text()
        assert re.fullmatch(r"[+~?x]\s+(fits|fits, close|not known yet|does not fit)", text)
    guesses = page.locator(".guess")
    assert guesses.count() > 0
    for number in range(min(guesses.count(), 20)):
        text = guesses.nth(number).text_content() or ""
        assert "≈" in text
        assert "guess" in text or "estimated" in text
