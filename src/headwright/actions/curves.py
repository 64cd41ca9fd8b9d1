"""Flow tests and power pulls brought to a common state."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, cast

from headwright.errors import UnknownRecordError
from headwright.records import Casting, FlowTest, PowerPull

if TYPE_CHECKING:
    from headwright.storage.repository import Book
    from headwright.studies.flow_reduction import ReducedTest
    from headwright.studies.pull_correction import StandardisedPull

__all__ = [
    "flow_curves",
    "pulls_of_build",
    "pulls_to_standard",
]


def flow_curves(
    book: Book, tags: Sequence[str], depression: float | None = None
) -> Sequence[ReducedTest]:
    """Bring flow tests to one depression and to effective areas.

    Args:
        book: the open book.
        tags: of the tests, the one in question first.
        depression: to bring them to [Pa]; 28 inches of water when left out.

    Raises:
        UnknownRecordError: no such test.
        InputError: a depression out of range.
    """
    from headwright.studies.flow_reduction import COMMON_DEPRESSION, reduce_test

    reduced = []
    for tag in tags:
        test = cast("FlowTest", book.get("flow_test", tag))
        try:
            casting = cast("Casting", book.get("casting", test.casting))
        except UnknownRecordError:
            casting = None
        wanted = COMMON_DEPRESSION if depression is None else depression
        reduced.append(reduce_test(test, casting, wanted))
    return reduced


def pulls_to_standard(
    book: Book, tags: Sequence[str], standard: str = "none"
) -> Sequence[StandardisedPull]:
    """Bring power pulls to one standard's air.

    Args:
        book: the open book.
        tags: of the pulls, the one in question first.
        standard: ``none`` or a name of
            :data:`headwright.physics.power_correction.STANDARDS`.

    Raises:
        UnknownRecordError: no such pull.
        InputError: no such standard.
    """
    from headwright.studies.pull_correction import standardise_pull

    return [
        standardise_pull(cast("PowerPull", book.get("power_pull", tag)), standard) for tag in tags
    ]


def pulls_of_build(book: Book, tag: str) -> Sequence[StandardisedPull]:
    """Return the power pulls made with a build, as they were measured."""
    pulls = [cast("PowerPull", pull) for pull in book.records("power_pull")]
    return pulls_to_standard(book, [pull.tag for pull in pulls if pull.build == tag])
