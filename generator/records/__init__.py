"""The kitchen's records as typed, frozen data that still know their file, line and column."""
