"""Hard rules and wishes as constraints and objectives of CP-SAT, each written once.

In: a `Problem` or the `Space` made from it. Out: models, drafts read back from their solutions,
and plans. Imports `problem`.
"""
