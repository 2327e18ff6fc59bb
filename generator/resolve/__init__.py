"""Join records by id. Unknown, missing, unused and circular names become findings.

:func:`generator.resolve.join.join` is the one entry.
"""
