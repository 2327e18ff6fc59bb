"""What is where, across the formulas of a manual: uses, tags, sources."""
