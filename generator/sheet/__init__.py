"""From a formula to its computed sheet: weights, the walk, loads, cautions, batches, date marks;
the pipeline."""
