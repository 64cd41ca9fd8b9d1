"""What the API answers where it cannot do what was asked, for its own description."""

from __future__ import annotations

from typing import Any, Final

from pydantic import BaseModel

__all__ = ["CONFLICT", "READING", "REFUSED", "ConflictAnswer", "ErrorAnswer"]


class ProblemTold(BaseModel):
    """One thing that is wrong with a record, and where."""

    path: str
    message: str


class ErrorTold(BaseModel):
    """Why it could not be done: every message, nearest addresses, problems of a record by path."""

    status: int
    messages: list[str]
    nearest: list[str]
    problems: list[ProblemTold]


class ErrorAnswer(BaseModel):
    """The body of every answer from 400 on."""

    error: ErrorTold


class ChangeTold(BaseModel):
    """One difference between the revision that was begun from and the newest."""

    path: str
    old: Any
    new: Any
    what: str


class ConflictTold(ErrorTold):
    """Somebody was faster: the newest revision, and what differs."""

    newest_revision: int
    withdrawn: bool
    changes: list[ChangeTold]


class ConflictAnswer(BaseModel):
    """The body of an answer to a change that came too late."""

    error: ConflictTold


_Responses = dict[int | str, dict[str, Any]]

READING: Final[_Responses] = {
    400: {"model": ErrorAnswer, "description": "The question cannot be read."},
    404: {"model": ErrorAnswer, "description": "No such kind or record; near ones are named."},
    422: {"model": ErrorAnswer, "description": "The records do not allow it."},
}
REFUSED: Final[_Responses] = READING | {
    403: {"model": ErrorAnswer, "description": "From another site, or without the token."},
    413: {"description": "Larger than 4 MiB."},
    415: {"model": ErrorAnswer, "description": "Not JSON."},
}
CONFLICT: Final[_Responses] = {
    409: {"model": ConflictAnswer, "description": "Somebody saved a newer revision meanwhile."}
}
