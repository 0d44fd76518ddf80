"""The logbook: setups, recordings, launches, predictions, evidence and notes in a database that is yours."""
