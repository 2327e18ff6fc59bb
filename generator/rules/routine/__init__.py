"""Work that no formula asks for: what it is held to."""
