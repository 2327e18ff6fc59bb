"""Answers with data: the sheet as JSON, and the same answers as text for a terminal."""
