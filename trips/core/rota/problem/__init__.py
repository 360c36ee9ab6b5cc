"""The rota's problem: what is given, and what is counted from it alone.

In: numbers that `assemble` or `files` filled in. Out: `Problem`, `Plan`, points, shares, visits, what is already fixed.
Imports no other room.
"""
