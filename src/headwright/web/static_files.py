"""The style sheet and the mark, read from the package once and served by name alone."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from types import MappingProxyType
from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import Response
from starlette.exceptions import HTTPException

__all__ = ["router", "scripted"]

router = APIRouter(include_in_schema=False)

_TYPES: Final = {
    ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml",
    ".js": "text/javascript; charset=utf-8",
}


@dataclass(frozen=True, slots=True)
class _File:
    content: bytes
    media_type: str
    mark: str


def _read_all() -> Mapping[str, _File]:
    found = {}
    for entry in (files("headwright.web") / "static").iterdir():
        media_type = _TYPES.get(entry.name[entry.name.rfind(".") :])
        if media_type:
            content = entry.read_bytes()
            mark = f'"{hashlib.sha256(content).hexdigest()[:20]}"'
            found[entry.name] = _File(content, media_type, mark)
    return MappingProxyType(found)


_FILES: Final = _read_all()


def scripted() -> bool:
    """Tell whether the page script is there; the pages work without it, only less promptly."""
    return "htmx.js" in _FILES


@router.get("/static/{name}")
def static_file(request: Request, name: str) -> Response:
    """Return one of our own files; the name is looked up, never used as a path."""
    file = _FILES.get(name)
    if file is None:
        raise HTTPException(404)
    headers = {"Cache-Control": "no-cache", "ETag": file.mark}
    if request.headers.get("if-none-match") == file.mark:
        return Response(status_code=304, headers=headers)
    return Response(file.content, media_type=file.media_type, headers=headers)
