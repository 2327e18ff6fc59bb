"""The rules of law, one family a module: the product's state in, limits out. ``listed`` lists
them."""
