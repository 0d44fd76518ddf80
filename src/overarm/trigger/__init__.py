"""The trigger room: recorded carries, shakes and throws, and the level and dwell that tell them apart."""
