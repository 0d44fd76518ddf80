"""Recordings of launches: read, cleaned, divided into phases, measured."""
