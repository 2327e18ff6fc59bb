"""What differs between two manuals, and the standards as they were."""
