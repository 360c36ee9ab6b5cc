"""The rota: from a problem in numbers to a plan, its proof, its explanation and its changes.

Rooms, each importing only those before it: `problem`; `model`, `check`, `files`; `search`, `explain`, `edit`.
`tests/architecture_rules.py` holds the rooms to this.
"""
