"""Hard rules and wishes as constraints and objectives of CP-SAT, each written once.

In: a `Problem` or the `Space` made from it. Out: models, and drafts read back from their solutions.
Imports `problem`.
"""
