"""Sound of a propeller: its speed over time, when it starts, how fast it rises."""
