"""Logs of readings against limits: read strictly, doubted, judged."""
