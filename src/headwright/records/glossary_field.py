"""What marks a field of a record as holding a quantity of the glossary."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pydantic import ValidationInfo
from pydantic_core import core_schema

from headwright.quantities import GLOSSARY, Quantity

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler

__all__ = ["GlossaryField"]


@dataclass(frozen=True, slots=True)
class GlossaryField:
    """Marks a field; what stands in it is read by ``_read`` before pydantic's own checks."""

    name: str

    @property
    def quantity(self) -> Quantity:
        """Return the glossary entry."""
        return GLOSSARY[self.name]

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        """Put the reading of builder's text in front of pydantic's own checks."""
        return core_schema.with_info_before_validator_function(self._read, handler(source))

    def _read(self, given: Any, info: ValidationInfo) -> Any:
        raise NotImplementedError
