"""Reads a page as a browser's parser would, strictly: what must hold of every page."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"meta", "link", "br", "hr", "img", "input", "source"}
BLOCKS = {"p", "li", "td", "th", "dd", "dt", "h1", "h2", "h3", "summary", "div", "caption"}


@dataclass
class Page(HTMLParser):
    """The text, links and identifiers of a page, and whatever is wrong with its markup."""

    text: str = ""
    links: list[str] = field(default_factory=list)
    ids: list[str] = field(default_factory=list)
    referred: list[str] = field(default_factory=list)
    headings: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    tags: list[str] = field(default_factory=list)
    posts: int = 0
    tokens: int = 0

    def __post_init__(self) -> None:
        super().__init__()
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.tags.append(tag)
        if tag not in VOID:
            self.open.append(tag)
        if tag in BLOCKS:
            self.text += "\n"
        if len(given) != len(attrs):
            self.faults.append(f"<{tag}> has an attribute twice")
        for name, value in given.items():
            if name == "style" or name.startswith("on"):
                self.faults.append(f"<{tag} {name}> is inline")
            if name in {"href", "src"}:
                self.links.append(value or "")
            if name == "id":
                self.ids.append(value or "")
            if name == "aria-labelledby":
                self.referred += (value or "").split()
        if tag == "script" and not (given.get("src") or "").startswith("/static/"):
            self.faults.append("a script that is not ours")
        if tag == "form" and (given.get("method") or "get").lower() == "post":
            self.posts += 1
        if tag == "input" and given.get("name") == "~token":
            self.tokens += 1
        if tag in {"style", "iframe", "object"}:
            self.faults.append(f"<{tag}> has no place here")
        if tag in {"h1", "h2", "h3"}:
            self.headings.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.faults.append(f"</{tag}> closes nothing, at {self.getpos()}")

    def handle_data(self, data: str) -> None:
        self.text += data

    @property
    def words(self) -> str:
        """Return the text with its blanks evened out."""
        return " ".join(self.text.split())


def read(html: str) -> Page:
    """Parse a page to its end."""
    page = Page()
    page.feed(html)
    page.close()
    page.faults += [f"<{tag}> is never closed" for tag in page.open]
    page.faults += [
        f"id {one!r} is used {page.ids.count(one)} times"
        for one in set(page.ids)
        if page.ids.count(one) > 1
    ]
    page.faults += [f"no id {one!r}" for one in page.referred if one not in page.ids]
    if page.posts != page.tokens:
        page.faults.append(f"{page.posts} forms to send, {page.tokens} tokens")
    if page.headings.count("h1") != 1:
        page.faults.append("not one h1")
    return page
