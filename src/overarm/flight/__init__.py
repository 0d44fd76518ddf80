"""Flight: one launch and many, from listening to handover."""
