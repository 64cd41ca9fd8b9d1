"""Charts on a page: drawn on the server for everyone, and again by script where there is one.

The drawing that comes with the page needs no script and prints. The chart library and the small
script that feeds it are asked for only by pages with a chart; the browser keeps the library for
good, for its address names its version. The library computes its expressions with its own
interpreter, so the page's policy need not allow script to be made from text.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import threading
from dataclasses import dataclass
from functools import lru_cache
from importlib.metadata import version
from typing import Final

import vl_convert
from fastapi import APIRouter, Request
from fastapi.responses import Response
from starlette.exceptions import HTTPException

from headwright.views.figures import Figure

__all__ = ["CHART_LIBRARY", "DrawnFigure", "drawn", "router", "svg_of", "warm_up"]

router = APIRouter(include_in_schema=False)

GRAMMAR: Final = "6.4"
"""Version of the chart grammar the server draws with."""

CHART_LIBRARY: Final = f"/charts/library-{version('vl-convert-python')}.js"
"""Where the chart library is served; it never changes under this address."""

_LOCK: Final = threading.Lock()


@dataclass(frozen=True, slots=True)
class DrawnFigure:
    """A chart as a page carries it: the drawing, and what the script draws it from."""

    name: str
    title: str
    description: str
    svg: str
    spec: str


def drawn(figure: Figure) -> DrawnFigure:
    """Draw a chart for a page."""
    spec = json.dumps(figure.spec, separators=(",", ":"), allow_nan=False)
    return DrawnFigure(figure.name, figure.title, figure.description, svg_of(spec), spec)


@lru_cache(maxsize=200)
def svg_of(spec: str) -> str:
    """Return the drawing of a specification given as JSON text."""
    with _LOCK:
        drawing = vl_convert.vegalite_to_svg(spec, vl_version=GRAMMAR, allowed_base_urls=[])
    # The words of the page stand around it: to a reader of the page the drawing is one picture.
    return drawing.replace("<svg ", '<svg aria-hidden="true" focusable="false" ', 1)


@lru_cache(maxsize=1)
def _library() -> tuple[bytes, bytes, str]:
    """Return the library, the same packed, and its mark."""
    with _LOCK:
        text = vl_convert.javascript_bundle("window.vegaEmbed = vegaEmbed;", vl_version=GRAMMAR)
    content = text.encode()
    mark = f'"{hashlib.sha256(content).hexdigest()[:20]}"'
    return content, gzip.compress(content, 6, mtime=0), mark


@router.get("/charts/{name}")
def library(request: Request, name: str) -> Response:
    """Return the chart library; any other name is none of ours."""
    if f"/charts/{name}" != CHART_LIBRARY:
        raise HTTPException(404)
    content, packed, mark = _library()
    headers = {
        "Cache-Control": "public, max-age=31536000, immutable",
        "ETag": mark,
        "Vary": "Accept-Encoding",
    }
    if request.headers.get("if-none-match") == mark:
        return Response(status_code=304, headers=headers)
    media_type = "text/javascript; charset=utf-8"
    if "gzip" in request.headers.get("accept-encoding", ""):
        return Response(
            packed, headers=headers | {"Content-Encoding": "gzip"}, media_type=media_type
        )
    return Response(content, headers=headers, media_type=media_type)


def warm_up() -> threading.Thread:
    """Start the drawing engine in the background, so that the first chart need not wait for it."""
    trivial = json.dumps({"data": {"values": []}, "mark": "point", "encoding": {}})
    thread = threading.Thread(target=svg_of, args=(trivial,), name="charts", daemon=True)
    thread.start()
    return thread
