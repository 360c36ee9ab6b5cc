"""The judge of every plan: rules, tallies and bounds recounted without the planner's code.

In: a `Problem`, a `Plan` and what the plan states of itself. Out: faults and tallies.
Imports `problem.values` alone.
"""
