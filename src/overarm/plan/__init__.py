"""Plan: the climb-out against the obstacles, and the way home with the wind and the pack of the day."""
