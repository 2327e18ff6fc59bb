"""House limits beside the code's."""
