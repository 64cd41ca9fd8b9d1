"""From a page's context to HTML. Everything is escaped; an unknown name in a template fails."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from jinja2 import Environment, PackageLoader, StrictUndefined

from headwright.quantities import System
from headwright.records import KINDS
from headwright.views.text import CAUTION, UNKNOWN, VERDICT_MARKS
from headwright.web.charts import CHART_LIBRARY
from headwright.web.contexts import Matrix, cures_of, place_named, plainly, split_findings
from headwright.web.links import Asked, Links
from headwright.web.static_files import scripted

if TYPE_CHECKING:
    from headwright.web.contexts import PageContext

__all__ = ["Frame", "render"]

MENU: Final = ("casting", "short_block", "build", "flow_test", "power_pull")
"""The kinds in the menu at the top; the rest are reached from the first page."""

OF_SHOP: Final = ("shop", "instrument", "limits")
"""The kinds that lie under the settings."""


@dataclass(frozen=True, slots=True)
class Frame:
    """What surrounds every page.

    Attributes:
        book: name of the book's file.
        system: whose units stand first.
        links: writes addresses.
        here: path of this page.
        data: path of the same figures as JSON; empty where there are none.
        asked: what else was asked for in the address, kept when the units are swapped.
        token: what every form on the page must carry; empty where there is none.
        can_log_out: whether somebody had to log in to see this.
    """

    book: str
    system: System
    links: Links
    here: str
    data: str = ""
    asked: Asked = field(default_factory=dict)
    token: str = ""
    can_log_out: bool = False

    @property
    def menu(self) -> tuple[tuple[str, str, bool], ...]:
        """Return the menu: address, words, and whether this page lies under it."""
        under = self.here.split("/")[1]
        shelves = tuple(
            (self.links.kind(kind), f"{KINDS[kind].title}s", under == KINDS[kind].plural)
            for kind in MENU
        )
        of_shop = {"settings", *(KINDS[kind].plural for kind in OF_SHOP)}
        return (*shelves, (self.links.to("settings"), "Settings", under in of_shop))

    @property
    def other_system(self) -> System:
        """Return the system that does not stand first."""
        return "metric" if self.system == "inch" else "inch"

    @property
    def swap(self) -> str:
        """Return the address of this page with the other system first."""
        return Links(self.other_system).to(*self.here.strip("/").split("/"), query=self.asked)


def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("headwright.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals.update(
        scripted=scripted(),
        chart_library=CHART_LIBRARY,
        cures_of=cures_of,
        kinds=KINDS,
        marks=VERDICT_MARKS,
        place_named=place_named,
        split_findings=split_findings,
        unknown=UNKNOWN,
    )
    environment.filters["when"] = _when
    environment.filters["plainly"] = plainly
    environment.tests["matrix"] = lambda part: isinstance(part, Matrix)
    return environment


def _when(time: str) -> str:
    """Write a time of the book to the minute: ``2026-05-31 14:20 UTC``."""
    return f"{time[:16].replace('T', ' ')} UTC"


_TEMPLATES: Final = _environment()


def render(page: PageContext, frame: Frame) -> str:
    """Return the HTML of a page."""
    template = _TEMPLATES.get_template(page.template)
    return template.render(page=page, frame=frame, links=frame.links, caution=CAUTION)
