"""What every rule knows: the product, what a rule is told and answers, a limit and its words."""
