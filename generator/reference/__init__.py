"""Readers of ``shared/``: sources, verbs, hazards, allergens, foodstuffs, rule packs.

``read_reference`` (in :mod:`generator.reference.library`) reads them all.
"""
