"""The wall between records and computing: SI facts with uncertainty, all problems at once."""

from headwright.assemble.bundle import Bundle, LookUp, gather
from headwright.assemble.facts import Derived, Fact, derive
from headwright.assemble.trial import Trial, make_trial

__all__ = ["Bundle", "Derived", "Fact", "LookUp", "Trial", "derive", "gather", "make_trial"]
