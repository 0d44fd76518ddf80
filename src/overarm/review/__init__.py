"""What happened in a recording, beside what was to be expected, and what to change."""
