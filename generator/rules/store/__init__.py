"""An ingredient from the door on: received, in store, opened, dated."""
