"""What speaks for each phase, one cue a file, as scores of the hidden states on a common grid of times.

A score is a natural logarithm of a likelihood, up to a constant that is the same for every state. Slow cues
give so much a second, however dense the grid is, so that samples which say the same thing do not count twice.
"""
