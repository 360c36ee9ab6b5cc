"""Why no rota keeps all rules, what would help, and what a rota promises to people.

In: a `Problem`, or a `Problem` with its plan. Out: conflicts, remedies and promises as data; the wording is elsewhere.
Imports `problem`, `model` and `check`.
"""
