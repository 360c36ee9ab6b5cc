"""Problems as JSON with their schema, answers as JSON, and fingerprints of a problem.

In: text or a `Problem`. Out: a `Problem`, text or a digest. Imports `problem`.
"""
