"""Quantities and exact conversion: mass, volume, count, length, time, temperature."""
