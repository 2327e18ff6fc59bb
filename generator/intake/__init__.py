"""Source text to records: every fault of every file gathered, nothing raised.

``read_standards(project)`` (in :mod:`generator.intake.standards`) reads a project's ``standards/``.
"""
