"""Physics: pure functions on numbers, one effect a file, compiled by Numba.

Body axes follow ISO 1151: x forward, y right, z down; angles are nose-up, right-wing-down and
nose-right positive. The launch frame has x along the launch line, y to its right, z down.
"""
