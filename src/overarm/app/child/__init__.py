"""Processes that do the work: what reads other people's files never runs in the server itself."""
