"""Overarm: odds, settings and launch sheets for aeroplanes that launch themselves."""

__version__ = "0.1.0"
