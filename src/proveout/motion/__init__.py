"""Motion: how long moves take on axes of limited speed, acceleration and jerk."""
