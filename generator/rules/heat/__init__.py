"""Cooking, reheating, and what may stay undercooked or raw."""
