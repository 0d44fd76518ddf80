"""Settings that work: limits, search, allowed bands, what binds, and traps."""
