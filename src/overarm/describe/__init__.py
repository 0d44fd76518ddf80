"""Describe: cards with units, read from YAML, and the figures derived from them."""
