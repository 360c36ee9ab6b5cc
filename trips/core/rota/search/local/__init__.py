"""Local search on shares: swaps and moves of turns without a solver.

In: a `Space` and a draft. Out: a draft that is no worse. Imports `model`.
"""
