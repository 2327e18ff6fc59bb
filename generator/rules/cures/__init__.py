"""Cures, pickles, acid and smoke: doses and variances."""
