"""What helps somebody write: the starter kitchen, skeletons, schemas."""
