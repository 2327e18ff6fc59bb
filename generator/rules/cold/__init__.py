"""Cooling, holding, freezing, thawing, time out of the cold."""
