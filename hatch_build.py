"""Build hook: copy the page script into the package from the wheel of ``django-htmx``.

The wheel (MIT) carries the minified htmx (0BSD) and its server-sent-events extension. It is needed
while building only; nothing of it is imported when the program runs.
"""

from __future__ import annotations

import importlib.util
import shutil
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

STATIC = Path("src/headwright/web/static")
SCRIPTS = {"htmx-2.min.js": "htmx.js", "ext/hx-sse-2.min.js": "htmx-sse.js"}


def source_folder() -> Path:
    """Return the folder of the installed wheel that holds the scripts."""
    found = importlib.util.find_spec("django_htmx")  # finds the package without importing it
    if found is None or not found.submodule_search_locations:
        raise RuntimeError("django-htmx must be installed to build (see build-system.requires)")
    return Path(found.submodule_search_locations[0]) / "static" / "django_htmx"


class CopyScripts(BuildHookInterface[Any]):
    """Copies the scripts before a wheel, an editable install or a source archive is made."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Copy each script and have the builder take it, although git ignores it."""
        del version
        folder = Path(self.root) / STATIC
        for name, ours in SCRIPTS.items():
            shutil.copyfile(source_folder() / name, folder / ours)
            build_data["artifacts"].append(f"/{STATIC.as_posix()}/{ours}")
