"""Fills in and sends a form as a browser without script would."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from html.parser import HTMLParser

import httpx2
from fastapi.testclient import TestClient


@dataclass
class Form(HTMLParser):
    """The fields of the first form that is sent by POST, as they stand on the page."""

    wanted: str = ""
    fields: dict[str, str] = field(default_factory=dict)
    buttons: list[str] = field(default_factory=list)
    action: str = ""
    _inside: bool = False
    _select: str | None = None
    _area: str | None = None

    def __post_init__(self) -> None:
        super().__init__()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            action = given.get("action", "")
            self._inside = (
                given.get("method") == "post" and not self.action and self.wanted in action
            )
            if self._inside:
                self.action = action
        if not self._inside:
            return
        name = given.get("name", "")
        if tag == "input" and name and given.get("type") not in {"file", "submit"}:
            self.fields[name] = given.get("value", "")
        elif tag == "textarea":
            self._area, self.fields[name] = name, ""
        elif tag == "select":
            self._select = name
        elif tag == "option" and self._select:
            if self._select not in self.fields or "selected" in given:
                self.fields[self._select] = given.get("value", "")
        elif tag == "button":
            self.buttons.append(given.get("value", ""))

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._inside = False
        elif tag == "select":
            self._select = None
        elif tag == "textarea":
            self._area = None

    def handle_data(self, data: str) -> None:
        if self._area is not None and self._inside:
            self.fields[self._area] += data


def form_on(html: str, wanted: str = "") -> Form:
    """Return the form whose address holds ``wanted``."""
    form = Form(wanted)
    form.feed(html)
    form.close()
    assert form.action, f"no form for {wanted!r}"
    return form


def send(
    client: TestClient,
    html: str,
    doing: str,
    changes: Mapping[str, str] | None = None,
    to: str = "",
) -> httpx2.Response:
    """Change some fields of the form on a page and press a button; no redirect is followed."""
    form = form_on(html, to)
    fields = {**form.fields, **(changes or {}), "~do": doing}
    return client.post(form.action, data=fields, follow_redirects=False)
