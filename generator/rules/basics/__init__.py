"""Rule inputs and results: the product, a step's context, a limit and its words."""
