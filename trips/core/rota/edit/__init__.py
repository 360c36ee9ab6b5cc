"""Changes by hand and repairs: the plan after a change, its effect, and which rule forced each move.

In: a `Problem` and a plan. Out: a plan, or data about two plans. Imports `problem` and `check`.
"""
