"""Packing without air, and the document a limit rests on."""
