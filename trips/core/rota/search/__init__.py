"""The planner: preprocessing, first plan, LP relaxation, local search, neighbourhood search, bounds, seats.

In: a `Problem`. Out: an `Outcome` with the plan and each stage's value and bound. The door is `solve`.
Imports `problem` and `model`; never `check`, so that each watches the other.
"""
