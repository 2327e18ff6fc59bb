"""Numbers beside words, the same on every medium: limits, weights, steps, storage, conversions."""
