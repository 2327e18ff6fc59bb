"""Scaling: weights of lines, batch sizes, scales, loads. Pure functions of exact numbers."""
