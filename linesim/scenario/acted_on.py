"""What of a scenario the floor acts on, and what only describes it or belongs to a question.

Two scenarios that differ only in the latter have the same runs.
"""

from __future__ import annotations

from .scenario import Scenario

NOT_ACTED_ON = ("name", "about", "invented", "assumed", "runs", "seed", "plans", "comparisons", "language")


def acted_on(scenario: Scenario) -> Scenario:
    """The scenario without what is not acted on: runs are made from this one, so that they cannot depend on the rest.
    The seed is given to the runs apart."""
    plain = {name: field.get_default(call_default_factory=True) for name, field in Scenario.model_fields.items()
             if name in NOT_ACTED_ON}
    return scenario.model_copy(update={**plain, "name": "", "language": scenario.language})
