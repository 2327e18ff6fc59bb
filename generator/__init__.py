"""Turn a kitchen's formulas and process specs into a standards manual that computes."""

__version__ = "0.2.0"
