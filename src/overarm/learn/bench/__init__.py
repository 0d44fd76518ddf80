"""Bench tests: one form a test, one formula a file, each with its error."""
