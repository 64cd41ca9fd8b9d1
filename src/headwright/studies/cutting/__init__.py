"""The cutting plan: solved backwards from the targets of a build.

:func:`make_plan` chooses valves, gasket, deck cut, seats, pockets, head cut and chamber reliefs so
that every target and limit holds with the least metal lost, puts the steps into machining order,
and says how far each may miss, what it costs, what is left and how likely it all lands. Every
figure is an estimate to be verified on the parts.
"""

from headwright.studies.cutting.conflicts import Conflict, Relaxation, smallest_relaxation
from headwright.studies.cutting.figures import Figures, breaches, figures_of, metal_lost
from headwright.studies.cutting.landing import Gain, Landing, landing_of
from headwright.studies.cutting.plan import (
    Alternative,
    CuttingPlan,
    Left,
    PlanStep,
    make_plan,
    trial_as_planned,
)
from headwright.studies.cutting.problem import (
    Amounts,
    Bound,
    CutProblem,
    GasketOption,
    ValveClearance,
    cut_problem,
)
from headwright.studies.cutting.search import Found, best_plan
from headwright.studies.cutting.tolerance import Tolerance, tolerance_of

__all__ = [
    "Alternative",
    "Amounts",
    "Bound",
    "Conflict",
    "CutProblem",
    "CuttingPlan",
    "Figures",
    "Found",
    "Gain",
    "GasketOption",
    "Landing",
    "Left",
    "PlanStep",
    "Relaxation",
    "Tolerance",
    "ValveClearance",
    "best_plan",
    "breaches",
    "cut_problem",
    "figures_of",
    "landing_of",
    "make_plan",
    "metal_lost",
    "smallest_relaxation",
    "tolerance_of",
    "trial_as_planned",
]
