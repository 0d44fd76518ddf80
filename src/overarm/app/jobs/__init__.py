"""Long work: queued, followed, cancelled, kept; the same question is answered once."""
